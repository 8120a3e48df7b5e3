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
  rod_journals:
    kind: journal
    positions: R1 R2
    columns: front_a front_b
    unit: mm
    new:
      size: 40.982 to 41.000
    runout: float
    machining:
      finish: Ra 0.2 µm at most
    source: manual page 12
  rod_housings:
    kind: bore
    positions: R1 R2
    columns: front_v
    unit: mm
    new:
      size: 44.000 to 44.012
    source: manual page 12
  rod_shells:
    kind: shells
    positions: R1 R2
    columns: upper lower
    unit: mm
    mix: adjacent
    grades:
      S1: 1.4865 to 1.4895
      S2: 1.4895 to 1.4925
      S3: 1.4925 to 1.4955
    codes:
      housing_bands:
        1: 44.000 to 44.006
        2: 44.006 to 44.012
      journal_bands:
        A: 40.994 to 41.000
        B: 40.988 to 40.994
      columns: A B
      rows:
        1: S1 S2
        2: S2 S3
    halves:
      upper: RSU
      lower: RSL
    other:
      ground:
        for: 0.25 mm undersize
        wall: 1.6145 to 1.6175
    source: manual page 12
  rod_clearance:
    kind: bearing_clearance
    housing: rod_housings
    shells: rod_shells
    journal: rod_journals
    unit: mm
    new:
      clearance: 0.018 to 0.042
    source: manual page 12
  lash:
    kind: readings
    positions: I1 I2
    columns: shim clearance
    unit: mm
    new:
      clearance: 0.15 to 0.22
    source: manual page 12
shims:
  buckets:
    clearance: lash
    lash: clearance
    sizes: 2.00 to 3.00 by 0.05 mm
    part: PLATE
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
  RSU:
    name: upper half
  RSL:
    name: lower half
  PLATE:
    name: shim
"""

STOCK = """\
counted: 2026-02-01
engines:
  four:
    rod_shells:
      columns: S1 S2 S3
      rows:
        upper: 1 2 0
        lower: 1 0 3
      no_more: S1 S3
    buckets:
      unit: mm
      columns: 2.30 2.45
      rows:
        count: 1 2
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
  W2:
    about: rod_shells
    do: replace
    fit:
      R1: S1 S2
    why: chosen
    by: shop
    date: 2026-02-10
machining:
  O1:
    to: the grinder
    parts: crankshaft
    positions:
      journals: M1 M2
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
codes:
  rod_housings: 2 1
  rod_journals: A B
codes_void:
  journals: ground before
sizes_as_found:
  - feature: housings
    positions: M3
    size: 0.25 mm oversize
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
    "stock.yaml": STOCK,
    "engines/four.yaml": ENGINE,
    "j1/job.yaml": JOB,
    "j1/measurements/arrival.yaml": ROUND,
    "j1/findings.yaml": FINDINGS,
    "j1/work.yaml": WORK,
    "j1/teardown.yaml": TEARDOWN,
    "j1/assembly.yaml": ASSEMBLY,
    "j1/running.yaml": RUNNING,
    "j1/photos/p1.JPG": "\xff\xd8\xff\xd9",  # the first and last bytes of one
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
                path.write_text(text, encoding="latin-1" if path.suffix == ".JPG" else "utf-8")
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
