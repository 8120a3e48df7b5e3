"""The order of tightening as a drawing: each bolt where it sits, with its number; the front marked."""

from __future__ import annotations

from ...assess.model.bolting import BoltPlace, Fastening
from ...quantities import amid, message
from ..press.language import say, told
from ..press.words import figure
from .canvas import Drawing, DrawingSheet

RADIUS = 8.2
STEP = 23.0  # between neighbours along the joint
ROW = 21.0
MOST = 440.0  # widest that a page takes


def bolt_order(group: Fastening) -> Drawing | None:
    """The drawing of one group of bolts; None where the sheet does not say where they sit."""
    if not group.places:
        return None
    return _circle(group) if group.circle else _rows(group)


def _rows(group: Fastening) -> Drawing:
    """Seen from above, the front at the left; rows across the engine one below the other."""
    along = [place.along for place in group.places]
    across = [place.across for place in group.places]
    length, depth = max(along) - min(along), max(across) - min(across)
    step = min(STEP, (MOST - 70.0) / length) if length else STEP
    sheet = _sheet(group, length * step + 70.0, depth * ROW + 2 * RADIUS + 8.0)
    left, top = 46.0, RADIUS + 4.0
    spots = [
        (left + (p.along - min(along)) * step, top + (p.across - min(across)) * ROW) for p in group.places
    ]
    middle = top + depth * ROW / 2.0
    sheet.line("arrow", 34.0, middle, 8.0, middle)
    sheet.polyline("arrow-head", [(4.0, middle), (11.0, middle - 3.2), (11.0, middle + 3.2)])
    sheet.label(19.0, middle - 5.0, say("front"), "name")
    _bolts(sheet, group.places, spots)
    return sheet.done(_described(group, say("row by row from the front")))


def _circle(group: Fastening) -> Drawing:
    """Seen as the spanner sees it, the first bolt at the top."""
    radius = max(34.0, len(group.places) * 3.6)
    centre = radius + RADIUS + 4.0
    sheet = _sheet(group, 2 * centre, 2 * centre)
    sheet.ring("thin", centre, centre, radius)
    spots = [(centre + p.across * radius, centre + p.along * radius) for p in group.places]
    _bolts(sheet, group.places, spots)
    return sheet.done(_described(group, say("clockwise from the top")))


def _sheet(group: Fastening, width: float, height: float) -> DrawingSheet:
    """A sheet with a line below, where one drawing stands for several."""
    alike = _alike(group)
    sheet = DrawingSheet(width, height + 12.0 if alike else height)
    sheet.over("thin", "paper", "now-line")
    if alike:
        sheet.label(width / 2.0, height + 10.5, alike, "name")
    return sheet


def _bolts(sheet: DrawingSheet, places: tuple[BoltPlace, ...], spots: list[tuple[float, float]]) -> None:
    for place, (x, y) in zip(places, spots, strict=True):
        sheet.ring("paper", x, y, RADIUS)
        sheet.ring("now-line", x, y, RADIUS)
        sheet.label(x, y + 2.6, str(place.number), "strong" if place.number == 1 else "name")


def _alike(group: Fastening) -> str:
    """Where one drawing stands for several: 'each of two alike'; "" where it shows every bolt."""
    times, left = divmod(group.quantity, len(group.places))
    if left or times < 2:
        return ""
    return say("each of {many} alike", many=figure(times))


def _described(group: Fastening, reading: str) -> str:
    numbers = ", ".join(str(place.number) for place in group.places)
    title = ", ".join(filter(None, (told(amid(group.title)), _alike(group))))
    words = message("Order of tightening, {title}, {reading}: {numbers}")
    return say(words, title=title, reading=reading, numbers=numbers)
