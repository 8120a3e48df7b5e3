"""Runs that are cut off and machines that fail: a few of the trials of ``.ci/faults.py``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.site.making import work

from .conftest import FOUR, files, quick

ROOT = Path(__file__).resolve().parents[2]


def test_the_next_run_heals_and_old_pages_stay_whole() -> None:
    trials = [sys.executable, str(ROOT / ".ci" / "faults.py"), "--kills", "8", "--each", "2"]
    done = subprocess.run(trials, capture_output=True, text=True, cwd=ROOT, env={"PYTHONPATH": str(ROOT)})
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_file_that_is_gone_for_a_moment_is_looked_at_again(
    begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    reading = begun / FOUR / "measurements" / "arrival.yaml"
    make, data = work.make_pages, reading.read_bytes()

    def without(order: work.Order, name: str, *more: Any) -> work.Pages:
        if name == FOUR:
            reading.unlink()
        made = make(order, name, *more)
        reading.write_bytes(data)
        return made

    with monkeypatch.context() as patch:
        patch.setattr(work, "make_pages", without)
        quick(begun, tmp_path / "out")
    quick(begun, tmp_path / "out")
    quick(begun, tmp_path / "fresh")
    assert files(tmp_path / "out") == files(tmp_path / "fresh")
