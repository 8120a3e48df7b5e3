"""A face as a contour map: lines of equal height over its plane, from a grid of indicator readings."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from ...quantities import message
from ..press.language import say, show
from ..press.words import System
from .axes import round_up
from .canvas import LARGE, Drawing, DrawingSheet, wide

Point = tuple[float, float]
Corner = tuple[float, float, float]  # its place, and its height
Grid = tuple[tuple[float, ...], ...]
_FINE = 6  # parts that a square of the grid is divided into, so that lines bend instead of breaking


def contour(
    heights: Sequence[Sequence[float]],
    unit: str,
    decimals: int,
    system: System,
    label: str,
    width: float = 325.0,
) -> Drawing:
    """A map of ``heights`` [``unit``] over a face, row by row across it, each row from front to rear.

    Lines above the plane are drawn whole, lines below it broken, the plane itself heavy; every reading
    is a point; the highest and the lowest carry their number.  ``label`` is the text alternative's
    beginning.  Raises ValueError where the grid is no rectangle of at least two by two.

    >>> made = contour([[0.0, 0.02], [0.0, 0.02]], "mm", 3, "mm", "Head face")
    >>> made.label
    'Head face. Highest +0.020 mm in row 1, place 2; lowest 0.000 mm in row 1, place 1. Lines every 0.002 mm.'
    """
    rows, columns = len(heights), len(heights[0]) if heights else 0
    if rows < 2 or columns < 2 or any(len(row) != columns for row in heights):
        raise ValueError("a contour needs a grid of at least two rows of as many readings each")
    left, top, right = 16.0, 10.0, width - 40.0
    tall = min(110.0, max(40.0, (right - left) * (rows - 1) / (columns - 1) * 0.6))
    sheet = DrawingSheet(width, top + tall + 8)
    sheet.over("block", "contour-high", "contour-low", "contour-plane", "reading", "paper")
    sheet.box("block", left, top, right, top + tall)

    def spot(across: float, along: float) -> Point:
        return (left + along / (columns - 1) * (right - left), top + across / (rows - 1) * tall)

    rigid = tuple(map(tuple, heights))
    flat = [(height, i, k) for i, row in enumerate(heights) for k, height in enumerate(row)]
    highest = max(flat, key=lambda one: (one[0], -one[1], -one[2]))
    lowest = min(flat)
    step = _step(highest[0] - lowest[0])
    for level in _levels(lowest[0], highest[0], step):
        role = "contour-plane" if level == 0 else "contour-high" if level > 0 else "contour-low"
        for line in lines(rigid, level):
            sheet.polyline(role, [spot(*point) for point in line])
    for _, i, k in flat:
        sheet.ring("reading", *spot(i, k), 0.8)
    said: list[str] = []
    for words, (height, i, k) in (
        (message("Highest {height} in row {row}, place {place}"), highest),
        (message("lowest {height} in row {row}, place {place}"), lowest),
    ):
        printed = show(height, unit, decimals, system)
        text = f"+{printed.text}" if height > 0 else printed.text
        x, y = spot(i, k)
        sheet.ring("dot", x, y, 1.7)
        low = y < top + tall / 2
        x, y = min(max(x, left + 14), right - 14), y + (9.5 if low else -4)
        half = wide(text, LARGE) / 2 + 1
        sheet.box("paper", x - half, y - 6.4, x + half, y + 1.6)
        sheet.label(x, y, text, "value")
        said.append(say(words, height=f"{text} {printed.unit}", row=i + 1, place=k + 1))
    sheet.label(8, top + tall / 2, say("front"), "italic", turned=True)
    sheet.label(right + 9, top + tall / 2, say("rear"), "italic", turned=True)
    return sheet.done(f"{label}. {'; '.join(said)}. {spacing(heights, unit, decimals, system)}")


def spacing(heights: Sequence[Sequence[float]], unit: str, decimals: int, system: System) -> str:
    """How far apart the lines of a map are, as a sentence.

    >>> spacing([[0.0, 0.02], [0.0, 0.02]], "mm", 3, "mm")
    'Lines every 0.002 mm.'
    """
    flat = [height for row in heights for height in row]
    step = _step(max(flat) - min(flat))
    apart = show(step, unit, max(decimals, -math.floor(math.log10(step))), system)
    return say("Lines every {distance}.", distance=f"{apart.text} {apart.unit}")


def _step(span: float) -> float:
    """A round distance between lines that gives some five to ten of them."""
    return round_up(0.1 * span) if span > 0 else 1.0


def _levels(low: float, high: float, step: float) -> list[float]:
    """Multiples of the step inside a range; none on its very ends, where a line would be a point."""
    first, last = math.ceil(low / step), math.floor(high / step)
    return [k * step for k in range(first, last + 1) if low + 1e-12 < k * step < high - 1e-12]


@lru_cache(maxsize=64)  # a map is drawn for wide pages and for narrow ones
def lines(heights: Grid, level: float) -> list[list[Point]]:
    """The lines of one height, in places of the grid (across, along), each joined into one stroke."""
    joints: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    where: dict[tuple[int, int], Point] = {}
    for one, other in _pieces(heights, level):
        keys = [(round(p[0] * 1e5), round(p[1] * 1e5)) for p in (one, other)]
        if keys[0] == keys[1]:
            continue
        where[keys[0]], where[keys[1]] = one, other
        joints[keys[0]].append(keys[1])
        joints[keys[1]].append(keys[0])
    out: list[list[Point]] = []
    # open lines from their ends first, closed ones after
    for start in sorted(joints, key=lambda key: (len(joints[key]) != 1, key)):
        while joints[start]:
            path, here = [where[start]], start
            while joints[here]:
                there = joints[here].pop()
                joints[there].remove(here)
                path.append(where[there])
                here = there
            out.append(path)
    return out


def _pieces(heights: Grid, level: float) -> list[tuple[Point, Point]]:
    """Straight pieces of a line: each small square is halved into triangles, which a plane crosses once."""
    out: list[tuple[Point, Point]] = []
    for lowest, highest, corners in _divided(heights):
        if lowest >= level or highest < level:
            continue  # all of it above the line, or below
        raised = [(across, along, height - level) for across, along, height in corners]
        for triangle in ((raised[0], raised[1], raised[2]), (raised[0], raised[2], raised[3])):
            cut = [
                _crossing(one, other)
                for one, other in zip(triangle, (*triangle[1:], triangle[0]), strict=True)
                if (one[2] >= 0) != (other[2] >= 0)
            ]
            if len(cut) == 2:
                out.append((cut[0], cut[1]))
    return out


@lru_cache(maxsize=16)  # a map has some ten lines over one grid
def _divided(heights: Grid) -> list[tuple[float, float, list[Corner]]]:
    """Each small square: its least and largest height, and its corners in turn."""
    across = [i / _FINE for i in range((len(heights) - 1) * _FINE + 1)]
    along = [k / _FINE for k in range((len(heights[0]) - 1) * _FINE + 1)]
    grid = [[(u, v, _between(heights, u, v)) for v in along] for u in across]
    squares: list[tuple[float, float, list[Corner]]] = []
    for near, far in pairwise(grid):
        for one, two, four, three in zip(near, near[1:], far, far[1:], strict=False):
            own = one[2], two[2], three[2], four[2]
            squares.append((min(own), max(own), [one, two, three, four]))
    return squares


def _crossing(one: Corner, other: Corner) -> Point:
    part = one[2] / (one[2] - other[2])
    return (one[0] + part * (other[0] - one[0]), one[1] + part * (other[1] - one[1]))


def _between(heights: Sequence[Sequence[float]], across: float, along: float) -> float:
    """Height between four readings, linear both ways."""
    i, k = min(int(across), len(heights) - 2), min(int(along), len(heights[0]) - 2)
    u, v = across - i, along - k
    near = heights[i][k] * (1 - v) + heights[i][k + 1] * v
    far = heights[i + 1][k] * (1 - v) + heights[i + 1][k + 1] * v
    return near * (1 - u) + far * u
