"""Whether a picture file can be what its name says, and when it was taken: by its ends and its head.

A decoder takes a tenth of a second a photo, and ``check`` has no time for it; what only it can
find, ``publish`` tells, in the same words.
"""

from __future__ import annotations

import os
import re
import warnings
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from ..text.problems import Problem
from ..text.reader import Source

if TYPE_CHECKING:
    from PIL.Image import Exif

ENDS = 4096  # a camera's own notes may stand behind the picture; where more do, the file is read whole

JPEG, PNG, WEBP, HEIF = "JPEG", "PNG", "WebP", "HEIC"
# first bytes: ITU-T T.81, B.1.1.3 (JPEG); ISO/IEC 15948, 5.2 (PNG); RFC 9649 (WebP); ISO/IEC 14496-12, 4.3
_BEGINS: dict[str, Callable[[bytes], bool]] = {
    JPEG: lambda head: head[:3] == b"\xff\xd8\xff",
    PNG: lambda head: head[:8] == b"\x89PNG\r\n\x1a\n",
    WEBP: lambda head: head[:4] == b"RIFF" and head[8:12] == b"WEBP",
    HEIF: lambda head: head[4:8] == b"ftyp",
}
_ENDS = {JPEG: b"\xff\xd9", PNG: b"IEND"}
CUT = "its end is missing: copy it again"


def damaged(path: Path) -> str:
    """What is wrong with a picture file, '' where nothing is to be seen from outside."""
    try:
        with path.open("rb") as file:
            head = file.read(16)
            size = file.seek(0, os.SEEK_END)
            file.seek(max(0, size - ENDS))
            tail = file.read()
            form = next((name for name, begins in _BEGINS.items() if begins(head)), "")
            if not form:
                return "it is no picture that can be read, or it is damaged"
            # a HEIC picture that somebody renamed, which does not make it another one
            if (form == HEIF) != (path.suffix.lower() in HEIF_ENDINGS):
                ending = ".heic" if form == HEIF else f".{form.lower()}"
                return f"it is a {form} picture: name it {path.stem}{ending}"
            file.seek(0)
            if (pixels := _pixels(file.read(1 << 16), form)) > MOST_PIXELS:
                return f"{pixels // 1_000_000} million pixels: make it smaller"
            if form == WEBP and int.from_bytes(head[4:8], "little") > size - 8:
                return CUT
            end = _ENDS.get(form)
            if end is not None and end not in tail:
                file.seek(0)
                whole = file.read()
                # in a JPEG behind its head, whose small preview ends like a picture
                if end not in whole[_segment(whole, [b"\xda"]) if form == JPEG else 0 :]:
                    return CUT
    except OSError as problem:
        return f"it cannot be read: {problem.strerror or problem}"
    return ""


# by which `publish` knows how to read them (documents/press/photos.py)
HEIF_ENDINGS = (".heic", ".heif", ".hif", ".avif")
MOST_PIXELS = 200_000_000  # that `publish` takes: more than any telephone's camera makes


def _pixels(head: bytes, form: str) -> int:
    """By its head: ISO/IEC 15948, 11.2.2 (PNG); ITU-T T.81, B.2.2, the frame header (JPEG); 0 of others."""
    if form == PNG:
        return int.from_bytes(head[16:20], "big") * int.from_bytes(head[20:24], "big")
    if form != JPEG:
        return 0
    at = _segment(head, _FRAMES)
    return int.from_bytes(head[at + 5 : at + 7], "big") * int.from_bytes(head[at + 7 : at + 9], "big")


# frame headers: T.81, table B.1
_FRAMES = [bytes([mark]) for mark in range(0xC0, 0xD0) if mark not in (0xC4, 0xC8, 0xCC)]


def _segment(data: bytes, marks: Sequence[bytes]) -> int:
    """Where the first segment of a JPEG with one of these marks begins."""
    at = 2
    while data[at : at + 1] == b"\xff" and data[at + 1 : at + 2] not in marks:
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return at


def check_pictures(folder: Path, photos: dict[str, str], named: set[str], source: Source) -> list[Problem]:
    """A warning for every damaged picture that the findings name; ``photos``: name, file below ``folder``."""
    found = []
    for name in sorted(named & set(photos)):
        if why := damaged(folder / photos[name]):
            message = f"{Path(photos[name]).name}: {why}"
            found.append(source.problem(("photos", name), message, severity="warning", at="key"))
    return found


class PictureFile(Struct, frozen=True):
    """When a picture was taken, by which camera; all of it unknown in a file that has lost it."""

    taken: datetime | None  # by the camera's clock, wherever that stood
    camera: str


# Exif 2.3 (CIPA DC-008), tags: the camera's block, its original and digitized times; the camera's model
_BLOCK, _TIMES, _MODEL = 0x8769, (0x9003, 0x9004), 0x0110
# as telephones name their pictures: IMG_20310305_143012, 2031-03-05 14.30.12
_IN_NAME = re.compile(r"(?<!\d)((?:19|20)\d\d)[-_.]?(\d\d)[-_.]?(\d\d)[-_ T.]+(\d\d)[-_.]?(\d\d)[-_.]?(\d\d)")


def picture_file(path: Path) -> PictureFile:
    """What a picture tells of itself, by its name where it has lost its notes.

    >>> picture_file(Path("IMG_20310305_143012.jpg")).taken
    datetime.datetime(2031, 3, 5, 14, 30, 12)
    """
    try:
        notes = _notes(path)
        block, camera = notes.get_ifd(_BLOCK), str(notes.get(_MODEL, ""))
        typed = [re.findall(r"\d+", str(block.get(tag, ""))) for tag in _TIMES]
    except Exception:  # whatever is wrong with it, its pixels may be all right
        typed, camera = [], ""
    named = _IN_NAME.search(path.stem)
    for parts in (*typed, named.groups() if named else ()):
        try:
            return PictureFile(datetime(*map(int, parts[:6])), camera)  # type: ignore[arg-type]
        except (TypeError, ValueError):
            continue  # 0000:00:00, of a camera that nobody has set
    return PictureFile(None, camera)


def _notes(path: Path) -> Exif:
    from PIL import Image

    if path.suffix.lower() not in HEIF_ENDINGS:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of so many pixels: ``damaged`` and ``publish`` tell of them
            with Image.open(path) as picture:
                return picture.getexif()
    import pillow_heif

    notes = Image.Exif()
    notes.load(pillow_heif.open_heif(path).info.get("exif") or b"")
    return notes
