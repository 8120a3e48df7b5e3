"""The engine from above: valves, cylinders and crankshaft, each position filled by its verdict."""

from __future__ import annotations

import re
from collections.abc import Mapping

from .drawings import Drawing, Sheet
from .words import SEVERITY, joined

_PLACE = re.compile(r"([A-Z]+)(\d+)")
WIDTH = 232.0


def decks(positions: list[str]) -> dict[str, list[str]]:
    """Positions by deck: valves (I, E), cylinders (C), crankshaft (M and R, in their order along it).

    >>> decks(["M1", "M2", "R1", "C1", "E1", "I1", "B3", "engine"])
    {'valves': ['I1', 'E1'], 'cylinders': ['C1'], 'crankshaft': ['M1', 'R1', 'M2']}
    """
    found: dict[str, list[tuple[tuple[int, int], str]]] = {"valves": [], "cylinders": [], "crankshaft": []}
    for position in dict.fromkeys(positions):
        match = _PLACE.fullmatch(position)
        if match is None:
            continue
        letter, number = match.group(1), int(match.group(2))
        if letter in ("I", "E"):
            found["valves"].append(((number, int(letter == "E")), position))
        elif letter == "C":
            found["cylinders"].append(((number, 0), position))
        elif letter in ("M", "R"):
            found["crankshaft"].append(((number, int(letter == "R")), position))
    return {deck: [position for _, position in sorted(places)] for deck, places in found.items() if places}


def plan(positions: list[str], verdicts: Mapping[str, str], when: str, counting: str) -> Drawing:
    """One plan; a position without a verdict is drawn as not measured."""
    rows = decks(positions)
    heights = {"valves": 28.0, "cylinders": 42.0, "crankshaft": 36.0}
    sheet = Sheet(WIDTH, sum(heights[deck] for deck in rows) + 2)
    sheet.over("block", "axis-light")
    y = 1.0
    for deck, places in rows.items():
        middle = y + heights[deck] / 2
        if deck == "cylinders":
            sheet.box("block", 12, y + 2, WIDTH - 1, y + heights[deck] - 2)
        if deck == "crankshaft":
            sheet.line("axis-light", 12, middle - 4, WIDTH - 1, middle - 4)
        left, right = 16.0, WIDTH - 5.0
        step = (right - left) / len(places)
        for i, place in enumerate(places):
            x = left + (i + 0.5) * step
            verdict = verdicts.get(place, "not measured")
            bad = verdict in SEVERITY[:2]
            if deck == "valves":
                pair = 0.12 * step if place[0] == "I" else -0.12 * step
                radius = min(4.4, 0.36 * step)
                _disc(sheet, verdict, x + pair, middle + 4, radius)
                if bad:
                    sheet.label(x + pair, middle - 3, place, "strong")
            elif deck == "cylinders":
                radius = min(14.0, 0.4 * step)
                _disc(sheet, verdict, x, middle, radius)
                sheet.ring("paper", x, middle, min(7.0, 0.62 * radius))
                sheet.label(x, middle + 2.6, place, "strong" if bad else "name")
            else:
                tall = 9.0 if place[0] == "M" else 5.5
                half = min(6.5, 0.38 * step)
                _block(sheet, verdict, x - half, middle - 4 - tall, x + half, middle - 4 + tall)
                if bad or step > 12:
                    sheet.label(x, middle + 14, place, "strong-small" if bad else "name-small")
        y += heights[deck]
    sheet.label(7, sheet.height / 2, "front", "italic", turned=True)
    groups = [
        f"{verdict}: {joined(named)}"
        for verdict in SEVERITY
        if (
            named := [p for deck in rows.values() for p in deck if verdicts.get(p, "not measured") == verdict]
        )
    ]
    return sheet.done(f"{when}, plan of the engine, {counting}. {'; '.join(groups)}.")


def _role(verdict: str) -> str:
    return {
        "beyond limit": "p-beyond",
        "too close to call": "p-close",
        "not measured": "p-broken",
        "no limit on file": "p-open",
        "serviceable": "p-good",
        "as new": "p-good",
    }[verdict]


def _disc(sheet: Sheet, verdict: str, x: float, y: float, radius: float) -> None:
    sheet.ring(_role(verdict), x, y, radius)
    step = 2.6 if radius < 6 else 4.0
    if verdict in ("beyond limit", "serviceable"):
        role = "hatch-bad" if verdict == "beyond limit" else "hatch-good"
        sheet.hatch_ring(role, x, y, radius, step)
        if verdict == "beyond limit":
            sheet.hatch_ring(role, x, y, radius, step, falling=True)
    elif verdict == "too close to call":
        sheet.line("p-close", x, y - radius - 2, x, y + radius + 2)
    elif verdict == "no limit on file":
        sheet.line("p-open", x - radius, y, x + radius, y)


def _block(sheet: Sheet, verdict: str, x1: float, y1: float, x2: float, y2: float) -> None:
    sheet.box(_role(verdict), x1, y1, x2, y2)
    if verdict in ("beyond limit", "serviceable"):
        role = "hatch-bad" if verdict == "beyond limit" else "hatch-good"
        sheet.hatch(role, x1, y1, x2, y2, 3.4)
        if verdict == "beyond limit":
            # the same lines mirrored: crossed hatching
            for k in range(1, int((x2 - x1 + y2 - y1) / 3.4) + 1):
                at = 3.4 * k
                if at >= x2 - x1 + y2 - y1:
                    break
                top = (x2 - at, y1) if at <= x2 - x1 else (x1, y1 + at - (x2 - x1))
                low = (x2, y1 + at) if at <= y2 - y1 else (x2 - at + (y2 - y1), y2)
                sheet.line(role, *top, *low)
    elif verdict == "too close to call":
        middle = (x1 + x2) / 2
        sheet.line("p-close", middle, y1 - 2, middle, y2 + 2)
    elif verdict == "no limit on file":
        middle = (y1 + y2) / 2
        sheet.line("p-open", x1, middle, x2, middle)
