"""Entries of the index kept between runs, so that a job that fails keeps its place."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from ..documents.showing.pages import Entry


@lru_cache(maxsize=1)
def _form() -> TypeAdapter[Entry]:
    return TypeAdapter(Entry)


def to_data(entry: Entry) -> Any:
    """An entry as plain data for the memory file."""
    return _form().dump_python(entry, mode="json")


def from_data(data: Any) -> Entry | None:
    """An entry from the memory file; None where it is of another version's form."""
    try:
        return _form().validate_python(data)
    except ValidationError:
        return None
