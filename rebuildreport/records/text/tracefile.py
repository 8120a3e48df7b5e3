"""A measured pressure trace: a CSV file of crank angle and pressure, from an indicator's own software.

In: the file's text.  Out: angles and pressures in one unit, or what is wrong with it, each with its line.
"""

from __future__ import annotations

import csv
import re
from itertools import pairwise

from ...quantities import UnknownUnit, canonical, dimension, factor
from .problems import Problem

SEPARATORS = (";", "\t", ",")
COARSEST = 5.0  # degrees from reading to reading: a gasoline engine's pressure rises over some 25
# degrees of the highest pressure about the firing dead centre: common practice
LATEST, EARLIEST = 60.0, -30.0
PEAKS = (8.0, 350.0)  # bar, of any engine that fires: common practice
ROWS = 400  # every two degrees of a four-stroke's cycle
ROW = "|"  # between readings that stand in one text
Trace = tuple[list[float], list[float]]  # degrees from the upper dead centre of firing, bar absolute
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?([eE][+-]?\d+)?")
_UNIT = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]")


def read_trace(text: str, file: str, cycle: float) -> tuple[Trace, list[Problem]]:
    """A trace over a cycle of so many degrees; the first thing that is wrong with it.

    >>> rows = (f"{n}, {30 if n == 8 else 1}" for n in range(0, 720, 4))
    >>> trace, problems = read_trace("\\n".join(["angle (deg), pressure (bar)", *rows]), "six.csv", 720.0)
    >>> trace[0][:3], trace[1][:3], problems
    ([0.0, 4.0, 8.0], [1.0, 1.0, 30.0], [])
    """
    lines = text.replace(ROW, "\n").splitlines()
    try:
        trace = _read(lines)
        _judge(trace, cycle, lines)
    except _Wrong as wrong:
        number, message, remedy = wrong.args
        quote = lines[number - 1] if number <= len(lines) else ""
        return ([], []), [Problem(file, number, 1, "error", message, quote, remedy)]
    return (trace[0], trace[1]), []


def in_one_text(trace: Trace) -> str:
    """A trace as one line of text, which ``read_trace`` reads as well; thinned to what loads need."""
    every = -(-len(trace[0]) // ROWS)
    rows = (f"{angle:g};{pressure:.3f}" for angle, pressure in [*zip(*trace, strict=True)][::every])
    return ROW.join(["angle (deg);pressure (bar)", *rows])


class _Wrong(Exception):
    """Line, what is wrong, what was probably meant."""


def _read(lines: list[str]) -> tuple[list[float], list[float], list[int]]:
    heads = next((at for at, line in enumerate(lines) if len(_UNIT.findall(line)) > 1), None)
    if heads is None:
        remedy = "a heading names what is in each column, with its unit: crank angle (deg), pressure (bar)"
        raise _Wrong(1, "no heading of this file names the units of its columns", remedy)
    separator = max(SEPARATORS, key=lines[heads].count)
    columns: dict[str, tuple[int, float]] = {}
    units = [_UNIT.search(cell) for cell in csv_cells(lines[heads], separator)]
    for at, unit in enumerate(units):
        try:
            name = canonical(unit[1]) if unit else ""
        except UnknownUnit as problem:
            raise _Wrong(heads + 1, str(problem), "deg for the angle, bar for the pressure") from None
        if name:
            base = {"angle": "deg", "pressure": "bar"}.get(dimension(name), name)
            columns.setdefault(dimension(name), (at, factor(name, base)))
    for wanted, remedy in (("angle", "crank angle (deg)"), ("pressure", "pressure (bar), absolute")):
        if wanted not in columns:
            called = f"no column of this file is a{'n' * (wanted == 'angle')} {wanted}"
            raise _Wrong(heads + 1, called, remedy)
    found: tuple[list[float], list[float], list[int]] = [], [], []
    for number, line in enumerate(lines[heads + 1 :], heads + 2):
        cells = csv_cells(line, separator)
        if not any(cells):
            continue
        for values, wanted in zip(found[:2], ("angle", "pressure"), strict=True):
            at, scale = columns[wanted]
            typed = cells[at] if at < len(cells) else ""
            if not _NUMBER.fullmatch(typed):
                raise _Wrong(number, f"'{typed}' is no {wanted}", "a number, as in 12.5")
            values.append(float(typed.replace(",", ".")) * scale)
        found[2].append(number)
    return found


def csv_cells(line: str, separator: str) -> list[str]:
    """The cells of one line of a CSV file."""
    return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]


def _judge(trace: tuple[list[float], list[float], list[int]], cycle: float, lines: list[str]) -> None:
    """Whether it is one cycle of an engine that fires at nought."""
    angles, pressures, numbers = trace
    if len(angles) < cycle / COARSEST:
        remedy = f"one every {COARSEST:g} degrees or less"
        raise _Wrong(len(lines), f"{len(angles)} readings over a cycle", remedy)
    for number, (before, angle) in zip(numbers[1:], pairwise(angles), strict=True):
        if not 0 < angle - before <= COARSEST:
            remedy = f"one cycle in the order of its angles, {COARSEST:g} degrees apart at most"
            raise _Wrong(number, f"{angle:g} degrees follow {before:g}", remedy)
    span = angles[-1] - angles[0]
    if not cycle - COARSEST <= span <= cycle:
        remedy = f"one whole cycle: {cycle:g} degrees"
        raise _Wrong(numbers[-1], f"the readings span {span:g} degrees", remedy)
    lowest, peak = min(pressures), max(pressures)
    if lowest <= 0:
        at = numbers[pressures.index(lowest)]
        raise _Wrong(at, f"{lowest:g} bar is no absolute pressure", "over the air's? Add 1 bar to each")
    place = pressures.index(peak)
    if not PEAKS[0] <= peak <= PEAKS[1]:
        remedy = "is the unit of the heading the file's? A motored engine has no trace that replaces a fired "
        remedy += "one"
        raise _Wrong(numbers[place], f"a highest pressure of {peak:.4g} bar: no such engine fires", remedy)
    after = (angles[place] + cycle / 2) % cycle - cycle / 2
    if not EARLIEST <= after <= LATEST:
        remedy = "count the angles from the upper dead centre of firing: that is 0"
        raise _Wrong(numbers[place], f"the highest pressure comes at {angles[place]:g} degrees", remedy)
