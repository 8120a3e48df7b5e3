"""What was read, held against the file models: a record, and every problem at once in the trade's words."""

from __future__ import annotations

import difflib
import re
import types
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from .fields import Record
from .problems import Problem
from .reader import Source, Where

R = TypeVar("R", bound=BaseModel)
Strangers = dict[Where, list[str]]  # keys that a model with further keys does not know: those that it does


def validate(model: type[R], source: Source) -> tuple[R | None, list[Problem]]:
    """The record of a file, or None with what stands against it; problems are sorted.

    >>> from .reader import read_bytes
    >>> from ..files.rounds import RoundRecord
    >>> source, _ = read_bytes(b"date: 5.2.2026\\nby: bench 1\\ntemprature: 20 C\\n", "arrival.yaml")
    >>> for problem in validate(RoundRecord, source)[1]:
    ...     print(problem.line, problem.message, "|", problem.suggestion)
    1 '5.2.2026' is not a date (year-month-day) | 2026-02-05
    3 there is no key 'temprature' here | did you mean 'temperature'?
    """
    if source.data is None:
        return None, []
    if not isinstance(source.data, dict):
        message = "a record starts with 'name: value' lines, and this file does not"
        return None, [source.problem((), message)]
    unknown: Strangers = {}
    data = _written(source.data, model, unknown)
    strangers = [_stranger(source, where, known, model) for where, known in unknown.items()]
    try:
        record = model.model_validate(data)
    except ValidationError as failure:
        errors = failure.errors()
        # a key that is missing because it is misspelt is told once, where it stands
        misspelt = {
            (*where[:-1], meant)
            for error in errors
            if (where := error["loc"]) and (meant := _instead(model, error))
        }
        errors = [one for one in errors if one["type"] != "missing" or tuple(one["loc"]) not in misspelt]
        return None, sorted([*strangers, *(_problem(model, source, error) for error in errors)])
    return (None, sorted(strangers)) if strangers else (record, [])


_COMMA = re.compile(r"(?<=\d),(?=\d)")


def as_meant(model: type[BaseModel], source: Source) -> tuple[Source, set[int]]:
    """The source as it was probably meant, and the lines that were read otherwise: to look on, for no result.

    Misspelt keys are the nearest that are known; a value that cannot be read is what its message proposes,
    and where it proposes nothing and the entry would be lost without it, one that can be read.
    """
    if not isinstance(source.data, dict):
        return source, set()
    unknown: Strangers = {}
    data = _written(source.data, model, unknown)
    keys = {where: nearest(str(where[-1]), known, LIKE_A_KEY) for where, known in unknown.items()}
    values: dict[Where, str] = {}
    try:
        model.model_validate(data)
    except ValidationError as failure:
        for error in failure.errors():
            where = tuple(error["loc"])
            keys[where] = _instead(model, error)
            values[where] = _proposed(model, error)
    keys = {where: name for where, name in keys.items() if name and (*where[:-1], name) not in source.marks}
    values = {where: text for where, text in values.items() if text}
    if not keys and not values:
        return source, set()
    return source.renamed(keys, values), {source.mark(where).line for where in values}


def _proposed(model: type[BaseModel], error: Any) -> str:
    """What could stand where a value cannot be read; '' where nobody can say."""
    typed = error["input"]
    if error["type"] == "literal_error":
        allowed = _choices(_at(model, tuple(error["loc"]))[1])
        return nearest(str(typed), allowed, LIKE_A_CHOICE) or "".join(allowed[:1])
    if isinstance(typed, str) and (pointed := _COMMA.sub(".", typed)) != typed:
        return pointed
    return str(error["ctx"]["meant"]) if error["type"] == "trade" and isinstance(typed, str) else ""


def near(word: str, known: Iterable[str], likeness: float = 0.6) -> str:
    """'did you mean ...?' for a misspelt word, '' where nothing known is close.

    >>> near("tapr", ["size", "taper"])
    "did you mean 'taper'?"
    """
    return _asked(nearest(word, known, likeness))


def nearest(word: str, known: Iterable[str], likeness: float = 0.6) -> str:
    """The known word that a misspelt one is closest to, '' where none is close."""
    by_lower = {name.lower(): name for name in reversed(list(known))}
    close = difflib.get_close_matches(word.lower(), by_lower, 1, likeness)
    return by_lower[close[0]] if close else ""


def _asked(word: str) -> str:
    return f"did you mean '{word}'?" if word else ""


def listed(known: Iterable[str], most: int = 12) -> str:
    """Names in a row for a message, cut where there are many.

    >>> listed(["M1", "M2", "M3"], most=2)
    'M1, M2 ...'
    """
    names = list(known)
    return ", ".join(names[:most]) + (" ..." if len(names) > most else "")


def _written(data: Any, annotation: Any, strangers: Strangers, where: Where = ()) -> Any:
    """The data without keys that nothing is written behind: an empty 'price:' is a price not known yet.

    ``strangers`` takes the keys that a model with further keys does not know.
    """
    model, keyed, item = _shape(annotation)
    if isinstance(data, list) and item is not None and not keyed:
        return [_written(part, item, strangers, (*where, i)) for i, part in enumerate(data)]
    if not isinstance(data, dict) or (model is None and not keyed):
        return data
    fields, known = _fields(model) if model else {}, _further(model) if model else None
    found = {}
    for key, value in data.items():
        info = fields.get(key)
        if known is not None and key not in known:
            strangers[*where, key] = known
        if value is not None or info is None or info.is_required():
            found[key] = value
            if isinstance(value, (dict, list)):
                found[key] = _written(value, info.annotation if info else item, strangers, (*where, key))
    return found


def _further(model: type[BaseModel]) -> list[str] | None:
    """Every key of a model that has further ones; None of any other, whose strangers pydantic finds."""
    if not issubclass(model, Record) or model.model_config.get("extra") != "allow":
        return None
    return [*_fields(model), *model.further_keys()]


def _instead(model: type[BaseModel], error: Any) -> str:
    """The key that a stranger stands for; '' where there is none."""
    where: Where = tuple(error["loc"])
    if error["type"] != "extra_forbidden":
        return ""
    holder, _ = _at(model, where)
    return nearest(str(where[-1]), _fields(holder) if holder else (), LIKE_A_KEY)


def _stranger(source: Source, where: Where, known: list[str], model: type[BaseModel]) -> Problem:
    name = str(where[-1])
    hint = EARLIER.get(name, "") or _elsewhere(name, model) or near(name, known, LIKE_A_KEY)
    hint = hint or f"known here: {listed(sorted(known), 60)}"
    return source.problem(where, f"there is no key '{name}' here", hint, at="key")


# keys of earlier formats that are refused today
EARLIER = {"on_paper": "of an earlier format: rebuildreport upgrade makes it a candidate of work.yaml"}
LIKE_A_KEY = 0.7  # crank is no banks: a key that is only half alike is another one
LIKE_A_CHOICE = 0.7  # renew is no reuse: all choices are named, so only a slip of the pen is taken for one


def _elsewhere(name: str, model: type[BaseModel]) -> str:
    """Where in the same kind of file a key belongs that is known there; '' where it is nowhere."""
    known = {place for place in _holders(name, model) if place.count(".") < 4}
    places = sorted(known, key=lambda place: (len(place), place))[:3]
    if not places:
        return ""
    return f"'{name}' belongs " + " or ".join(f"under {place}" if place else "at the top" for place in places)


def _holders(name: str, annotation: Any, path: str = "", above: tuple[Any, ...] = ()) -> Iterator[str]:
    """Paths of the blocks that have this key, with * for names of one's own."""
    model, keyed, item = _shape(annotation)
    if model is not None and model not in above:
        fields = _fields(model)
        if name in fields:
            yield path
        for key, info in fields.items():
            yield from _holders(name, info.annotation, f"{path}.{key}".lstrip("."), (*above, model))
    elif item is not None:
        yield from _holders(name, item, f"{path}.*" if keyed else path, above)


@cache
def _fields(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Fields by the key that stands in the file."""
    return {info.alias or name: info for name, info in model.model_fields.items()}


@cache
def _shape(annotation: Any) -> tuple[type[BaseModel] | None, bool, Any]:
    """The model that a type names; whether it is a block of freely named keys; its values' type."""
    origin = get_origin(annotation)
    if origin in (Union, types.UnionType):
        for part in get_args(annotation):
            if (shape := _shape(part)) != (None, False, None):
                return shape
        return None, False, None
    if origin is dict:
        return None, True, get_args(annotation)[1]
    if origin is list:
        return None, False, get_args(annotation)[0]
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False, None
    return None, False, None


def _at(model: type[BaseModel], where: Where) -> tuple[type[BaseModel] | None, FieldInfo | None]:
    """The model that holds the last key of a place, and that key's field."""
    annotation: Any = model
    holder: type[BaseModel] | None = None
    info: FieldInfo | None = None
    for step in where:
        found, _, item = _shape(annotation)
        if found is not None:
            holder = found
            info = _fields(found).get(str(step))
            annotation = info.annotation if info else None
        else:
            holder, info, annotation = None, None, item
    return holder, info


def _problem(model: type[BaseModel], source: Source, error: Any) -> Problem:
    """What pydantic found, in the trade's words."""
    where: Where = tuple(error["loc"])
    kind = error["type"]
    name = str(where[-1]) if where else ""
    holder, info = _at(model, where)
    if kind == "extra_forbidden":
        return _stranger(source, where, list(_fields(holder)) if holder else [], model)
    if kind == "missing":
        place = f" in '{where[-2]}'" if len(where) > 1 and isinstance(where[-2], str) else ""
        what = f": {info.description}" if info and info.description else ""
        message = f"'{name}' is missing{place}{what}"
        return source.problem(where[:-1], message, f"add '{name}: ...'", at="key", code="missing key")
    if error["input"] is None:
        return source.problem(where, f"nothing is written behind '{name}'", at="key")
    if kind == "trade":
        return source.problem(where, error["ctx"]["message"], error["ctx"]["suggestion"])
    if kind == "literal_error":
        allowed = _choices(info)
        message = f"'{error['input']}' is no choice for '{name}': {' or '.join(allowed)}"
        return source.problem(where, message, near(str(error["input"]), allowed, LIKE_A_CHOICE))
    message, hint = _OF_SHAPE.get(kind, (f"'{{name}}' cannot be used: {error['msg']}", ""))
    return source.problem(where, message.format(name=name), hint)


_BLOCK = ("a block of 'name: value' lines belongs under '{name}'", "")
_LIST = ("a list belongs under '{name}'", "start each item with a dash and a blank")
_OF_SHAPE = {"list_type": _LIST} | dict.fromkeys(("model_type", "dict_type", "model_attributes_type"), _BLOCK)


def _choices(info: FieldInfo | None) -> list[str]:
    """The words that a key takes."""
    annotation = info.annotation if info else None
    if get_origin(annotation) in (Union, types.UnionType):
        annotation = next(part for part in get_args(annotation) if part is not type(None))
    return [str(choice) for choice in get_args(annotation)]
