"""A copy of the demo shop to damage, and the site that it makes without PDFs."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from rebuildreport.site.disk.manifest import NAME as MANIFEST
from rebuildreport.site.publishing import PublishResult, publish

from .. import SMALL_JOBS

DEMO = Path(__file__).resolve().parents[2] / "jobs"
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    copy = tmp_path / "shop"
    unissued(copy)
    return copy


def unissued(copy: Path) -> None:
    """The demo without what it has issued: most tests begin at issue 1."""
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns(".schemas", "issued", *SMALL_JOBS))
    path = copy / FOUR / "job.yaml"
    path.write_text(re.sub(r"\n    issue: [^\n]*", "", path.read_text("utf-8")), "utf-8")


BEGUN = """\
title: Twin-cam four, burnt exhaust valve and timing rattle
engine: drennick-q16-13
opened: 2026-04-13
publish: no

owner:
  name: Barnaby Thistlewick (invented)
  contact: thistlewick@example.invalid

arrival:
  application: small hatchback
  complaint: Misfire on No. 2, rattle for 5 s from cold
"""


@pytest.fixture
def begun(shop: Path) -> Path:
    """The copied shop with its twin cam as it was at first: measured on arrival, nothing decided."""
    job = shop / FOUR
    (job / "job.yaml").write_text(BEGUN, "utf-8")
    for name in ("work", "assembly", "running"):
        (job / f"{name}.yaml").unlink(missing_ok=True)
    for later in (job / "measurements").glob("*.yaml"):
        if later.stem != "arrival":
            later.unlink()
    return shop


@pytest.fixture(scope="session")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's site, made once: what is tested works on copies of it."""
    folder = tmp_path_factory.mktemp("published") / "out"
    # from a copy, as the tests' own shops are: the demo itself lies in a repository, whose commit is printed
    copy = folder.parent / "shop"
    unissued(copy)
    assert quick(copy, folder).exit_status == 0
    return folder


@pytest.fixture
def out(tmp_path: Path, published: Path) -> Path:
    """A site that is up to date with the copied shop."""
    return Path(shutil.copytree(published, tmp_path / "out"))


def quick(shop: Path, out: Path, **more: object) -> PublishResult:
    """Publish without PDFs."""
    return publish(shop, out, pdf=False, **more)  # type: ignore[arg-type]


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder and what is in it, but for the manifest: it tells of disk and clock."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != MANIFEST
    }


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text, (path, old)
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
