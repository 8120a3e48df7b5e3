"""What a meter shows, as people write it: hours run or distance.

In comes the text as typed, out go number and unit; a text that is no reading of a meter gives None.
"""

from __future__ import annotations

import re
from typing import Literal

from msgspec import Struct

MILE = 1.609344  # km, exactly

_FORM = re.compile(r"\s*(\d[\d \u00a0\u202f',.]*?)(?:[.,](\d{1,2}))?\s*([^\W\d]*)\s*")
_HOURS = {"h", "hr", "hrs", "hour", "hours", "std"}
_MILES = {"mi", "mile", "miles"}


class MeterReading(Struct, frozen=True):
    value: float
    unit: str  # as typed, in small letters

    @property
    def use(self) -> tuple[float, Literal["h", "km"]] | None:
        """Hours [h] or distance [km]; None of a unit that is neither.

        >>> meter_reading("100 mi").use
        (160.9344, 'km')
        """
        if self.unit in _HOURS:
            return self.value, "h"
        if self.unit in {"km", *_MILES}:
            return (self.value if self.unit == "km" else round(self.value * MILE, 6)), "km"
        return None


def meter_reading(text: str | None) -> MeterReading | None:
    """The reading of a meter as typed: '142 300 km', '9,412.5 h'.

    >>> meter_reading("142 300 km"), meter_reading("9,412.5 h").value, meter_reading("unknown")
    (MeterReading(value=142300.0, unit='km'), 9412.5, None)
    """
    match = _FORM.fullmatch(text or "")
    if match is None:
        return None
    whole, part, unit = match.groups("")
    return MeterReading(float(f"{re.sub(r'[^0-9]', '', whole)}.{part or 0}"), unit.lower())
