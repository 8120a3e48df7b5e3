"""One page to send alone: a published page with its stylesheets, fonts and pictures inside.

In: a page of the site on the disk.  Out: its text, which needs no file and no address beside it.
"""

from __future__ import annotations

import base64
import html
import mimetypes
import re
from pathlib import Path

_SHEET = re.compile(r'<link rel="stylesheet" href="([^"]+)"(?: media="([^"]+)")?>')
_FONT = re.compile(r"url\(([^):]+)\)")
_PICTURE = re.compile(r'(<img[^>]*?)\bsrc="([^":]+)"(?: srcset="([^"]*)")?')
_BESIDE = re.compile(r'<nav class="contents documents".*?</nav>\n?', re.S)
_LINK = re.compile(r'<a href="(?![a-z]+:|#)[^"]*">(.*?)</a>', re.S)


def alone(page: Path) -> str:
    """The page as one file; links to pages that do not go along become plain words.

    Of each picture the largest goes along.  Raises OSError where a file of the page is not there.
    """
    text = page.read_text("utf-8")
    text = _SHEET.sub(lambda found: _style(page.parent / found[1], found[2] or "all"), text)
    text = _PICTURE.sub(lambda found: f'{found[1]}src="{_picture(page.parent, found)}"', text)
    return _LINK.sub(r"\1", _BESIDE.sub("", text))


def _style(sheet: Path, media: str) -> str:
    text = _FONT.sub(lambda found: f"url({_inside(sheet.parent / found[1])})", sheet.read_text("utf-8"))
    return f'<style media="{media}">{text}</style>'


def _picture(folder: Path, found: re.Match[str]) -> str:
    """The last that is offered, which is the largest."""
    last = (found[3] or "").rpartition(", ")[2].partition(" ")[0]
    return _inside(folder / html.unescape(last or found[2]))


def _inside(file: Path) -> str:
    kind = "font/woff2" if file.suffix == ".woff2" else mimetypes.guess_type(file.name)[0]
    return f"data:{kind};base64,{base64.b64encode(file.read_bytes()).decode()}"
