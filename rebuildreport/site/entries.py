"""Entries of the index kept between runs, so that a job that fails keeps its place."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from ..documents.showing.pages import IndexEntry


@lru_cache(maxsize=1)
def _form() -> TypeAdapter[IndexEntry]:
    return TypeAdapter(IndexEntry)


def to_data(entry: IndexEntry) -> Any:
    """An entry as plain data for the manifest."""
    return _form().dump_python(entry, mode="json")


def from_data(data: Any) -> IndexEntry | None:
    """An entry from the manifest; None where there is none, or it is of another version's form."""
    if data is None:
        return None
    try:
        return _form().validate_python(data)
    except ValidationError:
        return None
