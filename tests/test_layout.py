"""The repository's shape: its top level, the README's two commands, what is locked."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).resolve().parent.parent
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "rebuildreport",
    "templates",
    "jobs",
    "tests",
    "site",
}


def tracked() -> list[str]:
    if not (ROOT / ".git").exists():
        pytest.skip("not a git working copy: nothing says which files belong to the project")
    done = subprocess.run(["git", "-C", str(ROOT), "ls-files", "-z"], capture_output=True, check=True)
    return done.stdout.decode("utf-8").split("\0")[:-1]


def sh_blocks() -> list[list[str]]:
    """The lines of each fenced ``sh`` block of the README."""
    text = (ROOT / "README.md").read_text("utf-8")
    return [block.splitlines() for block in re.findall(r"^```sh\n(.*?)^```", text, re.M | re.S)]


def test_top_level() -> None:
    top = {path.split("/")[0] for path in tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP


def test_site_holds_only_its_marker() -> None:
    assert [path for path in tracked() if path.startswith("site/")] == ["site/.gitkeep"]


def test_two_commands_of_one_line() -> None:
    publish, test = sh_blocks()[:2]
    assert publish == ["sh .ci/setup && .venv/bin/rebuildreport publish"]
    assert test == ["sh .ci/setup tests && .venv/bin/pytest"]


def test_ci_runs_the_second_line(tmp_path: Path) -> None:
    """In a copy of which the README's second block leaves a mark, ``.ci/run`` leaves that mark."""
    readme = "# x\n\n```sh\necho first > first\n```\n\n```sh\necho second > second; exit 5\n```\n"
    (tmp_path / "README.md").write_text(readme, "utf-8")
    (tmp_path / ".ci").mkdir()
    (tmp_path / ".ci" / "run").write_text((ROOT / ".ci" / "run").read_text("utf-8"), "utf-8")
    done = subprocess.run(
        ["bash", ".ci/run"],
        cwd=tmp_path,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (tmp_path / "second").read_text("utf-8") == "second\n"
    assert not (tmp_path / "first").exists()
    assert done.returncode == 1
    assert "FAILED: tests (exit status 5)" in done.stdout  # pytest's "no tests were found"


def test_every_library_is_locked_and_not_below_what_is_asked_for() -> None:
    """For the tests, too; each file by its digest, as ``pip --require-hashes`` asks."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    lines = (ROOT / ".ci" / "locked.txt").read_text("utf-8").splitlines()[1:]
    pinned = [re.fullmatch(r"(\S+)==(\S+) --hash=sha256:[0-9a-f]{64}", line) for line in lines]
    locked = {canonicalize_name(one[1]): Version(one[2]) for one in pinned if one}
    assert len(locked) == len(lines)
    for wanted in (*project["dependencies"], *project["optional-dependencies"]["tests"]):
        name, _, lowest = wanted.partition(">=")
        assert locked[canonicalize_name(name)] >= Version(lowest or "0"), wanted


def test_readme_pictures_are_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", (ROOT / "README.md").read_text("utf-8"))
    assert len(pictures) == 2
    for picture in pictures:
        assert (ROOT / picture).read_bytes()[:3] == b"\xff\xd8\xff"  # a JPEG
        assert (ROOT / picture).stat().st_size < 200_000
