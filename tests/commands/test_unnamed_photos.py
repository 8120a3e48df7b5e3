"""``check`` names every picture that no file of the job names."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.commands.main import run

JPEG = b"\xff\xd8\xff\xd9"


def test_pictures_that_nothing_names(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = ["--shop", str(tmp_path)]
    run(["start", "job", "1-a", "--opened", "2031-03-03", *shop])
    for name in ("IMG_1", "IMG_2", "IMG_3"):
        (tmp_path / f"1-a/photos/{name}.jpg").write_bytes(JPEG)
    step = "by: x\ndate: 2031-03-04\nsteps:\n  - removed: sump\n    photos: IMG_2\n"
    (tmp_path / "1-a/teardown.yaml").write_text(step, "utf-8")
    capsys.readouterr()
    assert run(["check", *shop]) == 0
    assert "Pictures that nothing names: IMG_1, IMG_3" in capsys.readouterr().out
