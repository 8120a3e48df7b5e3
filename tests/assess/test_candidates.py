"""A part of another source: tried beside the engine's own, taken by a decision, ground in its turn.

The arithmetic is by hand beside each test; that another crank has nothing of the old one's wear is common
sense, and that no old shell goes on another crank is common practice.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.assess.model.choice import Choice
from rebuildreport.quantities import english

from .bench import Bench
from .test_cost_of_choices import SHEET

HALVES = "".join(f"  {part}:\n    name: half\n    price: 8.00\n" for part in ("U2", "U3", "L2", "L3", "N2"))
WEAR = "  wear:\n    size: min 47.970\n  undersizes: 0.25 mm\n"
OTHER = """\
  other:
    ground:
      for: 0.25 mm undersize
      grades:
        G1: 2.114 to 2.116
      pieces:
        G1: G25
    hard:
      for: nitrided
      grades:
        S2: 1.989 to 1.991
      pieces:
        S2: N2
"""
OWN = """\
journals:
  instrument: mic
  columns: front_a front_b
  rows:
    M1: 47.900 47.850
housings:
  instrument: gauge
  columns: front_v
  rows:
    M1: 52.012
"""
OTHERS = """\
journals:
  instrument: mic
  columns: front_a front_b
  rows:
    M1: {0} {0}
"""
LOOK = "labour:\n  - task: look\n    hours: 1\n    why: asked for\n"
DECIDED = """\
  {0}:
    about: {1}
    do: {2}
    why: worn
    by: shop
    date: {3}
"""


def bench(folder: Path) -> Bench:
    """The engine's own journal is 0.08 too small and wants 0.25 under size; crank B is offered."""
    sheet = SHEET.replace("  mix: adjacent\n", f"  mix: adjacent\n{OTHER}")
    sheet = sheet.replace(
        "    size: 47.980 to 48.000\n",
        f"    size: 47.980 to 48.000\n{WEAR}",
        1,
    )
    made = Bench(folder, sheet, rest=f"parts:\n{HALVES}  G25:\n    name: half\n    price: 11.00\n")
    made.round("arrival", "2026-03-02", OWN)
    return made


def candidate(more: str = "") -> str:
    return f"candidates:\n  b:\n    title: crank B\n    part: crankshaft\n    price: 180.00\n{more}"


def offered(made: Bench, size: str, decisions: str = "", more: str = "") -> Assessment:
    made.round("b", "2026-03-04", OTHERS.format(size))
    path = made.job / "measurements/b.yaml"
    path.write_text("of: b\n" + path.read_text("utf-8"), "utf-8")
    made.write("work.yaml", LOOK + candidate(more) + (f"decisions:\n{decisions}" if decisions else ""))
    return made.assess()


def choice(job: Assessment, name: str) -> Choice | None:
    return next((one for one in job.choices if one.name == name and not one.on_paper), None)


def lines(job: Assessment) -> dict[str, Decimal | None]:
    return {one.number or english(one.name): one.amount for one in job.cost.lines if one.group == "part"}


GRIND = DECIDED.format("W1", "journals", "recondition", "2026-03-03") + "    size: 0.25 mm undersize\n"
TAKE = DECIDED.format("W2", "crankshaft", "replace", "2026-03-05") + "    with: b\n"


@pytest.mark.parametrize("before", ["", GRIND])
def test_a_candidate_that_is_decided_for_is_the_engines(tmp_path: Path, before: str) -> None:
    """52.012 - 48.000 - 0.030 is 3.982: S2 with S3.  What the old crank wanted is advised no more."""
    made = bench(tmp_path)
    assert choice(made.assess(), "journals") is not None
    tried = offered(made, "48.000", before)
    assert [english(one.name) for one in tried.candidates][-1] == "crank B"
    assert "crank B" not in lines(tried)
    job = offered(made, "48.000", before + TAKE)
    assert choice(job, "journals") is None and not job.candidates
    values = {(one.feature, one.name, one.round): one for one in job.characteristics}
    taken, old = values["journals", "smallest", "b"], values["journals", "smallest", "arrival"]
    assert (taken.verdict, taken.stands, taken.again) == ("as new", True, True)
    assert (old.verdict, old.stands) == ("beyond limit", False)
    shells = choice(job, "shells")
    assert shells is not None and english(shells.places[0].answer) in ("S2/S3", "S3/S2")
    assert {"crank B": Decimal("180.00")}.items() <= lines(job).items()
    assert "G25" not in lines(job) and not job.cost.minimum
    assert any(one.id == "W1" for one in job.decisions) == bool(before)  # the record keeps what was decided


def test_a_worn_candidate_is_judged_as_used_and_may_be_ground(tmp_path: Path) -> None:
    """47.960 is under the wear limit of 47.970, and 47.975 is not, though no new journal is so small."""
    made = bench(tmp_path)
    for size, verdict in (("47.960", "beyond limit"), ("47.975", "serviceable")):
        job = offered(made, size, TAKE)
        (value,) = [one for one in job.characteristics if (one.name, one.round) == ("smallest", "b")]
        assert value.verdict == verdict
    grind = DECIDED.format("W3", "journals", "recondition", "2026-03-05") + "    size: 0.25 mm undersize\n"
    job = offered(made, "47.960", TAKE + grind)
    size = choice(job, "journals")
    assert size is not None and (size.status, size.decision) == ("decided", "W3")
    assert not any(one.stands and one.verdict == "beyond limit" for one in job.characteristics)
    # 0.042 in the middle of its band, of 0.040 at most: which shells is known when it is ground
    assert job.cost.minimum and "Shells M1: not settled yet" in lines(job)


def test_a_candidate_keeps_the_size_that_it_has(tmp_path: Path) -> None:
    """52.012 - 47.750 - 2 x 2.115 is 0.032."""
    size = "    sizes:\n      journals: 0.25 mm undersize\n"
    made = bench(tmp_path)
    tried = offered(made, "47.750", more=size).candidates
    job = offered(made, "47.750", TAKE, more=size)
    shells = choice(job, "shells")
    assert shells is not None and english(shells.places[0].answer) == "G1/G1"
    assert shells.places[0].middle == pytest.approx(0.032) and tried[-1].clearance[0] == pytest.approx(0.032)
    assert lines(job)["G25"] == Decimal("22.00")
    (value,) = [one for one in job.characteristics if (one.name, one.round) == ("smallest", "b")]
    assert value.verdict == "as new"  # 47.730 to 47.750 at that size


def test_shells_of_a_treated_crank_are_tried_on_it_and_bought_by_their_own_number(tmp_path: Path) -> None:
    """52.012 - 47.995 - 2 x 1.990 is 0.037 with the only shells for it; they are called S2 like the plain."""
    treated = "    treated: nitrided\n"
    made = bench(tmp_path)
    job = offered(made, "47.995", TAKE, more=treated)
    shells = choice(job, "shells")
    assert shells is not None and english(shells.places[0].answer) == "S2/S2"
    assert lines(job)["N2"] == Decimal("16.00") and "U2" not in lines(job)


def test_any_number_of_candidates(tmp_path: Path) -> None:
    made = bench(tmp_path)
    offered(made, "48.000")
    made.write(
        "work.yaml",
        LOOK + candidate() + "  c:\n    title: crank C\n    part: crankshaft\n    price: 90.00\n",
    )
    path = made.job / "measurements/c.yaml"
    path.write_text((made.job / "measurements/b.yaml").read_text("utf-8").replace("of: b", "of: c"), "utf-8")
    names = [english(one.name) for one in made.assess().candidates]
    assert names == ["the engine's own", "crank B", "crank C"]


def test_new_shells_are_held_to_the_grade_that_was_decided(tmp_path: Path) -> None:
    """S3 is 1.991 to 1.993: a half of 1.989 in its box is another grade, whatever the clearance says."""
    made = bench(tmp_path)
    fit = DECIDED.format("W1", "shells", "replace", "2026-03-03") + "    fit:\n      M1: S3 S2\n"
    made.write("work.yaml", LOOK + f"decisions:\n{fit}")
    for upper, verdict in (("1.992", "as new"), ("1.985", "beyond limit")):
        walls = f"shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n    M1: {upper} 1.990\n"
        made.round("new-shells", "2026-03-06", walls)
        found = {one.name: one for one in made.assess().characteristics if one.feature == "shells"}
        assert found["upper"].verdict == verdict
        assert found["upper"].limits is not None and found["upper"].limits.new == (1.991, 1.993)
