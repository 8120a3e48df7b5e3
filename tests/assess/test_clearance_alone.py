"""Journals that would do but for their clearance: thicker shells first, then an undersize; sums by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.assess.model.choice import Choice
from rebuildreport.quantities import english

from .bench import Bench
from .test_cost_of_choices import SHEET

JOURNALS, REST = SHEET.split("housings:", 1)
PARTS = "parts:\n" + "".join(f"  {part}:\n    name: half\n" for part in ("U2", "U3", "L2", "L3"))
PARTS += "  MS25:\n    name: set\n    price: 80.00\n    per: engine\n"


def choices(
    folder: Path,
    pin: str,
    columns: str = "pin",
    rule: str = "simple",
    more: str = "",
    housing: str = "52.012",
) -> dict[str, Choice]:
    """Housing 52.012, worn halves of 1.985, a clearance of 0.020 to 0.040, at most 0.045 when used again."""
    journals = JOURNALS.replace("front_a front_b", columns).replace("47.980 to 48.000", "47.995 to 48.000")
    journals = journals.replace(
        "  source", "  wear:\n    size: see clearance\n  undersizes: 0.25 mm\n  source"
    )
    rest = REST.replace("  pieces", "  wall: 1.989 to 1.991\n  sets:\n    0.25 mm: MS25\n  pieces")
    rest = rest.replace("0.020 to 0.040\n", "0.020 to 0.040\n  wear:\n    clearance: max 0.045\n")
    bench = Bench(folder, f"{journals}housings:{rest}", rule=rule, rest=PARTS)
    pins = " ".join([pin] * len(columns.split()))
    bench.round(
        "arrival",
        "2026-03-02",
        f"journals:\n  instrument: mic\n  columns: {columns}\n  rows:\n    M1: {pins}\n"
        "housings:\n  instrument: gauge\n  columns: front_v\n  rows:\n"
        f"    M1: {housing}\n"
        f"shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n    M1: 1.985 1.985\n{more}",
    )
    return {one.name: one for one in bench.assess().choices}


@pytest.mark.parametrize("columns", ["pin", "front_a front_b"])
def test_thicker_shells_come_before_an_undersize(tmp_path: Path, columns: str) -> None:
    """52.012 − 47.990 − 3.970 is 0.052, beyond 0.045; with S3 (1.992) on both sides it is 0.038."""
    found = choices(tmp_path, "47.990", columns)
    assert "journals" not in found
    shells = found["shells"]
    assert (shells.status, english(shells.places[0].answer)) == ("chosen", "S3/S3")
    assert "M1: the clearance alone is beyond its limit, and these shells take it up" in english(shells.why)


@pytest.mark.parametrize("columns", ["pin", "front_a front_b"])
def test_where_no_shells_take_it_up_an_undersize_follows(tmp_path: Path, columns: str) -> None:
    """52.012 − 47.975 − 3.984 is 0.053 with the thickest: beyond 0.045."""
    found = choices(tmp_path, "47.975", columns)
    assert "even the thickest pair (S3/S3) leaves 0.053" in english(found["shells"].impossible[0]).replace(
        "\u00a0", " "
    )
    size = found["journals"]
    assert english(size.answer) == "0.25 mm undersize"
    assert english(size.why).startswith("M1: no limit of the journal's own is passed; the clearance alone")


def test_what_is_too_near_asks_for_a_closer_reading_and_not_for_the_grinder(tmp_path: Path) -> None:
    """52.012 − 47.982 − 3.984 is 0.046: over 0.045 by less than the guard of gauge, micrometer and walls."""
    found = choices(tmp_path, "47.982", rule="guarded")
    assert "journals" not in found
    assert "measure more closely" in english(found["shells"].impossible[0])
    # by simple acceptance the walls' own bands, ± 0.001 each, are all that is left of it
    assert "journals" not in choices(tmp_path / "near", "47.982")
    assert "journals" in choices(tmp_path / "simple", "47.980")


def test_a_journal_past_a_limit_of_its_own_is_another_matter(tmp_path: Path) -> None:
    """A score 0.02 deep asks for the grinder, whatever the shells could do."""
    scored = "scores:\n  feature: journals\n  columns: score_depth\n  rows:\n    M1: 0.020\n"
    found = choices(tmp_path, "47.990", more=scored)
    assert english(found["journals"].answer) == "0.25 mm undersize"
    assert "clearance alone" not in english(found["journals"].why)


def test_a_housing_that_is_too_large_is_no_question_for_the_grinder(tmp_path: Path) -> None:
    """52.040 is beyond 52.020: 52.040 − 47.998 − 3.984 is 0.058 with the thickest, on a journal as new."""
    found = choices(tmp_path, "47.998", housing="52.040")
    assert "journals" not in found
    (said,) = found["shells"].impossible
    assert "its housing is beyond its own limit: size that, or replace it" in english(
        said
    ) and "grind" not in english(said)


@pytest.mark.parametrize("kind", ["running_fit", "fit"])
def test_what_stays_is_judged_by_what_it_runs_in_now(tmp_path: Path, kind: str) -> None:
    """20.050 − 19.980 is 0.070, beyond 0.060; beside a new pin of 20.000 it is 0.050, which may stay."""
    sheet = "".join(
        f"{name}:\n  kind: {of}\n  part: {name}\n  positions: C1\n  columns: {column}\n  unit: mm\n"
        f"  new:\n    size: {size}\n  wear:\n    size: see play\n"
        for name, of, column, size in (
            ("kept", "bore", "top_t top_a", "20.010 to 20.020"),
            ("renewed", "journal", "a b", "19.995 to 20.005"),
        )
    )
    sheet += f"play:\n  kind: {kind}\n  outer: kept\n  inner: renewed\n  unit: mm\n"
    sheet += "  new:\n    clearance: 0.010 to 0.030\n  wear:\n    clearance: max 0.060\n"
    bench = Bench(tmp_path, sheet)
    pins = "renewed:\n  instrument: mic\n  columns: a b\n  rows:\n    C1: {0} {0}\n"
    bench.round(
        "arrival",
        "2026-03-02",
        "kept:\n  instrument: mic\n  columns: top_t top_a\n  rows:\n    C1: 20.050 20.050\n"
        + pins.format("19.980"),
    )
    assert {one.verdict for one in bench.assess().characteristics if one.name == "largest"} == {
        "beyond limit"
    }
    bench.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: renewed\n    do: replace\n"
        "    why: worn\n    by: shop\n    date: 2026-03-03\n",
    )
    # what its old pin condemned waits for the new one, and nobody is asked about it
    assert not any("Kept" in english(line) for line in bench.assess().to_decide)
    bench.round("after", "2026-03-09", pins.format("20.000"))
    found = bench.assess()
    (kept,) = (one for one in found.characteristics if (one.feature, one.name) == ("kept", "largest"))
    assert (kept.stands, kept.verdict) == (True, "serviceable")
