"""PDFs: what is said where they cannot be made, and how their pages are filled."""

from __future__ import annotations

import base64
import re
import socket
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.documents.press import filling, pdf, places, templating
from rebuildreport.site.making.readable import in_pdf

DAY = date(2026, 3, 9)


def test_without_the_layout_libraries_only_our_words_are_said() -> None:
    """The renderer prints a page of its own when a library is missing; whoever works here reads one line."""
    code = (
        "import cffi\n"
        "def no(self, name, flags=0): raise OSError(f'cannot load library {name!r}')\n"
        "cffi.FFI.dlopen = no\n"
        "from rebuildreport.documents.press import pdf\n"
        "try:\n    pdf._load()\nexcept pdf.PdfUnavailable as problem:\n    print(problem)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    (line,) = done.stdout.splitlines()
    assert "libpangoft2-1.0-0" in line


def test_nothing_is_fetched_from_the_network_or_from_outside_the_job(
    pdf_renderer: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a page, a stylesheet or a drawing inside one: what is not there is left out."""
    secret, inside = tmp_path / "secret", tmp_path / "job"
    inside.mkdir()
    secret.write_text("<svg xmlns='http://www.w3.org/2000/svg'><text y='20'>secret</text></svg>", "utf-8")
    (inside / "link.svg").symlink_to(secret)
    asked: list[object] = []
    monkeypatch.setattr(socket, "getaddrinfo", lambda *where, **more: asked.append(where) or [])
    monkeypatch.setattr(socket.socket, "connect", lambda self, where: asked.append(where))
    drawn = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
        f'<style>@import "http://x.invalid/s.css";</style><image xlink:href="{secret.as_uri()}"/>'
        '<image xlink:href="http://x.invalid/i.png"/><use xlink:href="http://x.invalid/u.svg#a"/></svg>'
    )
    coded = base64.b64encode(drawn.encode()).decode()
    places_of = (secret.as_uri(), "link.svg", "photo:../secret", "photo:secret", "http://127.0.0.1/i.png")
    html = (
        '<html lang="en"><head><title>t</title><link rel="stylesheet" href="http://x.invalid/l.css">'
        '<link rel="attachment" href="file:///etc/passwd"></head><body><p>said</p>'
        + "".join(f'<img src="{one}" alt="">' for one in (*places_of, f"data:image/svg+xml;base64,{coded}"))
        + f'<object data="{secret.as_uri()}"></object>{drawn}</body></html>'
    )
    style = "@import 'http://x.invalid/a.css'; body { background: url(//x.invalid/b.png) }"
    made = pdf.Paper(html, style, inside, (inside,), DAY, photos=inside).pdf()
    (tmp_path / "made.pdf").write_bytes(made)
    texts = " ".join(in_pdf(tmp_path / "made.pdf"))
    assert "said" in texts and "secret" not in texts and "root:" not in texts and asked == []


def test_the_name_of_a_fact_and_its_text_stand_on_one_page(pdf_renderer: Any) -> None:
    """Whatever stands above them: no name at the foot of a page whose text begins on the next."""
    import pypdfium2

    part = templating.environment().get_template("parts/facts/part.html.jinja").module
    sections = ""
    for number, above in enumerate(range(190, 262, 4)):
        words = [f"begin{number}"] + ["words of the text"] * 30 + [f"end{number}"]
        facts = part.list([(f"name{number}", " ".join(words))])  # type: ignore[attr-defined]
        sections += (
            f'<section style="break-before:page"><div style="height:{above}mm"></div>{facts}</section>'
        )
    page = f"<html lang='en'><style>{places.stylesheet()}</style><body>{sections}</body></html>"
    made = pypdfium2.PdfDocument(pdf_renderer.HTML(string=page).write_pdf())
    pages = [made[i].get_textpage().get_text_range() for i in range(len(made))]
    for number in range(18):
        where = {
            word: next(i for i, text in enumerate(pages) if re.search(rf"\b{word}{number}\b", text))
            for word in ("name", "begin", "end")
        }
        assert len(set(where.values())) == 1, (number, where)


def _fullness(page: str) -> list[float]:
    """How far down each page ink stands between the margins, read from the finished PDF."""
    import pypdfium2

    made = pdf.Paper(page, places.stylesheet(), places.own_templates(), (), DAY).pdf()
    found = []
    for paper in pypdfium2.PdfDocument(made):
        rows = paper.render(scale=0.5).to_numpy().min(axis=(1, 2))
        top, end = round(len(rows) * 27 / 297), round(len(rows) * 280 / 297)
        inked = [row for row in range(top, end) if rows[row] < 200]
        found.append((max(inked) - top) / (end - top) if inked else 0.0)
    return found


@pytest.mark.parametrize("over", range(2, 60, 8))
def test_no_page_is_nearly_empty(pdf_renderer: Any, over: int) -> None:
    """Whatever runs over three pages, lines of 13 pt on 250 mm a page (54): no page is left for it alone."""
    lines = 3 * 54 + over
    text = "".join(f"<p>line {line}</p>" for line in range(lines))
    full = _fullness(f"<html lang='en'><body>{text}</body></html>")
    assert min(full) > 0.3


def test_what_follows_a_page_nearly_empty_begins_on_it(pdf_renderer: Any) -> None:
    """A part that runs over its page a little; an assembly where it has room as a whole or is longer than a
    page anyway, an order never."""

    def full(kind: str, height: int = 150, lines: int = 28) -> list[float]:
        section = "<section class='{}' id='{}'><div style='height:{}mm'></div>{}</section>"
        first = section.format(kind, "a", 150, "<p>more</p>" * 28)
        second = section.format(kind, "b", height, "<p>more</p>" * lines)
        return _fullness(f"<html lang='en'><body>{first}{second}</body></html>")

    assert [len(full(kind)) for kind in ("rec-page", "bpage", "bpage order")] == [3, 3, 4]
    assert [len(full(kind, 100, 1)) for kind in ("bpage", "bpage order")] == [2, 3]
    # 48 lines fit a page, and not the rest of one: an assembly is not torn for the page before it
    assert full("rec-page", 0, 48)[1] > 0.9 and full("bpage", 0, 48)[1] < 0.3


def test_a_last_page_nearly_empty_takes_what_stands_before_it(pdf_renderer: Any) -> None:
    """Of 120, 100 and 55 mm two stand on the first page of 250 mm; the second would be filled to a fifth."""
    heights = {"a": 120, "b": 100, "c": 55}
    blocks = "".join(
        f"<section id='{name}' class='keep'><div style='height:{high}mm;border-bottom:2mm solid'></div>"
        "</section>"
        for name, high in heights.items()
    )
    assert [round(full, 1) for full in _fullness(f"<html lang='en'><body>{blocks}</body></html>")] == [
        0.5,
        0.6,
    ]


def test_what_is_for_page_one_is_set_closer_until_it_stands_there(pdf_renderer: Any) -> None:
    """250 mm are 54.5 lines of 13 points and 56.2 of 12.6: of 55.5 lines the last do not fit as they are."""
    block = "<div class='keep{}' style='height:{}rem;border-bottom:2mm solid'></div>"
    for kind, full in (("", 0.9), (" page-one", 0.97)):
        blocks = block.format("", 50) + block.format(kind, 5.5) + block.format("", 30)
        assert round(_fullness(f"<html lang='en'><body>{blocks}</body></html>")[0], 2) == full
    # ... though the next page is nearly empty for it: 14 lines of 56, where it had 19.5 of 54.5
    blocks = block.format("", 50) + block.format(" page-one", 5.5) + block.format("", 14)
    assert round(_fullness(f"<html lang='en'><body>{blocks}</body></html>")[0], 2) == 0.97


def test_what_the_page_before_gives_is_set_in_the_letters_that_page_one_needs(pdf_renderer: Any) -> None:
    """Of 30, 20 and 14 lines the last stand alone in any letters: the 20 go with them, page one is kept."""
    block = (
        "<section id='{}' class='keep{}'><div style='height:{}rem;border-bottom:2mm solid'></div></section>"
    )
    parts = (("a", "", 50), ("b", " page-one", 5.5), ("c", "", 30), ("d", "", 20), ("e", "", 14))
    text = "".join(block.format(*part) for part in parts)
    full = _fullness(f"<html lang='en'><body>{text}</body></html>")
    assert len(full) == 3 and round(full[0], 2) == 0.97 and min(full) > 1 / 3


def test_boxes_of_a_fixed_height_are_not_set_in_every_size_of_letters(
    pdf_renderer: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """60 mm stand alone between 200 and 245 of a page of 250: no letters change that, and twice is enough.

    What has no room on page one below 200 mm gets it by its own letters: 12.5 lines of 12.2 points are 54 mm.
    """
    tried: list[str] = []

    def counted(lay_out: filling.Layout) -> Any:
        def once(more: str) -> Any:
            tried.append(more)
            return lay_out(more)

        return filling.filled(once)

    monkeypatch.setattr(pdf, "filled", counted)
    block = "<div class='keep{}' style='height:{};border-bottom:2mm solid'></div>"
    boxes = "".join(block.format("", high) for high in ("200mm", "60mm", "245mm"))
    assert [round(full, 1) for full in _fullness(f"<html lang='en'><body>{boxes}</body></html>")][1] == 0.2
    assert len(tried) == 2
    boxes = block.format("", "200mm") + block.format(" page-one", "12.3rem") + block.format("", "30rem")
    boxes += block.format("", "245mm")
    assert _fullness(f"<html lang='en'><body>{boxes}</body></html>")[0] > 0.9
