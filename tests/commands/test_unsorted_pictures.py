"""Pictures off the phone that nothing names yet: ``check``, the contact sheet, ``start findings``."""

from __future__ import annotations

import shutil
from pathlib import Path

import pillow_heif
import pytest
from PIL import Image, ImageDraw

from rebuildreport.commands.main import run
from rebuildreport.documents.press.photos import prepare

JOB = "1-alder-four"
CAMERA = "Invented Phone"


def picture(path: Path, seed: int, taken: str = "", turned: int = 1) -> None:
    """A picture off a phone, lying on its side where ``turned``: Exif 2.3, tags 0x9003, 0x0110, 0x0112."""
    drawn = Image.new("RGB", (300, 200), (200, 190, 10 * seed))
    ImageDraw.Draw(drawn).ellipse((10 * seed, 20, 150, 120), fill="black")
    notes = Image.Exif()
    notes[0x0110], notes[0x0112] = CAMERA, turned
    if taken:
        notes.get_ifd(0x8769)[0x9003] = taken
    if path.suffix == ".heic":
        pillow_heif.from_pillow(drawn).save(path, exif=notes.tobytes())
    else:
        drawn.save(path, exif=notes)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = tmp_path_factory.mktemp("unsorted") / "jobs"
    engine = ["--cylinders", "4", "--strokes", "4", "--crank", "one-piece", "--bearings", "shells"]
    run(["start", "engine", "alder-four", *engine, "--shop", str(shop)])
    run(["start", "job", JOB, "--opened", "2031-03-03", "--shop", str(shop)])
    job = shop / JOB
    text = (job / "job.yaml").read_text("utf-8")
    assert "publish: no" in text
    (job / "job.yaml").write_text(text.replace("publish: no", "publish: yes\nconsent: 2031-03-03"), "utf-8")
    photos = job / "photos"
    picture(photos / "IMG_1.jpg", 1, "2031:03:05 09:12:01")
    shutil.copy(photos / "IMG_1.jpg", photos / "Copy of IMG_1.jpg")
    for at, second in ((2, 30), (3, 31), (4, 33), (5, 40)):  # three of one look, then another
        picture(photos / f"IMG_{at}.jpg", at, f"2031:03:05 09:14:{second}")
    picture(photos / "IMG_6.heic", 6, "2031:03:05 10:02:00", turned=6)
    picture(photos / "IMG_7.jpg", 7, "0000:00:00 00:00:00")  # of a camera that nobody has set
    picture(photos / "IMG_20310306_143012.png", 8)
    picture(photos / f"{JOB}-main_journals-M3-1.jpg", 9, "2031:03:05 11:02:00")
    (photos / "broken.jpg").write_bytes(b"\xff\xd8\xff rubbish")
    steps = "by: x\ndate: 2031-03-05\nsteps:\n- removed: sump\n  at: 9:20\n  photos: IMG_5\n"
    (job / "teardown.yaml").write_text(steps, "utf-8")
    arrival = job / "measurements" / "arrival.yaml"
    before, table, after = arrival.read_text("utf-8").partition("  main_journals:")
    after = after.replace("    columns:", "    date: 2031-03-05\n    at: 10:15\n    columns:", 1)
    arrival.write_text(before + table + after, "utf-8")
    return shop


def test_check_names_each_look_once(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--shop", str(shop)]) == 0
    told = next(line for line in capsys.readouterr().out.splitlines() if "that nothing names" in line)
    assert told.partition(": ")[2] == (
        "IMG_1 (the same look: Copy of IMG_1), IMG_2 (the same look: IMG_3, IMG_4), IMG_6, "
        f"{JOB}-main_journals-M3-1, IMG_20310306_143012, IMG_7, broken"
    )


def test_the_contact_sheet_is_the_shops_alone(shop: Path, tmp_path: Path) -> None:
    assert run(["publish", "--no-pdf", "--shop", str(shop), "--out", str(tmp_path)]) == 0
    page = (tmp_path / f"shop/{JOB}/contact-sheet.html").read_text("utf-8")
    for told in (
        "IMG_6.heic</b> 10:02:00",
        "Main journals M3",
        "Taken apart: 1 Sump",
        "named in teardown.yaml",
    ):
        assert told in page
    beside = {
        name: [words for words in ("taken off: sump", "read: Main journals M1") if words in cell]
        for name, cell in (cell.split("</b>", 1) for cell in page.split('<p class="cap"><b>')[1:])
    }
    assert beside["IMG_1.jpg"] == beside["IMG_5.jpg"] == ["taken off: sump"]
    assert beside["IMG_6.heic"] == ["read: Main journals M1"]
    assert not any(beside[name] for name in beside if "M3-1" in name or "20310306" in name or "7" in name)
    assert page.index("IMG_1.jpg") < page.index("6\u00a0March\u00a02031") < page.index("IMG_7.jpg")
    assert list((tmp_path / f"public/{JOB}").glob("*.html"))
    for path in (path for path in (tmp_path / "public").rglob("*") if path.is_file()):
        content = path.read_bytes()
        assert not [word for word in (b"IMG_", b"09:14", CAMERA.encode()) if word in content], path
        assert "photos" not in path.parts
    for path in (tmp_path / f"shop/{JOB}/photos").iterdir():
        with Image.open(path) as made:
            assert not made.getexif()


@pytest.mark.parametrize(("typed", "meant"), [("25:10", "14:30"), ("9.20", "9:20"), ("noon", "14:30")])
def test_a_time_that_is_none_is_told(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], typed: str, meant: str
) -> None:
    own = shutil.copytree(shop, tmp_path / "jobs")
    teardown = own / JOB / "teardown.yaml"
    teardown.write_text(teardown.read_text("utf-8").replace("9:20", typed), "utf-8")
    assert run(["check", "--shop", str(own)]) == 1
    told = capsys.readouterr()
    assert typed in told.out + told.err and meant in told.out + told.err


def test_a_picture_on_its_side_stands_up(shop: Path, tmp_path: Path) -> None:
    made = prepare(shop / JOB / "photos/IMG_6.heic", tmp_path)
    assert (made.width, made.height) == (200, 300)


def test_a_finding_is_laid_out_for_each_marked_picture(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = shutil.copytree(shop, tmp_path / "jobs")
    ask = ["start", "findings", JOB, "IMG_2.jpg", f"{JOB}-main_journals-M3-1", "--shop", str(own)]
    kept = (own / JOB / "findings.yaml").read_bytes()
    assert run(ask) == 0
    printed = capsys.readouterr().out
    assert (own / JOB / "findings.yaml").read_bytes() == kept
    (own / JOB / "findings.yaml").unlink()
    assert run(ask) == 0
    text = (own / JOB / "findings.yaml").read_text("utf-8")
    assert text.endswith(printed) and "component: main_journals\n    positions: M3" in printed
    capsys.readouterr()
    assert run(["check", "--shop", str(own)]) == 1  # nothing passes that nobody has filled in
    assert capsys.readouterr().out.count("still to be filled in") == 3
    text = text.replace("component: ...", "component: sump").replace("seen: ...", "seen: scoring")
    (own / JOB / "findings.yaml").write_text(
        text.replace("disposition: ...", "disposition: replace"), "utf-8"
    )
    assert run(["check", "--shop", str(own)]) == 0
    said = capsys.readouterr().out
    assert "that nothing names: IMG_1 (the same look: Copy of IMG_1), IMG_6, IMG_2031" in said
    assert run(["start", "findings", JOB, "IMG_3", "--shop", str(own)]) == 0
    assert capsys.readouterr().out.startswith("  F3:\n")
    assert run(["start", "findings", JOB, "IMG_99", "--shop", str(own)]) == 2
