"""Frozen classes behave as the library's own do."""

import copy
import dataclasses
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from rebuildreport.quantities import frozen

Maker = Callable[..., Any]


def _classes(dataclass: Maker) -> tuple[Any, ...]:
    @dataclass(frozen=True, slots=True)
    class Point:
        x: int
        y: float = 0.5

    @dataclass(frozen=True)
    class Named(Point):
        name: str = dataclasses.field(default="M1", compare=False)

    @dataclass(frozen=True, slots=True)
    class Nothing:
        pass

    @dataclass(frozen=True, slots=True, eq=False)
    class Itself:
        x: int

    return Point, Named, Nothing, Itself


LIBRARY, OURS = _classes(dataclasses.dataclass), _classes(frozen.dataclass)


@pytest.mark.parametrize("which", range(3))
def test_as_the_librarys(which: int) -> None:
    """Equal, hashed, printed, replaced and told alike; not equal to one of another class."""
    given: list[tuple[Any, ...]] = [()] if which == 2 else [(1,), (1, 0.5), (2, 0.5), (1, float("nan"))]
    theirs, mine = ([kind[which](*one) for one in given] for kind in (LIBRARY, OURS))
    for a, x in zip(theirs, mine, strict=True):
        assert [a == other for other in theirs] == [x == other for other in mine]
        assert (hash(a), repr(a)) == (hash(x), repr(x))
        assert dataclasses.asdict(a) == dataclasses.asdict(x)
        assert repr(dataclasses.replace(a)) == repr(dataclasses.replace(x)) == repr(copy.copy(x))
        assert x != a


def test_what_counts_alone_when_compared() -> None:
    """A field that is not compared makes no difference; what is compared by nothing is itself alone."""
    _, named, _, itself = OURS
    assert named(1, 2.0, "M1") == named(1, 2.0, "M2")
    assert itself(1) != itself(1)


def test_what_is_handed_to_another_process() -> None:
    """A report's sheet goes there and comes back."""
    from datetime import date
    from pathlib import Path

    from rebuildreport.documents.press.pdf import Attached, Paper

    paper = Paper("<p>", "", Path("x"), (), date(2026, 3, 5), (Attached("a", b"b", "c"),))
    assert pickle.loads(pickle.dumps(paper)) == paper
