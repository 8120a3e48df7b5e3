"""Draws the marks of verdicts and legends as a font of our own: templates/fonts/marks.woff2.

    .venv/bin/python .ci/marks.py

A mark that is a letter is read, searched and copied like the word beside it, and costs the PDF no picture.
Each sits at the code point of Unicode whose name it fits.  Same input, same bytes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen

FILE = Path(__file__).resolve().parents[1] / "templates" / "fonts" / "marks.woff2"
EM = 1000
UNIT = 112  # of the box of eight that marks are drawn in
BASE = -110  # where the lower edge of that box sits, below the line of letters
ROUND = 4 / 3 * math.tan(math.pi / 8)  # how far a quarter circle's handles reach, of its radius
Draw = Callable[[Any], None]


def polygon(*points: tuple[float, float]) -> Draw:
    """A filled shape; a hole where the points go the other way round."""

    def draw(pen: Any) -> None:
        first, *rest = [(round(x * UNIT) + 40, round(BASE + y * UNIT)) for x, y in points]
        pen.moveTo(first)
        for point in rest:
            pen.lineTo(point)
        pen.closePath()

    return draw


def box(x1: float, y1: float, x2: float, y2: float) -> Draw:
    return polygon((x1, y1), (x1, y2), (x2, y2), (x2, y1))


def hole(x1: float, y1: float, x2: float, y2: float) -> Draw:
    return polygon((x1, y1), (x2, y1), (x2, y2), (x1, y2))


def disc(radius: float, turn: int = 1, start: int = 0, quarters: int = 4) -> Draw:
    """A disc about the middle of the box, or quarters of it; a hole with ``turn`` -1."""

    def draw(pen: Any) -> None:
        def at(across: float, up: float) -> tuple[int, int]:
            return round((4 + across) * UNIT) + 40, round(BASE + (4 + up) * UNIT)

        angles = [math.pi / 2 * (start - turn * k) for k in range(quarters + 1)]
        pen.moveTo(at(radius * math.cos(angles[0]), radius * math.sin(angles[0])))
        for one, other in pairwise(angles):
            handles = []
            for angle, way in ((one, -turn), (other, turn)):
                x, y = math.cos(angle), math.sin(angle)
                handles.append(at(radius * (x - way * ROUND * y), radius * (y + way * ROUND * x)))
            pen.curveTo(*handles, at(radius * math.cos(other), radius * math.sin(other)))
        pen.closePath()

    return draw


def ring(radius: float = 3.1, line: float = 0.95) -> tuple[Draw, ...]:
    return disc(radius + line / 2), disc(radius - line / 2, turn=-1)


SQUARE = (box(0.6, 0.6, 7.4, 7.4), hole(1.4, 1.4, 6.6, 6.6))
TICK = polygon((1.6, 4.0), (2.3, 4.6), (3.5, 3.1), (5.9, 6.5), (6.6, 6.0), (3.6, 1.6))
DASHES = [(a, b) for a in (0.7, 3.2, 5.7) for b in (0.6, 6.6)]
MARKS: dict[str, tuple[str, tuple[Draw, ...]]] = {
    "⊙": ("circleddot", (*ring(), disc(1.15))),
    "◐": ("halfcircle", (*ring(), disc(3.0, start=3, quarters=2))),
    "◆": ("lozenge", (polygon((0.1, 4), (4, 7.9), (7.9, 4), (4, 0.1)),)),
    "⦶": ("cutcircle", (*ring(), box(3.55, -0.2, 4.45, 8.2))),
    "⊖": ("barredcircle", (*ring(), box(2.2, 3.55, 5.8, 4.45))),
    "⬚": (
        "brokensquare",
        (
            *(box(a, b, a + 1.6, b + 0.8) for a, b in DASHES),
            *(box(b, a, b + 0.8, a + 1.6) for a, b in DASHES),
        ),
    ),
    "☐": ("box", SQUARE),
    "☑": ("tickedbox", (*SQUARE, TICK)),
    "◇": (
        "diamond",
        (polygon((0.6, 4), (4, 7.4), (7.4, 4), (4, 0.6)), polygon((2, 4), (4, 2), (6, 4), (4, 6))),
    ),
    "●": ("disc", (disc(2.6),)),
    "↔": ("span", (box(0.4, 3.5, 7.6, 4.5), box(0.4, 1.4, 1.1, 6.6), box(6.9, 1.4, 7.6, 6.6))),
    "→": ("arrow", (box(0.3, 3.55, 5.4, 4.45), polygon((4.6, 1.7), (4.6, 6.3), (7.9, 4)))),
    "▭": ("band", (box(0.2, 1, 1, 7), box(7, 1, 7.8, 7), box(1, 6.3, 7, 7), box(1, 1, 7, 1.7))),
    "▨": (
        "hatched",
        (
            box(0.2, 0.4, 1.2, 7.6),
            *(polygon((1.2, y), (1.2, y + 0.7), (7.8, y + 3.9), (7.8, y + 3.2)) for y in (0.6, 2.2, 3.8)),
        ),
    ),
}


def main() -> None:
    builder = FontBuilder(EM, isTTF=True)
    names = {mark: name for mark, (name, _) in MARKS.items()}
    builder.setupGlyphOrder([".notdef", *names.values()])
    builder.setupCharacterMap({ord(mark): name for mark, name in names.items()})
    glyphs = {".notdef": TTGlyphPen(None).glyph()}
    for name, shapes in MARKS.values():
        pen = TTGlyphPen(None)
        for shape in shapes:
            shape(Cu2QuPen(pen, max_err=1.0))
        glyphs[name] = pen.glyph()
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics(dict.fromkeys(glyphs, (8 * UNIT + 80, 0)))
    builder.setupHorizontalHeader(ascent=1036, descent=-335)  # those of the text face: no line grows
    builder.setupNameTable({"familyName": "Rebuild Report Marks", "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=1036, sTypoDescender=-335, usWinAscent=1036, usWinDescent=335)
    builder.setupPost()
    font = builder.font
    font["head"].created = font["head"].modified = 3_900_000_000  # no clock
    font.recalcTimestamp = False
    font.flavor = "woff2"
    font.save(FILE)


if __name__ == "__main__":
    main()
