"""Which fields of the model may be seen by everybody: an allow-list, written where each field is.

A field without a mark is private, and so is one that was added without a thought of this.
Knows no value and no document: ``publishing`` goes by the marks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from msgspec import Struct

from ...quantities import NOTHING, Sentence, Text, as_typed

T = TypeVar("T")
Made = TypeVar("Made", bound=Struct)


class Open(Struct, frozen=True):
    """The mark of a field that everybody may see.

    ``whole``: of a lower floor, whose classes carry no marks: shown as it is.
    ``only``: of its items, those that this says yes to.
    ``role``: who it was is the shop's matter; in place of a name stands the part that was played.
    """

    whole: bool = False
    only: Callable[[Any], bool] | None = None
    role: Text | None = None


class Kept(Struct, frozen=True):
    """The mark of a field that does not leave the shop, with results.json either."""


Public = Annotated[T, Open()]
Whole = Annotated[T, Open(whole=True)]
Signer = Annotated[Text, Open(role=Sentence("the shop"))]
Witness = Annotated[Text, Open(role=Sentence("a second person"))]
ShopOnly = Annotated[T, Kept()]


def copied(made: type[Made], record: object, /, **own: Any) -> Made:
    """One of the model's classes with what a record has under the same names; lists stand still as tuples.

    ``own``: what the record says otherwise, or not at all.
    """
    for name in made.__struct_fields__:
        if name not in own and hasattr(record, name):
            value = getattr(record, name)
            own[name] = tuple(value) if isinstance(value, list) else value
    return made(**own)


def signer(name: str | None) -> Text:
    """Who signed, as typed; another language may have a word for the part that was played."""
    return as_typed(name) if name else NOTHING
