"""The public history as others read it: feed reader, HTML parser, browser, no JavaScript, keyboard alone."""

from __future__ import annotations

import re
import runpy
import shutil
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote
from xml.etree import ElementTree as ET

import feedparser
import html5lib
import pytest

from rebuildreport.documents.showing import entries
from rebuildreport.records import load_shop
from rebuildreport.site.disk.manifest import Manifest
from rebuildreport.site.history import feed, listpages
from rebuildreport.site.history.net import Looking

from ..seeing import kept_out
from .conftest import DEMO, FOUR, TRACTOR, edit, files, quick

MANY = 2000
ATOM = {"a": "http://www.w3.org/2005/Atom"}


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The public edition of a shop with thousands of invented jobs, from what is kept of each."""
    out = tmp_path_factory.mktemp("history")
    made = runpy.run_path(str(DEMO.parent / ".ci" / "history.py"), run_name="history")
    shop = load_shop(DEMO, []).shop
    assert shop is not None
    manifest = Manifest(out)
    for one in made["jobs"](MANY):
        listpages.enter(manifest, "public", entries.listed(one, "public"))
    looking = Looking(out / "public", manifest, shop)
    listpages.write(listpages.Ground(out, DEMO, shop, "public", "x"), manifest, looking)
    manifest.close()
    for name, data in made["places"].assets(None).items():
        (out / "public" / "assets" / name).parent.mkdir(parents=True, exist_ok=True)
        (out / "public" / "assets" / name).write_bytes(data)
    return out / "public"


def test_the_feed_is_what_rfc_4287_asks_for(history: Path) -> None:
    """By an independent parser, and by the rules of the standard's section 4 that it does not hold."""
    data = (history / "feed.xml").read_bytes()
    read = feedparser.parse(data)
    assert not read.bozo and read.version == "atom10"
    assert read.feed.title and read.feed.author and len(read.entries) == feed.NEWEST
    root = ET.fromstring(data)
    assert root.tag == "{http://www.w3.org/2005/Atom}feed"
    ids = [node.text for node in root.findall("a:entry/a:id", ATOM)]
    assert len(ids) == len(set(ids)) and all(one and one.startswith("https://") for one in ids)
    for parent in (root, *root.findall("a:entry", ATOM)):
        for one in ("id", "title", "updated"):
            assert len(parent.findall(f"a:{one}", ATOM)) == 1
        assert datetime.fromisoformat(parent.findtext("a:updated", "", ATOM).replace("Z", "+00:00")).tzinfo
        assert parent.find("a:link[@rel='alternate']", ATOM) is not None
    assert (
        root.find("a:link[@rel='self']", ATOM) is not None and root.find("a:author/a:name", ATOM) is not None
    )


def test_the_map_names_every_page_once(history: Path) -> None:
    root = ET.parse(history / "sitemap.xml").getroot()
    found = [node.text or "" for node in root.iter("{http://www.sitemaps.org/schemas/sitemap/0.9}loc")]
    assert len(found) == len(set(found))
    pages = [path for folder in ("engines", "lists") for path in (history / folder).glob("*.html")]
    wanted = {f"https://oldmill.invalid/engines/{quote(str(path.relative_to(history)))}" for path in pages}
    assert wanted <= set(found) and len(found) == len(pages) + MANY + 1


def test_very_many_addresses_stand_in_several_maps() -> None:
    made = feed.maps("https://example.invalid/", ((f"{number}/index.html", "") for number in range(60_000)))
    assert list(made) == ["sitemap.xml", "sitemap-1.xml", "sitemap-2.xml"]
    assert made["sitemap.xml"].count(b"<loc>") == 2 and made["sitemap-2.xml"].count(b"<loc>") == 10_000


def test_every_page_is_sound_html(history: Path, published_small: Path) -> None:
    """An independent parser of the HTML standard finds no error in any page of two jobs or of the history."""
    wrong = []
    some = [*sorted(published_small.rglob("*.html")), *sorted(history.rglob("*.html"))[::12]]
    for path in some:
        parser = html5lib.HTMLParser()
        parser.parse(path.read_bytes())
        wrong += [f"{path.name}: {error}" for error in parser.errors[:2]]
    assert len(some) > 40 and wrong == []


def test_the_first_page_is_light_and_every_job_is_reached_by_links_alone(history: Path) -> None:
    """Below 100 kB with 2,000 jobs; what is searched comes when somebody searches."""
    first = (history / "index.html").read_text("utf-8")
    assert len(first.encode()) < 100_000 and "jobs.js" not in first
    jobs: set[str] = set()
    pages, seen = {f"lists/{name}" for name in re.findall(r'href="lists/(year-[^"]+)"', first)}, set()
    while pages - seen:
        name = (pages - seen).pop()
        seen.add(name)
        text = (history / name).read_text("utf-8")
        jobs.update(re.findall(r'href="\.\./(\d{4}-[^"/]+)/index\.html"', text))
        pages |= {f"lists/{other}" for other in re.findall(r'href="(year-[^"]+)"', text)}
    assert len(jobs) == MANY


def test_a_new_job_changes_the_newest_page_of_its_lists_alone(tmp_path: Path) -> None:
    made = runpy.run_path(str(DEMO.parent / ".ci" / "history.py"), run_name="history")
    shop = load_shop(DEMO, []).shop
    assert shop is not None
    manifest = Manifest(tmp_path)
    ground = listpages.Ground(tmp_path, DEMO, shop, "public", "x")
    looking = Looking(tmp_path / "public", manifest, shop)
    *old, new = made["jobs"](400)
    for one in old:
        listpages.enter(manifest, "public", entries.listed(one, "public"))
    listpages.write(ground, manifest, looking)
    before = files(tmp_path / "public")
    listpages.enter(manifest, "public", entries.listed(new, "public"))
    listpages.write(ground, manifest, looking)
    after = files(tmp_path / "public")
    changed = {name for name in after if before.get(name) != after[name]}
    lists = {name for name in changed if name.startswith("lists/")}
    assert f"entries/{new.job}.js" in changed and len([name for name in changed if "entries/" in name]) == 1
    assert "lists/year-2026-1.html" in after and "lists/year-2026-1.html" not in lists
    assert lists == {name for name in after if name.startswith("lists/") and new.job.encode() in after[name]}
    (tmp_path / "public" / "lists" / "year-2026-1.html").unlink()  # no entry changed: it comes back
    listpages.write(ground, manifest, looking)
    assert files(tmp_path / "public") == after
    manifest.enter("public", new.job, None)
    listpages.write(ground, manifest, looking)
    assert files(tmp_path / "public") == before


@pytest.fixture
def page(history: Path, chromium: Any) -> Iterator[Any]:
    page = chromium.new_page(viewport={"width": 1280, "height": 900})
    page.faults = []
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    page.on("request", lambda request: request.url.startswith("file:") or page.faults.append(request.url))
    page.goto((history / "index.html").as_uri())
    yield page
    assert page.faults == []
    page.close()


def shown(page: Any) -> tuple[int, int]:
    """How many of how many jobs the page says that it shows."""
    numbers = [int(number) for number in re.findall(r"\d+", page.locator("#count").inner_text())]
    return numbers[0], numbers[-1]


def test_a_word_that_is_misspelt_finds_what_was_meant(page: Any) -> None:
    page.fill("#q", "tractor")
    page.wait_for_function("document.getElementById('count').textContent.includes(' of ')")
    meant = shown(page)
    assert 0 < meant[0] < MANY == meant[1]
    for typed in ("tracotr", "traktor", "tracter", "ractor", "tractorr"):
        page.fill("#q", typed)
        assert shown(page) == meant, typed
    assert "tractor" in page.locator("#near").inner_text()
    page.fill("#q", "tractor badger")
    assert page.locator("#jobs li").count() == 0


def test_a_choice_narrows_counts_and_stands_in_the_address(page: Any, history: Path, chromium: Any) -> None:
    """Counted again from the data by no part of the script; the address leads to the same list elsewhere."""
    rows = [line for line in (history / "jobs.js").read_text("utf-8").splitlines() if line.startswith('["')]
    page.check("input[name=year][value='2025']")
    page.wait_for_function("document.getElementById('count').textContent.includes(' of ')")
    of_year = {year: sum(row.startswith(f'["{year}-') for row in rows) for year in (2024, 2025)}
    assert shown(page) == (of_year[2025], MANY)  # no job tells an age: the heading before it has no lines
    assert page.locator("[data-facet=year] [data-code='2024'] .n").inner_text() == str(of_year[2024])
    page.uncheck("input[name=year][value='2025']")
    page.check("input[name=failed][value=valves]")
    page.wait_for_function("document.getElementById('count').textContent.includes(' of ')")
    wanted = sum("exhaust valve" in row.lower() for row in rows)
    assert shown(page) == (wanted, MANY)
    page.check("input[name=failed][value=head]")
    both = wanted + sum("head face" in row.lower() for row in rows)
    assert shown(page) == (both, MANY)
    page.click("details[data-facet=engine] > summary")
    page.check("input[name=engine][value=ostrand-h8-110]")
    few = shown(page)
    other = chromium.new_page()
    other.goto(page.url)
    other.wait_for_function("document.getElementById('count').textContent.includes(' of ')")
    assert shown(other) == few and other.locator("#chosen button").count() == 3
    other.wait_for_function("!document.querySelector('#jobs li[data-job]')")  # each as every list draws it
    assert other.locator("#jobs svg").count() == other.locator("#jobs li").count() == 24
    other.close()


def test_by_keyboard_alone(page: Any) -> None:
    """From the head of the page to the field, to a box, to more of the list; what has the focus is seen."""
    reached = []
    for _ in range(6):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.tagName"))
    assert "q" in reached
    page.focus("#q")
    page.keyboard.type("van")
    page.wait_for_function("document.getElementById('count').textContent.includes(' of ')")
    page.focus("input[name=failed]")
    page.keyboard.press("Space")
    assert page.locator("#chosen button").count() == 1
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.fill("#q", "")
    page.focus("#more")
    page.keyboard.press("Enter")
    assert page.locator("#jobs li").count() == 48
    assert page.evaluate(
        "document.activeElement.closest('li') === document.querySelectorAll('#jobs > li')[24]"
    )


def test_a_long_list_is_shut_until_something_in_it_counts(history: Path, chromium: Any) -> None:
    page = chromium.new_page(viewport={"width": 1280, "height": 900})
    page.goto((history / "index.html").as_uri())
    lists = "document.querySelectorAll('[data-facet]')"
    groups = f"Array.from({lists}, g => [g.open, g.querySelectorAll('input').length])"
    assert {is_open == (lines <= 8) for is_open, lines in page.evaluate(groups)} == {True}
    shut = page.locator("details[data-facet]:not([open]) input").first
    name, value = shut.get_attribute("name"), shut.get_attribute("value")
    page.goto("about:blank")
    page.goto((history / "index.html").as_uri() + f"#{name}={value}")
    assert page.locator(f"details[data-facet={name}][open]").count() == 1
    page.close()


def test_without_javascript_nothing_is_promised_that_cannot_be_done(history: Path, chromium: Any) -> None:
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 390, "height": 900})
    page = context.new_page()
    page.goto((history / "index.html").as_uri())
    assert not page.locator("#q").is_visible() and not page.locator("#more").is_visible()
    assert page.locator("#jobs > li").count() == 24
    page.locator("details[data-facet=failed] > summary").click()
    page.locator("details[data-facet=failed] a").first.click()
    assert page.locator(".short li").count() > 100
    context.close()


def test_nobody_is_kept_out(history: Path, chromium: Any) -> None:
    """axe-core's rules on the pages of the history, narrowed down too; none is wider than its window."""
    found = []
    page = chromium.new_page()
    for name in (
        "index.html",
        "index.html#failed=valves&q=tracotr",
        "engines/tarnbeck-od6-54.html",
        "lists/year-2026.html",
        "lists/failed-valves.html",
    ):
        path, _, fragment = name.partition("#")
        assert (history / path).is_file(), path
        page.emulate_media(color_scheme="light")
        page.goto("about:blank")  # else a fragment alone would load nothing
        page.goto((history / path).as_uri() + (f"#{fragment}" if fragment else ""))
        if fragment:
            page.wait_for_function("document.getElementById('count').textContent.includes(' of ')")
        for width in (1280, 390):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        found += [f"{name}, {one}" for one in kept_out(page)]
    page.close()
    assert found == []


def test_a_renamed_job_keeps_its_old_address(begun: Path, tmp_path: Path) -> None:
    """And what feed readers know it by; a job that has that name now keeps it."""
    shutil.rmtree(begun / FOUR / "measurements")
    edit(begun / FOUR / "job.yaml", "publish: no", "publish: yes\nconsent: 2026-04-13")
    out = tmp_path / "out"
    quick(begun, out)
    known = feedparser.parse((out / "public" / "feed.xml").read_bytes()).entries[0].id
    (begun / FOUR).rename(begun / "2026-004-better-name")
    edit(begun / "2026-004-better-name" / "job.yaml", "publish: yes", f"was: {FOUR}\npublish: yes")
    quick(begun, out)
    moved = (out / "public" / FOUR / "index.html").read_text("utf-8")
    assert "url=../2026-004-better-name/index.html" in moved
    assert 'rel="canonical" href="https://oldmill.invalid/engines/2026-004-better-name/"' in moved
    (one,) = feedparser.parse((out / "public" / "feed.xml").read_bytes()).entries
    assert one.id == known and one.link.endswith("/2026-004-better-name/")
    shutil.copytree(begun / "2026-004-better-name", begun / FOUR)
    edit(begun / FOUR / "job.yaml", f"was: {FOUR}\n", "")
    quick(begun, out)
    assert "http-equiv" not in (out / "public" / FOUR / "index.html").read_text("utf-8")


def test_a_page_says_where_it_stands_and_what_is_shown_of_it(published_small: Path) -> None:
    """Open Graph's four, in the public edition alone; the picture is there."""
    public = published_small / "public"
    for name in (f"{TRACTOR}/index.html", "index.html", "engines/haverdoon-hd4.html", "pages/about.html"):
        text = (public / name).read_text("utf-8")
        told = dict(re.findall(r'<meta property="og:(\w+)" content="([^"]*)"', text))
        where = f"https://oldmill.invalid/engines/{name.removesuffix('index.html')}"
        assert told["url"] == where and f'rel="canonical" href="{where}"' in text
        assert told["title"] and told["type"] and told["description"]
        assert (public / told["image"].removeprefix("https://oldmill.invalid/engines/")).is_file(), told[
            "image"
        ]
        assert name != f"{TRACTOR}/index.html" or told["description"].startswith(
            "The white metal of the centre main had broken out"
        )
    assert "og:" not in (published_small / "shop" / TRACTOR / "index.html").read_text("utf-8")


def test_the_page_that_is_not_there_finds_its_files_from_anywhere(published_small: Path) -> None:
    text = (published_small / "public" / "404.html").read_text("utf-8")
    links = re.findall(r'(?:href|src)="([^"]+)"', text)
    assert links and all(link.startswith("/engines/") for link in links)
