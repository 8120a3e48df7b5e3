"""Quantities: the only place that knows the unit library.

Parse what people type, convert exactly, round by one stated rule, and show a
value in two systems of units.
"""

from .quantity import Quantity, QuantityError, number, parse
from .rounding import decimals_beside, exact, place_of, to_decimals
from .show import Shown, show, show_interval
from .units import UnknownUnit, WrongDimension, canonical, convert, dimension, factor, partner

__all__ = [
    "Quantity",
    "QuantityError",
    "Shown",
    "UnknownUnit",
    "WrongDimension",
    "canonical",
    "convert",
    "decimals_beside",
    "dimension",
    "exact",
    "factor",
    "number",
    "parse",
    "partner",
    "place_of",
    "show",
    "show_interval",
    "to_decimals",
]
