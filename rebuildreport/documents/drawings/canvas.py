"""Drawings as data: paths and labels with their coordinates, and a sentence that says what they show.

One template macro (``parts/drawing``) turns them into SVG and holds
every colour and line weight; nothing here knows a colour.  A path has a role
("hatch", "limit", "dot" ...), paths of one role are drawn together, and no
pattern fills are used: hatching is lines, clipped here, so that print, PDF
and screen agree and black and white loses nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from ...assess.model.assessment import Callout
from ...quantities import message

SMALL = 6.8  # size of limit labels, in units of the drawing
LARGE = 7.4  # size of value labels


@lru_cache(maxsize=1 << 14)  # a page has some ten thousand, most of them where others have theirs
def n(number: float) -> str:
    """A coordinate with at most two decimals, the same on every machine.

    >>> n(12.0), n(0.126), n(-0.001)
    ('12', '0.13', '0')
    """
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


# advance widths of Source Serif 4 semibold, in parts of the type size, read from the font file
_ADVANCE = {
    letter: advance
    for letters, advance in (
        ("  ", 0.23), ("j.,", 0.31), ("il:", 0.34), ("ft()", 0.37), ("IJ", 0.39), ("rs", 0.47), ("z", 0.5),
        ("c–e", 0.54), ("0123456789a−>S", 0.55), ("gvx", 0.58), ("oy", 0.59), ("kqF", 0.61), ("dL", 0.62),
        ("bpEuP", 0.635), ("hnTCB", 0.66), ("YXARVGK", 0.71), ("DOQNU", 0.75), ("H", 0.81), ("w", 0.85),
        ("Mm%", 0.95), ("W", 1.02),
    )
    for letter in letters
}  # fmt: skip


class Path(Struct, frozen=True):
    role: str
    d: str


class Label(Struct, frozen=True):
    x: str
    y: str
    text: str
    role: str  # "value", "limit", "name", "strong"
    anchor: str = "middle"  # or start, end
    turned: bool = False  # reads upwards


class Drawing(Struct, frozen=True):
    """``label`` is the text alternative: the whole of what a person sees."""

    width: str
    height: str
    label: str
    paths: tuple[Path, ...]
    labels: tuple[Label, ...] = ()
    lit: tuple[Path, ...] = ()  # what of it is one place to measure, by the name of column, plane or position


class DrawingSheet(Struct):
    """Gathers paths by role and labels, in the order in which they are laid over each other."""

    width: float
    height: float
    _roles: dict[str, list[str]] = field(default_factory=dict)
    _labels: list[Label] = field(default_factory=list)
    _lit: dict[str, list[str]] = field(default_factory=dict)
    _at: tuple[str, ...] = ()

    def at(self, *names: str) -> None:
        """What is drawn from here on shows where these columns, planes or positions are; without, none."""
        self._at = names

    def line(self, role: str, x1: float, y1: float, x2: float, y2: float) -> None:
        self._add(role, f"M{n(x1)} {n(y1)}L{n(x2)} {n(y2)}")

    def polyline(self, role: str, points: Iterable[tuple[float, float]]) -> None:
        self._add(role, "M" + "L".join(f"{n(x)} {n(y)}" for x, y in points))

    def box(self, role: str, x1: float, y1: float, x2: float, y2: float) -> None:
        if x2 > x1 and y2 > y1:
            self._add(role, f"M{n(x1)} {n(y1)}H{n(x2)}V{n(y2)}H{n(x1)}Z")

    def ring(self, role: str, x: float, y: float, radius: float) -> None:
        r = n(radius)
        left, right = n(x - radius), n(x + radius)
        self._add(role, f"M{left} {n(y)}A{r} {r} 0 1 1 {right} {n(y)}A{r} {r} 0 1 1 {left} {n(y)}Z")

    def diamond(self, x: float, y: float, radius: float) -> None:
        """What was read at arrival."""
        left, right, top, low = n(x - radius), n(x + radius), n(y - radius), n(y + radius)
        self._add("arrival", f"M{left} {n(y)}L{n(x)} {top}L{right} {n(y)}L{n(x)} {low}Z")

    def lozenge(self, role: str, x: float, y: float, radius: float) -> None:
        """A diamond of a role of its own: filled where something is beyond its limit."""
        ends = ((x - radius, y), (x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y))
        self.polyline(role, ends)

    def mark(self, x: float, y: float, arrived: bool, diamond: float, dot: float) -> None:
        """A value: a diamond as it came, a dot as it is now, each of its own radius."""
        if arrived:
            self.diamond(x, y, diamond)
        else:
            self.ring("dot", x, y, dot)

    def arrow_head(self, x: float, y: float) -> None:
        """The point of an arrow to the right that ends in it."""
        self._add("arrow-head", f"M{n(x)} {n(y - 2.4)}L{n(x + 4.5)} {n(y)}L{n(x)} {n(y + 2.4)}Z")

    def hatch(
        self, role: str, x1: float, y1: float, x2: float, y2: float, step: float = 4.6, falling: bool = False
    ) -> None:
        """Lines over a box, rising to the right or falling."""
        width, height = x2 - x1, y2 - y1
        start, way = (x2, -1.0) if falling else (x1, 1.0)
        at = step
        while min(width, height) > 0 and at < width + height:
            # x + y = at, measured from the top left corner, clipped to the box; falling, the same mirrored
            top, bottom = (min(at, width), max(at - width, 0.0)), (max(at - height, 0.0), min(at, height))
            self.line(role, start + way * top[0], y1 + top[1], start + way * bottom[0], y1 + bottom[1])
            at += step

    def hatch_ring(
        self, role: str, x: float, y: float, radius: float, step: float, falling: bool = False
    ) -> None:
        """Slanted lines over a disc."""
        reach, sign = radius - 0.3, -1.0 if falling else 1.0
        offset = -reach + step / 2
        while offset < reach:
            # a chord at 45 degrees, its middle ``offset`` from the centre
            half, aside = ((reach * reach - offset * offset) / 2) ** 0.5, offset * 0.5**0.5
            mx, my = x + aside, y + sign * aside
            self.line(role, mx - half, my + sign * half, mx + half, my - sign * half)
            offset += step

    def label(
        self, x: float, y: float, text: str, role: str, anchor: str = "middle", turned: bool = False
    ) -> None:
        self._labels.append(Label(n(x), n(y), text, role, anchor, turned))

    def done(self, label: str) -> Drawing:
        paths = tuple(Path(role, "".join(parts)) for role, parts in self._roles.items())
        lit = tuple(Path(name, "".join(parts)) for name, parts in self._lit.items())
        return Drawing(n(self.width), n(self.height), label, paths, tuple(self._labels), lit)

    def over(self, *roles: str) -> None:
        """Settle what lies over what: roles named here are drawn in this order, under later ones."""
        for role in roles:
            self._roles.setdefault(role, [])

    def _add(self, role: str, d: str) -> None:
        self._roles.setdefault(role, []).append(d)
        for name in self._at:
            self._lit.setdefault(name, []).append(d)


def around(x: float, y: float, angle: float, radius: float) -> tuple[float, float]:
    """A point round a centre: 0 degrees up, clockwise, as on a degree wheel."""
    turn = math.radians(angle)
    return (x + radius * math.sin(turn), y - radius * math.cos(turn))


@lru_cache(maxsize=4096)  # names of places and verdicts come again and again
def wide(text: str, size: float) -> float:
    """How wide a label is in the report's semibold, to about two per cent.

    >>> round(wide("0.150 wear limit", 6.8))
    52
    """
    return size * sum(_ADVANCE.get(letter, 0.6) for letter in text)


def apart(
    centres: list[float], widths: list[float], low: float, high: float, gap: float = 5.0
) -> list[float]:
    """Centres of labels moved as little as possible until none overlaps another.

    Labels are given from left to right and stay between ``low`` and ``high``;
    where there is too little room the gap shrinks.

    >>> apart([50, 52], [10, 10], 0, 100), apart([10, 12], [10, 10], 0, 100)
    ([43.5, 58.5], [5.0, 20.0])
    """
    if not centres:
        return []
    gap = min(gap, max(0.0, (high - low - sum(widths)) / max(1, len(widths) - 1)))
    steps = [0.0]  # where each label's centre stands when all stand shoulder to shoulder
    for one, other in pairwise(widths):
        steps.append(steps[-1] + (one + other) / 2 + gap)
    # least squares under an order: neighbours that would cross share the mean of their wishes
    blocks: list[tuple[float, int]] = []
    for centre, step in zip(centres, steps, strict=True):
        blocks.append((centre - step, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (one, i), (other, k) = blocks[-2:]
            blocks[-2:] = [((one * i + other * k) / (i + k), i + k)]
    first, last = low + widths[0] / 2, high - widths[-1] / 2 - steps[-1]
    wishes = [max(first, min(last, mean)) for mean, many in blocks for _ in range(many)]
    return [round(wish + step, 6) for wish, step in zip(wishes, steps, strict=True)]


# the mark of a verdict, always set beside its word: each is told from the others without its colour
MARKS = {
    "as new": "\N{CIRCLED DOT OPERATOR}",
    "serviceable": "\N{CIRCLE WITH LEFT HALF BLACK}",
    "beyond limit": "\N{BLACK DIAMOND}",
    "too close to call": "\N{CIRCLED VERTICAL BAR}",
    "not measured": "\N{DOTTED SQUARE}",
    "no limit on file": "\N{CIRCLED MINUS}",
}
# the signs of a drawing, as its legend names them
KEYS = dict(
    zip(
        message(("arrival", "now", "new limits", "wear limit", "uncertainty", "at least")),
        (
            "\N{WHITE DIAMOND}",
            "\N{BLACK CIRCLE}",
            "\N{WHITE RECTANGLE}",
            "\N{SQUARE WITH UPPER RIGHT TO LOWER LEFT FILL}",
            "\N{LEFT RIGHT ARROW}",
            "\N{RIGHTWARDS ARROW}",
        ),
        strict=True,
    )
)


class Frame(Struct, frozen=True):
    """The part of a photo that is shown: ``shift`` is what stylesheets call the object position."""

    width: str  # units of the drawing, points in print
    height: str
    shift: str  # "0% 35%"
    callouts: Drawing | None


def frame(
    pixels: tuple[int, int], callouts: tuple[Callout, ...], width: float, tallest: float, alt: str
) -> Frame:
    """A photo at ``width``, cut to at most ``tallest`` where its callouts leave room for that.

    Where they do not (or the photo stands upright) it is set smaller, in the
    last resort whole.
    """
    across, down = max(1, pixels[0]), max(1, pixels[1])
    full = width * down / across
    cut = 0.0
    height = full
    if full > tallest:
        whole = tallest * across / down
        step = (width - whole) / 40
        for _ in range(40):
            top, bottom = _reach(callouts, width, full)
            if bottom - top <= tallest and full <= 2.6 * tallest:
                cut = min(max((top + bottom - tallest) / 2, 0.0), full - tallest)
                break
            width -= step
            full = width * down / across
        else:
            width, full = whole, tallest
        height = tallest
    shift = f"50% {n(100 * cut / (full - height))}%" if full - height > 0.005 else "50% 50%"
    spots = []  # callouts in points of the picture as it is shown
    for one in callouts:
        arrow = one.arrow and (one.arrow[0] / 100 * width, one.arrow[1] / 100 * full - cut)
        x, y, ring = one.across / 100 * width, one.down / 100 * full - cut, one.ring / 100 * width
        spots.append(replace(one, across=x, down=y, ring=ring, arrow=arrow))
    return Frame(n(width), n(height), shift, _callouts(spots, width, height, alt) if spots else None)


def _reach(callouts: tuple[Callout, ...], width: float, full: float) -> tuple[float, float]:
    """From where to where a photo must be seen for its callouts, in points from its upper edge."""
    reach = [(one.down / 100 * full, 12 + one.ring / 100 * width) for one in callouts]
    reach += [(one.arrow[1] / 100 * full, 7.0) for one in callouts if one.arrow is not None]
    reach = reach or [(full / 2, 12.0)]
    return min(down - room for down, room in reach), max(down + room for down, room in reach)


def _callouts(spots: list[Callout], width: float, height: float, alt: str) -> Drawing:
    """A letter beside each spot: a leader to a dot, an arrow to it, or a ring round it, cased in white."""
    sheet = DrawingSheet(width, height)
    sheet.over("casing", "leader", "spot", "point", "disc")
    taken: list[tuple[float, float]] = [(spot.across, spot.down) for spot in spots]
    for spot in spots:
        best = spot.arrow or _free(spot, taken, width, height)
        # the disc of the letter lies inside the picture, wherever the arrow was said to start
        best = (min(max(best[0], 7.0), width - 7.0), min(max(best[1], 7.0), height - 7.0))
        taken.append(best)
        away = math.hypot(best[0] - spot.across, best[1] - spot.down) or 1.0
        ux, uy = (best[0] - spot.across) / away, (best[1] - spot.down) / away
        stop = spot.ring if spot.ring < away else 0.0
        end = (spot.across + ux * stop, spot.down + uy * stop)
        for role in ("casing", "leader"):
            if spot.ring:
                sheet.ring(role, spot.across, spot.down, spot.ring)
            if not spot.ring or stop:
                sheet.line(role, *best, *end)
        if spot.arrow is not None:
            wings = [(end[0] + 6 * (ux * c - uy * s), end[1] + 6 * (uy * c + ux * s)) for c, s in _WINGS]
            sheet._add("point", "M" + "L".join(f"{n(x)} {n(y)}" for x, y in (wings[0], end, wings[1])) + "Z")
        elif not spot.ring:
            sheet.ring("spot", spot.across, spot.down, 1.7)
        sheet.ring("disc", *best, 6.2)
        sheet.label(best[0], best[1] + 2.7, spot.letter, "letter")
    return sheet.done(alt)


_WINGS = ((0.92, 0.39), (0.92, -0.39))  # cosine and sine of 23 degrees to both sides


def _free(
    spot: Callout, taken: list[tuple[float, float]], width: float, height: float
) -> tuple[float, float]:
    """Where a letter stands: inside the picture, clear of other spots and letters, towards the middle."""
    reach = min(34.0, 0.3 * min(width, height) + 8) + spot.ring
    s = 0.7071
    best, room = (spot.across, spot.down), -1e9
    for rank, (dx, dy) in enumerate([(-s, -s), (s, -s), (-s, s), (s, s), (-1, 0), (1, 0), (0, -1), (0, 1)]):
        cx, cy = spot.across + dx * reach, spot.down + dy * reach
        inside = min(cx - 8, width - 8 - cx, cy - 8, height - 8 - cy)
        others = ((cx - px, cy - py) for px, py in taken if (px, py) != (spot.across, spot.down))
        clear = min((math.hypot(*other) for other in others), default=99.0)
        # towards the middle of the picture there is room; a free place counts more than its direction
        score = min(inside, 0) * 10 + min(clear, 40) - rank * 0.1
        if score > room:
            best, room = (cx, cy), score
    return best
