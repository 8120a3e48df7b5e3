"""``start engine``: a sheet of the engine that somebody described, whichever it is, and of no other."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rebuildreport.commands.blanks.engine_questions import QUESTIONS
from rebuildreport.commands.blanks.engine_sheet import DescribedEngine, sheet_text
from rebuildreport.commands.main import run
from rebuildreport.commands.start import _asked
from rebuildreport.records import load_shop

from .. import DEEPER

WORDS = {name: st.sampled_from(("", *words)) for name, (_, words) in QUESTIONS.items() if words}
WORDS["unit"] = st.sampled_from(("mm", "in"))
ENGINES = st.builds(
    DescribedEngine,
    cylinders=st.sampled_from((0, 1, 2, 3, 4, 6, 8, 12)),
    arrangement=st.sampled_from(("", "inline", "V", "flat", "radial: odd")),
    fuel=st.sampled_from(("", "gasoline", "diesel", "gas")),
    valves_each=st.integers(1, 5),
    mains_count=st.sampled_from((0, 2, 5)),
    **WORDS,
)
SHOP = "name: x\ncontact: x\ncurrency: EUR\nlanguage: en\nfirst_unit: mm\ndecision_rule: guarded\n"

# what nobody finds in such an engine (common knowledge of the trade)
FOREIGN = {
    "air-cooled": (lambda e: e.cooling == "air", r"water|coolant|radiator|jacket|wet liner"),
    "rollers alone": (lambda e: (e.bearings, e.rod_bearings) == ("roller", ""), r"shell|main_clearance"),
    "no valves": (lambda e: e.valves == "none", r"valve|\bcam|lash|tappet|\blobe|timing_(gear|chain)|belt"),
    "two-stroke on petrol": (
        lambda e: (e.strokes, e.fuel, e.valves) == ("2", "gasoline", ""),
        r"valve|\bcam|lash|oil_pump|oil_pressure|sump|oil filter",
    ),
    "pressed crank": (lambda e: e.crank == "pressed", r"rod_journals|rod_cap|rod_bolt|rod bolt|rod_shells"),
    "diesel": (lambda e: e.fuel == "diesel", r"spark|gasoline|petrol"),
    "petrol": (lambda e: e.fuel == "gasoline", r"injectors"),
    "four-stroke": (lambda e: e.strokes == "4", r"crankcases"),
    "inline": (lambda e: e.arrangement == "inline", r"\bbank"),
    "barrels": (lambda e: e.liners == "barrels", r"head_height|over the deck"),
}


@settings(
    max_examples=50 * DEEPER, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(engine=ENGINES)
def test_whatever_it_is(engine: DescribedEngine, tmp_path: Path) -> None:
    if engine.refused:
        return
    text = sheet_text("any", engine)
    for what, (such, words) in FOREIGN.items():
        found = re.search(words, text, re.IGNORECASE) if such(engine) else None
        assert not found, f"{what}: {text[max(0, found.start() - 80) : found.end() + 40]}"
    (tmp_path / "engines").mkdir(exist_ok=True)
    (tmp_path / "shop.yaml").write_text(SHOP, "utf-8")
    (tmp_path / "engines/any.yaml").write_text(text, "utf-8")
    shop = load_shop(tmp_path)
    assert [one for one in shop.all_problems if one.file.startswith("engines/")] == []
    sheet = shop.engines["any"].model
    assert sheet is not None and bool(sheet.features) == bool(engine.cylinders)


@pytest.mark.parametrize(
    ("engine", "asked"),
    [
        (DescribedEngine(2, "inline", strokes="2", fuel="gasoline", valves="none"), "crankcases"),
        (DescribedEngine(4, "inline", strokes="4", fuel="diesel"), "injectors"),
    ],
)
def test_what_such_an_engine_lives_by_is_asked(engine: DescribedEngine, asked: str) -> None:
    """A two-stroke breathes through sealed crankcases, a diesel lives by its injectors (common practice)."""
    sheet = yaml.safe_load(sheet_text("any", engine))
    assert asked in sheet["features"]


def test_what_cannot_be_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["start", "engine", "x", "--cooling", "air", "--liners", "wet", "--shop", str(tmp_path)]
    assert run(words) == 2 and not any(tmp_path.iterdir())
    assert "wet liners" in capsys.readouterr().err


def test_like_a_sheet_of_the_shops_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = ["--shop", str(tmp_path)]
    run(["start", "engine", "alder-four", "--cylinders", "4", *shop])
    assert run(["start", "engine", "alder-six", "--like", "alder-four", *shop]) == 0
    first, second = ((tmp_path / f"engines/alder-{n}.yaml").read_text("utf-8") for n in ("four", "six"))
    new = [line for line in difflib.ndiff(first.splitlines(), second.splitlines()) if line[0] == "+"]
    assert len(new) == 3 and "+ model: alder-six" in new and "figure in here is that engine's" in new[0]
    assert load_shop(tmp_path).all_problems == []
    assert run(["start", "engine", "y", "--like", "alder-fuor", *shop]) == 2
    assert "alder-four" in capsys.readouterr().err


TWIN = (
    "--cylinders 2 --arrangement flat --strokes 4 --cooling air --fuel gasoline --valves pushrod --drive gear"
)
TWIN += " --crank pressed --bearings roller --liners barrels"
EIGHT = (
    "--cylinders 8 --arrangement V --strokes 4 --cooling water --fuel gasoline --valves pushrod --drive chain"
)
EIGHT += " --crank one-piece --bearings shells --liners none --unit in"


@pytest.mark.parametrize(("words", "low", "high"), [(TWIN, "20.000", "20.020"), (EIGHT, "2.4480", "2.4490")])
def test_from_nothing_to_a_report(words: str, low: str, high: str, tmp_path: Path) -> None:
    """As a newcomer does it: take the # from the limits, put figures in, begin the job, publish."""
    shop, out = ["--shop", str(tmp_path / "jobs")], str(tmp_path / "site")
    assert run(["start", "engine", "mine", *words.split(), *shop]) == 0
    sheet = tmp_path / "jobs/engines/mine.yaml"
    lines = sheet.read_text("utf-8").splitlines()
    limits = re.compile(r"( +)#((?:new|wear):|\w+: (?:\.\.\. to|max|min|see).*|source: manual.*)$")
    examples = ("  #timing_chain", "  #rod_bolt_length", "# reuse")  # nothing to be filled in behind them
    end = next(i for i, line in enumerate(lines) if line.startswith(examples))
    filled = [limits.sub(r"\1\2", line) if i < end else line for i, line in enumerate(lines)]
    text = (
        "\n".join(filled)
        .replace("... to ...", f"{low} to {high}")
        .replace("manual page ...", "manual page 7")
    )
    sheet.write_text(re.sub(r"(max|min) \.\.\.", rf"\1 {low}", text) + "\n", "utf-8")
    assert run(["start", "job", "1-mine", "--opened", "2031-03-03", *shop]) == 0
    problems = load_shop(tmp_path / "jobs").all_problems
    assert [one for one in problems if one.severity == "error" or "no columns that" in one.message] == []
    assert run(["publish", "--no-pdf", *shop, "--out", out]) == 0
    assert (tmp_path / "site/shop/1-mine/index.html").is_file()


def test_what_no_option_says_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a two-stroke on petrol nobody is asked about valves; Enter leaves a question open."""
    answers = {"strokes": "2", "fuel": "gasoline", "crankshaft": "pressed", "cooled": "air"}
    asked = []

    def prompt(text: str, *, value_proc: Callable[[str], str | int], **_: object) -> str | int:
        asked.append(text)
        return value_proc(next((typed for word, typed in answers.items() if text.startswith(word)), ""))

    monkeypatch.setattr("click.prompt", prompt)
    found = _asked(DescribedEngine(cylinders=2), {"cylinders"})
    assert found == DescribedEngine(2, strokes="2", fuel="gasoline", crank="pressed", cooling="air")
    assert not any(re.search("valve|cams|how many cylinders", text) for text in asked)


@pytest.mark.parametrize(("bearings", "feature"), [("shells", "main_journals"), ("roller", "main_rollers")])
def test_mains_that_were_counted_have_their_rows(bearings: str, feature: str) -> None:
    text = sheet_text("x", DescribedEngine(cylinders=3, strokes="2", bearings=bearings, mains_count=4))
    assert yaml.safe_load(text)["features"][feature]["positions"] == "M1 to M4"
    assert "as many as the crank has" not in text
