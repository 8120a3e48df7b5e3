"""Wrong keys and values: what is told, where, and with which correction."""

from __future__ import annotations

import pytest
from pydantic import BaseModel

from rebuildreport.records import Engine, Findings, Job, Problem, RoundRecord, Shop
from rebuildreport.records.text.reader import read_bytes
from rebuildreport.records.text.validate import validate

ROUND = "date: 2026-02-05\nby: bench 1\ntemperature: 20 °C\n"
TABLE = ROUND + "tables:\n  t:\n    columns: a b\n    rows:\n      M1: 1.0 2.0\n"
JOB = "title: t\nengine: e\nopened: 2026-02-03\narrival:\n  complaint: c\n"
SHEET = "maker: m\nmodel: n\nlayout:\n  cylinders: 4\n  arrangement: inline\n"
FEATURE = SHEET + "features:\n  f:\n    kind: bore\n"
FINDING = "findings:\n  F1:\n    component: x\n    seen: y\n    disposition: "
HOUSE = "name: n\ncontact: c\ncurrency: EUR\nfirst_unit: mm\n"


def found(model: type[BaseModel], text: str) -> list[Problem]:
    source, problems = read_bytes(text.encode(), "x.yaml")
    assert problems == []
    record, problems = validate(model, source)
    assert (record is None) == bool(problems)
    return problems


# model, text, line, column, words of the message, words of the suggestion
CASES = [
    (RoundRecord, ROUND + "temprature: 1\n", 4, 1, "no key 'temprature'", "did you mean 'temperature'?"),
    (RoundRecord, ROUND + "zzz: 1\n", 4, 1, "no key 'zzz'", "known here: by, date"),
    (RoundRecord, "date: 2026-02-05\nby: b\n", 1, 1, "'temperature' is missing", "add 'temperature: ...'"),
    (RoundRecord, ROUND.replace("2026-02-05", "5.2.2026"), 1, 7, "not a date", "2026-02-05"),
    (RoundRecord, ROUND.replace("20 °C", "20 mm"), 3, 14, "length", ""),
    (
        RoundRecord,
        ROUND + "tables:\n  t:\n    columns: a\n",
        5,
        3,
        "'rows' is missing in 't'",
        "add 'rows: ...'",
    ),
    (RoundRecord, ROUND + "tables: x\n", 4, 9, "block of 'name: value'", ""),
    (RoundRecord, TABLE.replace("1.0 2.0", ""), 8, 7, "nothing is written behind 'M1'", ""),
    (RoundRecord, TABLE.replace("a b", "a a"), 6, 14, "'a' stands twice", ""),
    (Job, JOB.replace("  complaint: c", "  meter: 5"), 4, 1, "missing in 'arrival': in the customer", ""),
    (Job, JOB + "publish: maybe\n", 6, 10, "neither yes nor no", "no"),
    (Job, JOB + "approvals: x\n", 6, 12, "a list belongs under 'approvals'", "a dash"),
    (Job, JOB + "approvals:\n  - date: 2026-02-05\n    by: c\n    how: x\n", 7, 5, "'limit' is missing", ""),
    (Shop, HOUSE.replace("mm", "cm"), 4, 13, "'cm' is no choice for 'first_unit': mm or in", ""),
    (Shop, HOUSE + "decision_rule: garded\n", 5, 16, "guarded or simple", "did you mean 'guarded'?"),
    (Shop, HOUSE + "rates:\n  - from: 2026-01-01\n    labour: 64,00\n    tax: 2 %\n", 7, 13, "", "64.00"),
    (Shop, HOUSE + "rates:\n  - from: 2026-01-01\n    labour: 64\n    tax: 2\n", 8, 10, "percentage", "2 %"),
    (Engine, SHEET.replace("4", "four"), 4, 14, "'four' is not a whole number", ""),
    (Engine, FEATURE + "    new:\n      size: 92.50\n", 10, 13, "which side", "max"),
    (Engine, FEATURE + "    news: x\n", 9, 5, "'news'", "did you mean 'new'?"),
    (Engine, SHEET.replace("inline", "inline\n  bore: 98"), 6, 9, "has no unit", "98 mm"),
    (Findings, FINDING + "repalce\n", 5, 18, "reuse", "'replace'"),
]  # fmt: skip


@pytest.mark.parametrize(("model", "text", "line", "column", "message", "suggestion"), CASES)
def test_one_problem(
    model: type[BaseModel], text: str, line: int, column: int, message: str, suggestion: str
) -> None:
    (problem,) = found(model, text)
    assert (problem.line, problem.column, problem.severity) == (line, column, "error")
    assert message in problem.message and suggestion in problem.suggestion
    assert problem.quote == text.splitlines()[line - 1].rstrip()


@pytest.mark.parametrize(
    ("model", "text"),
    [
        (RoundRecord, ROUND),
        (RoundRecord, TABLE),
        (Job, JOB),
        (Engine, SHEET),
        (Shop, HOUSE),
        (Findings, "findings:\n"),
    ],
)
def test_the_undamaged_texts_are_fine(model: type[BaseModel], text: str) -> None:
    assert found(model, text) == []


def test_all_problems_at_once_and_in_order() -> None:
    problems = found(RoundRecord, "dat: x\nby: bench\ntemperature: 20\ntables:\n  t:\n    unit: mm\n")
    assert [(one.line, one.message.split("'")[1]) for one in problems] == [
        (1, "dat"),
        (3, "20"),
        (5, "columns"),
        (5, "rows"),
    ]


def test_a_key_with_nothing_behind_it_counts_as_left_out_where_it_may_be() -> None:
    assert found(Job, JOB + "publish:\nconsent:\nowner:\napprovals:\n") == []
    (problem,) = found(Job, JOB.replace("title: t", "title:"))
    assert "nothing is written behind 'title'" in problem.message


def test_a_list_where_a_record_belongs() -> None:
    (problem,) = found(RoundRecord, "- a\n- b\n")
    assert "name: value" in problem.message
