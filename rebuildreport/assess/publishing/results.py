"""An Assessment as JSON, written and read by pydantic from its data classes: one form, with a version.

``results.json`` is that form without what never leaves the shop, without the records themselves (extract.json
holds those) and without binary dust.  Lengths are in mm, pressures in bar; the order is that of the records
and the sheet, so the same input gives the same bytes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from ... import __version__
from ..model.assessment import Assessment
from .public import outgoing

if TYPE_CHECKING:
    from pydantic import TypeAdapter

FORM: Literal["rebuildreport results 2"] = "rebuildreport results 2"
# beyond this nothing is left but binary dust: a picometre
DIGITS = 9


@dataclass(frozen=True, slots=True)
class Results:
    """results.json of one job."""

    form: Literal["rebuildreport results 2"]
    made_by: str
    assessment: Assessment


def to_json(assessment: Assessment) -> str:
    """The whole Assessment as JSON text, to the last bit."""
    return _adapter().dump_json(_results(assessment), indent=1).decode()


def from_json(text: str | bytes) -> Assessment:
    """An Assessment from ``to_json`` text or a results.json; pydantic's ValidationError where it is none."""
    return _adapter().validate_json(text).assessment


def from_data(assessment: Any) -> Assessment:
    """An Assessment from plain data; pydantic's ValidationError where it is none."""
    whole = {"form": FORM, "made_by": "", "assessment": assessment}
    return _adapter().validate_python(whole).assessment


def results_json(assessment: Assessment) -> bytes:
    """results.json as bytes, ending in a line feed."""
    left = {"assessment": {"records"}}
    return _without_dust(_adapter().dump_json(_results(outgoing(assessment)), indent=1, exclude=left)) + b"\n"


@cache
def results_schema() -> dict[str, Any]:
    """The JSON Schema of results.json (draft 2020-12)."""
    schema = _adapter().json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _results(assessment: Assessment) -> Results:
    return Results(FORM, f"rebuildreport {__version__}", assessment)


@cache
def _adapter() -> TypeAdapter[Results]:
    from pydantic import TypeAdapter

    return TypeAdapter(Results)


def _without_dust(written: bytes) -> bytes:
    """JSON with one value a line, without binary dust: a number ends its line, and no text does."""
    from pydantic_core import to_json

    for dust in _DUST:
        kept, at = [], 0
        for found in dust.finditer(written):
            begins = written.rindex(b" ", at, found.start()) + 1
            number = round(float(written[begins : found.end()]), DIGITS)
            kept += [written[at:begins], to_json(number)]
            at = found.end()
        written = b"".join([*kept, written[at:]])
    return written


# one after the other: each begins with what is quickly found
_DUST = (re.compile(rb"\.\d{%d,}(?:e-?\d+)?(?=,?\n)" % (DIGITS + 1)), re.compile(rb"e-\d+(?=,?\n)"))
