"""Photos: nothing but the picture leaves the shop.

Checked from outside: Pillow and a marker scan (JPEG segments as in ITU-T T.81,
annex B) read what was written; orientations are those of Exif 2.3, tag 0x0112
(both from memory of the standards).
"""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest
from PIL import Image, ImageCms, ImageFile
from PIL.PngImagePlugin import PngInfo

from rebuildreport.documents.press.photos import prepare

POSITION = "51 deg 28 min"


def two_halves(width: int = 1200, height: int = 800) -> Image.Image:
    """Left half red, right half blue: shows which way up a picture came out."""
    picture = Image.new("RGB", (width, height), (200, 20, 20))
    picture.paste((20, 20, 200), (width // 2, 0, width, height))
    return picture


def segments(data: bytes) -> list[int]:
    """Marker codes of a JPEG up to its scan data."""
    found, at = [], 2
    while at < len(data) and data[at] == 0xFF:
        code = data[at + 1]
        found.append(code)
        if code == 0xDA:
            return found
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return found


def test_everything_but_the_pixels_is_gone(tmp_path: Path) -> None:
    picture = two_halves()
    exif = Image.Exif()
    exif[0x010E] = POSITION  # ImageDescription
    exif[0x8825] = {1: "N", 2: (51.0, 28.0, 38.0)}  # where it was taken
    source = tmp_path / "phone.jpg"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    picture.save(source, exif=exif, icc_profile=profile, comment=POSITION.encode(), xmp=POSITION.encode())
    assert POSITION.encode() in source.read_bytes()

    made = prepare(source, tmp_path / "out")

    assert made.problem == ""
    for name in (made.full, made.small):
        data = (tmp_path / "out" / name).read_bytes()
        assert POSITION.encode() not in data
        # APP0 (JFIF) may stay: density only.  No APP1 to APP15, no COM.
        assert not [code for code in segments(data) if 0xE1 <= code <= 0xEF or code == 0xFE]
        with Image.open(tmp_path / "out" / name) as opened:
            assert dict(opened.getexif()) == {}
            assert not {"icc_profile", "exif", "xmp", "comment"} & set(opened.info)


@pytest.mark.parametrize(
    ("orientation", "size", "corner"),
    [
        (1, (1200, 800), "red"),
        (2, (1200, 800), "blue"),  # mirrored
        (3, (1200, 800), "blue"),  # upside down
        (6, (800, 1200), "red"),  # turn right to stand upright: left becomes top
        (8, (800, 1200), "blue"),  # turn left: right becomes top
    ],
)
def test_photo_stands_upright(tmp_path: Path, orientation: int, size: tuple[int, int], corner: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    two_halves().save(tmp_path / "a.jpg", exif=exif)

    made = prepare(tmp_path / "a.jpg", tmp_path / "out")

    assert (made.width, made.height) == size
    with Image.open(tmp_path / "out" / made.full) as opened:
        red, _, blue = opened.getpixel((10, 10))
        assert opened.size == size
        assert ("red" if red > blue else "blue") == corner


def test_sizes_keep_the_shape_and_never_grow(tmp_path: Path) -> None:
    two_halves(4000, 3000).save(tmp_path / "large.jpg")
    large = prepare(tmp_path / "large.jpg", tmp_path / "out")
    assert (large.width, large.height, large.small_width, large.small_height) == (1600, 1200, 400, 300)

    two_halves(300, 200).save(tmp_path / "little.png")
    little = prepare(tmp_path / "little.png", tmp_path / "out")
    assert (little.width, little.height, little.small_width) == (300, 200, 300)


def test_same_photo_is_prepared_once(tmp_path: Path) -> None:
    two_halves().save(tmp_path / "a.jpg")
    first = prepare(tmp_path / "a.jpg", tmp_path / "one")
    stamp = (tmp_path / "one" / first.full).stat().st_mtime_ns
    assert prepare(tmp_path / "a.jpg", tmp_path / "one") == first
    assert (tmp_path / "one" / first.full).stat().st_mtime_ns == stamp


def test_heic_is_read(tmp_path: Path) -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    exif = Image.Exif()
    exif[0x010E] = POSITION
    pillow_heif.from_pillow(two_halves()).save(tmp_path / "phone.HEIC", exif=exif.tobytes(), quality=90)
    assert POSITION.encode() in (tmp_path / "phone.HEIC").read_bytes()

    made = prepare(tmp_path / "phone.HEIC", tmp_path / "out")

    assert (made.problem, made.width, made.height) == ("", 1200, 800)
    with Image.open(tmp_path / "out" / made.full) as opened:
        assert opened.format == "JPEG"
        red, _, blue = opened.getpixel((10, 10))
        assert red > blue
    assert POSITION.encode() not in (tmp_path / "out" / made.full).read_bytes()


def test_transparent_png_stands_on_white_and_loses_its_texts(tmp_path: Path) -> None:
    info = PngInfo()
    info.add_text("Comment", POSITION)
    Image.new("RGBA", (50, 50), (0, 0, 0, 0)).save(tmp_path / "a.png", pnginfo=info)
    made = prepare(tmp_path / "a.png", tmp_path / "out")
    with Image.open(tmp_path / "out" / made.full) as opened:
        assert opened.getpixel((25, 25)) == (255, 255, 255)
    assert POSITION.encode() not in (tmp_path / "out" / made.full).read_bytes()


@pytest.mark.parametrize("data", [b"", b"no picture at all", b"\xff\xd8\xff\xe0 cut off"])
def test_a_broken_picture_gives_words_and_no_file(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "broken.jpg").write_bytes(data)
    made = prepare(tmp_path / "broken.jpg", tmp_path / "out")
    assert made.full == made.small == ""
    assert made.problem.startswith("broken.jpg: ")
    assert "Traceback" not in made.problem and str(tmp_path) not in made.problem
    assert not (tmp_path / "out").exists()


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize("across", [13_000, 60_000])
def test_a_picture_of_too_many_pixels_is_named_before_it_is_decoded(tmp_path: Path, across: int) -> None:
    """By what its head says (PNG, 11.2.2: four bytes of width, four of height)."""
    head = b"IHDR" + struct.pack(">IIBBBBB", across, 16_000, 8, 2, 0, 0, 0)
    chunk = struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))
    data = struct.pack(">I", 10) + b"IDAT" + bytes(14)
    (tmp_path / "wide.jpg").write_bytes(b"\x89PNG\r\n\x1a\n" + chunk + data)  # misnamed, too
    made = prepare(tmp_path / "wide.jpg", tmp_path / "out")
    assert "pixels" in made.problem and not (tmp_path / "out").exists()


@pytest.mark.parametrize("lenient", [False, True])
def test_a_cut_off_picture_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lenient: bool) -> None:
    """Even after another library of the process has asked Pillow to be lenient, as the PDF renderer does."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    two_halves().save(tmp_path / "whole.jpg")
    data = (tmp_path / "whole.jpg").read_bytes()
    (tmp_path / "half.jpg").write_bytes(data[: len(data) // 2])
    assert prepare(tmp_path / "half.jpg", tmp_path / "out").problem.startswith("half.jpg: ")


def test_a_missing_photo_is_named(tmp_path: Path) -> None:
    assert "gone.jpg cannot be read" in prepare(tmp_path / "gone.jpg", tmp_path / "out").problem
