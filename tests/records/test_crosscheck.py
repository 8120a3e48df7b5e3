"""Each cross-check has one damage that it alone finds: the undamaged shop has no problems."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rebuildreport.records import Problem

Problems = Callable[..., list[Problem]]
SHOP, ENGINE, JOB, ROUND = "shop.yaml", "engines/four.yaml", "j1/job.yaml", "j1/measurements/arrival.yaml"
FINDINGS, WORK, TEARDOWN = "j1/findings.yaml", "j1/work.yaml", "j1/teardown.yaml"
ASSEMBLY, RUNNING = "j1/assembly.yaml", "j1/running.yaml"

FOUR, MM = "front_a front_b rear_a rear_b", "\n    unit: mm"
PARTS = """\
parts:
  MS-STD:
    name: shells
  MS-025:
    name: shells, 0.25 undersize
  SG:
    name: sump gasket
  HG:
    name: head gasket
  MB:
    name: bolt
  RSU:
    name: upper half
  RSL:
    name: lower half
  PLATE:
    name: shim
"""


def test_the_undamaged_shop_is_fine(problems: Problems) -> None:
    assert problems() == []


# file, what stands there, what is put there instead, severity, words of message, words of suggestion
CASES = [
    # the shop
    (SHOP, "EUR", "euro", "error", "no currency code", "three letters"),
    (SHOP, "EUR", "eur", "error", "no currency code", "EUR"),
    (SHOP, "50 to 100 mm", "50 to 100", "error", "the range has no unit", "mm"),
    (SHOP, "0.001 mm", "0.1 bar", "error", "bar is a unit of pressure", "mm"),
    (SHOP, "0.002 mm", "0.002 N", "error", "N is a unit of force", "mm"),
    (SHOP, "0.001 mm", "0 mm", "error", "steps larger", ""),
    (SHOP, "0.002 mm", "0.002 mm\n    repeatability: 1 h", "error", "h is a unit of time", "mm"),
    (SHOP, "due: 2026-09-01", "due: 2025-08-01", "warning", "due before", ""),
    (SHOP, "rates:", "rates:\n  - from: 2026-01-01\n    labour: 1\n    tax: 1 %", "error", "two rates", ""),
    # the sheet
    (ENGINE, "kind: journal", "kind: jurnal", "error", "no kind of feature", "journal"),
    (ENGINE, "out_of_round:", "outofround:", "error", "'outofround' is nothing", "out_of_round"),
    (ENGINE, "end_float: 0.10", "end_flot: 0.10", "error", "'end_flot' is nothing", "end_float"),
    (ENGINE, "size: see clearance", "size: see clearence", "error", "'clearence'", "clearance"),
    (ENGINE, "housing: housings", "housing: housing", "error", "'housing' is no feature", "housings"),
    (ENGINE, "shells: shells", "shells: shels", "error", "'shels' is no feature", "shells"),
    (ENGINE, "journal: journals", "journal: jornals", "error", "'jornals' is no feature", "journals"),
    (ENGINE, "    shells: shells\n", "", "warning", "shells missing", "add 'shells"),
    (ENGINE, "front_v rear_v", "front_v back_v", "warning", "do not pair up", "alike"),
    (ENGINE, "front_a front_b rear_a rear_b", "front rear", "warning", "no columns that", "front_b"),
    (ENGINE, f"{FOUR}{MM}\n    new:", f"a b{MM}\n    new:\n      taper: max 1", "warning", "taper", "rear"),
    (ENGINE, "    undersizes", "    aim_above_minimum: 0.1\n    undersizes", "warning", "does nothing", ""),
    (ENGINE, "0.25 0.50 mm", "0.25 0.50", "error", "", "0.25 0.50 mm"),
    (ENGINE, "unit: mm", "unit: mmm", "error", "mmm", "mm"),
    (ENGINE, "    unit: mm\n    new:\n      end", "    new:\n      end", "error", "0.10 has no unit", "mm"),
    (ENGINE, "75.970 to 75.990", "75.970 to 75.990 N", "error", "N is a unit of force", "mm"),
    (ENGINE, "    source: manual page 1\n", "", "warning", "limits without a source", "source"),
    (ENGINE, "source: manual page 1", "source: manuel page 1", "warning", "'manuel'", "manual"),
    (ENGINE, "standard: MS-STD", "standard: MS-SDT", "error", "'MS-SDT' is not among", "MS-STD"),
    (ENGINE, "0.25 mm: MS", "0.25: MS", "error", "'0.25' is no size", "0.25 mm"),
    (ENGINE, "  float:", "    replace_with: MX\n  float:", "error", "'MX' is not among", "MB"),
    (ENGINE, "by: float", "by: flot", "error", "'flot' is no feature", "float"),
    (ENGINE, "      HG: 0.1", "      HX: 0.1", "error", "'HX' is not among", "HG"),
    (ENGINE, "part: MB", "part: BM", "error", "'BM' is not among", ""),
    (ENGINE, "reuse: never", "reuse: by_measure", "error", "by_measure needs", "measure"),
    (ENGINE, "reuse: never", "reuse: never\n    measure: lenght", "error", "'lenght' is no feature", ""),
    (ENGINE, "60 N·m", "60 bar", "error", "bar is a unit of pressure", "N·m"),
    (ENGINE, "90 deg", "90 mm", "error", "mm is a unit of length", "deg"),
    (ENGINE, "SG, gasket", "SG, gaskets", "error", "'gaskets' is not among", ""),
    (ENGINE, "SG, gasket", "SG, HG", "warning", "no joint needs 'gasket'", "needs: gasket"),
    (ENGINE, "fasteners: bolts", "fasteners: bolds", "error", "'bolds' is none", "bolts"),
    (ENGINE, "- sump", "- sumps", "warning", "'sumps' stands nowhere", "sump"),
    (ENGINE, "always:\n  SG", "always:\n  SX", "error", "'SX' is not among", "SG"),
    (ENGINE, "1 3 4 2", "1 3 4", "warning", "3 cylinders in the firing order", ""),
    (ENGINE, "    columns: end_float\n", "", "warning", "no columns", "columns"),
    # the job
    (JOB, "engine: four", "engine: for", "error", "no sheet 'for'", "four"),
    (JOB, "arrival:", "publish: yes\narrival:", "error", "without the owner's consent", "consent"),
    (JOB, "arrival:", "ready: 2026-02-01\narrival:", "warning", "before opened", ""),
    (JOB, "arrival:", "ready: 2026-03-01\ndelivered: 2026-02-28\narrival:", "warning", "before ready", ""),
    # measuring tables
    (ROUND, "  journals:", "  journal:", "error", "'journal' is no feature", "journals"),
    (ROUND, "  float:", "  end:\n    feature: flaot", "error", "'flaot' is no feature", "float"),
    (ROUND, "front_a  front_b", "front_a  fornt_b", "error", "'fornt_b' is no column", "front_b"),
    (ROUND, "M3: ", "M4: ", "error", "'M4' is no position of journals", "M"),
    (ROUND, "instrument: gauge", "instrument: guage", "error", "'guage' is no instrument", "gauge"),
    (ROUND, "set_from: mic", "set_from: dial", "warning", "can have been set in it", "another one?"),
    (ROUND, "set_from: mic", "set_from: mik", "error", "'mik' is no instrument", "mic"),
    (ROUND, "unit: mm", "unit: bar", "error", "bar is a unit of pressure", "mm"),
    (ROUND, "75.968", "75.968bar", "error", "pressure", ""),
    (ROUND, "    state: caps torqued, no shells\n", "", "warning", "'caps torqued, no shells'", "state:"),
    (ROUND, "caps torqued, no", "caps loose, no", "warning", "asks for 'caps torqued'", "caps torqued"),
    (ROUND, "    instrument: dial\n", "", "warning", "no instrument", "mic, gauge, dial"),
    (ROUND, "instrument: dial", "instrument: mic", "warning", "reads 50 to 100 mm, not 0.24 mm", ""),
    (WORK, "about: journals", "about: xyz", "warning", "'xyz' is no feature", "HG, MB, MS-025, MS-STD"),
    (WORK, "do: recondition", "do: renew", "error", "'renew' is no choice", ""),
    (ROUND, "date: 2026-02-05", "date: 2026-02-01", "warning", "before the job was opened", ""),
    (ROUND, "temperature: 20 °C", "temperature: 68 °C", "error", "in the workshop", "68 °F"),
    (RUNNING, "columns: end_float", "columns: endfloat", "error", "'endfloat' is no column", "end_float"),
    # findings
    (FINDINGS, "component: shells", "component: shelves", "warning", "'shelves' is no feature", "shells"),
    (FINDINGS, "positions: M2", "positions: M9", "error", "'M9' is no position of shells", "M"),
    (FINDINGS, "journals.out_of_round M2", "journals.out_of_rond M2", "error", "nothing that", "out_of"),
    (FINDINGS, "journals.out_of_round M2", "journal.out_of_round M2", "error", "no feature", "journals"),
    (FINDINGS, "journals.out_of_round M2", "journals.out_of_round M7", "error", "no position", "M"),
    (FINDINGS, "journals.out_of_round M2", "journals", "error", "names no value", "main"),
    (FINDINGS, "photos: p1", "needs: XY\n    photos: p1", "error", "'XY' is not among", ""),
    (FINDINGS, "photos: p1", "photos: p2", "warning", "'p2' is no picture", "p1"),
    (FINDINGS, "  p1:", "  p7:", "warning", "'p7' is no picture", "p1"),
    # teardown
    (TEARDOWN, "photo: p1", "photo: p01", "warning", "'p01' is no picture", "p1"),
    (TEARDOWN, "removed: sump", "removed: sumpp", "warning", "'sumpp' stands nowhere", "sump"),
    (TEARDOWN, "feature: housings", "feature: housngs", "error", "'housngs' is no feature", "housings"),
    (TEARDOWN, "positions: M3", "positions: M0", "error", "'M0' is no position", "M"),
    (TEARDOWN, "2026-02-04", "2026-01-04", "warning", "before the job was opened", ""),
    # work
    (WORK, "about: journals", "about: jurnals", "warning", "'jurnals' is no feature", "journals"),
    (WORK, "size: 0.25 mm undersize", "size: 0.30 mm undersize", "warning", "none of the sheet's", "0.25"),
    (WORK, "size: 0.25 mm undersize", "size: 0.25 mm", "error", "no size", "0.50 mm undersize"),
    (WORK, "feature: journals", "feature: jurnals", "error", "'jurnals' is no feature", "journals"),
    (WORK, "positions: M3", "positions: M8", "error", "'M8' is no position", "M"),
    (WORK, "what: size", "what: sizes", "error", "nothing that journals has", "size"),
    (WORK, "75.992 mm", "75.992 bar", "error", "is no length", "mm"),
    (WORK, "part: crankshaft", "part: crankshft", "warning", "'crankshft' stands nowhere", "crankshaft"),
    (WORK, "part: SG", "part: SH", "error", "'SH' is not among", "SG"),
    (WORK, "date: 2026-02-10", "date: 2025-02-10", "warning", "before the job was opened", ""),
    # assembly, running
    (ASSEMBLY, "part: HG", "part: HH", "error", "'HH' is not among", "HG"),
    (ASSEMBLY, "fasteners: bolts", "fasteners: bolds", "warning", "'bolds' is none", "bolts"),
    (ASSEMBLY, "2026-02-20", "2026-01-20", "warning", "before the job was opened", ""),
    (RUNNING, "2026-02-21", "2026-01-21", "warning", "before the job was opened", ""),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "severity", "message", "suggestion"), CASES)
def test_one_damage(
    problems: Problems, file: str, old: str, new: str, severity: str, message: str, suggestion: str
) -> None:
    found = [one for one in problems((file, old, new)) if message in one.message and one.file == file]
    assert found, f"nobody noticed; instead: {problems((file, old, new))}"
    assert found[0].severity == severity
    assert suggestion in found[0].suggestion
    assert found[0].quote  # the line is quoted, so it was found


@pytest.mark.parametrize(
    ("file", "old", "new", "word"),
    [
        (ROUND, "front_a  front_b", "front_a  fornt_b", "fornt_b"),
        (ROUND, "  journals:", "  journal:", "journal:"),
        (ROUND, "M3: ", "M4: ", "M4:"),
        (ENGINE, "SG, gasket", "SG, gaskets", "gaskets"),
        (FINDINGS, "positions: M2", "positions: M2 M9", "M9"),
        (WORK, "what: size", "what: sizes", "sizes"),
        (ENGINE, "out_of_round:", "outofround:", "outofround:"),
    ],
)
def test_the_word_itself_is_pointed_at(problems: Problems, file: str, old: str, new: str, word: str) -> None:
    (problem,) = [one for one in problems((file, old, new)) if one.file == file]
    assert problem.quote[problem.column - 1 :].startswith(word)


def test_due_date_is_held_against_the_day_of_measuring(problems: Problems) -> None:
    late = (ROUND, "date: 2026-02-05", "date: 2026-09-02")
    found = [one for one in problems(late) if "calibration" in one.message]
    assert len(found) == 2  # as an instrument, and as what a gauge was set from
    assert {one.severity for one in found} == {"warning"}
    on_the_day = (ROUND, "date: 2026-02-05", "date: 2026-09-01")
    assert not [one for one in problems(on_the_day) if "calibration" in one.message]


def test_a_free_component_needs_a_title_or_parts(problems: Problems) -> None:
    damage = (FINDINGS, "component: shells\n    positions: M2", "component: oil_cooler\n    needs: SG")
    assert problems(damage) == []
    damage = (
        FINDINGS,
        "component: shells\n    positions: M2",
        "component: oil_cooler\n    title: Oil cooler",
    )
    assert problems(damage) == []


def test_a_picture_without_a_caption(problems: Problems) -> None:
    (problem,) = problems((FINDINGS, "photos:\n  p1:\n    caption: lower shell\n", ""))[:1]
    assert "no caption" in problem.message and problem.severity == "warning"


def test_scores_stand_in_a_table_of_their_own(problems: Problems) -> None:
    scores = "  scores:\n    feature: journals\n    instrument: dial\n    columns: score_depth\n"
    scores += "    rows:\n      M2: 0.03\n"
    assert problems((ROUND, "  float:\n", scores + "  float:\n")) == []


def test_a_sheet_without_parts_is_unfinished_and_not_wrong(problems: Problems) -> None:
    found = problems((ENGINE, PARTS, ""))
    assert found and all(one.severity == "warning" for one in found if one.file == ENGINE)


def test_issue_numbers_are_given_once(problems: Problems) -> None:
    issue = "  - issue: 1\n    document: report\n    date: 2026-02-05\n"
    (problem,) = problems((JOB, "arrival:", f"issued:\n{issue}{issue}arrival:"))
    assert "issue 1 stands twice" in problem.message and problem.line == 8


def test_feelers_are_stacked(problems: Problems) -> None:
    """Leaves of 0.05 to 0.2 mm show 0.24 mm together; nothing is thinner than the thinnest."""
    feelers = (
        SHOP,
        "    kind: dial indicator\n    range: 0 to 10 mm",
        "    kind: feeler gauge\n    range: 0.05 to 0.2 mm",
    )
    assert problems(feelers) == []
    thin = (SHOP, feelers[1], feelers[2].replace("0.05", "0.3").replace("0.2 ", "0.5 "))
    assert any("reads 0.3 to 0.5 mm, not 0.24 mm" in one.message for one in problems(thin))


COMPRESSION = """\
features:
  compression:
    kind: compression
    positions: C1 to C4
    columns: {}
    unit: bar
"""


@pytest.mark.parametrize(
    ("columns", "severity", "hint"),
    [
        ("dry wet", "error", "known here: pressure, wet"),
        ("preasure", "error", "did you mean 'pressure'?"),
        ("pressure oiled", "warning", "known here: pressure, wet"),
    ],
)
def test_readings_that_a_kind_would_not_see(
    problems: Problems, columns: str, severity: str, hint: str
) -> None:
    """A column under another name is typed in, and nothing is worked out of it: its sheet says so."""
    found = problems((ENGINE, "features:\n", COMPRESSION.format(columns)))
    at = [one for one in found if "no column that the kind 'compression' reads" in one.message]
    assert [(one.file, one.severity) for one in at] == [(ENGINE, severity)]
    assert hint in at[0].suggestion and "columns:" in at[0].quote
