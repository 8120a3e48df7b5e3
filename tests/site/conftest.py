"""Copies of the demo shop to damage, and the sites that they make without PDFs: its two large jobs, two small
ones, or the twin cam as it was at first."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from rebuildreport.site.disk.manifest import NAME as MANIFEST
from rebuildreport.site.publishing import PublishResult, publish
from rebuildreport.site.verifying import anew, inside, verifying

from .. import SMALL_JOBS

DEMO = Path(__file__).resolve().parents[2] / "jobs"
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"
TRACTOR, TILLER = "2026-010-hay-tractor", "2026-007-garden-tiller"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return unissued(tmp_path / "shop")


def unissued(copy: Path) -> Path:
    """The demo without what it has issued: most tests begin at issue 1."""
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns(".schemas", "issued", *SMALL_JOBS))
    path = copy / FOUR / "job.yaml"
    path.write_text(re.sub(r"\n    issue: [^\n]*", "", path.read_text("utf-8")), "utf-8")
    return copy


def some_of_demo(copy: Path, *jobs: str) -> Path:
    """The demo's shop with these jobs alone, and the sheets of their engines."""
    copy.mkdir()
    shutil.copy(DEMO / "shop.yaml", copy)
    shutil.copytree(DEMO / "pages", copy / "pages")
    (copy / "engines").mkdir()
    for job in jobs:
        shutil.copytree(DEMO / job, copy / job, ignore=shutil.ignore_patterns("issued"))
        engine = re.findall(r"^engine: (\S+)", (copy / job / "job.yaml").read_text("utf-8"), re.M)[0]
        shutil.copy(DEMO / "engines" / f"{engine}.yaml", copy / "engines")
    return copy


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """Two small jobs, finished and published with consent: for whatever does not ask for much."""
    return some_of_demo(tmp_path / "small", TRACTOR, TILLER)


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
    return as_begun(shop)


def as_begun(shop: Path) -> Path:
    """The copied shop with its twin cam alone, as it was at first: measured on arrival, nothing decided."""
    shutil.rmtree(shop / SIX)
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
    assert quick(unissued(folder.parent / "shop"), folder).exit_status == 0
    return folder


@pytest.fixture(scope="session")
def published_small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("small") / "out"
    assert quick(some_of_demo(folder.parent / "small", TRACTOR, TILLER), folder).exit_status == 0
    return folder


@pytest.fixture
def out(tmp_path: Path, published_small: Path) -> Path:
    """A site that is up to date with the copied small jobs."""
    return Path(shutil.copytree(published_small, tmp_path / "out"))


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """``verify`` in this process: its two own, held to little time and memory, take a second to start."""
    monkeypatch.setattr(verifying, "inside", lambda path: inside._held(str(path)))
    monkeypatch.setattr(verifying, "worked_out", anew._right)


def quick(shop: Path, out: Path, **more: object) -> PublishResult:
    """Publish without PDFs."""
    return publish(shop, out, pdf=False, **more)  # type: ignore[arg-type]


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder and what is in it, but for what is remembered: of disk, clock and before."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.relative_to(folder).parts[0].startswith(MANIFEST)
    }


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text, (path, old)
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
