"""The tests; and the names of the demo's small jobs and of their engines' sheets, left out where its two
large ones teach enough: a shop that is loaded or published whole reads and checks every sheet."""

import os
from pathlib import Path

LARGE = ("2026-003-orchard-six", "2026-004-twin-cam", "tarnbeck-od6-54.yaml", "drennick-q16-13.yaml")
DEEPER = int(os.environ.get("DEEPER", "1"))  # how many times as many examples, where each is a whole job
_DEMO = Path(__file__).resolve().parent.parent / "jobs"
SMALL_JOBS = tuple(
    path.name for path in (*_DEMO.glob("2026-*"), *_DEMO.glob("engines/*.yaml")) if path.name not in LARGE
)
