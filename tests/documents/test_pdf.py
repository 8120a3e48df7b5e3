"""What is said where the PDF renderer cannot be loaded."""

from __future__ import annotations

import re
import subprocess
import sys
from typing import Any

from rebuildreport.documents.press import places, templating


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
    pdf = pypdfium2.PdfDocument(pdf_renderer.HTML(string=page).write_pdf())
    pages = [pdf[i].get_textpage().get_text_range() for i in range(len(pdf))]
    for number in range(18):
        where = {
            word: next(i for i, text in enumerate(pages) if re.search(rf"\b{word}{number}\b", text))
            for word in ("name", "begin", "end")
        }
        assert len(set(where.values())) == 1, (number, where)
