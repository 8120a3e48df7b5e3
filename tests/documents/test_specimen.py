"""The specimen of every part: complete, well nested, alike to the kept pictures; a new part is one folder."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.documents.press import places
from rebuildreport.documents.press.words import SEVERITY
from rebuildreport.documents.showing import entries as pages
from rebuildreport.documents.showing import life_figure
from rebuildreport.documents.showing.specimen import PHOTOS, copy_photos, specimen_html, specimen_pdf

from .test_report import Page

KEPT = Path(__file__).parent / "pictures"
DOTS = 50  # to the inch: letters are grey, lines and blocks plain


def test_every_part_stands_on_it_and_the_page_is_sound() -> None:
    page = Page(specimen_html())
    assert page.broken == [] and page.open == [] and page.unnamed == []
    assert len(page.ids) == len(set(page.ids))
    inner = {link[1:] for link in page.links if link.startswith("#")}
    # a specimen has no cost section of its own to link to, nor further pages: lines, findings and parts only
    assert {name for name in inner if name.startswith("part-")} <= set(page.ids)
    assert {f"part-{name}" for name in places.parts()} <= set(page.ids)
    for verdict in SEVERITY:
        assert verdict in page.text


def test_every_part_has_its_three_files_and_a_use() -> None:
    """Macro, stylesheet and specimen; and some document uses the part."""
    folder = places.own_templates()
    used = "".join(path.read_text() for path in folder.rglob("*.jinja") if path.name != "specimen.html.jinja")
    # an entry of the index and a life are made apart, and set into their pages whole
    used += "".join(Path(str(one.__file__)).read_text("utf-8") for one in (pages, life_figure))
    for name in places.parts():
        for file in ("part.html.jinja", "part.css", "specimen.html.jinja"):
            assert (folder / "parts" / name / file).is_file(), (name, file)
        assert f'"parts/{name}/part.html.jinja"' in used, f"no document uses {name}"


def test_a_new_part_is_one_folder(tmp_path: Path) -> None:
    """In a shop's own templates as in the project's: the page finds it, the stylesheet holds its piece."""
    folder = tmp_path / "templates" / "parts" / "stamp"
    folder.mkdir(parents=True)
    (folder / "part.html.jinja").write_text(
        "{% macro stamp(text) %}<p class=stamp>{{ text }}</p>{% endmacro %}"
    )
    (folder / "part.css").write_text(".stamp{border:1pt solid}\n")
    (folder / "specimen.html.jinja").write_text(
        '{% import "parts/stamp/part.html.jinja" as part %}{% set title = "Stamp" %}'
        '{% set about = "A stamp." %}'
        '{% macro show(s, for_pdf) %}{{ part.stamp("Paid") }}{% endmacro %}'
    )
    page = Page(specimen_html(shop=tmp_path))
    assert "part-stamp" in page.ids and "Paid" in page.text
    assert ".stamp{" in places.stylesheet(shop=tmp_path) and ".stamp{" not in places.stylesheet()


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory, pdf_renderer: Any, pdftoppm: str) -> list[Any]:
    """The specimen's printed pages as grey pictures."""
    from PIL import Image

    folder = tmp_path_factory.mktemp("specimen")
    (folder / "specimen.pdf").write_bytes(specimen_pdf())
    command = [pdftoppm, "-r", str(DOTS), "-gray", "-png", "specimen.pdf", "page"]
    subprocess.run(command, cwd=folder, check=True)
    return [Image.open(path).convert("L") for path in sorted(folder.glob("page-*.png"))]


def test_pages_look_as_they_were_kept(drawn: list[Any], request: pytest.FixtureRequest) -> None:
    """Against the pictures in tests/documents/pictures; ``pytest --keep-pictures`` keeps the present ones.

    Fonts are shipped, but text layout may differ by a fraction of a point between versions of the library:
    pictures are compared softly, a shifted or missing block still shows.
    """
    if request.config.getoption("--keep-pictures"):
        KEPT.mkdir(exist_ok=True)
        for old in KEPT.glob("specimen-*.png"):
            old.unlink()
        for number, page in enumerate(drawn, 1):
            page.quantize(16).save(KEPT / f"specimen-{number}.png", optimize=True)
        return
    kept = sorted(KEPT.glob("specimen-*.png"))
    assert len(kept) == len(drawn), f"{len(drawn)} pages, {len(kept)} kept: look, then pytest --keep-pictures"
    for number, (page, path) in enumerate(zip(drawn, kept, strict=True), 1):
        off = _difference(page, path)
        assert off < 0.02, (
            f"page {number} differs on {off:.1%} of its area: look, then pytest --keep-pictures"
        )


def test_the_comparison_sees_a_missing_block(drawn: list[Any]) -> None:
    """A check that could not fail would be none: a caution box painted over must show."""
    kept = sorted(KEPT.glob("specimen-*.png"))
    damaged = drawn[0].copy()
    damaged.paste(255, (40, 250, 380, 420))
    assert _difference(damaged, kept[0]) > 0.02


def _difference(page: Any, path: Path) -> float:
    """Share of the area that differs clearly, seen through frosted glass."""
    from PIL import Image, ImageChops, ImageFilter

    soft = [
        picture.convert("L").resize(page.size).filter(ImageFilter.GaussianBlur(2.5))
        for picture in (page, Image.open(path))
    ]
    counts = ImageChops.difference(*soft).histogram()
    return sum(counts[24:]) / sum(counts)


def test_photos_of_the_specimen_are_there(tmp_path: Path) -> None:
    copy_photos(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(PHOTOS)
