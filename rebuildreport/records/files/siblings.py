"""In what a job is like the others of the shop: by its number, or by a file that is the same byte for byte.

In: the shop's folder and the names of its jobs.  Out: names of other jobs.  Reads no record.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from .issued import FOLDER, REGISTER

# what a folder begins with to be told from others: 2026-003, 0412; a year alone is no number
_NUMBER = re.compile(r"(\d+(?:[-_.]\d+)+|(?!(?:19|20)\d\d\D)\d{3,})(?=\D|$)")


@dataclass(frozen=True, slots=True)
class Alike:
    """What a job has in common with others: all that its pages tell of them."""

    number: str = ""
    numbered: str = ""  # the first other job of that number
    files: tuple[tuple[str, str], ...] = ()  # a round or the register, the first job with the same bytes


class Siblings:
    """The jobs of a shop; ``known`` of what was found out already."""

    def __init__(
        self, folder: Path, names: Iterable[str] = (), known: Mapping[str, Alike] | None = None
    ) -> None:
        self._folder, self._names, self._known = folder, list(names), dict(known or {})

    def of(self, name: str) -> Alike:
        """In what a job is like others."""
        if name not in self._known:
            found = _NUMBER.match(name)
            others = [other for other in self._numbered.get(found[1], ()) if other != name] if found else []
            places = ((place, self._same(name, place)) for place in self._crowded.get(name, ()))
            files = tuple((place, other) for place, other in places if other)
            number = found[1] if found and others else ""
            self._known[name] = Alike(number, others[0] if others else "", files)
        return self._known[name]

    @cached_property
    def _numbered(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name in self._names:
            if number := _NUMBER.match(name):
                found.setdefault(number[1], []).append(name)
        return found

    @cached_property
    def _of_size(self) -> dict[tuple[str, int], list[str]]:
        """Which job has a round or a register of which size: equal ones are found without reading all."""
        found: dict[tuple[str, int], list[str]] = {}
        for name in self._names:
            for place, size in self._files(name):
                found.setdefault((place, size), []).append(name)
        return found

    @cached_property
    def _crowded(self) -> dict[str, list[str]]:
        """The files of each job of which another has one of that size."""
        found: dict[str, list[str]] = {}
        for (place, _), names in sorted(self._of_size.items()):
            for name in names if len(names) > 1 else ():
                found.setdefault(name, []).append(place)
        return found

    def _files(self, name: str) -> Iterator[tuple[str, int]]:
        for folder, suffix in (("measurements", ".yaml"), (FOLDER, REGISTER)):
            try:
                with os.scandir(self._folder / name / folder) as entries:
                    for entry in entries:
                        if entry.name.endswith(suffix):
                            yield f"{folder}/{entry.name}", entry.stat().st_size
            except OSError:
                continue

    def _same(self, name: str, place: str) -> str:
        try:
            own = (self._folder / name / place).read_bytes()
        except OSError:
            return ""
        for other in self._of_size.get((place, len(own)), ()):
            try:
                if other != name and (self._folder / other / place).read_bytes() == own:
                    return other
            except OSError:
                continue
        return ""
