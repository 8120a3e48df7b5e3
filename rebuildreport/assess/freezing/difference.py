"""One keyed difference of two frozen forms: which path of the record had which value, and has which now.

In: two forms as ``basis.py`` freezes them, of whatever day.  Out: their facts by path, and what differs.
Knows no words.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from msgspec import Struct

Facts = Mapping[str, Any]
Path = tuple[str, ...]  # ("readings", "arrival", "compression", "C1")


class Moved(Struct, frozen=True):
    """One fact that differs; None where it is not there."""

    path: Path
    before: Any
    now: Any


def facts_by_path(form: Facts) -> dict[Path, Any]:
    """The facts of a frozen form, each by its path; not the words of its day.

    Mappings are parted by their keys; lists, whose entries have none, by what tells one entry from the next:
    all but the last of a row is what the last of it is of.

    >>> facts_by_path({"stage": "arrival", "readings": [["arrival", "bores", "C1", "73.031 mm"]], "said": {}})
    {('stage',): 'arrival', ('readings', 'arrival', 'bores', 'C1'): '73.031 mm'}
    """
    return dict(_parted(form))


def difference(before: Facts, now: Facts) -> Iterator[Moved]:
    """What differs: in the order of ``now``, then what is gone in the order in which it stood."""
    old, new = facts_by_path(before), facts_by_path(now)
    for path in dict.fromkeys((*new, *old)):
        if old.get(path) != new.get(path):
            yield Moved(path, old.get(path), new.get(path))


def _whole(entry: Any) -> Path:
    return (json.dumps(entry, sort_keys=True),)


_KEYS: dict[str, Callable[[Any], Path]] = {
    "back": lambda stay: (str(stay[0]),),
    "lines": lambda line: (line["group"], line["number"], line["words"]),
    "paid": _whole,
    "approvals": _whole,
}


def _parted(form: Facts) -> Iterator[tuple[Path, Any]]:
    for head, value in form.items():
        if head in ("said", "form"):
            continue
        if isinstance(value, Mapping):
            yield from (((head, name), entry) for name, entry in value.items())
        elif head in _KEYS:
            yield from (((head, *_KEYS[head](entry)), entry) for entry in value)
        elif isinstance(value, list):
            yield from (((head, *of), fact) for *of, fact in value)
        else:
            yield (head,), value
