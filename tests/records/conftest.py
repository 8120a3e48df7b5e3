"""A small invented shop, written out file by file, that each test damages in one place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from rebuildreport.records import Problem, ShopFolder, load_shop

SHOP = """\
name: Bench
contact: at the counter
currency: EUR
first_unit: mm
rates:
  - from: 2026-01-01
    labour: 50.00
    tax: 20 %
instruments:
  mic:
    kind: micrometer
    range: 50 to 100 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
    calibrated: 2025-09-01
    due: 2026-09-01
  gauge:
    kind: bore gauge
    range: 50 to 160 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
  dial:
    kind: dial indicator
    range: 0 to 10 mm
    resolution: 0.01 mm
    permitted_error: 0.01 mm
"""

ENGINE = """\
maker: Nobody
model: N-4
documents:
  manual: an invented manual
layout:
  cylinders: 4
  arrangement: inline
  firing_order: 1 3 4 2
features:
  journals:
    kind: journal
    part: crankshaft
    positions: M1 to M3
    columns: front_a front_b rear_a rear_b
    unit: mm
    new:
      size: 75.970 to 75.990
      out_of_round: max 0.008
    wear:
      size: see clearance
    undersizes: 0.25 0.50 mm
    source: manual page 1
  housings:
    kind: bore
    positions: M1 to M3
    columns: front_v rear_v
    state: caps torqued, no shells
    unit: mm
    new:
      size: 80.000 to 80.019
    source: manual page 2
  shells:
    kind: shells
    positions: M1 to M3
    columns: upper lower
    unit: mm
    wall: 1.974 to 1.980
    sets:
      standard: MS-STD
      0.25 mm: MS-025
    source: manual page 2
  clearance:
    kind: bearing_clearance
    housing: housings
    shells: shells
    journal: journals
    unit: mm
    new:
      clearance: 0.050 to 0.110
    source: manual page 2
  float:
    kind: end_float
    positions: crank
    columns: end_float
    unit: mm
    new:
      end_float: 0.10 to 0.30
    source: common_practice
choices:
  gasket:
    by: float
    unit: mm
    table:
      HG: 0.1 to 0.5
fasteners:
  bolts:
    part: MB
    quantity: 14
    reuse: never
    stages:
      - torque: 60 N·m
      - angle: 90 deg
    source: manual page 3
joints:
  sump:
    needs: SG, gasket
    fasteners: bolts
access:
  pan:
    - sump
always:
  SG: 1
parts:
  MS-STD:
    name: shells
  MS-025:
    name: shells, 0.25 undersize
  SG:
    name: sump gasket
  HG:
    name: head gasket
  MB:
    name: bolt
"""

JOB = """\
title: A job
engine: four
opened: 2026-02-03
arrival:
  complaint: it knocks
"""

ROUND = """\
date: 2026-02-05
by: bench 1
temperature: 20 °C
tables:
  journals:
    instrument: mic
    columns: front_a  front_b  rear_a  rear_b
    rows:
      M1:    75.968   75.964   75.966  75.962
      M2:    75.965   75.960   75.963  75.959
      M3:    75.962   75.955   75.960  75.951
  housings:
    unit: mm
    instrument: gauge
    set_from: mic
    state: caps torqued, no shells
    columns: front_v  rear_v
    rows:
      M1:    80.008   80.009
      M2:    80.010   80.011
  float:
    instrument: dial
    columns: end_float
    rows:
      crank: 0.24/0.25/0.24
"""

FINDINGS = """\
findings:
  F1:
    component: shells
    positions: M2
    seen: wiping; overheating
    disposition: replace
    shows: journals.out_of_round M2
    photos: p1
photos:
  p1:
    caption: lower shell
"""

WORK = """\
decisions:
  W1:
    about: journals
    do: recondition
    size: 0.25 mm undersize
    why: worn
    by: shop
    date: 2026-02-10
deviations:
  V1:
    feature: journals
    positions: M3
    what: size
    accept: max 75.992 mm
    why: clearance is right
    signed: foreman
    date: 2026-02-11
sublet:
  - part: crankshaft
    work: grind
parts:
  - part: SG
    why: torn
"""

TEARDOWN = """\
by: bench 1
date: 2026-02-04
steps:
  - removed: sump
marks:
  - where: gears
    trust: factory
    photo: p1
sizes_as_found:
  - feature: journals
    positions: M1
    size: 0.25 mm undersize
"""

ASSEMBLY = """\
fitted:
  - part: HG
tightened:
  - fasteners: bolts
    by: bench 1
    date: 2026-02-20
"""

RUNNING = """\
first_start:
  date: 2026-02-21
  by: bench 1
tables:
  float:
    instrument: dial
    columns: end_float
    rows:
      crank: 0.22
"""

FILES = {
    "shop.yaml": SHOP,
    "engines/four.yaml": ENGINE,
    "j1/job.yaml": JOB,
    "j1/measurements/arrival.yaml": ROUND,
    "j1/findings.yaml": FINDINGS,
    "j1/work.yaml": WORK,
    "j1/teardown.yaml": TEARDOWN,
    "j1/assembly.yaml": ASSEMBLY,
    "j1/running.yaml": RUNNING,
    "j1/photos/p1.JPG": "a picture",
}

Write = Callable[..., ShopFolder]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write the shop, with some files changed, and load it: ``write(("j1/job.yaml", "it", "she"))``."""

    def writer(*changes: tuple[str, str, str], files: dict[str, str | None] | None = None) -> ShopFolder:
        texts = {**FILES, **(files or {})}
        for name, old, new in changes:
            text = texts[name]
            assert text is not None and old in text, f"{old!r} does not stand in {name}"
            texts[name] = text.replace(old, new, 1)
        for name, text in texts.items():
            if text is not None:
                path = tmp_path / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(text, encoding="utf-8")
        return load_shop(tmp_path)

    return writer


@pytest.fixture
def problems(write: Write) -> Callable[..., list[Problem]]:
    """The same, and only the problems."""
    return lambda *changes, **files: write(*changes, **files).all_problems


@pytest.fixture
def files() -> dict[str, str]:
    """The texts of the undamaged shop, by their place in it."""
    return dict(FILES)
