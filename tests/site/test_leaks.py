"""The second net: private values of each job, in all kinds of files, in what is new and what stood before."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from rebuildreport.records import load_shop
from rebuildreport.site import publishing
from rebuildreport.site.disk.manifest import Manifest
from rebuildreport.site.history.net import Looking
from rebuildreport.site.making.leaks import Net, Private, private_texts

from .conftest import DEMO, FOUR, SIX, edit, files, quick

OWNER = "owner:\n  name: Zeb-Quirin Neverborn\n  contact: Tel. 01632 960888, zeb@nowhere.invalid\n"
HIDDEN = ("Zeb-Quirin Neverborn", "01632 960888", "zeb@nowhere.invalid", "WH TR 117")


def pdf(path: Path, *, text: str = "", title: str = "", attached: str = "", alt: str = "") -> None:
    """A PDF with something said in one of its places."""
    made = pikepdf.new()
    font = made.make_indirect(
        pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
        )
    )
    page = made.add_blank_page()
    page.Resources = pikepdf.Dictionary(Font=pikepdf.Dictionary(F1=font))
    page.Contents = made.make_stream(f"BT /F1 12 Tf 72 720 Td ({text or 'nothing'}) Tj ET".encode())
    if title:
        made.docinfo["/Title"] = title
    if alt:
        made.Root.StructTreeRoot = made.make_indirect(pikepdf.Dictionary(K=[pikepdf.Dictionary(Alt=alt)]))
    if attached:
        made.attachments["extract.json"] = json.dumps({"said": attached}).encode()
    made.save(path)


@pytest.mark.parametrize("said", HIDDEN)
def test_a_private_value_is_found_wherever_a_file_can_hold_it(tmp_path: Path, said: str) -> None:
    """Each place of each kind of file, of another job, in other letters and broken by other signs."""
    manifest = Manifest(tmp_path)
    shop = load_shop(DEMO, []).shop
    assert shop is not None
    home = tmp_path / "public"
    folder = home / "2026-001"
    folder.mkdir(parents=True)
    looking = Looking(home, manifest, shop)
    looking.keep("2026-999", [("owner's words", text, "text", "2026-999") for text in HIDDEN])
    broken = said.upper().replace(" ", " <b>", 1) if " " in said else said.upper()
    (folder / "text.html").write_text(f"<p>for {broken}</b> again</p>")
    (folder / "attribute.html").write_text(f'<img alt="with {said.replace(" ", "&#160;")}" src="a.jpg">')
    (folder / "quoted.js").write_text(json.dumps({"title": f"<b>{said}</b>"}))
    (folder / f"{said}.css").write_text("p{}")
    exif = Image.Exif()
    exif[0x010E] = f"taken of {said}"
    Image.new("RGB", (8, 8)).save(folder / "picture.jpg", exif=exif)
    Image.new("RGB", (8, 8)).save(folder / "comment.jpg", comment=said.encode())
    pdf(folder / "text.pdf", text=said)
    pdf(folder / "title.pdf", title=said)
    pdf(folder / "attached.pdf", attached=said)
    pdf(folder / "alt.pdf", alt=said)
    planted = {path.name for path in folder.iterdir()}
    (folder / "clean.html").write_text('<svg><path d="M01632 960888"/></svg><p>a bearing</p>')
    pdf(folder / "clean.pdf")
    manifest.own("2026-001", "public", [path.name for path in folder.iterdir()])
    found = {Path(leak.file).name for leak in looking.job("2026-001")}
    assert found == planted
    manifest.close()


def test_a_name_that_is_a_word_stops_nobody() -> None:
    """A customer called Stone, and a stone in another engine's sump; his own job is held to more."""
    net = Net(
        [Private("owner's name", "Stone", "word", "a"), Private("owner's name", "Neverborn", "word", "a")]
    )
    assert net.found(["Stone by stone it wore"], "b") == []
    assert [one.text for one in net.found(["Stone by stone it wore"], "a")] == ["Stone"]
    assert [one.text for one in net.found(["seen by Neverborn"], "b")] == ["Neverborn"]
    assert (
        Net([Private("name", "Old Mill", "text", "a")], "Old Mill Engine Works").found(["Old Mill"], "b")
        == []
    )


def test_nothing_that_the_owner_block_holds_is_left_out() -> None:
    folder = load_shop(DEMO, [SIX])
    job = folder.jobs[SIX]
    assert job.job is not None and job.job.owner is not None
    texts = {one.text for one in private_texts(job)}
    assert {value for value in job.job.owner.model_dump().values() if value} <= texts


@pytest.fixture
def two(begun: Path) -> Path:
    """A shop of two public jobs, neither of whose owners is known yet."""
    shutil.rmtree(begun / FOUR / "measurements")  # who is named stands elsewhere
    for name in ("one", "two"):
        shutil.copytree(begun / FOUR, begun / name)
        job = begun / name / "job.yaml"
        text = job.read_text("utf-8").replace("publish: no", "publish: yes\nconsent: 2026-04-13")
        job.write_text(re.sub(r"owner:\n(  .*\n)+", "", text), "utf-8")
    shutil.rmtree(begun / FOUR)
    edit(begun / "two" / "job.yaml", "Misfire on No. 2", "Misfire on No. 2 as on the one of Mr Neverborn")
    return begun


def test_a_new_customer_is_looked_for_in_what_stood_before(two: Path, tmp_path: Path) -> None:
    """Told at the line in which he was named, though that job did not change; mended, it comes back."""
    out = tmp_path / "out"
    assert quick(two, out).exit_status == 0
    assert (out / "public" / "two" / "index.html").is_file()
    edit(two / "one" / "job.yaml", "arrival:\n", f"{OWNER}\narrival:\n")
    for _ in range(2):
        result = quick(two, out)
        assert result.exit_status == 1
        (leak,) = (one for one in result.problems if "public" in one.message)
        assert leak.file == "two/job.yaml" and "Neverborn" in leak.quote and "of one" in leak.message
        assert not (out / "public" / "two").exists() and (out / "public" / "one" / "index.html").is_file()
        assert not [name for name, data in files(out / "public").items() if b"Neverborn" in data]
    edit(two / "two" / "job.yaml", " as on the one of Mr Neverborn", "")
    assert quick(two, out).exit_status == 0
    assert (out / "public" / "two" / "index.html").is_file()


@pytest.mark.parametrize("stood", [False, True])
def test_what_a_run_that_was_cut_off_put_in_place_is_looked_at_by_the_next(
    two: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stood: bool
) -> None:
    """Cut off between the pages and the look at them, be the page or the customer the newer of the two."""
    out = tmp_path / "out"
    if stood:
        assert quick(two, out).exit_status == 0
    edit(two / "one" / "job.yaml", "arrival:\n", f"{OWNER}\narrival:\n")

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(publishing, "_look", killed)
        quick(two, out)
    assert (out / "public" / "two" / "index.html").is_file()  # what the next run has to find
    assert quick(two, out).exit_status == 1
    assert not (out / "public" / "two").exists() and (out / "public" / "one" / "index.html").is_file()


def test_a_page_of_the_shops_own_that_tells_of_a_customer_is_not_written(two: Path, tmp_path: Path) -> None:
    edit(two / "one" / "job.yaml", "arrival:\n", f"{OWNER}\narrival:\n")
    edit(two / "two" / "job.yaml", " as on the one of Mr Neverborn", "")
    (two / "pages").mkdir(exist_ok=True)
    (two / "pages" / "praise.md").write_text(
        "# Praise\n\nSaid Zeb-Quirin Neverborn.\n\nAsk me@shop.invalid.\n"
    )
    result = quick(two, tmp_path / "out")
    (leak,) = (one for one in result.problems if "public" in one.message)
    assert (leak.file, leak.line) == ("pages/praise.md", 3)
    assert not (tmp_path / "out" / "public" / "pages" / "praise.html").exists()
    edit(two / "pages" / "praise.md", "Said Zeb-Quirin Neverborn", "Said a customer")
    assert quick(two, tmp_path / "out").exit_status == 0
    assert "me@shop.invalid" in (tmp_path / "out" / "public" / "pages" / "praise.html").read_text("utf-8")


def test_a_customer_lives_where_the_shop_has_its_name_from(two: Path, tmp_path: Path) -> None:
    """The shop's name is on every public page; the town named beside it is still the customer's."""
    edit(two / "two" / "job.yaml", " as on the one of Mr Neverborn", "")
    edit(two / "shop.yaml", "name: Old Mill Engine Works", "name: Kettlebeck Engine Works")
    job = two / "one" / "job.yaml"
    edit(
        job,
        "arrival:\n",
        "owner:\n  name: Z. Q. Neverborn\n  address: 3 Nowhere Lane, Kettlebeck\narrival:\n",
    )
    assert quick(two, tmp_path / "out").exit_status == 0
    assert (tmp_path / "out" / "public" / "one" / "index.html").is_file()
    edit(job, "Misfire on No. 2", "Misfire on No. 2, from Kettlebeck")
    result = quick(two, tmp_path / "out")
    assert [one.quote for one in result.problems if "public" in one.message] != [""]
    assert not (tmp_path / "out" / "public" / "one").exists()


def test_consent_taken_back_leaves_no_trace(two: Path, tmp_path: Path) -> None:
    """Not in a list, a feed, a map, an address of before, a picture; and the run says what went."""
    from rebuildreport.site.publishing import Told, publish

    class Heard(Told):
        def __init__(self) -> None:
            self.lines: list[str] = []

        def said(self, line: str) -> None:
            self.lines.append(line)

    out = tmp_path / "out"
    edit(two / "two" / "job.yaml", " as on the one of Mr Neverborn", "")
    edit(two / "one" / "job.yaml", "publish: yes", "was: the-first-name\npublish: yes")
    edit(two / "one" / "job.yaml", "title: Twin-cam", "title: Unheard-of Twin-cam")
    assert quick(two, out).problems == ()
    traces = (b"one/", b"the-first-name", b"Unheard-of")
    before = files(out / "public")
    for name in (
        "index.html",
        "feed.xml",
        "sitemap.xml",
        "jobs.js",
        "the-first-name/index.html",
        "entries/one.js",
    ):
        assert any(trace in before[name] for trace in traces), name
    edit(two / "one" / "job.yaml", "publish: yes", "publish: no")
    told = Heard()
    assert publish(two, out, pdf=False, told=told).exit_status == 0
    after = files(out / "public")
    assert not [
        name
        for name, data in after.items()
        if any(trace in data or trace in name.encode() for trace in traces)
    ]
    assert any(
        line.startswith("one: taken off the public edition") and "files" in line for line in told.lines
    )


def test_a_day_is_nobodys_telephone_number_in_the_pages_of_another(tmp_path: Path) -> None:
    """A number whose last seven digits are those of 2026-11-29: told in its own job, elsewhere only whole."""
    shop = Path(shutil.copytree(DEMO, tmp_path / "jobs", ignore=shutil.ignore_patterns("photos")))
    edit(shop / FOUR / "job.yaml", "contact: thistlewick@example.invalid", "contact: 01632 0261129")
    job = load_shop(shop, [FOUR]).jobs[FOUR]
    net = Net([one for one in private_texts(job) if one.how == "number"])
    day, whole = ["seen on 2026-11-29"], ["call +44 1632 026-1129"]
    assert net.found(day, FOUR) and net.found(whole, FOUR)
    assert not net.found(day, SIX) and net.found(whole, SIX)


def test_a_value_is_found_whatever_it_shares_with_others() -> None:
    """Customers of one street: a value is found where it stands, and nobody else's with it."""
    street = [
        Private("address", f"{number} Nowhere Lane, Upper Invention", job=f"j{number}")
        for number in range(100, 400)
    ]
    net = Net([*street, *(Private("town", "Upper Invention", job=f"j{n}") for n in range(100, 400))])
    for number in (100, 257, 399):
        said = f"fetched from {number}, Nowhere Lane - upper-invention"
        assert [one.text for one in net.found([said], "x") if one.what == "address"] == [
            street[number - 100].text
        ]
    assert net.found(["from Nowhere Lane, Upper Invent"], "x") == []
