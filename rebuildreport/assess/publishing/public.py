"""The public side of an assessment: what the marks of its data classes let everybody see, nothing else."""

from __future__ import annotations

import types
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from functools import cache, partial
from typing import Annotated, Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from msgspec import NODEFAULT, Struct, structs
from msgspec.structs import FieldInfo, replace

from ...quantities import NOTHING, Text, english
from ..model.assessment import Assessment
from ..model.edition import Kept, Open

_T = TypeVar("_T")
# who ordered or decided something by the part that they play is told as it is
ROLES = frozenset({"", "shop", "customer", "owner", "insurer"})


def public(assessment: Assessment, like: tuple[Assessment, Assessment] | None = None) -> Assessment:
    """The same assessment without what is the customer's or the shop's alone.

    ``like``: another with its public side, which in most is the same: only what differs is looked at.
    """
    if like is not None:
        fields = assessment.__struct_fields__
        other = [name for name in fields if getattr(assessment, name) is not getattr(like[0], name)]
        if not {"photos", "cost", "findings"}.intersection(other):
            marks = marks_of(Assessment)
            found = {name: _if_shown(getattr(assessment, name), marks[name]) for name in other}
            seen = {name: value for name, value in found.items() if value is not _NOTHING_OF_IT}
            return replace(like[1], **seen)
    shown = _shown(assessment)
    # a finding points at photos and lines by name: at those only that are left
    photos = {photo.name for photo in shown.photos}
    lines = {line.line for line in shown.cost.lines}
    findings = tuple(
        replace(
            finding,
            photos=tuple(name for name in finding.photos if name in photos),
            price_lines=tuple(number for number in finding.price_lines if number in lines),
        )
        for finding in shown.findings
    )
    return replace(shown, findings=findings)


def outgoing(assessment: Assessment) -> Assessment:
    """The same assessment without what never leaves the shop, in no file that goes with a document."""
    return _rebuilt(assessment, _unless_kept)


@cache
def marks_of(kind: type) -> dict[str, Open | Kept | None]:
    """The mark of each field of a data class; None where it has none, and so is private."""
    found: dict[str, Open | Kept | None] = {}
    for name, hint in _hints(kind).items():
        marks = [one for one in getattr(hint, "__metadata__", ()) if isinstance(one, (Open, Kept))]
        found[name] = marks[-1] if marks else None
    return found


_Rule = Callable[[Any, "Open | Kept | None"], Any]
_NOTHING_OF_IT = object()


def _shown(thing: _T) -> _T:
    return _rebuilt(thing, _if_shown)


def _if_shown(value: Any, mark: Open | Kept | None) -> Any:
    if not isinstance(mark, Open):
        return _NOTHING_OF_IT
    if mark.role is not None:
        return value if not value or english(value).lower() in ROLES else mark.role
    if mark.only is not None:
        value = tuple(item for item in value if mark.only(item))
    return value if mark.whole else _shown(value)


def _unless_kept(value: Any, mark: Open | Kept | None) -> Any:
    return _NOTHING_OF_IT if is_kept(mark) else outgoing(value)


def is_kept(mark: Open | Kept | None) -> bool:
    """Whether a field does not leave the shop."""
    return isinstance(mark, Kept)


@cache
def holds(kind: type, wanted: Callable[[Open | Kept | None], bool]) -> bool:
    """Whether a data class, or one that stands in it, has a field of which the mark is wanted."""
    found, left = set(), [kind]
    while left:
        found.add(one := left.pop())
        if any(map(wanted, marks_of(one).values())):
            return True
        left += [inner for hint in _hints(one).values() for inner in _classes(hint) if inner not in found]
    return False


@cache
def leading(kind: type, wanted: Callable[[Open | Kept | None], bool]) -> dict[str, Open | Kept | None]:
    """The fields of a data class of which the mark is wanted, or in which such a field may stand."""
    hints = _hints(kind)
    return {
        name: mark
        for name, mark in marks_of(kind).items()
        if wanted(mark) or any(holds(inner, wanted) for inner in _classes(hints[name]))
    }


def _classes(hint: Any) -> Iterator[type]:
    """The data classes that a type is made of."""
    if isinstance(hint, type) and issubclass(hint, Struct):
        yield hint
    for part in get_args(hint):
        yield from _classes(part)


def _rebuilt(thing: _T, rule: _Rule) -> _T:
    """The same with each field of its data classes as the rule has it for its value and its mark."""
    kind: type = type(thing)
    if kind in _LEAVES:
        return thing
    if isinstance(thing, tuple):
        return cast("_T", tuple([_rebuilt(item, rule) for item in thing]))
    if isinstance(thing, dict):
        return cast("_T", {name: _rebuilt(value, rule) for name, value in thing.items()})
    if not isinstance(thing, Struct):
        return thing
    if rule is _unless_kept and not holds(kind, is_kept):
        return thing
    changed = {}
    for name, mark, blank in _fields(kind):
        value = rule(getattr(thing, name), mark)
        changed[name] = blank() if value is _NOTHING_OF_IT else value
    return kind(**changed)  # type: ignore[no-any-return]


_LEAVES = frozenset({str, int, float, bool, type(None), date, Decimal})


@cache
def _fields(kind: type) -> tuple[tuple[str, Open | Kept | None, Callable[[], Any]], ...]:
    """The name and the mark of each field, and what it says where it says nothing."""
    marks, hints = marks_of(kind), _hints(kind)
    return tuple(
        (one.name, marks[one.name], partial(_blank, one, hints[one.name])) for one in structs.fields(kind)
    )


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind, include_extras=True)


def _blank(field: FieldInfo, hint: Any) -> Any:
    """What a field says that says nothing: its default, else the empty value of its type."""
    if field.default is not NODEFAULT:
        return field.default
    if field.default_factory is not NODEFAULT:
        return field.default_factory()
    return _empty(hint)


def _empty(hint: Any) -> Any:
    if hint is Text:
        return NOTHING
    kind = get_origin(hint) or hint
    if kind is Annotated:
        return _empty(hint.__origin__)
    if kind in (Union, types.UnionType) and type(None) in get_args(hint):
        return None
    if kind is Literal:
        return get_args(hint)[0]
    return Decimal("0.00") if kind is Decimal else kind()
