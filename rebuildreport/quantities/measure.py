"""A measured value inside a sentence of a floor that knows no shop: printed later, as the shop prints."""

from __future__ import annotations

from .sentence import Figure, Sentence, Several
from .show import show


class Measure(Figure):
    """A value with its unit and the decimals it is known to; as a text it stands in that unit.

    >>> Measure(0.026, "mm", 3)
    '0.026 mm'
    """

    __slots__ = ("decimals", "unit", "value")
    value: float
    unit: str
    decimals: int

    def __new__(cls, value: float, unit: str, decimals: int) -> Measure:
        one = super().__new__(cls, f"{value:.{decimals}f} {unit}".replace("-", "\u2212"))
        one.value, one.unit, one.decimals = value, unit, decimals
        return one

    def __deepcopy__(self, memo: object) -> Measure:
        return self

    def __reduce__(self) -> tuple[object, ...]:
        return Measure, (self.value, self.unit, self.decimals)


def as_printed(text: str, system: str) -> str:
    """The text with its measures as a shop of ``system`` prints them: in a shop of inches both systems.

    >>> as_printed(Sentence("range {range}", range=Measure(0.254, "mm", 3)), "in").replace("\u00a0", " ")
    'range 0.0100 in (0.254 mm)'
    >>> as_printed("no measure in it", "in")
    'no measure in it'
    """
    if system != "in":
        return text
    if isinstance(text, Measure):
        return Figure(show(text.value, text.unit, text.decimals, system).both)
    if isinstance(text, Several):
        items = [as_printed(item, system) for item in text.items]
        return text if items == list(text.items) else Several(items, text.between, text.last)
    if isinstance(text, Sentence) and text.values:
        values = {
            key: as_printed(one, system) if isinstance(one, str) else one for key, one in text.values.items()
        }
        return text if values == text.values else Sentence(text.pattern, **values)
    return text
