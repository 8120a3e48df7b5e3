"""Oil pressure against speed, and what it says of pump, relief valve and bearings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise

from ..measuring.uncertainty import Measured

# about this much for each 1000 revolutions a minute, hot (common practice, no source)
RULE = 0.7  # bar


def speed(column: str) -> float | None:
    """The speed in a column's name, in revolutions a minute; None where it has none.

    Source: naming rule of this project.

    >>> speed("hot_1800"), speed("hot_idle")
    (1800.0, None)
    """
    found = re.search(r"(?:^|_)(\d{3,5})(?:_|$)", column)
    return float(found.group(1)) if found else None


def falls_with_speed(pressures: Mapping[float, Measured]) -> tuple[float, float] | None:
    """The first two neighbouring speeds between which the pressure surely falls [rpm; bar].

    Pressure rises with speed until the relief valve opens, and then stands;
    it does not fall.  Surely: by more than twice the doubt of the fall itself,
    which both readings of one gauge share an error in.

    Source: common practice; JCGM 100:2008, 6.3.3 (coverage factor 2).

    >>> falls_with_speed({800.0: Measured(1.0), 1800.0: Measured(3.2), 3000.0: Measured(2.6)})
    (1800.0, 3000.0)
    """
    known = sorted(pressures)
    for low, high in pairwise(known):
        fall = pressures[low] - pressures[high]
        if fall.value > 2.0 * fall.u + 1e-9:
            return low, high
    return None


def rule_of_thumb(revolutions: float) -> float:
    """Oil pressure to expect of a hot, sound engine [bar].

    Source: common practice, no source: about 0.7 bar for each 1000 revolutions a minute (10 psi).

    >>> rule_of_thumb(3000.0)
    2.1
    """
    return round(RULE * revolutions / 1000.0, 9)
