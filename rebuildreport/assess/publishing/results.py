"""An Assessment as JSON, written and read by msgspec from its data classes: one form, with a version.

``results.json`` is that form without what never leaves the shop, without the records themselves (extract.json
holds those) and without binary dust.  Lengths are in mm, pressures in bar; the order is that of the records
and the sheet, so the same input gives the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any, Literal

import msgspec
from msgspec import Struct, inspect
from msgspec.structs import replace

from ... import __version__
from ...quantities.text import JSON_SCHEMA, as_json
from ...quantities.text import from_json as text_from_json
from ..model.assessment import Assessment
from ..model.keys import ValueKey
from .public import outgoing

FORM: Literal["rebuildreport results 3"] = "rebuildreport results 3"
OLDER = "rebuildreport results 2"  # what a value is known by was one text, and so was a caution
# beyond this nothing is left but binary dust: a picometre
DIGITS = 9


class Results(Struct, frozen=True):
    """results.json of one job."""

    form: Literal["rebuildreport results 3"]
    made_by: str
    assessment: Assessment


def to_json(assessment: Assessment) -> str:
    """The whole Assessment as JSON text, to the last bit."""
    return msgspec.json.encode(_results(assessment), enc_hook=as_json).decode()


def from_json(text: str | bytes) -> Assessment:
    """An Assessment from ``to_json`` text or a results.json; ValueError where it is none."""
    return msgspec.json.decode(text, type=Results, dec_hook=text_from_json).assessment


def from_data(assessment: Any) -> Assessment:
    """An Assessment from plain data; ValueError where it is none."""
    return msgspec.convert(assessment, Assessment, dec_hook=text_from_json)


def of_now(results: Any) -> Any:
    """A results.json that an earlier version wrote, as plain data in the form of now."""
    if not isinstance(results, dict) or results.get("form") != OLDER:
        return results
    known: dict[str, Any] = {"": None}
    for one in results["assessment"]["characteristics"]:
        key = {name: one.get(name, "") for name in ValueKey.__struct_fields__}
        at = "/".join(name for name in (key["round"], key["table"]) if name)
        known[f"{key['feature']}.{key['name']} {key['position']} @{at}"] = key
    found = _pointing(results, known)
    for step in (found["assessment"].get("access") or {}).get("steps", ()):
        step["cautions"] = [{"brief": text} for text in step["cautions"]]
    return {**found, "form": FORM}


_POINTERS = ("first", "now", "shows", "covers", "values", "shown")


def _pointing(thing: Any, known: Mapping[str, Any]) -> Any:
    """The same with what its fields name values by."""
    if isinstance(thing, list):
        return [_pointing(one, known) for one in thing]
    if not isinstance(thing, dict):
        return thing
    found = {name: _pointing(value, known) for name, value in thing.items()}
    for name in found.keys() & _POINTERS:
        value = found[name]
        if isinstance(value, str) and (value or name == "shown"):
            found[name] = known.get(value, value)
        elif isinstance(value, list):
            found[name] = [known.get(one, one) if isinstance(one, str) else one for one in value]
    return found


def results_json(assessment: Assessment) -> bytes:
    """results.json as bytes, ending in a line feed."""
    results = _results(replace(outgoing(assessment), records=""))
    written = msgspec.json.format(msgspec.json.encode(results, enc_hook=as_json), indent=1)
    return _without_dust(written.replace(b',\n  "records": ""', b"", 1)) + b"\n"


@cache
def results_schema() -> dict[str, Any]:
    """The JSON Schema of results.json (draft 2020-12)."""
    known: dict[str, Any] = {}
    whole = _schema(inspect.type_info(Results), known)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **whole, "$defs": known}


def _schema(kind: inspect.Type, known: dict[str, Any]) -> dict[str, Any]:
    """What a type is as JSON; msgspec's own knows no default that is a Text."""
    match kind:
        case inspect.StructType(cls, fields):
            if cls.__name__ not in known:
                made: dict[str, Any] = {"type": "object", "description": cls.__doc__}
                known[cls.__name__] = made  # before its fields, which may hold one of it
                made["properties"] = {field.name: _schema(field.type, known) for field in fields}
                made["required"] = [field.name for field in fields if field.required]
            return {"$ref": f"#/$defs/{cls.__name__}"}
        case inspect.UnionType(types):
            return {"anyOf": [_schema(one, known) for one in types]}
        case inspect.VarTupleType(item_type):
            return {"type": "array", "items": _schema(item_type, known)}
        case inspect.TupleType(item_types):
            return {"type": "array", "prefixItems": [_schema(one, known) for one in item_types]}
        case inspect.DictType(value_type=value):
            return {"type": "object", "additionalProperties": _schema(value, known)}
        case inspect.LiteralType(values):
            return {"enum": list(values)}
        case inspect.CustomType():
            return JSON_SCHEMA
    return _SIMPLE[type(kind)]


_SIMPLE = {
    inspect.StrType: {"type": "string"},
    inspect.BoolType: {"type": "boolean"},
    inspect.IntType: {"type": "integer"},
    inspect.FloatType: {"type": "number"},
    inspect.NoneType: {"type": "null"},
    inspect.DateType: {"type": "string", "format": "date"},
    inspect.DecimalType: {"type": "string", "format": "decimal"},
}


def _results(assessment: Assessment) -> Results:
    return Results(FORM, f"rebuildreport {__version__}", assessment)


def _without_dust(written: bytes) -> bytes:
    """JSON with one value a line, without binary dust: a number ends its line, and no text does."""
    for dust in _DUST:
        kept, at = [], 0
        for found in dust.finditer(written):
            begins = written.rindex(b" ", at, found.start()) + 1
            number = round(float(written[begins : found.end()]), DIGITS)
            kept += [written[at:begins], msgspec.json.encode(number)]
            at = found.end()
        written = b"".join([*kept, written[at:]])
    return written


# one after the other: each begins with what is quickly found
_DUST = (re.compile(rb"\.\d{%d,}(?:e-?\d+)?(?=,?\n)" % (DIGITS + 1)), re.compile(rb"e-\d+(?=,?\n)"))
