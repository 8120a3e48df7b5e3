"""Numbers of one file held against those of their own sort: a point that was lost or stands elsewhere.

In: texts as typed, or numbers that ought to be alike.  Out: what was probably meant.  Knows no kind of file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Any

from .problems import Problem
from .reader import Source, Where

_NUMBER = re.compile(r"(\d+)(?:\.(\d+))?(?:\s+(\S+))?")
# What may stand in for one another, as the shell sets of all sizes or gaskets of all thicknesses, costs and
# measures alike within the one; nobody means what is further off than the other (common practice).
ALIKE, OFF = 2, 5
POWERS = (Decimal(10), Decimal("0.1"), Decimal(100), Decimal("0.01"), Decimal(1000), Decimal("0.001"))


def lost_points(source: Source) -> list[Problem]:
    """Numbers without the decimals that all others of their key have, the noughts too, and too large for it.

    >>> from .reader import read_bytes
    >>> lines = b"- hours: 7.0\\n- hours: 4.5\\n- hours: 60\\n- hours: 30.5\\n"
    >>> for number in (lines, lines[:-14], lines[14:]):
    ...     print([problem.suggestion for problem in lost_points(read_bytes(b"a:\\n" + number, "x")[0])])
    ['6.0?']
    ['6.0?']
    []
    """
    typed = sorted(_numbers(source.data or {}, ()), key=lambda one: (one[0], one[2]))
    problems = []
    for _, group in groupby(typed, key=lambda one: (one[0], one[2])):
        numbers = [(where, text) for _, where, _, text in group]
        others = [text for _, text in numbers if "." in text]
        places = {len(text.partition(".")[2]) for text in others}
        if len(others) < 2 or len(places) != 1 or not any(Decimal(text) % 1 == 0 for text in others):
            continue
        (decimals,) = places
        low, *_, high = sorted(map(Decimal, others))
        for where, text in numbers:
            meant = Decimal(text).scaleb(-decimals)
            if "." not in text and Decimal(text) > high and low / ALIKE <= meant <= high * ALIKE:
                message = (
                    f"{text}, and no other '{where[-1]}' of this file is without decimals: a point lost?"
                )
                problems.append(source.problem(where, message, f"{meant}?", severity="warning"))
    return problems


def _numbers(block: Any, where: Where) -> Iterator[tuple[str, Where, str, str]]:
    """The numbers of a file that stand alone behind a key: key, place, unit, digits."""
    for key, thing in block.items() if isinstance(block, dict) else enumerate(block):
        if isinstance(thing, (dict, list)):
            yield from _numbers(thing, (*where, key))
        elif isinstance(thing, str) and (match := _NUMBER.fullmatch(thing.strip())):
            unit = match[3] or ""
            yield str(key), (*where, key), unit, thing.strip().removesuffix(unit).strip()


def astray(alike: Mapping[Where, Decimal]) -> Iterator[tuple[Where, Decimal, Sequence[Decimal]]]:
    """Of numbers that ought to be alike, each that a point elsewhere brings among the others; with these.

    >>> three = {("a",): Decimal("1.20"), ("b",): Decimal("13.0"), ("c",): Decimal("1.40")}
    >>> [(where, str(meant)) for where, meant, _ in astray(three)]
    [(('b',), '1.30')]
    >>> [where for where, *_ in astray({("a",): Decimal("0.64"), ("b",): Decimal(58)})]
    [('b',)]
    """
    places = list(alike)
    for at, where in enumerate(places):
        value = alike[where]
        others = [alike[other] for other in places if other != where and alike[other] > 0]
        if value <= 0 or not others or (len(others) == 1 and not at):
            continue  # of two nobody knows which: asked once
        low, high = min(others), max(others)
        if low > high / OFF and not low / OFF < value < high * OFF:
            for by in POWERS:
                if low / ALIKE <= value * by <= high * ALIKE:
                    yield where, value * by, others
                    break
