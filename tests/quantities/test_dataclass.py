"""Our data classes behave as the standard library's: held side by side."""

import copy
import dataclasses
import pickle
from typing import Any

import pytest

from rebuildreport.quantities import dataclass as ours


def classes(make: Any) -> Any:
    @make(frozen=True, slots=True)
    class Part:
        name: str
        count: int = 1
        line: int = dataclasses.field(default=0, compare=False, repr=False)

    @make(frozen=True, slots=True)
    class Priced(Part):
        price: tuple[int, ...] = ()

    @make(slots=True)
    class Basket:
        parts: list[Any] = dataclasses.field(default_factory=list)

    return Part, Priced, Basket


THEIRS, OURS = classes(dataclasses.dataclass), classes(ours.dataclass)
ARGUMENTS = [("a",), ("a", 1, 7), ("a", 2), ("b", 1)]


def test_comparing_printing_and_keys_are_those_of_the_standard_library() -> None:
    for n in (0, 1):
        here, there = [[kind[n](*given) for given in ARGUMENTS] for kind in (OURS, THEIRS)]
        assert [repr(one) for one in here] == [repr(one) for one in there]
        assert [[a == b for a in here] for b in here] == [[a == b for a in there] for b in there]
        assert len(set(here)) == len(set(there)) == 3
    assert OURS[0]("a") != OURS[1]("a")  # another class is another thing
    assert OURS[0]("a") != ("a", 1)
    assert OURS[2]([1]) == OURS[2]([1]) != OURS[2]([])


def test_what_can_change_is_no_key_and_what_is_frozen_stays() -> None:
    with pytest.raises(TypeError, match="unhashable"):
        hash(OURS[2]())
    with pytest.raises(dataclasses.FrozenInstanceError):
        OURS[0]("a").name = "b"
    assert dataclasses.replace(OURS[1]("a"), price=(3,)) == OURS[1]("a", price=(3,))
    assert copy.deepcopy(OURS[1]("a", 4)) == OURS[1]("a", 4)


def test_a_method_of_its_own_stays() -> None:
    @ours.dataclass(frozen=True)
    class Mark:
        name: str

        def __eq__(self, other: object) -> bool:
            return isinstance(other, Mark) and self.name.lower() == other.name.lower()

        def __hash__(self) -> int:
            return hash(self.name.lower())

        def __repr__(self) -> str:
            return f"<{self.name}>"

    assert Mark("X") == Mark("x")
    assert len({Mark("X"), Mark("x")}) == 1
    assert repr(Mark("X")) == "<X>"


def test_it_can_be_ordered_and_kept() -> None:
    from rebuildreport.quantities import parse

    reading = parse("54.003 mm")
    assert pickle.loads(pickle.dumps(reading)) == reading

    @ours.dataclass(frozen=True, order=True)
    class Place:
        line: int
        column: int

    assert sorted([Place(2, 1), Place(1, 9)]) == [Place(1, 9), Place(2, 1)]
