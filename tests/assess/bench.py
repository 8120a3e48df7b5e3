"""A small invented shop in a folder of its own, for one case at a time."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.records import load_shop

SHOP = """\
name: Test bench
contact: nobody
currency: EUR
first_unit: mm
decision_rule: {rule}
rates:
  - from: 2026-01-01
    labour: 50.00
    tax: 20 %
instruments:
  mic:
    kind: micrometer
    range: 0 to 100 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
    repeatability: 0.001 mm
  gauge:
    kind: bore gauge
    range: 35 to 160 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
    setting_included: yes
    repeatability: 0.001 mm
  feelers:
    kind: feeler gauges
    range: 0.02 to 1 mm
    resolution: 0.01 mm
    permitted_error: 0.004 mm
"""

HEAD = """\
maker: Nobody
model: N-4
documents:
  manual: an invented manual
layout:
  cylinders: 4
  arrangement: inline
features:
"""

JOB = """\
title: A test engine
engine: n-4
opened: 2026-03-01
arrival:
  complaint: knocks
"""


class Bench:
    """Writes files as they are given and assesses the one job that they make."""

    def __init__(self, folder: Path, features: str, rule: str = "simple", rest: str = "") -> None:
        self.shop = folder / "shop"
        self.job = self.shop / "job-1"
        (self.job / "measurements").mkdir(parents=True)
        (self.shop / "engines").mkdir()
        (self.shop / "shop.yaml").write_text(SHOP.format(rule=rule), encoding="utf-8")
        body = "".join(f"  {line}" if line.strip() else line for line in dedent(features).splitlines(True))
        sheet = HEAD + body + dedent(rest)
        (self.shop / "engines" / "n-4.yaml").write_text(sheet, encoding="utf-8")
        self.write("job.yaml", JOB)

    def square(self) -> None:
        """Bore and stroke of 86 mm for the engine, which has none of its own."""
        sheet = self.shop / "engines" / "n-4.yaml"
        text = sheet.read_text(encoding="utf-8")
        sheet.write_text(
            text.replace(
                "arrangement: inline\n", "arrangement: inline\n  bore: 86.0 mm\n  stroke: 86.0 mm\n"
            ),
            encoding="utf-8",
        )

    def write(self, name: str, text: str) -> None:
        (self.job / name).write_text(dedent(text), encoding="utf-8")

    def round(self, name: str, date: str, tables: str, temperature: str = "20 °C") -> None:
        body = "".join(f"  {line}" if line.strip() else line for line in dedent(tables).splitlines(True))
        self.write(
            f"measurements/{name}.yaml", f"date: {date}\nby: me\ntemperature: {temperature}\ntables:\n{body}"
        )

    def assess(self, clean: bool = True) -> Assessment:
        folder = load_shop(self.shop)
        job = folder.jobs["job-1"]
        errors = [p for p in [*folder.problems, *job.problems, *job.engine_problems] if p.severity == "error"]
        if clean:
            assert not errors, errors
        return assess_job(folder, job)
