"""Texts before they are words: no str by accident, and the same in every language after JSON."""

from __future__ import annotations

import copy
import json
import pickle
from datetime import date
from decimal import Decimal
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct, ValidationError, field

from rebuildreport.quantities.text import (
    NOTHING,
    Amount,
    Figure,
    Measure,
    Name,
    Sentence,
    Several,
    Text,
    Typed,
    Value,
    amid,
    as_json,
    as_printed,
    as_typed,
    english,
    from_json,
    present,
    worded,
)

WORDS = st.text(st.characters(exclude_characters="{}", exclude_categories=["Cs"]), max_size=8)
NUMBERS = st.floats(-1e6, 1e6)
LEAVES = st.one_of(
    WORDS.map(Typed),
    WORDS.map(Name),
    WORDS.map(Figure),
    st.builds(Amount, st.decimals(-10000, 10000, places=2), st.integers(0, 3), st.sampled_from(["", "EUR"])),
    st.builds(Measure, NUMBERS, st.sampled_from(["mm", "in"]), st.integers(0, 4)),
)
PLAIN = st.one_of(st.integers(-1000, 1000), NUMBERS, st.dates(), st.decimals(allow_nan=False, places=3))


@st.composite
def sentences(draw: st.DrawFn, inner: st.SearchStrategy[Text]) -> Sentence:
    values = draw(st.dictionaries(st.sampled_from("abcd"), inner | PLAIN, max_size=3))
    pieces = [draw(WORDS) + f"{{{name}}}" for name in values]
    return Sentence("".join(pieces) + draw(WORDS), **values)


def nested(inner: st.SearchStrategy[Text]) -> st.SearchStrategy[Text]:
    several = st.builds(
        Several, st.lists(inner, max_size=3), st.sampled_from([", ", "; "]), st.sampled_from(["", "and"])
    )
    whole = sentences(inner)
    return several | whole | whole.map(amid)


TEXTS = st.recursive(LEAVES, nested, max_leaves=8)


class Held(Struct, frozen=True):
    """As data classes of the upper floors hold texts."""

    what: Text = NOTHING
    notes: tuple[Text, ...] = ()
    facts: dict[str, Text | None] = field(default_factory=dict)
    answer: Sentence | None = None


def dumped(thing: object) -> bytes:
    return msgspec.json.encode(thing, enc_hook=as_json)


def read(written: str | bytes, kind: Any = Text) -> Any:
    return msgspec.json.decode(written, type=kind, dec_hook=from_json)


def upside_down(text: Text) -> str:
    """A language in which every pattern is another one, and every kind of value shows what it is."""
    return worded(text, lambda pattern: f"<{pattern}>", repr)


@given(TEXTS)
def test_a_text_read_back_from_json_says_the_same_in_every_language(text: Text) -> None:
    written = dumped(text)
    again = read(written)
    assert again == text
    assert hash(again) == hash(text)
    assert english(again) == english(text)
    assert upside_down(again) == upside_down(text)
    plain = json.loads(written)
    assert (plain if isinstance(plain, str) else plain["text"]) == english(text)


@given(TEXTS, TEXTS)
def test_what_holds_texts_is_written_and_read_whole(one: Text, other: Text) -> None:
    held = Held(one, (other, one), {"other": other, "none": None}, Sentence("{what}", what=one))
    assert read(dumped(held), Held) == held


@given(TEXTS)
def test_copies_are_equal(text: Text) -> None:
    assert copy.copy(text) == copy.deepcopy(text) == pickle.loads(pickle.dumps(text)) == text


@given(TEXTS)
def test_only_telling_makes_words(text: Text) -> None:
    assert bool(text) == bool(english(text))
    for careless in (str, format, "{}".format, Figure, lambda it: f"{it}", lambda it: ", ".join([it])):
        with pytest.raises(TypeError):
            careless(text)  # type: ignore[operator]


def test_as_json_for_whoever_reads_it() -> None:
    said = Sentence(
        "{count} of {wanted} readings on {day} in {file}",
        count=2,
        wanted=Figure("4"),
        day=date(2031, 3, 5),
        file="arrival",
    )
    assert json.loads(dumped(said)) == {
        "text": "2 of 4 readings on 2031-03-05 in arrival",
        "say": "{count} of {wanted} readings on {day} in {file}",
        "with": {
            "count": 2,
            "wanted": {"text": "4", "figure": "4"},
            "day": {"date": "2031-03-05"},
            "file": "arrival",
        },
    }
    assert dumped(Typed("rod thrown")) == b'"rod thrown"'
    assert read('""') == NOTHING


@pytest.mark.parametrize("wrong", ["[1]", "null", '{"text": "C1"}', "{}", '{"say": "x", "with": 3}'])
def test_what_is_no_text_is_refused(wrong: str) -> None:
    with pytest.raises(ValidationError):
        read(wrong)


def test_a_field_for_one_kind_of_text_takes_no_other() -> None:
    with pytest.raises(ValidationError, match="Sentence expected"):
        read('"typed"', Sentence)


def test_equal_where_made_of_the_same() -> None:
    assert Sentence("{what} worn", what="C1") == Sentence("{what} worn", what=Typed("C1"))
    assert Sentence("C1 worn") != Sentence("{what} worn", what="C1")
    assert Figure("4") != Typed("4")
    assert {Several(["C1"]): 1}[Several([Typed("C1")])] == 1
    assert repr(amid(Sentence("{n} left", n=2))) == "amid(Sentence('{n} left', n=2))"


def test_a_title_amid_an_english_sentence_leaves_typed_words_alone() -> None:
    title = Sentence("Bore of {where}, {tool}", where="No. 3 LH", tool=Sentence("Dial bore gauge"))
    assert english(amid(title)) == "bore of No. 3 LH, dial bore gauge"
    assert english(amid(Several([title, Typed("A")], " "))) == "bore of No. 3 LH, dial bore gauge A"
    assert worded(amid(title), str, lambda v: v.text).startswith("Bore of No. 3 LH")  # type: ignore[union-attr]


def test_a_name_of_the_files_has_words_elsewhere() -> None:
    german = {"front b": "vorn b"}
    name = as_typed("front_b")
    assert english(name) == "front_b"
    assert worded(name, str, lambda v: german[v.pattern] if isinstance(v, Name) else v) == "vorn b"


def test_one_text_present_stands_for_itself() -> None:
    assert present([NOTHING, Typed("no leaks"), Several([])]) == Typed("no leaks")
    assert not present([NOTHING])


def test_a_measure_is_printed_as_the_shop_prints() -> None:
    """0.028 mm are 0.0011 in (1 in is 25.4 mm exactly)."""
    note = Sentence("range {range}", range=Measure(0.028, "mm", 3))
    whole = Several([note, Sentence("{count} heights", count=3)], "; ")
    inches = english(as_printed(whole, "in")).replace("\u00a0", " ")
    assert inches == "range 0.0011 in (0.028 mm); 3 heights"
    assert english(as_printed(whole, "mm")) == "range 0.028 mm; 3 heights"
    assert english(Measure(-0.5, "mm", 1)) == "\u22120.5 mm"


def test_values_are_of_kinds_that_languages_print() -> None:
    values: list[Value] = [2, 0.5, date(2031, 3, 5), Decimal("1.50"), Typed("C1")]
    said = Sentence(" ".join(f"{{v{i}}}" for i in range(5)), **{f"v{i}": v for i, v in enumerate(values)})
    assert english(said) == "2 0.5 2031-03-05 1.50 C1"
