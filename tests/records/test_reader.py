"""The reader: every scalar as typed, every line known, never a traceback.

The outside reference is PyYAML's own BaseLoader, which also keeps every
scalar as text: whatever both accept must agree.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from rebuildreport.records.text.reader import DEEPEST, LARGEST, read, read_bytes


def of(text: str) -> Any:
    source, problems = read_bytes(text.encode(), "x.yaml")
    assert problems == []
    return source.data


def only_problem(text: str | bytes) -> Any:
    raw = text.encode() if isinstance(text, str) else text
    (problem,) = read_bytes(raw, "x.yaml")[1]
    assert problem.file == "x.yaml"
    return problem


# YAML 1.1 types (yaml.org/type: int, float, bool, null, timestamp) that damage a record when resolved
CHANGING = [
    ("0123", 83),  # octal
    ("NO", False),
    ("12:30", 750),  # sexagesimal
    ("75.970", 75.97),  # a digit of the resolution lost
    ("1_000", 1000),
    ("0x1F", 31),
    ("yes", True),
    ("off", False),
    ("~", None),
    ("null", None),
    ("1e3", "1e3"),
    (".5", 0.5),
    ("+7", 7),
]


@pytest.mark.parametrize(("typed", "resolved"), CHANGING)
def test_values_that_change_type_stay_as_typed(typed: str, resolved: object) -> None:
    assert yaml.safe_load(f"k: {typed}")["k"] == resolved  # what a common reader makes of it
    assert of(f"k: {typed}\n") == {"k": typed}
    assert of(f"{typed}: k\n") == {typed: "k"}  # as a key too


def test_a_date_stays_text() -> None:
    assert of("k: 2026-02-05\n") == {"k": "2026-02-05"}


FILE = """\
# remark
date: 2026-02-05
tables:
  main_journals:          # remark
    unit: mm
    columns: front_a  front_b
    rows:
      M1:    75.968   75.960
      M4:    75.846/75.845   --
list:
  - at: 7200 h
    what: "sealed: twice"
  - at: 9300 h
    what: >
      folded
      text
quoted: 'it''s'
empty:
"""


def test_agrees_with_pyyamls_base_loader() -> None:
    expected = yaml.load(FILE, Loader=yaml.BaseLoader)
    assert expected["empty"] == ""
    expected["empty"] = None  # nothing is written there, which is not the same as two quotes
    assert of(FILE) == expected


def test_marks_are_where_an_editor_shows_them() -> None:
    source, _ = read_bytes(FILE.encode(), "x.yaml")
    lines = FILE.splitlines()
    mark = source.mark(("tables", "main_journals", "rows", "M4"))
    assert lines[mark.key_line - 1][mark.key_column - 1 :].startswith("M4:")
    assert lines[mark.line - 1][mark.column - 1 :].startswith("75.846/75.845")
    mark = source.mark(("list", 1, "at"))
    assert (mark.line, lines[mark.line - 1][mark.column - 1 :]) == (13, "9300 h")
    # a place that is not written is shown at the nearest one above
    assert source.mark(("tables", "main_journals", "instrument")).key_line == 4


WORDS = {
    "dup: 1\nother: 2\ndup: 3\n": (3, 1, "'dup' stands twice, first on line 1"),
    "why: crank: grind\n": (1, 11, "second colon"),
    "a:\n\tb: 1\n": (2, 1, "tab"),
    "a: @x\n": (1, 4, "may not start with @"),
    "a: %x\n": (1, 4, "may not start with %"),
    "a: `x\n": (1, 4, "may not start with `"),
    "a: * x\n": (1, 4, "may not start with *"),
    "a: ? b\n": (1, 4, "may not start with ?"),
    "a: *x\n": (1, 4, "leading *"),
    "a: &x 1\n": (1, 4, "leading &"),
    "a: !x 1\n": (1, 4, "leading !"),
    "a: !!int 1\n": (1, 4, "leading !"),
    "<<: x\n": (1, 1, "<< copies"),
    "a: [1\n": (1, 4, "never closed"),
    "a: [75,968, 75,964]\n": (1, 4, "becomes two numbers"),
    "a: {new: max 0,008}\n": (1, 4, "becomes two numbers"),
    "a: 'x\n": (1, 4, "never closed"),
    'a: "x" y\n': (1, 8, "closing quotes"),
    "a: 1\n b: 2\n": (2, 2, "indented further"),
    "a:\n  b: 1\n c: 2\n": (3, 2, "indentation differs"),
    "a:b\nc: d\n": (1, 3, "blank after the colon"),
    "a: 1\n---\na: 2\n": (2, 1, "second document"),
    "a: \x07\n": (1, 4, "U+0007"),
    "a: 1\nb: \x00\n": (2, 4, "U+0000"),
    "": (1, 1, "empty"),
    " \n\n": (1, 1, "empty"),
    "# only this\n": (1, 1, "nothing but remarks"),
    ": x\n": (1, 1, "name before the colon"),
    "[a]: x\n": (1, 1, "a name followed by a colon"),
}


@pytest.mark.parametrize("text", WORDS)
def test_problems_are_told_in_words_with_their_place(text: str) -> None:
    line, column, words = WORDS[text]
    problem = only_problem(text)
    assert (problem.line, problem.column, problem.severity) == (line, column, "error")
    assert words in problem.message
    assert problem.quote == (text.splitlines()[line - 1].rstrip() if text.strip() else "")


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("why: crank: grind\n", 'why: "crank: grind"'),
        ("  - a: @x  # remark\n", '- a: "@x"'),
        ('a: %"x"\n', "a: '%\"x\"'"),
        ("a:b\nc: d\n", "a: b"),
    ],
)
def test_the_likely_correction_is_offered_and_can_be_read(text: str, suggestion: str) -> None:
    assert only_problem(text).suggestion == suggestion
    of(suggestion + "\n")


def test_encodings() -> None:
    text = "a: 20 °C\n"
    assert of(text) == {"a": "20 °C"}
    source, (problem,) = read_bytes(b"\xef\xbb\xbf" + text.encode(), "x.yaml")
    assert source.data == {"a": "20 °C"} and problem.severity == "warning" and "BOM" in problem.message
    assert "UTF-16" in only_problem(text.encode("utf-16")).message
    problem = only_problem(b"b: 1\n" + text.encode("latin-1"))
    assert (problem.line, problem.column) == (2, 7) and "UTF-8" in problem.message


def test_what_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "x.yaml").mkdir()
    assert "folder" in read(tmp_path / "x.yaml")[1][0].message
    assert "missing" in read(tmp_path / "y.yaml")[1][0].message
    (tmp_path / "z.yaml").write_bytes(b"#" * (LARGEST + 1))
    assert "larger" in read(tmp_path / "z.yaml")[1][0].message


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? "])
def test_nesting_ends_in_a_problem_and_not_in_the_stack(opening: str) -> None:
    _, problems = read_bytes((opening * 100_000).encode(), "x.yaml")
    assert problems and all(one.severity == "error" for one in problems)


def test_deep_blocks_name_the_line() -> None:
    text = "".join(f"{' ' * i}a:\n" for i in range(DEEPEST + 5))
    assert only_problem(text).line == DEEPEST + 1


def test_all_duplicates_are_told_at_once() -> None:
    _, problems = read_bytes(b"a: 1\na: 2\nb:\n  c: 1\n  c: 2\n", "x.yaml")
    assert [one.line for one in problems] == [2, 5]


@given(st.text(max_size=60))
@example("\r\n\x85\u2028a: 1")
@example("a: |\n  x\n y")
@example("\ufeff\ufeff")
def test_no_text_raises(text: str) -> None:
    raw = text.encode("utf-8", "surrogatepass")
    source, problems = read_bytes(raw, "x.yaml")
    assert source.data is not None or problems or "null" in text or text.strip()
    for one in problems:
        assert one.message and one.line >= 1 and one.column >= 1
        assert one.line <= max(1, len(source.lines) + 1)


@given(st.binary(max_size=60))
def test_no_bytes_raise(raw: bytes) -> None:
    read_bytes(raw, "x.yaml")


# plain texts: no quoting, one line, nothing that YAML gives a meaning to at the start or inside
PLAIN = (
    st.text(st.sampled_from("0123456789.+-_ eExXoOnNyYtTfF/°µ"), min_size=1, max_size=12)
    .map(str.strip)
    .filter(lambda t: t and t[0] not in "-" and ": " not in t and " #" not in t)
)


@given(st.lists(PLAIN, min_size=1, max_size=5))
def test_all_plain_scalars_stay_as_typed(values: list[str]) -> None:
    text = "".join(f"k{i}: {value}\n" for i, value in enumerate(values))
    assert of(text) == {f"k{i}": value for i, value in enumerate(values)}


@given(
    st.recursive(
        st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), max_size=8),
        lambda inner: (
            st.lists(inner, min_size=1, max_size=3)
            | st.dictionaries(st.text("abcdef_", min_size=1, max_size=6), inner, min_size=1, max_size=3)
        ),
        max_leaves=12,
    )
)
def test_what_pyyaml_writes_reads_back(data: Any) -> None:
    text = yaml.dump({"top": data}, default_flow_style=False, allow_unicode=True, default_style="'")
    assert of(text) == {"top": data}


def test_the_slow_loader_reads_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    fast = read_bytes(FILE.encode(), "x.yaml")[0]
    monkeypatch.setattr("rebuildreport.records.text.reader._Loader", yaml.BaseLoader)
    slow = read_bytes(FILE.encode(), "x.yaml")[0]
    assert (slow.data, slow.marks) == (fast.data, fast.marks)
    for text, (_, _, words) in WORDS.items():
        assert words in read_bytes(text.encode(), "x.yaml")[1][0].message
