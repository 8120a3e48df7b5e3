"""Quantities: the only place that knows the unit library.

In: what people type, values, messages of ours.  Out: exact conversions, values rounded by one stated rule
and shown in two systems of units, texts that are no words yet.  It must not know what is measured, nor a
file.
"""

from .marking import message
from .quantity import Quantity, QuantityError, Unreadable, number, parse
from .rounding import exact, place_of, to_decimals
from .show import Shown, limit_texts, show, show_converted, show_interval, show_limits
from .text import (
    NOTHING,
    Amount,
    Figure,
    Measure,
    Name,
    Sentence,
    Several,
    Text,
    Typed,
    Value,
    amid,
    as_printed,
    as_typed,
    english,
    present,
    worded,
)
from .units import UnknownUnit, WrongDimension, canonical, convert, dimension, factor, partner

__all__ = [
    "NOTHING",
    "Amount",
    "Figure",
    "Measure",
    "Name",
    "Quantity",
    "QuantityError",
    "Sentence",
    "Several",
    "Shown",
    "Text",
    "Typed",
    "UnknownUnit",
    "Unreadable",
    "Value",
    "WrongDimension",
    "amid",
    "as_printed",
    "as_typed",
    "canonical",
    "convert",
    "dimension",
    "english",
    "exact",
    "factor",
    "limit_texts",
    "message",
    "number",
    "parse",
    "partner",
    "place_of",
    "present",
    "show",
    "show_converted",
    "show_interval",
    "show_limits",
    "to_decimals",
    "worded",
]
