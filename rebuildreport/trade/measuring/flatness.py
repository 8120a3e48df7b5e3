"""Flatness of faces and straightness of lines.

A straightedge and feelers give the worst gap along each line, and no plane:
the edge rides on the two highest places of that line.  Only a grid of
heights gives a plane, by least squares or by the minimum zone.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from .fitting import FittedShape, least_squares, minimum_zone
from .form import spread
from .uncertainty import Measured


class Face(Struct, frozen=True):
    """Flatness of a face from a grid of heights [mm]."""

    minimum_zone: Measured  # never larger than either of the others
    least_squares: Measured  # may be larger than the range
    range: Measured  # highest less lowest reading as it lay: holds the tilt too
    deviations: tuple[tuple[float, float, float], ...]  # x, y, height over the middle of the minimum zone


def face(points: Sequence[tuple[float, float, Measured]]) -> Face:
    """Flatness of a face from heights at places x, y [all mm].

    Raises ValueError where fewer than three places, or places in one line, give no plane.

    Source: ISO 12781-1 (least squares and minimum zone; from memory).

    >>> z = {(0, 0): 0, (0, 75): 10, (0, 150): 2, (200, 0): -30, (200, 75): -45, (200, 150): -25,
    ...      (400, 0): 5, (400, 75): 12, (400, 150): 8}
    >>> found = face([(x, y, Measured(0.001 * h)) for (x, y), h in z.items()])
    >>> round(found.minimum_zone.value, 4), round(found.least_squares.value, 5), round(found.range.value, 4)
    (0.056, 0.05717, 0.057)
    """
    middle_x = sum(x for x, _, _ in points) / max(1, len(points))
    middle_y = sum(y for _, y, _ in points) / max(1, len(points))
    # a metre across and the constant then weigh alike, which keeps the elimination exact
    rows = [[1.0, (x - middle_x) / 100.0, (y - middle_y) / 100.0] for x, y, _ in points]
    heights = [z for _, _, z in points]
    zone = minimum_zone(rows, heights)
    return Face(
        zone.width,
        least_squares(rows, heights).width,
        spread(heights),
        tuple((x, y, left) for (x, y, _), left in zip(points, zone.residuals, strict=True)),
    )


def straightness(stations: Sequence[float], heights: Sequence[Measured]) -> tuple[FittedShape, FittedShape]:
    """A line of heights by minimum zone and by least squares [mm].

    Raises ValueError where fewer than two stations give no line.

    Source: ISO 12780-1 (from memory).

    >>> z = [Measured(v) for v in (0.0, 12.0, 25.0, 18.0, 4.0)]
    >>> zone, squares = straightness([0.0, 100.0, 200.0, 300.0, 400.0], z)
    >>> round(zone.width.value, 6), round(squares.width.value, 1)
    (23.0, 23.8)
    """
    middle = sum(stations) / max(1, len(stations))
    rows = [[1.0, (x - middle) / 100.0] for x in stations]
    return minimum_zone(rows, heights), least_squares(rows, heights)
