"""What speaks for the usual causes of a failure: by what every bench knows, and by what less knowledge is."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.assess import assess_for_documents
from rebuildreport.assess.model.failure_evidence import FindingEvidence
from rebuildreport.assess.telling.filing import Filing
from rebuildreport.records import load_shop
from rebuildreport.records.checks.vocabulary import subject_of
from rebuildreport.records.files.sheet import Engine
from rebuildreport.trade.engine.failure_causes import BEARING, CAUSES, LOOKS, weigh
from rebuildreport.trade.engine.subjects import BY_KIND, TITLES, cause_subjects
from rebuildreport.trade.kinds import KINDS

ROOT = Path(__file__).resolve().parents[2]
SIX = "2026-003-orchard-six"
subjects = st.sampled_from(sorted(CAUSES))
shown = st.dictionaries(st.sampled_from(sorted(LOOKS)), st.booleans())


@given(subjects, shown, st.data())
def test_less_knowledge_is_less_evidence(subject: str, looks: dict[str, bool], data: st.DataObject) -> None:
    """Without one look nothing speaks for or against a cause that did not before, and it is named as open."""
    lost = data.draw(st.sampled_from(sorted(LOOKS)))
    less = {look: is_so for look, is_so in looks.items() if look != lost}
    for with_it, without in zip(weigh(subject, looks, LOOKS), weigh(subject, less, LOOKS), strict=True):  # type: ignore[arg-type]
        assert {*without.speaks_for} == {*with_it.speaks_for} - {lost}
        assert {*without.against} == {*with_it.against} - {lost}
        assert (lost in without.unknown) == (lost in CAUSES[subject][with_it.cause])  # type: ignore[index]


def test_bend_speaks_for_misalignment() -> None:
    """Common practice: a crank or a rod that is bent loads edges; where none is bent, that is not why."""
    for look in ("bent crank", "bent rod"):
        for is_so in (True, False):
            one = next(w for w in weigh("bearing", {look: is_so}, [look]) if w.cause == "misalignment")
            assert (look in one.speaks_for) == is_so and (look in one.against) == (not is_so)
        nothing = weigh("bearing", {}, [look])
        assert not any(one.speaks_for or one.against for one in nothing)


def test_every_look_is_of_some_cause() -> None:
    assert {look for table in CAUSES.values() for looks in table.values() for look in looks} == {*LOOKS}
    assert {*BEARING} == {
        "overload", "starvation", "dirt", "misalignment", "bend", "fatigue", "corrosion", "assembly",
        "fuel in oil",
    }  # fmt: skip


def _evidence(folder: Path, *changes: tuple[str, str, str]) -> dict[str, FindingEvidence]:
    shop = folder / "jobs"
    shutil.copytree(ROOT / "jobs" / SIX, shop / SIX, ignore=shutil.ignore_patterns("photos"))
    shutil.copytree(ROOT / "jobs" / "engines", shop / "engines")
    shutil.copy(ROOT / "jobs" / "shop.yaml", shop)
    for file, before, after in changes:
        path = shop / SIX / file
        text = path.read_text("utf-8")
        assert before in text
        path.write_text(text.replace(before, after), "utf-8")
    loaded = load_shop(shop, [SIX])
    told = assess_for_documents(loaded, loaded.jobs[SIX]).evidence
    return {one.finding: one for one in told}


def _for(one: FindingEvidence, cause: str) -> tuple[set[str], set[str], set[str]]:
    found = next(c for c in one.causes if c.cause == cause)
    return {c.look for c in found.speaks_for}, {c.look for c in found.against}, {*found.unknown}


def test_the_six_s_bearing_and_what_is_read_of_it(tmp_path: Path) -> None:
    """Pump and pressure past their limits, one main of seven, a film that held: oil, and not the load."""
    found = _evidence(tmp_path / "a")
    main, rod = found["F1"], found["F3"]
    assert main.causes[0].cause == main.named == "starvation" and main.by_hand
    assert {"oil pressure", "oil pump", "oil film"} <= _for(main, "starvation")[0]
    # a film is told with its clearance: of M4 as it failed, at least 0.206, and not of the one ground since
    film = next(c for c in main.causes[0].speaks_for if c.look == "oil film")
    assert film.figures[1] == pytest.approx(0.206, abs=0.001)
    assert "oil film" in _for(main, "overload")[1] and "loaded half" in _for(main, "overload")[2]
    assert "alone" in _for(main, "fuel in oil")[1]
    assert "housing" in _for(rod, "assembly")[0] and "housing" in _for(main, "assembly")[1]
    assert not any("bent rod" in (*_for(main, cause)[0], *_for(main, cause)[1]) for cause in BEARING)
    assert "F7" not in found  # a head's face is none of the three
    # a worn lower half is the one that bears; a worn upper one speaks against the load
    walls = "  main_shells:\n    unit: mm\n    columns: upper  lower\n    rows:\n      M4:    {}\n"
    anchor = "  liners:\n"
    lower = _evidence(
        tmp_path / "b", ("measurements/arrival.yaml", anchor, walls.format("1.970  1.930") + anchor)
    )
    upper = _evidence(
        tmp_path / "c", ("measurements/arrival.yaml", anchor, walls.format("1.930  1.970") + anchor)
    )
    assert "loaded half" in _for(lower["F1"], "overload")[0]
    assert "loaded half" in _for(upper["F1"], "overload")[1] & _for(upper["F1"], "fatigue")[1]
    assert "loaded half" in _for(upper["F1"], "misalignment")[0]


def test_wear_is_weighed_over_all_positions_and_their_halves(tmp_path: Path) -> None:
    """A finding about two bearings rests on both: the film is the thinner one's, walls that contradict each
    other say nothing, and the row is told."""
    walls = "  main_shells:\n    unit: mm\n    columns: upper  lower\n    rows:\n"
    rows = ("M2", "M4", "M6"), "      {}:    {}\n"
    two = ("findings.yaml", "positions: M4", "positions: M4 M6")

    def read(folder: str, *halves: str) -> FindingEvidence:
        text = walls + "".join(rows[1].format(at, half) for at, half in zip(rows[0], halves, strict=True))
        change = ("measurements/arrival.yaml", "  liners:\n", text + "  liners:\n")
        return _evidence(tmp_path / folder, two, change)["F1"]

    worn, whole = "1.970  1.930", "1.970  1.969"
    alike = read("a", whole, worn, worn)
    assert alike.positions == ("M4", "M6")
    clue = next(c for one in alike.causes for c in one.speaks_for if c.look == "loaded half")
    assert clue.figures == pytest.approx((0.040, 2, 2))
    other = read("b", whole, worn, "1.930  1.970")
    assert not any(c.look == "loaded half" for one in other.causes for c in (*one.speaks_for, *one.against))
    assert any("loaded half" in one.unknown for one in other.causes)


def test_what_an_engine_has_not_is_not_named_as_not_looked_at(tmp_path: Path) -> None:
    """A two-stroke that burns its oil has no sump to drain and no filter to cut open (common practice)."""
    sheet = ("../engines/tarnbeck-od6-54.yaml", "  strokes: 4\n", "  strokes: 2\n")
    fuel = ("../engines/tarnbeck-od6-54.yaml", "fuel: diesel", "fuel: gasoline")
    uncut = ("job.yaml", "    particles: yes\n", "")

    def not_looked_at(folder: str, *changes: tuple[str, str, str]) -> set[str]:
        told = _evidence(tmp_path / folder, uncut, *changes)["F1"]
        return {look for one in told.causes for look in one.unknown}

    sump = {"particles in the filter", "fuel drained"}
    assert sump <= not_looked_at("four") and sump <= not_looked_at("diesel", sheet)
    assert not sump & not_looked_at("burnt", sheet, fuel)


@pytest.mark.parametrize(
    ("cause", "said"),
    [("worn guide", "no usual cause of a bearing's failure"), ("starvatoin", "starvation")],
)
def test_a_cause_that_cannot_be_is_told_at_its_line(tmp_path: Path, cause: str, said: str) -> None:
    shop = tmp_path / "jobs"
    shutil.copytree(ROOT / "jobs" / SIX, shop / SIX, ignore=shutil.ignore_patterns("photos"))
    shutil.copytree(ROOT / "jobs" / "engines", shop / "engines")
    shutil.copy(ROOT / "jobs" / "shop.yaml", shop)
    file = shop / SIX / "findings.yaml"
    file.write_text(
        file.read_text("utf-8").replace("points_to: starvation", f"points_to: {cause}", 1), "utf-8"
    )
    line = next(n for n, text in enumerate(file.read_text("utf-8").splitlines(), 1) if cause in text)
    problems = [one for one in load_shop(shop, [SIX]).jobs[SIX].problems if one.line == line]
    assert any(said in f"{one.message} {one.suggestion}" for one in problems), problems


def test_what_a_finding_is_about_is_asked_of_the_sheet_and_of_whole_names() -> None:
    """A skirt is a piston's because a fit says so; a valve's cover and a piston's pin are neither."""
    sheet = load_shop(ROOT / "jobs", [SIX]).engines["tarnbeck-od6-54"].model
    assert sheet is not None
    features = dict(sheet.features)
    fit = next(one for one in features.values() if one.kind == "fit")
    skirts = fit.links(["inner"])["inner"]
    features["hemden"] = features[skirts].model_copy(update={"part": "gehaeuse"})
    features["spiel"] = fit.model_copy(update={"inner": "hemden"})
    engine = sheet.model_copy(update={"features": features})
    assert subject_of(engine, "hemden") == "piston"
    assert [subject_of(engine, name) for name in ("exhaust_valves", "kolben")] == ["valve", "piston"]
    for name in ("valve_cover", "relief_valve", "ventildeckel", "piston_pin", "kolbenbolzen"):
        assert subject_of(engine, name) is None, name


@pytest.mark.parametrize("name", [path.stem for path in sorted((ROOT / "jobs" / "engines").glob("*.yaml"))])
def test_a_shop_files_a_part_whatever_it_is_called(name: str, tmp_path: Path) -> None:
    """The same history, be the sheet's names English, German or a shop's own: names tell nothing.

    Of the sheet alone known: shells are a rod's where rods run in them, a bore where pistons do.
    """
    text = (ROOT / "jobs" / "engines" / f"{name}.yaml").read_text("utf-8")
    sheet = load_shop(ROOT / "jobs").engines[name].model
    assert sheet is not None
    other = {feature: f"stelle_{number}" for number, feature in enumerate(sheet.features)}
    words = re.compile(rf"(?<![-\w])(?:{'|'.join(sorted(other, key=len, reverse=True))})(?!\w)")
    lines = []
    for line in text[: text.index("\naccess:")].splitlines():
        key, _, value = line.partition(":")
        if key.strip() == "title":
            continue
        if re.match(r"  \w", key):
            key = words.sub(lambda found: other[found[0]], key)
        kept = key.strip() in ("kind", "part")
        lines.append(
            f"{key}:{value if kept else words.sub(lambda found: other[found[0]], value)}"
            if ":" in line
            else line
        )
    renamed = Engine.model_validate(yaml.load("\n".join(lines), yaml.BaseLoader))
    filed = {feature: Filing(sheet).heading(feature) for feature in sheet.features}
    assert filed == {feature: Filing(renamed).heading(other[feature]) for feature in sheet.features}
    for feature, code in {
        "main_shells": "main_bearings", "rod_shells": "rod_bearings", "rod_crush": "rod_bearings",
        "main_journals": "crankshaft", "bores": "cylinders", "rod_housings": "rods", "main_housings": "block",
        "head_flatness": "head", "crank_end_float": "main_bearings", "crank_runout": "crankshaft",
        "cam_runout": "camshaft",
    }.items():  # fmt: skip
        assert filed.get(feature, code) == code, feature
    assert {*BY_KIND} <= {*KINDS} and {*BY_KIND.values()} <= {*TITLES}


def test_the_cause_that_a_person_named_decides_and_words_propose() -> None:
    assert cause_subjects("hours, dirt and heat", "assembly") == ("earlier_work",)
    assert cause_subjects("hours, dirt and heat") == ("dirt", "overheating", "hours")
