"""The engine from above: valves, cylinders and crankshaft, each position filled by its verdict."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from ...quantities import message
from ..press.language import say
from ..press.words import OUT_OF_ORDER, joined
from .canvas import Drawing, DrawingSheet
from .verdict_marks import NOT_JUDGED, PARTLY, PRINTED

_PLACE = re.compile(r"([A-Z]+)(\d+)")
_DECKS = {"I": "valves", "E": "valves", "C": "cylinders", "M": "crankshaft", "R": "crankshaft"}
WIDTH = 232.0


def decks(positions: list[str]) -> dict[str, list[str]]:
    """Positions by deck: valves (I, E), cylinders (C), crankshaft (M and R, in their order along it).

    >>> decks(["M1", "M2", "R1", "C1", "E1", "I1", "B3", "engine"])
    {'valves': ['I1', 'E1'], 'cylinders': ['C1'], 'crankshaft': ['M1', 'R1', 'M2']}

    Where there are more throws than bays between mains, as in a flat four on three mains, each bay holds two:

    >>> decks(["M1", "M2", "M3", "R1", "R2", "R3", "R4"])["crankshaft"]
    ['M1', 'R1', 'R2', 'M2', 'R3', 'R4', 'M3']
    """
    named = [match for position in dict.fromkeys(positions) if (match := _PLACE.fullmatch(position))]
    bays = max(1, _most(named, "M") - 1)
    in_bay = max(1, -(-_most(named, "R") // bays))
    found: dict[str, list[tuple[tuple[int, int], str]]] = {deck: [] for deck in _DECKS.values()}
    for match in named:
        position, letter, number = match.group(0), match.group(1), int(match.group(2))
        along = ((number - 1) // in_bay + 1, number) if letter == "R" else (number, int(letter == "E"))
        if letter in _DECKS:
            found[_DECKS[letter]].append((along, position))
    return {deck: [position for _, position in sorted(places)] for deck, places in found.items() if places}


def _most(named: list[re.Match[str]], letter: str) -> int:
    return max((int(match.group(2)) for match in named if match.group(1) == letter), default=0)


def _levels(
    positions: list[str], banks: Sequence[Sequence[int]], cylinders: int
) -> list[tuple[str, list[str]]]:
    """Decks from one side of the engine to the other: with two banks the crankshaft lies between them."""
    rows = decks(positions)
    if len(banks) != 2:
        return list(rows.items())
    valves = rows.get("valves", [])
    each = max(1, -(-max((int(place[1:]) for place in valves), default=0) // max(1, cylinders)))

    def cylinder(place: str) -> int:
        """The cylinder of a place: with several intake valves to one they are counted through."""
        number = int(place[1:])
        return number if place[0] == "C" else -(-number // each)

    def side(bank: Sequence[int]) -> Iterator[tuple[str, list[str]]]:
        """The decks of one bank, each in the order of its cylinders."""
        for deck in ("valves", "cylinders"):
            here = [place for place in rows.get(deck, []) if cylinder(place) in bank]
            if here:
                yield deck, sorted(here, key=lambda place: bank.index(cylinder(place)))

    sides = [[*side(bank)] for bank in banks]
    between = [("crankshaft", rows["crankshaft"])] if "crankshaft" in rows else []
    return [*sides[0], *between, *reversed(sides[1])]


def plan(
    positions: list[str],
    verdicts: Mapping[str, str],
    when: str,
    counting: str,
    banks: Sequence[Sequence[int]] = (),
    cylinders: int = 0,
) -> Drawing:
    """One plan; a position without a verdict is drawn as not measured.

    ``banks`` are the two rows of a V or flat engine by cylinder numbers, each from the front.
    """
    rows = _levels(positions, banks, cylinders)
    sheet = DrawingSheet(WIDTH, sum(_DRAWN[deck][0] for deck, _ in rows) + 2)
    sheet.over("block", "axis-light")
    y = 1.0
    for deck, places in rows:
        height, draw = _DRAWN[deck]
        _behind(sheet, deck, y, height)
        left, right = 16.0, WIDTH - 5.0
        step = (right - left) / len(places)
        for i, place in enumerate(places):
            draw(
                sheet,
                place,
                verdicts.get(place, "not measured"),
                left + (i + 0.5) * step,
                y + height / 2,
                step,
            )
        y += height
    sheet.label(7, sheet.height / 2, say("front"), "italic", turned=True)
    groups = [
        f"{say(verdict)}: {joined(named)}"
        for verdict in PRINTED
        if (named := [p for _, deck in rows for p in deck if verdicts.get(p, "not measured") == verdict])
    ]
    what = "; ".join(groups)
    if not counting:  # of a single nothing has to be counted
        return sheet.done(say("{when}, plan of the engine. {what}.", when=when, what=what))
    words = message("{when}, plan of the engine, {counting}. {what}.")
    return sheet.done(say(words, when=when, counting=counting, what=what))


_ROLES = {
    "beyond limit": "p-beyond",
    "too close to call": "p-close",
    "not measured": "p-broken",
    NOT_JUDGED: "p-broken",
    PARTLY: "p-broken",
    "no limit on file": "p-open",
    "serviceable": "p-good",
    "as new": "p-good",
}
# how what a verdict is on is hatched: falling or not, beyond the limit crossed
_HATCHED = {"beyond limit": ("hatch-bad", (False, True)), "serviceable": ("hatch-good", (False,))}


def _disc(sheet: DrawingSheet, verdict: str, x: float, y: float, radius: float) -> None:
    sheet.ring(_ROLES[verdict], x, y, radius)
    role, ways = _HATCHED.get(verdict, ("", ()))
    for falling in ways:
        sheet.hatch_ring(role, x, y, radius, 2.6 if radius < 6 else 4.0, falling)
    _line(sheet, verdict, (x, y), (radius, radius))


def _block(sheet: DrawingSheet, verdict: str, x: float, y: float, half: float, tall: float) -> None:
    box = (x - half, y - tall, x + half, y + tall)
    sheet.box(_ROLES[verdict], *box)
    role, ways = _HATCHED.get(verdict, ("", ()))
    for falling in ways:
        sheet.hatch(role, *box, 3.4, falling)
    _line(sheet, verdict, (x, y), (half, tall))


def _line(sheet: DrawingSheet, verdict: str, at: tuple[float, float], half: tuple[float, float]) -> None:
    if verdict == "too close to call":
        sheet.line("p-close", at[0], at[1] - half[1] - 2, at[0], at[1] + half[1] + 2)
    elif verdict == "no limit on file":
        sheet.line("p-open", at[0] - half[0], at[1], at[0] + half[0], at[1])


def _behind(sheet: DrawingSheet, deck: str, y: float, height: float) -> None:
    """What lies behind a deck's places: the block round the cylinders, the line of the crankshaft."""
    if deck == "cylinders":
        sheet.box("block", 12, y + 2, WIDTH - 1, y + height - 2)
    if deck == "crankshaft":
        middle = y + height / 2 - 4
        sheet.line("axis-light", 12, middle, WIDTH - 1, middle)


def _valve(sheet: DrawingSheet, place: str, verdict: str, x: float, middle: float, step: float) -> None:
    # the two valves of a cylinder stand close together; only one out of order has room for its name
    x += 0.12 * step if place[0] == "I" else -0.12 * step
    _disc(sheet, verdict, x, middle + 4, min(4.4, 0.36 * step))
    if verdict in OUT_OF_ORDER:
        sheet.label(x, middle - 3, place, "strong")


def _cylinder(sheet: DrawingSheet, place: str, verdict: str, x: float, middle: float, step: float) -> None:
    radius = min(14.0, 0.4 * step)
    _disc(sheet, verdict, x, middle, radius)
    sheet.ring("paper", x, middle, min(7.0, 0.62 * radius))
    sheet.label(x, middle + 2.6, place, "strong" if verdict in OUT_OF_ORDER else "name")


def _journal(sheet: DrawingSheet, place: str, verdict: str, x: float, middle: float, step: float) -> None:
    bad = verdict in OUT_OF_ORDER
    _block(sheet, verdict, x, middle - 4, min(6.5, 0.38 * step), 9.0 if place[0] == "M" else 5.5)
    if bad or step > 12:
        sheet.label(x, middle + 14, place, "strong-small" if bad else "name-small")


# how tall each deck is, and how one of its places is drawn
_DRAWN = {"valves": (28.0, _valve), "cylinders": (42.0, _cylinder), "crankshaft": (36.0, _journal)}
