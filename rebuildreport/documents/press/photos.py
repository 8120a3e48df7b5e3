"""Photos as they leave the shop: upright, two sizes, nothing in them but the picture.

A photo off a phone carries where and when it was taken, by which phone, and
often a small uncut copy of itself.  Only pixels go into the prepared files,
so nothing of that can be forgotten.  Names come from the content: the same
photo has the same names in every run, and is not prepared twice.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from ...records.checks.picturefiles import HEIF_ENDINGS, MOST_PIXELS

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

FULL = 1600  # pixels, longest side
SMALL = 400
_RECIPE = "2"  # part of every name: raise it whenever prepared files would come out otherwise


class Prepared(Struct, frozen=True):
    """A prepared photo.  ``full`` and ``small`` are file names in the folder of prepared photos.

    Where the picture could not be read both are "" and ``problem`` says why.
    """

    full: str = ""
    small: str = ""
    width: int = 0  # of the full size, pixels
    height: int = 0
    small_width: int = 0
    small_height: int = 0
    problem: str = ""


def prepare(photo: Path, folder: Path, home: Path | None = None) -> Prepared:
    """Both sizes of one photo, written into ``folder``.

    What is there already, or in its ``home``, is not made again.  A file that is no picture gives a
    ``problem``, never an exception.
    """
    try:
        data = photo.read_bytes()
    except OSError as problem:
        return Prepared(problem=f"{photo.name} cannot be read: {problem.strerror or problem}")
    stem = hashlib.sha256(_RECIPE.encode() + data).hexdigest()[:20]
    if found := (home and _known(stem, home)) or _known(stem, folder):
        return found
    try:
        full, small = _sizes(data, photo.suffix.lower() in HEIF_ENDINGS)
    except Exception as problem:  # decoders raise everything from SyntaxError to struct.error
        why = " ".join(str(problem).split()) or type(problem).__name__
        if "cannot identify image" in why:
            why = "it is no picture that can be read, or it is damaged"
        elif "truncated" in why:
            why = "its end is missing: copy it again"
        return Prepared(problem=f"{photo.name}: {why}")
    names = [f"{stem}-{one.width}x{one.height}.jpg" for one in (full, small)]
    folder.mkdir(parents=True, exist_ok=True)
    for name, picture, quality in zip(names, (full, small), (84, 80), strict=True):
        out = BytesIO()
        picture.save(out, "JPEG", quality=quality)  # optimized it would be 6 % smaller in twice the time
        _write(folder / name, out.getvalue())
    return Prepared(names[0], names[1], full.width, full.height, small.width, small.height)


def _known(stem: str, folder: Path) -> Prepared | None:
    """Both sizes where an earlier run made them; the names carry the pixels."""
    if not folder.is_dir():
        return None
    found: list[tuple[int, int, str]] = []
    for path in folder.glob(f"{stem}-*.jpg"):
        across, _, down = path.stem.partition("-")[2].partition("x")
        if across.isdigit() and down.isdigit() and path.stat().st_size > 0:
            found.append((int(across), int(down), path.name))
    found.sort(reverse=True)
    if not found:
        return None
    full, small = found[0], found[-1]
    if len(found) == 1 and max(full[0], full[1]) > SMALL:
        return None
    return Prepared(full[2], small[2], full[0], full[1], small[0], small[1])


def _sizes(data: bytes, heif: bool) -> tuple[Picture, Picture]:
    """Full and small picture, upright, in sRGB, from one decode."""
    from PIL import Image, ImageFile, ImageOps

    # the PDF library turns this on for the whole process: half a picture would pass for a whole one
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    # memory of one picture is kept for the next, which takes two thirds of the time then
    Image.core.set_blocks_max(2)  # type: ignore[attr-defined]
    opened: Any
    if heif:
        import pillow_heif

        opened = pillow_heif.open_heif(BytesIO(data), convert_hdr_to_8bit=True)
    else:
        opened = Image.open(BytesIO(data))
    width, height = opened.size
    if width * height > MOST_PIXELS:  # before any of them is decoded
        raise ValueError(f"{width} by {height} pixels is more than can be handled")
    source = opened.to_pillow() if heif else opened
    profile = source.info.get("icc_profile")
    fitted = _fit(source.width, source.height, FULL)
    if not heif and source.format == "JPEG":
        # lets the decoder drop resolution; only the fitted size does that without losing sharpness
        source.draft("RGB", fitted)
    source.load()
    # the picture's own orientation counts; pillow_heif has turned HEIC files already
    if not heif:
        ImageOps.exif_transpose(source, in_place=True)
    full = _no_longer(_srgb(source, profile), FULL, 2.0)
    return _bare(full), _bare(_no_longer(full, SMALL, 1.0))


def _no_longer(picture: Picture, longest: int, gap: float) -> Picture:
    """At most so long, by whole numbers of pixels first: down to ``gap`` times its size."""
    from PIL import Image

    size = _fit(picture.width, picture.height, longest)
    if size == picture.size:
        return picture
    return picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=gap)


def _fit(width: int, height: int, longest: int) -> tuple[int, int]:
    """The size with its longest side at most ``longest``; never larger than it was.

    >>> _fit(4000, 3000, 1600), _fit(300, 200, 400)
    ((1600, 1200), (300, 200))
    """
    if max(width, height) <= longest:
        return width, height
    if width >= height:
        return longest, max(1, round(height * longest / width))
    return max(1, round(width * longest / height)), longest


def _srgb(picture: Picture, profile: bytes | None) -> Picture:
    """Three channels in sRGB on white: colours as the camera's profile meant them."""
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        layer = picture.convert("RGBA")
        ground = Image.new("RGBA", layer.size, "white")
        ground.alpha_composite(layer)
        picture = ground.convert("RGB")
    if profile and picture.mode in ("RGB", "L", "CMYK"):
        from PIL import ImageCms

        try:
            target = ImageCms.createProfile("sRGB")
            turned = ImageCms.profileToProfile(picture, BytesIO(profile), target, outputMode="RGB")
            if turned is not None:
                return turned
        except ImageCms.PyCMSError:
            pass  # a damaged profile says nothing: take the numbers as they are
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _bare(picture: Picture) -> Picture:
    """The pixels and nothing else: a new picture carries no metadata that could be saved."""
    from PIL import Image

    bare = Image.new("RGB", picture.size)
    bare.paste(picture)
    return bare


def _write(path: Path, data: bytes) -> None:
    """Whole or not at all: written beside its place, then moved there."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    with os.fdopen(handle, "wb") as out:
        out.write(data)
    Path(name).chmod(0o644)
    Path(name).replace(path)
