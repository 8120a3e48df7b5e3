"""Hours that steps took, over the engines of a family, against those of the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from msgspec import Struct

FEWEST = 3  # engines from which on other hours are proposed: two may both have been odd (common practice)
STEP = 0.1  # h: nobody estimates a step of taking apart closer than to six minutes (common practice)


class Spent(Struct, frozen=True):
    """What a step took: how often it was noted, the middle, the least and the most [h]."""

    count: int
    middle: float
    least: float
    most: float
    proposed: float | None = None  # in place of the sheet's; None where nothing speaks against those


def spent(took: Sequence[float], sheet: float | None) -> Spent:
    """Hours noted, held against the sheet's [h]; others are proposed where none was as short, or as long.

    A proposal is the median, to a tenth of an hour; nobody's file is changed by it.

    Source: common practice; the median, since one stuck bolt says nothing of the next engine.

    >>> spent([0.7, 0.5, 0.6], 0.3)
    Spent(count=3, middle=0.6, least=0.5, most=0.7, proposed=0.6)
    >>> spent([0.2, 0.5, 0.9], 0.3).proposed, spent([0.7, 0.8], 0.3).proposed
    (None, None)

    Raises ValueError where nothing was noted.
    """
    if not took:
        raise ValueError("no hours were noted")
    least, most = min(took), max(took)
    middle = round(median(took), 4)
    proposed = round(round(middle / STEP) * STEP, 1)
    outside = sheet is None or not least <= sheet <= most
    wanted = len(took) >= FEWEST and outside and proposed != sheet
    return Spent(len(took), middle, least, most, proposed if wanted else None)
