"""What the program writes as YAML is read back by its own reader, whatever a sheet names its things."""

from __future__ import annotations

from hypothesis import example, given
from hypothesis import strategies as st

from rebuildreport.records.text.reader import read_bytes
from rebuildreport.records.text.writing import TableLayout, as_name, as_value

# the indicators of YAML 1.1 (section 5.3), quotes, blanks and what people type
SPECIAL = "-?:,[]{}#&*!|>'\"%@`<~=\\/. _abM1é°µ·"
TEXTS = st.text(SPECIAL, min_size=1, max_size=12)
NAMES = st.text(SPECIAL.replace(" ", "").replace(",", ""), min_size=1, max_size=8)


@given(TEXTS)
@example("%")
@example("---")
@example("<<")
@example("- a")
@example("a: b # c")
def test_a_value_and_a_name_come_back_as_they_were(text: str) -> None:
    source, problems = read_bytes(f"a:\n  b: {as_value(text)}\n".encode(), "x.yaml")
    assert (source.data, problems) == ({"a": {"b": text}}, [])
    source, problems = read_bytes(f"a:\n  {as_name(text)}: b\n".encode(), "x.yaml")
    assert (source.data, problems) == ({"a": {text: "b"}}, [])


@given(
    NAMES,
    TEXTS,
    NAMES,
    TEXTS,
    st.lists(NAMES, min_size=1, max_size=3, unique=True),
    st.lists(NAMES, min_size=1, max_size=3, unique=True),
)
def test_a_table_comes_back_as_it_was_laid_out(
    feature: str, title: str, unit: str, state: str, positions: list[str], columns: list[str]
) -> None:
    lines = TableLayout(feature, title, unit, state, positions, columns, "a: gauge").lines()
    text = "\n".join(["tables:", *lines]).replace("    #state: ", "    state: ")
    source, problems = read_bytes(text.encode(), "x.yaml")
    assert not problems
    [(name, table)] = source.data["tables"].items()
    assert name == feature and table["unit"] == unit and table["instrument"] == "a: gauge"
    assert table["state"] == " ".join(state.split()) or not state.split()
    assert table["columns"].split() == columns
    assert {place: row.split() for place, row in table["rows"].items()} == {
        place: ["--"] * len(columns) for place in positions
    }


def test_a_title_of_two_lines_stays_a_remark() -> None:
    lines = TableLayout("leakage", "Leak-down\nof each", "%", "", ["C1"], ["loss"]).lines()
    source, problems = read_bytes("\n".join(["tables:", *lines]).encode(), "x.yaml")
    assert not problems and source.data["tables"]["leakage"]["unit"] == "%"
