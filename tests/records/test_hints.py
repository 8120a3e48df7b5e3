"""What a newcomer types, and what is offered to him: one error for a slip, in the words of the files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rebuildreport.quantities import QuantityError, parse
from rebuildreport.records.checks.picturefiles import damaged
from rebuildreport.records.files.assembly import Assembly
from rebuildreport.records.text.fields import PydanticCustomError, _hours, amount_of_money, interval
from rebuildreport.records.text.reader import read_bytes
from rebuildreport.records.text.validate import _elsewhere

Write = Any
SHEET, ROUND = "engines/four.yaml", "j1/measurements/arrival.yaml"


def said(parse_it: Any, text: str) -> tuple[str, str]:
    with pytest.raises(PydanticCustomError) as caught:
        parse_it(text)
    context = caught.value.context
    assert context is not None
    return context["message"], context["suggestion"]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("1,500.00", "1500.00"),
        ("1.500,00", "1500.00"),
        ("£160", "160"),
        ("160.00 EUR", "160.00"),
        ("160,00", "160.00"),
        ("about a hundred", "a bare number, as in 168.00"),
    ],
)
def test_amounts_as_people_write_them(typed: str, meant: str) -> None:
    assert said(amount_of_money, typed) == (f"'{typed}' is not an amount of money", meant)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("9h30", "9.5"),
        ("9:45", "9.75"),
        ("9,5", "9.5"),
        ("9,5 h", "9.5"),
        ("a day", "hours and their tenths, as in 9.5"),
    ],
)
def test_hours_are_no_money(typed: str, meant: str) -> None:
    assert said(_hours, typed) == (f"'{typed}' is not a number of hours", meant)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("1.7510-1.7515", "1.7510 to 1.7515"),
        ("1.7510 – 1.7515 in", "1.7510 to 1.7515 in"),
        ("0.0005 max", "max 0.0005"),
        ("0.0005 in max.", "max 0.0005 in"),
        ("1.7512 +/- 0.0003", "1.7509 to 1.7515"),
        ("1.7512 ± 0.0003 in", "1.7509 to 1.7515 in"),
        ("<= 0.03", "max 0.03"),
        ("at least 22", "min 22"),
    ],
)
def test_limits_as_people_write_them(typed: str, meant: str) -> None:
    """The value itself, rewritten, and one that is then read."""
    assert said(interval, typed) == (f"'{typed}' is no limit", meant)
    interval(meant)


@pytest.mark.parametrize(("typed", "meant"), [("1.747O", "1.7470"), ("l.7470 in", "1.7470 in")])
def test_a_letter_for_a_digit(typed: str, meant: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(typed, "in")
    assert (str(caught.value), caught.value.suggestion) == (
        f"'{typed}' has a letter among its digits",
        meant,
    )


@pytest.mark.parametrize(
    ("typed", "dimension", "meant"),
    [("18", "temperature", "18 °C"), ("65", "temperature", "65 °F"), ("18", "length", "as in 18 mm")],
)
def test_the_unit_that_fits_the_field(typed: str, dimension: str, meant: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(typed, dimension=dimension)
    assert caught.value.suggestion.endswith(meant)


@pytest.mark.parametrize(
    ("line", "column", "message", "meant"),
    [
        ("cause oil starvation", 10, "the colon behind the name is missing", "cause: oil starvation"),
        ("cause:oil starvation", 11, "the blank after the colon is missing", "cause: oil starvation"),
    ],
)
def test_the_line_that_lacks_its_colon_is_the_one_blamed(
    line: str, column: int, message: str, meant: str
) -> None:
    text = f"findings:\n  F1:\n    seen: wear\n    {line}\n    disposition: replace\n"
    _, (problem,) = read_bytes(text.encode(), "findings.yaml")
    assert (problem.line, problem.column) == (4, column)
    assert (problem.message, problem.suggestion) == (message, meant)


def test_words_at_the_end_of_a_row(write: Write) -> None:
    job = write((ROUND, "75.968   75.964   75.966  75.962", "75.968 75.964 75.966 75.962 at the ridge")).jobs[
        "j1"
    ]
    problem = next(one for one in job.problems if one.severity == "error")
    assert problem.message == "M1: a row holds readings only, and words stand in it: 'at the ridge'"
    assert problem.suggestion == "a remark goes behind a #: 75.968 75.964 75.966 75.962  # at the ridge"


@pytest.mark.parametrize("unit", ["lbs", "ft lb"])
def test_a_unit_that_measures_something_else_is_told_once(write: Write, unit: str) -> None:
    job = write((ROUND, "  float:\n", f"  float:\n    unit: {unit}\n")).jobs["j1"]
    problems = [one for one in job.problems if one.severity == "error"]
    assert [one.suggestion for one in problems] == ["unit: mm"]


def test_a_misspelt_key_is_not_missing_as_well(write: Write) -> None:
    for typed in ("dispostion", "Disposition"):
        job = write(("j1/findings.yaml", "    disposition:", f"    {typed}:")).jobs["j1"]
        errors = [one for one in job.problems if one.severity == "error"]
        assert [one.message for one in errors] == [f"there is no key '{typed}' here"]


@pytest.mark.parametrize(
    ("feature", "size", "meant"),
    [("journals", "0.25 mm oversize", "0.25 mm undersize"), ("journals", "0.25 mm undersize", "")],
)
def test_a_shaft_is_not_ground_larger(write: Write, feature: str, size: str, meant: str) -> None:
    work = (
        f"decisions:\n  W1:\n    about: {feature}\n    do: recondition\n    size: {size}\n"
        "    why: worn\n    by: shop\n    date: 2026-02-10\n"
    )
    problems = [
        one for one in write(files={"j1/work.yaml": work}).jobs["j1"].problems if one.severity == "error"
    ]
    assert [one.suggestion for one in problems] == ([meant] if meant else [])
    assert all(one.quote.strip() == f"size: {size}" for one in problems)


def test_a_bore_made_smaller_is_asked_about(write: Write) -> None:
    """Poured or bushed to a ground journal it is usual; a bore that nobody says that of is questioned."""
    work = (
        "decisions:\n  W1:\n    about: rod_housings\n    do: recondition\n    size: 0.25 mm undersize\n"
        "    why: worn\n    by: shop\n    date: 2026-02-10\n"
    )

    def asked(*changes: tuple[str, str, str]) -> list[str]:
        job = write(*changes, files={"j1/work.yaml": work}).jobs["j1"]
        return [one.quote.strip() for one in job.problems if "poured metal or a bush?" in one.message]

    assert asked() == ["size: 0.25 mm undersize"]
    head = "  rod_housings:\n    kind: bore\n"
    assert asked((SHEET, head, f"{head}    undersizes: 0.25 mm\n")) == []
    fit = "  rod_fit:\n    kind: running_fit\n    outer: rod_housings\n    inner: journals\n    unit: mm\n"
    assert asked((SHEET, head, f"{fit}{head}")) == []


def test_all_kinds_are_named_where_one_is_unknown(write: Write) -> None:
    from rebuildreport.trade.kinds import KINDS

    shop = write((SHEET, "kind: end_float", "kind: zzz"))
    (problem,) = [one for one in shop.jobs["j1"].engine_problems if "no kind of feature" in one.message]
    assert problem.suggestion == f"known here: {', '.join(KINDS)}"


def test_a_damaged_picture_is_seen_from_outside(tmp_path: Path) -> None:
    """Made and cut here with an imaging library; its trailer as some telephones write one."""
    from PIL import Image

    noise = Image.effect_noise((400, 300), 80)
    for name in ("a.jpg", "b.png", "c.webp"):
        path = tmp_path / name
        noise.save(path)
        assert damaged(path) == ""
        data = path.read_bytes()
        path.write_bytes(data[: len(data) * 2 // 3])
        assert damaged(path) == "its end is missing: copy it again", name
        path.write_bytes(data + b"\0" * 9000)
        assert damaged(path) == "", name
        path.write_bytes(b"no picture")
        assert damaged(path).startswith("it is no picture")
    assert damaged(tmp_path / "none.jpg").startswith("it cannot be read")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("05/02/2026", "2026-02-05 or 2026-05-02?"),  # day first, month first: nobody can say
        ("13/02/2026", "2026-02-13"),
        ("02/13/26", "2026-02-13"),
        ("5.2.26", "2026-02-05"),  # with points the day stands first
        ("2026/2/5", "2026-02-05"),
        ("5 February 2026", "2026-02-05"),
        ("2026-W06-4", "2026-02-05"),  # ISO 8601 week date
        ("31.2.2026", ""),
    ],
)
def test_a_date_in_another_form(write: Any, typed: str, meant: str) -> None:
    shop = write(("j1/measurements/arrival.yaml", "date: 2026-02-05", f"date: {typed}"))
    (found,) = [one for one in shop.jobs["j1"].problems if one.line == 1]
    assert found.suggestion == meant


@pytest.mark.parametrize(
    ("file", "old", "new", "hint"),
    [
        (
            "j1/measurements/arrival.yaml",
            "by: bench 1\n",
            "by: bench 1\nunit: mm\n",
            "'unit' belongs under tables.*",
        ),
        (
            "engines/four.yaml",
            "  cylinders: 4\n",
            "  cylinders: 4\n  crank: steel\n",
            "known here: arrangement, banks",
        ),
        (
            "engines/four.yaml",
            "    undersizes: 0",
            "    shims: x\n    undersizes: 0",
            "'shims' belongs at the top",
        ),
        ("engines/four.yaml", "angle: 90 deg", "angle: 90", "as in 90 deg"),
        ("j1/measurements/arrival.yaml", "M1:    75", "\u041c1:    75", "Cyrillic"),
        ("j1/measurements/arrival.yaml", "      M1:    75", "\u00a0     M1:    75", "plain blank"),
        ("j1/measurements/arrival.yaml", "75.968", "75.9\u200b68", "delete it"),
    ],
)
def test_what_was_meant_of_keys_units_and_letters(
    write: Any, file: str, old: str, new: str, hint: str
) -> None:
    found = [one for one in write((file, old, new)).all_problems if one.severity == "error"]
    assert hint in found[0].suggestion


def test_decimal_commas_of_a_table_are_told_once(write: Any) -> None:
    old = "75.968   75.964   75.966  75.962"
    shop = write(("j1/measurements/arrival.yaml", old, old.replace(".", ",")))
    (found,) = [one for one in shop.jobs["j1"].problems if "comma" in one.message]
    assert "and 3 more" in found.message


@pytest.mark.parametrize("file", ["j1/findings.yaml", "j1/work.yaml"])
def test_what_names_an_unread_file_is_not_told_as_unknown(write: Any, file: str) -> None:
    """The one error is that of the file; whether F1 stands in it nobody can say."""
    marks = ("j1/teardown.yaml", "    photo: p1\n", "    photo: p1\n    finding: F1\n")
    shop = write(marks, ("j1/work.yaml", "work: grind\n", "work: grind\n    for: F1\n"), files=None)
    assert not [one for one in shop.all_problems if one.severity == "error"]
    text = "findings:\n  F1:\n    seen: [\n" if "findings" in file else "decisions:\n  W1: [\n"
    broken = write(marks, files={file: text})
    assert {one.file for one in broken.all_problems if one.severity == "error"} == {file}


def test_a_picture_that_publish_would_leave_out_is_named(tmp_path: Path) -> None:
    """Sizes stand in the head: ISO/IEC 15948 (PNG), ITU-T T.81 (JPEG, SOF0); 20000 by 10001 is too many."""
    png = b"\x89PNG\r\n\x1a\n" + (13).to_bytes(4, "big") + b"IHDR" + b"%s" + b"\x08\x02\0\0\0" + b"IEND"
    jpeg = (
        b"\xff\xd8\xff\xe0\0\x10"
        + b"JFIF"
        + bytes(10)
        + b"\xff\xc0\0\x11\x08"
        + b"%s"
        + bytes(20)
        + b"\xff\xd9"
    )
    for name, data, size in (("a.png", png, 4), ("a.jpg", jpeg, 2)):
        for width, height, said in (
            (20000, 10000, ""),
            (20000, 10001, "200 million pixels: make it smaller"),
        ):
            sides = (width, height) if size == 4 else (height, width)
            head = b"".join(side.to_bytes(size, "big") for side in sides)
            (tmp_path / name).write_bytes(data % head)
            assert damaged(tmp_path / name) == said
    (tmp_path / "b.jpg").write_bytes(b"\0\0\0\x18ftypheic" + bytes(100))
    assert damaged(tmp_path / "b.jpg") == "it is a HEIC picture: name it b.heic"
    (tmp_path / "b.jpg").rename(tmp_path / "b.heic")
    assert damaged(tmp_path / "b.heic") == ""


def test_places_of_a_key_come_in_the_same_order_in_every_run() -> None:
    """Of places as near, those that come first by name: a set has another order in another process."""
    said = _elsewhere("date", Assembly)
    places = said.removeprefix("'date' belongs under ").split(" or under ")
    assert len(places) == 3 and places == sorted(places, key=lambda place: (len(place), place))


@pytest.mark.parametrize("typed", ["journal", "jounrals", "journalss", "jornals", "journels"])
def test_a_component_that_misses_a_feature_by_a_letter_is_asked_about(write: Write, typed: str) -> None:
    """One less, more, other, or two exchanged; a part that the sheet does not have is any other word."""

    def asked(component: str) -> list[str]:
        text = f"findings:\n  F1:\n    component: {component}\n    title: t\n"
        text += "    seen: scoring\n    disposition: replace\n"
        job = write(files={"j1/findings.yaml": text}).jobs["j1"]
        return [one.suggestion for one in job.problems if "is no feature of the sheet" in one.message]

    assert asked(typed) == ["did you mean 'journals'?"] and not asked("adjournment") and not asked("journals")
