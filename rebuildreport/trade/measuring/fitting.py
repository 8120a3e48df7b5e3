"""Straight lines, planes and circles through readings: least squares, minimum zone; flatness, straightness.

Every result is a weighted sum of the readings, so that it keeps their sources
of error: what one indicator adds to all of them alike cancels.  A handful of
readings and three unknowns need no array library, whose loading takes longer
than all of a job's arithmetic; the tests hold both fits against one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice

from msgspec import Struct

from .form import ends, spread
from .uncertainty import Measured, combine

Rows = Sequence[Sequence[float]]  # one row a reading: what each unknown counts for there

_SMALL = 1e-11
_ALIKE = 1e-9  # heights that stand for the same decimal


class FittedShape(Struct, frozen=True):
    """A surface through readings: its coefficients, what is left at each reading, and the zone it needs."""

    coefficients: tuple[float, ...]
    residuals: tuple[float, ...]
    width: Measured  # largest residual less the smallest


def solve(matrix: Rows, right: Sequence[float]) -> list[float]:
    """The unknowns of a small system of linear equations, by elimination with row exchange.

    Raises ValueError where the equations do not settle them.

    Source: Gaussian elimination with partial pivoting.

    >>> solve([[2.0, 1.0], [1.0, 3.0]], [5.0, 10.0])
    [1.0, 3.0]
    """
    rows = [[*map(float, row), float(value)] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for i in range(size):
        best = max(range(i, size), key=lambda k: abs(rows[k][i]))
        if abs(rows[best][i]) < _SMALL:
            raise ValueError("the readings do not settle the fit: too few, or all in one line")
        rows[i], rows[best] = rows[best], rows[i]
        for k in range(size):
            if k != i and rows[k][i]:
                share = rows[k][i] / rows[i][i]
                rows[k] = [a - share * b for a, b in zip(rows[k], rows[i], strict=True)]
    return [rows[i][size] / rows[i][i] for i in range(size)]


def least_squares_weights(rows: Rows) -> list[list[float]]:
    """For each unknown, the weight of every reading in it: (XᵀX)⁻¹Xᵀ.

    Raises ValueError where the readings do not settle the fit.

    Source: normal equations of linear least squares.

    >>> least_squares_weights([[1.0], [1.0]])
    [[0.5, 0.5]]
    """
    size = len(rows[0]) if rows else 0
    if len(rows) < size or not size:
        raise ValueError("the readings do not settle the fit: too few, or all in one line")
    normal = [[sum(row[i] * row[k] for row in rows) for k in range(size)] for i in range(size)]
    columns = [solve(normal, row) for row in rows]
    return [[column[i] for column in columns] for i in range(size)]


def least_squares(rows: Rows, values: Sequence[Measured]) -> FittedShape:
    """The fit with the least sum of squared residuals [unit of the values].

    Raises ValueError where the readings do not settle the fit.

    Source: normal equations; propagation as in JCGM 100:2008, 5.2.2.

    >>> line = [[1.0, x] for x in (0.0, 1.0, 2.0, 3.0, 4.0)]
    >>> z = [Measured(v) for v in (0.0, 12.0, 25.0, 18.0, 4.0)]
    >>> round(least_squares(line, z).width.value, 1)
    23.8
    """
    weights = least_squares_weights(rows)
    readings = [value.value for value in values]
    coefficients = tuple(sum(w * z for w, z in zip(ws, readings, strict=True)) for ws in weights)
    left = _residuals(rows, readings, coefficients)
    high, low = ends(left)
    across = [a - b for a, b in zip(rows[high], rows[low], strict=True)]
    terms = [-sum(x * ws[k] for x, ws in zip(across, weights, strict=True)) for k in range(len(values))]
    terms[high] += 1.0
    terms[low] -= 1.0
    return FittedShape(coefficients, left, combine(zip(terms, values, strict=True)))


def minimum_zone(rows: Rows, values: Sequence[Measured]) -> FittedShape:
    """The fit whose largest residual is as small as can be: the zone that holds all readings [their unit].

    The first unknown must be a constant (1 in every row).  Deviations are
    taken along the reading, not square to the surface; on a face whose
    readings differ by less than a thousandth of its length that is the same.

    Raises ValueError where the readings do not settle the fit.

    Source: minimum zone (ISO 12781-1, ISO 12780-1, from memory) as linear programme, solved through its dual.

    >>> line = [[1.0, x] for x in (0.0, 1.0, 2.0, 3.0, 4.0)]
    >>> z = [Measured(v) for v in (0.0, 12.0, 25.0, 18.0, 4.0)]
    >>> round(minimum_zone(line, z).width.value, 9)
    23.0
    """
    least_squares_weights(rows)  # refuses what no fit can settle
    size, count = len(rows[0]), len(rows)
    reach = [max(abs(row[i]) for row in rows) or 1.0 for i in range(size)]
    readings = [value.value for value in values]
    middle = sum(readings) / count
    tall = max(abs(z - middle) for z in readings) or 1.0
    # Greatest sum of z·(p - q), where p - q balances every unknown and p + q sum to 1: the weights p - q are
    # those of the few readings that the zone rests on.
    up = [[*(row[i] / reach[i] for i in range(size)), 1.0] for row in rows]
    down = [[*(-x for x in column[:size]), 1.0] for column in up]
    gains = [(z - middle) / tall for z in readings]
    shares, prices = _maximise([*up, *down], [0.0] * size + [1.0], [*gains, *(-g for g in gains)])
    coefficients = [price * tall / far for price, far in zip(prices, reach, strict=False)]
    coefficients[0] += middle
    left = _residuals(rows, readings, coefficients)
    terms = [2.0 * (shares[k] - shares[count + k]) for k in range(count)]
    if max(map(abs, terms)) < _SMALL:
        # The readings lie on the shape to the last digit: any of them bears the zone as well as another, and
        # a weight of nothing would say that there is no doubt. Least squares tells whose doubt is in it.
        return FittedShape(tuple(coefficients), left, least_squares(rows, values).width)
    widths = [combine(zip(terms, values, strict=True)), *_held_otherwise(rows, values, left)]
    return FittedShape(tuple(coefficients), left, max(widths, key=lambda width: round(width.u, 12)))


# So many sets of places are tried: of a grid of 5 by 5 all of them, though half of its heights touch an edge.
_TRIED = 1000


def _held_otherwise(rows: Rows, values: Sequence[Measured], left: Sequence[float]) -> Iterator[Measured]:
    """The same zone from each other set of places that holds it: of coarse heights many touch its edges.

    A zone of n unknowns is held by n + 1 places (Helly's theorem); which of them the programme takes is
    chance, and no verdict may be surer for it.
    """
    high, low = max(left), min(left)
    touching = [k for k, rest in enumerate(left) if min(high - rest, rest - low) < _ALIKE]
    size = len(rows[0])
    for held in islice(combinations(touching, size + 1), _TRIED):
        weights = _balanced([rows[k] for k in held])
        if not weights:
            continue
        width = combine(zip(weights, (values[k] for k in held), strict=True)).size
        if abs(width.value - (high - low)) < _ALIKE:
            yield width


def _balanced(rows: Rows) -> list[float]:
    """Weights of one place more than there are unknowns that cancel every unknown; none where all line up."""
    for last in range(len(rows) - 1, -1, -1):
        others = [row for k, row in enumerate(rows) if k != last]
        try:
            weights = solve(list(zip(*others, strict=True)), rows[last])
        except ValueError:
            continue  # these lie in one line, which another of them is part of
        weights.insert(last, -1.0)
        whole = sum(map(abs, weights))
        return [2.0 * weight / whole for weight in weights]
    return []


def _residuals(rows: Rows, readings: Sequence[float], coefficients: Sequence[float]) -> tuple[float, ...]:
    return tuple(
        z - sum(c * x for c, x in zip(coefficients, row, strict=True))
        for row, z in zip(rows, readings, strict=True)
    )


def _maximise(
    columns: Sequence[Sequence[float]], right: Sequence[float], gains: Sequence[float]
) -> tuple[list[float], list[float]]:
    """Shares (none negative) with columns·shares = right and the greatest gain, and the price of each row.

    The simplex method in two phases, by Bland's rule, which cannot go round in circles.
    """
    size, count = len(right), len(columns)
    # the last `size` columns stand in for a start; they may leave and never come back
    table = [
        [*(column[i] for column in columns), *(float(i == k) for k in range(size)), right[i]]
        for i in range(size)
    ]
    basis = list(range(count, count + size))
    stand_in = [*([0.0] * count), *([-1.0] * size)]
    _climb(table, basis, stand_in, count)
    for i in range(size):
        if (
            basis[i] >= count
        ):  # a stand-in left at nothing: any column that touches its row can take its place
            j = next((j for j in range(count) if abs(table[i][j]) > 1e-9), None)
            if j is not None:
                _pivot(table, basis, i, j)
    wanted = [*gains, *([0.0] * size)]
    _climb(table, basis, wanted, count)
    shares = [0.0] * count
    for i, j in enumerate(basis):
        if j < count:
            shares[j] = table[i][-1]
    prices = [sum(wanted[j] * table[i][count + k] for i, j in enumerate(basis)) for k in range(size)]
    return shares, prices


def _climb(table: list[list[float]], basis: list[int], gains: Sequence[float], allowed: int) -> None:
    while True:
        priced = [gains[j] for j in basis]
        entering = next(
            (
                j
                for j in range(allowed)
                if j not in basis
                and gains[j] - sum(g * row[j] for g, row in zip(priced, table, strict=True)) > 1e-10
            ),
            None,
        )
        if entering is None:
            return
        rows = [
            (row[-1] / row[entering], basis[i], i) for i, row in enumerate(table) if row[entering] > 1e-10
        ]
        if not rows:
            return  # no bound: cannot be, since the shares sum to one
        _pivot(table, basis, min(rows)[2], entering)


def _pivot(table: list[list[float]], basis: list[int], i: int, j: int) -> None:
    table[i] = [x / table[i][j] for x in table[i]]
    for k, row in enumerate(table):
        if k != i and row[j]:
            share = row[j]
            table[k] = [a - share * b for a, b in zip(row, table[i], strict=True)]
    basis[i] = j


# ---------------------------------------------------------------- flatness
# A straightedge and feelers give the worst gap along each line, and no plane: the edge rides on the two
# highest places of that line.  Only a grid of heights gives a plane.


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
