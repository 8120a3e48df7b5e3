"""The way of one reading from file to page: every function that is handed it, in the order of the first call.

    .venv/bin/python .ci/walk.py

publishes a job of one journal with one reading that occurs nowhere else, and notes
each function of ours that is called with the reading, or with a thing that holds it
directly: a cell, a measured value, a characteristic, a label.  What holds everything
(a table of readings, a job, an assessment) does not count: whoever passes the whole
on need not know the reading.
"""

from __future__ import annotations

import sys
import tempfile
from decimal import Decimal
from pathlib import Path
from types import FrameType
from typing import Any

from msgspec import Struct

from rebuildreport.site.publishing import publish

READING = "54.931"
VALUE = float(READING)
PACKAGE = "/rebuildreport/"
FILES = {
    "shop.yaml": """\
name: Harbour Lane Engines
contact: ask at the gate
currency: EUR
first_unit: mm
rates:
  - from: 2031-01-01
    labour: 60.00
    tax: 20 %
instruments:
  mic_50_75:
    kind: micrometer
    range: 50 to 75 mm
    resolution: 0.001 mm
    permitted_error: 0.003 mm
    repeatability: 0.001 mm
    calibrated: 2030-10-01
    due: 2031-10-01
""",
    "engines/alder-four.yaml": """\
maker: Alder (invented)
model: Alder four
documents:
  manual: Alder four workshop manual, 2nd edition (invented)
layout:
  cylinders: 4
  arrangement: inline
features:
  main_journals:
    kind: journal
    title: Main journals
    part: crankshaft
    positions: M1 to M2
    columns: front_a front_b rear_a rear_b
    unit: mm
    new:
      size: 54.980 to 55.000
      out_of_round: max 0.005
      taper: max 0.005
    wear:
      size: min 54.950
      out_of_round: max 0.020
      taper: max 0.020
    source: manual page 31
""",
    "2031-001-alder-four/job.yaml": """\
title: Alder four
opened: 2031-03-03
engine: alder-four
owner:
  name: N. N.
arrival:
  complaint: knocks when hot
""",
    "2031-001-alder-four/measurements/arrival.yaml": f"""\
date: 2031-03-05
by: bench 1
temperature: 20 °C
tables:
  main_journals:
    unit: mm
    instrument: mic_50_75
    columns: front_a  front_b  rear_a  rear_b
    rows:
      M1:    54.986   54.984   54.985  54.984
      M2:    54.981   {READING}   54.980  54.977
""",
}


def holds(thing: object, deep: int = 0) -> bool:
    """Whether a thing is the reading, or holds it among its own fields."""
    if isinstance(thing, str):
        return READING in thing and len(thing) < 200  # a whole file or page is no reading
    if isinstance(thing, (float, Decimal)):
        return abs(float(thing) - VALUE) < 1e-9
    if deep < 1 and isinstance(thing, Struct):
        return any(holds(getattr(thing, name, None), deep + 1) for name in thing.__struct_fields__)
    return False


class Walk:
    """Functions that were handed the reading: module and name, in the order of their first calls."""

    def __init__(self) -> None:
        self.stops: dict[tuple[str, str], None] = {}

    def __call__(self, frame: FrameType, event: str, _: Any) -> None:
        code = frame.f_code
        if event != "call" or PACKAGE not in code.co_filename or "<" in code.co_name:
            return
        stop = (code.co_filename.rpartition(PACKAGE)[2], code.co_qualname)
        if stop in self.stops:
            return
        sys.setprofile(None)  # looking at a thing calls its properties
        arguments = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        if any(holds(frame.f_locals.get(name)) for name in arguments):
            self.stops[stop] = None
        sys.setprofile(self)


def walk() -> list[tuple[str, str]]:
    """The stops of the reading."""
    with tempfile.TemporaryDirectory() as name:
        shop = Path(name) / "jobs"
        for path, text in FILES.items():
            (shop / path).parent.mkdir(parents=True, exist_ok=True)
            (shop / path).write_text(text, encoding="utf-8")
        route = Walk()
        sys.setprofile(route)
        try:
            done = publish(shop, Path(name) / "site", pdf=False)
        finally:
            sys.setprofile(None)
        if done.exit_status:
            raise SystemExit("\n".join(str(problem) for problem in done.problems))
        return list(route.stops)


def main() -> None:
    """Print the stops, a line a module."""
    stops = walk()
    modules: dict[str, list[str]] = {}
    for module, function in stops:
        modules.setdefault(module, []).append(function)
    for module, functions in modules.items():
        print(f"{module}: {', '.join(functions)}")
    print(f"{len(stops)} stops in {len(modules)} modules")


if __name__ == "__main__":
    main()
