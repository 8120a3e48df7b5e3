"""The demo's twin cam in a folder of its own, as far apart and measured as a test asks for."""

from __future__ import annotations

import shutil
from pathlib import Path
from textwrap import dedent, indent

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.records import load_shop

ROOT = Path(__file__).resolve().parents[2]
NAME = "2026-004-twin-cam"

STOCK = """\
counted: 2026-04-17
engines:
  drennick-q16-13:
    main_shells:
      columns: S1 S2 S3 S4 S5
      rows:
        upper: 1  2  3  0  0
        lower: 1  2  2  1  0
      no_more: all
"""

LASH = """\
intake_lash:
  unit: mm
  instrument: feelers
  columns: shim  lash
  rows:
    I1:    2.60  0.08
    I2:    2.65  0.07
    I3:    2.55  0.10
    I4:    2.60  0.05
    I5:    2.70  0.09
    I6:    2.55  0.19
    I7:    2.65  0.04
    I8:    2.50  0.02
exhaust_lash:
  unit: mm
  instrument: feelers
  columns: shim  lash
  rows:
    E1:    2.70  0.16
    E2:    2.60  0.15
    E3:    2.55  none
    E4:    2.65  0.18
    E5:    2.60  0.30
    E6:    2.75  0.14
    E7:    2.65  0.12
    E8:    2.70  0.11
"""
TRIAL = """\
exhaust_lash_trial:
  feature: exhaust_lash
  unit: mm
  instrument: feelers
  state: trial shim
  columns: shim  lash
  rows:
    E3:    2.20  0.21
"""

MAINS = """\
main_housings:
  unit: mm
  instrument: bore_gauge
  set_from: mic_50_75
  state: caps torqued, no shells
  columns: front_v  front_60l  front_60r  rear_v  rear_60l  rear_60r
  rows:
    M1:    52.009   52.008     52.008     52.009  52.008    52.007
    M2:    52.010   52.009     52.008     52.010  52.009    52.009
    M3:    52.004   52.003     52.003     52.004  52.003    52.004
    M4:    52.015   52.013     52.014     52.015  52.014    52.013
    M5:    52.008   52.008     52.007     52.008  52.007    52.007
main_journals:
  unit: mm
  instrument: mic_25_50
  columns: front_a  front_b  rear_a  rear_b
  rows:
    M1:    47.996   47.995   47.995  47.994
    M2:    47.992   47.991   47.991  47.990
    M3:    47.992   47.991   47.991  47.990
    M4:    47.996   47.995   47.995  47.994
    M5:    47.987   47.986   47.986  47.985
"""


class TwinCam:
    """Writes the files of one job beside the demo's engine and shop."""

    def __init__(self, folder: Path, stock: str = STOCK) -> None:
        self.shop = folder / "jobs"
        self.job = self.shop / NAME
        (self.job / "measurements").mkdir(parents=True)
        (self.shop / "engines").mkdir()
        shutil.copy(ROOT / "jobs/shop.yaml", self.shop)
        shutil.copy(ROOT / "jobs/engines/drennick-q16-13.yaml", self.shop / "engines")
        if stock:
            (self.shop / "stock.yaml").write_text(stock, encoding="utf-8")
        self.write(
            "job.yaml",
            "title: Twin cam\nengine: drennick-q16-13\nopened: 2026-04-13\narrival:\n  complaint: rattles\n",
        )
        self.write(
            "teardown.yaml",
            "by: bench 2\ndate: 2026-04-15\ncodes:\n  main_housings: 2 2 1 3 2\n  main_journals: A B A A B\n",
        )

    def write(self, name: str, text: str) -> None:
        (self.job / name).write_text(dedent(text), encoding="utf-8")

    def change(self, name: str, old: str, new: str) -> None:
        path = self.shop / name
        text = path.read_text(encoding="utf-8")
        assert old in text, old
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    def round(self, name: str, tables: str, day: str = "2026-04-17", head: str = "") -> None:
        self.write(
            f"measurements/{name}.yaml",
            f"date: {day}\nby: bench 2\ntemperature: 20 °C\n{head}tables:\n{indent(dedent(tables), '  ')}",
        )

    def assess(self) -> Assessment:
        folder = load_shop(self.shop)
        errors = [p for p in folder.all_problems if p.severity == "error"]
        assert not errors, errors
        return assess_job(folder, folder.jobs[NAME])
