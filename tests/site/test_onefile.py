"""A page that goes alone: nothing of it is anywhere else."""

from __future__ import annotations

import base64
import re
from pathlib import Path

from rebuildreport.site.sending.onefile import alone


def test_a_page_alone_has_everything_inside(tmp_path: Path) -> None:
    for name in ("assets/fonts/a.woff2", "job/photos/s.jpg", "job/photos/l.jpg"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(name.encode())
    (tmp_path / "assets/pages.css").write_text("@font-face{src:url(fonts/a.woff2)}", "utf-8")
    page = tmp_path / "job" / "index.html"
    page.write_text(
        '<link rel="stylesheet" href="../assets/pages.css"><a href="../index.html">Shop</a><a href="#f">F</a>'
        '<img src="photos/s.jpg" srcset="photos/s.jpg 400w, photos/l.jpg 1600w" alt="x">',
        "utf-8",
    )
    text = alone(page)
    assert not re.findall(r'(?:href|src|srcset)="(?!data:|#)|url\((?!data:)', text)
    large = base64.b64encode(b"job/photos/l.jpg").decode()
    assert "Shop<a" in text and 'href="#f"' in text and large in text
