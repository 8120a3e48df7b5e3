"""Whether a surface is used again or new has one answer, whatever says so, and decides which limit judges it.

That a new part is judged by the limits for new ones and not by wear limits is the meaning of the two columns
in service manuals (common practice); that no old shell fits a journal that was ground is geometry.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.quantities import english
from rebuildreport.records import load_shop

from ..keys import value_key
from .bench import Bench

ROOT = Path(__file__).resolve().parents[2]

ENGINE = """\
housings:
  kind: bore
  positions: M1 M2 M3
  columns: front_v rear_v
  unit: mm
  new:
    size: 52.000 to 52.020
journals:
  kind: journal
  part: crankshaft
  positions: M1 M2 M3
  columns: front_a front_b rear_a rear_b
  unit: mm
  undersizes: 0.25 mm
  new:
    size: 47.980 to 48.000
shells:
  kind: shells
  positions: M1 M2 M3
  columns: upper lower
  unit: mm
  wall: 1.990 to 2.000
  sets:
    standard: MS
    0.25 mm: MS25
clearance:
  kind: bearing_clearance
  housing: housings
  shells: shells
  journal: journals
  unit: mm
  new:
    clearance: 0.020 to 0.060
  wear:
    clearance: max 0.100
ring_gap:
  kind: ring_gap
  positions: C1 C2
  columns: top
  unit: mm
  replace_with: RINGS
  new:
    top: 0.20 to 0.35
  wear:
    top: max 0.60
pressure:
  kind: compression
  positions: C1 C2
  columns: pressure
  unit: bar
  new:
    pressure: min 12
"""
REST = """\
joints:
  pistons:
    needs: RINGS
parts:
  MS:
    name: shells
    per: engine
  MS25:
    name: shells
    per: engine
  RINGS:
    name: rings
"""
OLD = "    M1: {0}\n    M2: {0}\n    M3: {0}\n"
COLUMNS = {
    "housings": "gauge\n  columns: front_v rear_v",
    "journals": "mic\n  columns: front_a front_b rear_a rear_b",
    "shells": "mic\n  columns: upper lower",
}


def table(name: str, cells: str) -> str:
    return f"{name}:\n  instrument: {COLUMNS[name]}\n  rows:\n{OLD.format(cells)}"


def gaps(value: str) -> str:
    return f"ring_gap:\n  instrument: feelers\n  columns: top\n  rows:\n    C1: {value}\n    C2: {value}\n"


ARRIVAL = table("housings", "52.010 52.010") + table("journals", "47.990 47.990 47.990 47.990") + gaps("0.50")
KEPT = """\
decisions:
  W0:
    about: housings
    do: reuse
    why: good
    by: shop
    date: 2026-03-05
"""
DECIDED = """\
  W1:
    about: {about}
    do: {do}
    why: worn
    by: shop
    date: 2026-03-05
"""


def came(folder: Path, rest: str = "") -> Bench:
    bench = Bench(folder, ENGINE, rest=REST + rest)
    bench.round("arrival", "2026-03-02", ARRIVAL)
    bench.write(
        "work.yaml", "decisions:\n" + DECIDED.format(about="housings", do="reuse").replace("W1", "W0")
    )
    return bench


def shells_renewed(bench: Bench, how: str) -> None:
    work = KEPT
    if how == "decided":
        work += DECIDED.format(about="shells", do="replace")
    elif how == "ground at one place":
        work += DECIDED.format(about="journals", do="recondition").replace(
            "    why", "    positions: M2\n    size: 0.25 mm undersize\n    why"
        )
    elif how == "another crank":
        work += DECIDED.format(about="crankshaft", do="replace")
    elif how == "on the list":
        work += "parts:\n  - part: MS\n    why: a new set\n"
    elif how == "found":
        bench.write(
            "findings.yaml",
            "findings:\n  F1:\n    component: shells\n    seen: scored\n    disposition: replace\n",
        )
    elif how == "fitted":
        bench.write("assembly.yaml", "fitted:\n  - part: MS\n    by: me\n")
    bench.write("work.yaml", work)


SHELLS = ("decided", "ground at one place", "another crank", "on the list", "found", "fitted", "always")


@pytest.mark.parametrize("how", SHELLS)
def test_new_shells_are_new_at_every_bearing_and_to_everybody(tmp_path: Path, how: str) -> None:
    bench = came(tmp_path, "always:\n  MS: 1\n" if how == "always" else "")
    shells_renewed(bench, how)
    # a wall 0.03 too thin leaves a clearance of 0.08: used it would do, new it does not
    after = table("housings", "52.010 52.010") + table("shells", "1.970 1.970")
    ground = "M2: 47.740 47.740 47.740 47.740" if how == "ground at one place" else ""
    after += table("journals", "47.990 47.990 47.990 47.990")
    if ground:
        after = after.replace("M2: 47.990 47.990 47.990 47.990", ground)
    bench.round("after", "2026-03-10", after)
    found = bench.assess()
    for position in ("M1", "M2", "M3"):
        wall = found.find(value_key(f"shells.upper {position} @after"))
        assert wall is not None and not wall.again and wall.verdict == "beyond limit"
        fit = found.find(value_key(f"clearance.largest_clearance {position} @after"))
        assert fit is not None and fit.limits is not None
        machined = ground and position == "M2"
        used = how != "another crank" and not machined
        # a fit is new only where neither partner is used again
        assert fit.limits.decides == ((0.020, 0.100) if used else (0.020, 0.060))


KIT = """\
  KIT:
    name: liner with piston and rings
    contains:
      PISTON: 1
  PISTON:
    name: piston with its rings
    contains:
      RINGS: 1
"""
LINERS = """\
liners:
  kind: bore
  positions: C1 C2
  columns: top_t top_a
  unit: mm
  replace_with: KIT
"""


@pytest.mark.parametrize(
    "how", ["always", "joint", "list", "fitted", "decided", "in a kit", "in a kit found"]
)
def test_a_new_ring_is_judged_as_one(tmp_path: Path, how: str) -> None:
    bench = came(tmp_path, "always:\n  RINGS: 2\n" if how == "always" else "")
    work = KEPT
    if how == "decided":
        work += DECIDED.format(about="ring_gap", do="replace")
    elif how.startswith("in a kit"):
        bench = Bench(tmp_path / "kit", ENGINE + LINERS, rest=REST + KIT)
        bench.round("arrival", "2026-03-02", ARRIVAL)
        if how == "in a kit":
            work += DECIDED.format(about="liners", do="replace")
        else:
            seen = "component: liners\n    seen: scored\n    disposition: replace\n"
            bench.write("findings.yaml", f"findings:\n  F1:\n    {seen}")
    elif how == "list":
        work += "parts:\n  - part: RINGS\n    quantity: 2\n    why: a new set\n"
    elif how == "joint":
        bench.write("teardown.yaml", "by: me\ndate: 2026-03-02\nsteps:\n  - removed: pistons\n")
    elif how == "fitted":
        bench.write("assembly.yaml", "fitted:\n  - part: RINGS\n    by: me\n")
    bench.write("work.yaml", work)
    bench.round("after", "2026-03-10", gaps("0.55"))
    found = bench.assess()
    for position in ("C1", "C2"):
        old = found.find(value_key(f"ring_gap.top {position} @arrival"))
        new = found.find(value_key(f"ring_gap.top {position} @after"))
        assert old is not None and old.verdict == "serviceable"
        assert new is not None and new.verdict == "beyond limit"


def test_a_kit_for_one_cylinder_renews_nothing_in_the_others(tmp_path: Path) -> None:
    bench = Bench(tmp_path, ENGINE + LINERS, rest=REST + KIT)
    bench.round("arrival", "2026-03-02", ARRIVAL)
    one = DECIDED.format(about="liners", do="replace").replace("    why", "    positions: C2\n    why")
    bench.write("work.yaml", "decisions:\n" + one)
    bench.round("after", "2026-03-10", gaps("0.55"))
    found = bench.assess()
    verdicts = [found.find(value_key(f"ring_gap.top {place} @after")) for place in ("C1", "C2")]
    assert [one.verdict for one in verdicts if one] == ["serviceable", "beyond limit"]


PISTONS = """\
bores:
  kind: bore
  positions: C1 C2
  columns: top_t top_a
  unit: mm
  oversizes: 0.50 mm
  new:
    size: 86.000 to 86.020
skirts:
  kind: readings
  positions: C1 C2
  columns: skirt
  unit: mm
  new:
    skirt: 85.960 to 85.980
piston_clearance:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  new:
    clearance: 0.030 to 0.050
"""


def test_a_piston_of_an_oversize_has_the_limits_of_that_size(tmp_path: Path) -> None:
    """What is bored 0.50 larger takes pistons 0.50 larger: the sheet has the limits of the standard one."""
    bench = Bench(tmp_path, PISTONS)
    bored = DECIDED.format(about="bores", do="recondition")
    bored = bored.replace("why", "size: 0.50 mm oversize\n    why")
    bench.write("work.yaml", "decisions:\n" + bored)
    skirt = "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: {}\n    C2: {}\n"
    bench.round("arrival", "2026-03-02", skirt.format("85.970", "85.930"))
    bench.round("after", "2026-03-10", skirt.format("86.470", "86.440"))
    found = bench.assess()
    verdicts = {
        (place, day): one.verdict
        for place in ("C1", "C2")
        for day in ("arrival", "after")
        if (one := found.find(value_key(f"skirts.skirt {place} @{day}")))
    }
    good, bad = "as new", "beyond limit"
    assert verdicts == {
        ("C1", "arrival"): good,
        ("C1", "after"): good,
        ("C2", "arrival"): bad,
        ("C2", "after"): bad,
    }


def test_what_somebody_keeps_no_rule_makes_new(tmp_path: Path) -> None:
    bench = came(tmp_path, "always:\n  RINGS: 2\n")
    bench.write("work.yaml", "decisions:\n" + DECIDED.format(about="ring_gap", do="reuse"))
    bench.round("after", "2026-03-10", gaps("0.55"))
    kept = bench.assess().find(value_key("ring_gap.top C1 @after"))
    assert kept is not None and kept.verdict == "serviceable"


def test_fewer_parts_than_places_do_not_say_where_they_went(tmp_path: Path) -> None:
    bench = came(tmp_path)
    bench.write("work.yaml", KEPT + "parts:\n  - part: RINGS\n    quantity: 1\n    why: one broken\n")
    bench.round("after", "2026-03-10", gaps("0.55"))
    gap = bench.assess().find(value_key("ring_gap.top C1 @after"))
    assert gap is not None and gap.again


def test_all_bearings_of_the_demo_s_ground_crank_have_the_limit_for_new_ones() -> None:
    folder = load_shop(ROOT / "jobs", ["2026-003-orchard-six"])
    found = assess_job(folder, folder.jobs["2026-003-orchard-six"])
    for name, most in (("main_clearance", 0.110), ("rod_clearance", 0.095)):
        ends = {
            value.position: value.limits.decides[1]
            for value in found.characteristics
            if (value.feature, value.name, value.round) == (name, "largest_clearance", "after-machining")
            and value.limits is not None
        }
        assert set(ends.values()) == {most}, ends


@pytest.mark.parametrize("how", ["opened", "decided", "not recorded"])
def test_a_test_of_the_whole_engine_ends_when_it_was_apart(tmp_path: Path, how: str) -> None:
    """At first start the dry pressures alone were read: what came before is of another engine."""
    bench = Bench(tmp_path, ENGINE, rest=REST)
    columns = "pressure:\n  columns: pressure wet\n  rows:\n"
    bench.round("arrival", "2026-03-02", columns + "    C1: 9.0 9.2\n    C2: 9.5 11.0\n")
    if how != "not recorded":
        bench.write("teardown.yaml", f"by: me\ndate: 2026-03-0{3 if how == 'opened' else 1}\n")
    bench.write("work.yaml", "decisions:\n" + DECIDED.format(about="ring_gap", do="replace"))
    bench.write(
        "running.yaml",
        "first_start:\n  date: 2026-03-20\n  by: me\ntables:\n  pressure:\n    columns: pressure\n"
        "    rows:\n      C1: 13.0\n",
    )
    found = bench.assess()
    dry = found.find(value_key("pressure.pressure C1 @first start"))
    assert dry is not None and dry.verdict == "as new" and "oil" not in english(dry.note)
    now = [value for value in found.characteristics if value.feature == "pressure" and value.stands]
    assert [value.position for value in now if value.value is not None] == ["C1"]
    assert [value.position for value in now if value.verdict == "not measured"] == ["C2"]
    assert not any(value.round == "first start" and value.name in ("wet", "spread") for value in now)
