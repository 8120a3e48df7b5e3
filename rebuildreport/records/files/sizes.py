"""Sizes as they are typed, each with its number: steps away from standard, thicknesses that are sold.

In: the words of a file.  Out: small frozen values that keep the words; nothing above parses a size again.
"""

import re
from functools import cache
from typing import Literal

from msgspec import Struct

from ... import quantities
from ...quantities import NOTHING, Figure, Quantity, QuantityError, Sentence, Text, Typed

STANDARD = "standard"
SAME = 1e-6  # mm: two sizes that a person typed in different units, compared as floats
Side = Literal["", "undersize", "oversize"]


class TypedSize(Struct, frozen=True):
    """A size: a step with its side, or the standard one (written so, or nothing at all)."""

    text: str  # as typed
    amount: Quantity | None = None  # of the step, larger than nothing
    side: Side = ""

    @property
    def mm(self) -> float:
        """What it differs by from the standard size [mm]: an undersize is negative."""
        if self.amount is None:
            return 0.0
        step = round(self.amount.to("mm"), 9)
        return -step if self.side == "undersize" else step

    @property
    def said(self) -> Text:
        """The size as typed, of which another language knows the words."""
        if self.amount is None:
            return Typed(self.text) if self.text else NOTHING
        amount = Figure(self.amount)
        if self.side == "undersize":
            return Sentence("{amount} undersize", amount=amount)
        return Sentence("{amount} oversize", amount=amount)


@cache
def size_step(text: str) -> TypedSize:
    """A size from its words; what is no step is taken for standard, and told by the checks.

    >>> size_step("0.50 mm undersize").mm, size_step("0.020 in oversize").mm, size_step("standard").mm
    (-0.5, 0.508, 0.0)
    """
    match = re.fullmatch(r"(.+?)\s+(undersize|oversize)", text)
    if not match:
        return TypedSize(text)
    try:
        amount = quantities.parse(match[1], dimension="length")
    except QuantityError:
        return TypedSize(text)
    return TypedSize(text, amount, "undersize" if match[2] == "undersize" else "oversize")


def step_in_mm(size: str | None) -> float:
    """What a size as typed differs by from the standard one [mm]: an undersize is negative.

    >>> step_in_mm("0.50 mm undersize"), step_in_mm("0.020 in oversize"), step_in_mm(None)
    (-0.5, 0.508, 0.0)
    """
    return size_step(size or "").mm


def sized(typed: str | None) -> Text:
    """A size as typed, of which another language knows the words; NOTHING for none.

    >>> from rebuildreport.quantities import english
    >>> english(sized("0.50 mm undersize")), english(sized(None))
    ('0.50 mm undersize', '')
    """
    return size_step(typed or "").said


def key_of(size: str) -> str:
    """A size as the sheet keys its sets.

    >>> key_of("0.50 mm undersize"), key_of("standard"), key_of("")
    ('0.50 mm', 'standard', 'standard')
    """
    amount = size_step(size).amount
    return str(amount) if amount is not None else size.strip() or STANDARD


def same_size(one: str, other: str) -> bool:
    """Whether two sizes, or keys of sets, mean the same step, however they are typed.

    >>> same_size("0.25 mm", "0.250 mm undersize"), same_size("10 thou", "0.010 in"), same_size("", STANDARD)
    (True, True, True)
    """
    keys = key_of(one), key_of(other)
    try:
        first, second = (quantities.parse(key, dimension="length").to("mm") for key in keys)
    except QuantityError:
        return keys[0] == keys[1]
    return abs(first - second) < SAME


@cache  # every reading is held against them
def listed_steps(text: str | None, side: Side) -> tuple[TypedSize, ...]:
    """The steps of a line such as ``0.25 0.50 mm``, each as a decision names it; none where it is no list.

    >>> [step.text for step in listed_steps("0.25 0.50 mm", "undersize")]
    ['0.25 mm undersize', '0.50 mm undersize']
    """
    *numbers, unit = (text or "").replace(",", " ").split() or [""]
    steps = (size_step(f"{number} {unit} {side}") for number in numbers)
    return tuple(step for step in steps if step.amount is not None)


def steps_of(text: str) -> list[tuple[str, float]]:
    """Steps in their own unit, each with its size in mm.

    >>> steps_of("0.010 0.020 in")
    [('0.010 in', 0.254), ('0.020 in', 0.508)]

    Raises QuantityError for what is no list of lengths.
    """
    *numbers, unit = text.replace(",", " ").split() or [""]
    if not numbers:
        raise QuantityError(f"'{text}' lists no steps with their unit", "0.25 0.50 mm, or 0.010 0.020 in")
    return [
        (f"{number} {unit}", round(quantities.parse(number, unit=unit, dimension="length").to("mm"), 9))
        for number in numbers
    ]


def sizes_of(text: str) -> list[float]:
    """Thicknesses in mm: a list with its unit, or a range and its step.

    >>> sizes_of("2.00 to 2.20 by 0.05 mm"), sizes_of("2.00 2.05 mm")
    ([2.0, 2.05, 2.1, 2.15, 2.2], [2.0, 2.05])

    Raises QuantityError for what is neither.
    """
    match = re.fullmatch(r"(\S+)\s+to\s+(\S+)\s+by\s+(\S+)\s+(\S+)", text)
    if not match:
        return [size for _, size in steps_of(text)]
    unit = match.group(4)
    low, high, step = (
        quantities.parse(match.group(n), unit=unit, dimension="length").to("mm") for n in (1, 2, 3)
    )
    if step <= 0 or high < low or (high - low) / step > 1000:
        raise QuantityError(f"'{text}' is no range of sizes", "2.00 to 3.00 by 0.05 mm")
    return [round(low + n * step, 6) for n in range(round((high - low) / step + 1e-6) + 1)]
