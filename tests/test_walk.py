"""One reading on its way from file to page is handed to no more functions than somebody can follow."""

from __future__ import annotations

import importlib.util
from pathlib import Path

WALK = Path(__file__).parents[1] / ".ci" / "walk.py"
STOPS = 56  # half of what they were when they were first counted


def test_the_way_of_a_reading_is_short() -> None:
    found = importlib.util.spec_from_file_location("walk", WALK)
    assert found is not None and found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    stops = module.walk()
    assert ("records/files/rows.py", "cell") in stops and len(stops) <= STOPS, stops
