"""The bench page in a browser, from a file and without a network."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import segno
from axe_playwright_python.sync_playwright import Axe
from msgspec.structs import replace
from playwright.sync_api import expect

from rebuildreport.assess import assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.model.assessment import Assessment, Due, DueRound
from rebuildreport.documents.bench.roundfile import layout
from rebuildreport.documents.sheets import register
from rebuildreport.quantities import QuantityError
from rebuildreport.records import ShopFolder, load_shop
from rebuildreport.records.doubts import degrees, headings, misread, slips, suspects
from rebuildreport.records.files.measured import MeasuredTable, base
from rebuildreport.records.files.rounds import Cell, Table
from rebuildreport.records.files.rows import cell
from rebuildreport.records.text.reader import Source, read_bytes
from rebuildreport.records.text.writing import round_text
from rebuildreport.trade.kinds import KINDS

DEMO = Path(__file__).resolve().parents[2] / "jobs"
SIX = "2026-003-orchard-six"
HEAD = ("2026-02-05", "bench 1", "20 °C")
Readings = dict[tuple[str, str, str], str]  # feature, position, column: as typed


@cache
def shop() -> ShopFolder:
    return load_shop(DEMO, [SIX])


@cache
def evening(language: str = "en") -> Assessment:
    """The orchard six on its first evening: everything is due."""
    job = replace(
        shop().jobs[SIX], rounds={}, teardown=None, findings=None, work=None, assembly=None, running=None
    )
    one = assess_job(shop(), job)
    return replace(one, shop_language=language, due=DueRound("arrival", due(shop(), job, one)))


@cache
def found() -> tuple[Due, ...]:
    known = evening().due
    assert known is not None
    return known.features


@pytest.fixture
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bench")


def written(folder: Path, features: tuple[Due, ...] | None = None, language: str = "en") -> Path:
    """The page of some features, of all that are due without any."""
    one, sheet = evening(language), register.named("bench-page")
    if features is not None:
        one = replace(one, due=DueRound("arrival", features))
    path = folder / f"bench-page-{language}.html"
    path.write_text(sheet.html(sheet.view(one)), "utf-8")
    return path


@pytest.fixture
def phone(chromium: Any) -> Iterator[Callable[..., Any]]:
    """Opens a page on a phone that has no network and no fault to tell; one phone keeps for all its pages."""
    faults: list[str] = []
    contexts: dict[str, Any] = {}

    def opened(path: Path, name: str = "mine", **how: Any) -> Any:
        if name not in contexts:
            size = {"width": 390, "height": 844}
            contexts[name] = chromium.new_context(viewport=size, offline=True, **how)
        page = contexts[name].new_page()
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        page.goto(path.as_uri())
        return page

    yield opened
    for context in contexts.values():
        context.close()
    assert not faults


def demo_round(name: str) -> tuple[tuple[Due, ...], Readings]:
    """The features that a round of the demo measured and the sheet has boxes for, and its readings."""
    taken, features, read = shop().jobs[SIX].rounds[name], [], {}
    for each in found():
        table = taken.model.tables.get(each.feature)
        if table is None or table.feature:
            continue
        cells = taken.cells[each.feature]
        positions = tuple(at for at in each.positions if at in cells)
        tools = (table.instrument,) if table.instrument else ()
        to_set = any(shop().shop.instruments[tool].set_in_another for tool in tools)
        features.append(replace(each, positions=positions, instruments=tools, to_set=to_set))
        for at in features[-1].positions:
            for column in each.columns:
                if column in cells[at] and cells[at][column].state != "not taken":
                    read[each.feature, at, column] = cells[at][column].text
    return tuple(features), read


def boxes(features: Iterable[Due]) -> list[tuple[str, str, str]]:
    return [
        (each.feature, at, column) for each in features for at in each.positions for column in each.columns
    ]


def as_laid_out(features: Iterable[Due], readings: Readings) -> str:
    """The round's file as the program writes it."""
    laid = []
    for each in features:
        mine = {(at, column): text for (name, at, column), text in readings.items() if name == each.feature}
        laid.append(layout(each).lines(mine))
    return round_text(*HEAD, laid)


def head(page: Any) -> None:
    for name, text in zip(("date", "by", "temperature"), HEAD, strict=True):
        page.fill(f"#h-{name}", text)
        page.dispatch_event(f"#h-{name}", "change")


def saved(page: Any) -> str:
    with page.expect_download() as waiting:
        page.click("#save")
    assert waiting.value.suggested_filename == "arrival.yaml"
    return Path(waiting.value.path()).read_text("utf-8")


def test_it_is_one_small_file_in_either_language(folder: Path) -> None:
    for tag, word in (("en", "Type it again"), ("de", "Noch einmal eingeben")):
        path = written(folder, language=tag)
        text = path.read_text("utf-8")
        assert path.stat().st_size < 300_000 and word in text and f'<html lang="{tag}">' in text
        assert not re.search(r'(?:src|href)="(?!data:)|https?:', text)


def test_the_place_to_measure_is_lit(phone: Callable[..., Any], folder: Path) -> None:
    """Of every feature of the six: where there is but one place, its name says which."""
    page = phone(written(folder))
    dark = page.evaluate(
        """() => places.filter(({ t, p, c }) => {
            const table = tables[t], position = table.positions[p], column = table.columns[c];
            const lit = ROUND.drawings[table.drawing]?.lit ?? {};
            const names = [...table.lit[column], position, `${column} ${position}`];
            return table.positions.length > 1 && !names.some((name) => lit[name]);
        }).map(spotOf)"""
    )
    assert dark == []


BY_HAND = 40  # readings whose keys go the whole way through the browser, three of its processes for each
# the rest of a long round within the page: what a key does that no script of the page takes to itself
IN_THE_PAGE = """(typed) => typed.findIndex((keys) => {
    for (const key of keys) {
        const told = new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true });
        const at = document.activeElement;
        if (!at.dispatchEvent(told)) continue;
        if (key === "\\n") at.form.requestSubmit();
        else at.setRangeText(key, at.selectionStart, at.selectionEnd, "end");
    }
    return waiting !== null;
})"""


def type_in(page: Any, places: list[tuple[str, str, str]], read: Readings) -> int:
    """A whole round by keys alone, as a person or a gauge types it; how many keys that took.

    None of the demo's readings is asked about as it is typed: they are honest.
    """
    page.focus("#reading")
    typed = [
        {"--": "x", "none": "n"}.get(text, f"{text}\n") for text in (read.get(at, "--") for at in places)
    ]
    for place, keys in zip(places[:BY_HAND], typed[:BY_HAND], strict=True):
        page.keyboard.type(keys)
        assert page.evaluate("waiting") is None, (place, keys)
    asked = page.evaluate(IN_THE_PAGE, typed[BY_HAND:])
    assert asked == -1, (places[BY_HAND + asked], typed[BY_HAND + asked])
    return sum(map(len, typed))


@pytest.mark.parametrize("name", ["arrival", "crank-b", "after-machining", "at-assembly"])
def test_what_is_typed_is_what_is_written(name: str, phone: Callable[..., Any], folder: Path) -> None:
    """More than a thousand readings of the demo's six; then the bytes of the program."""
    features, read = demo_round(name)
    page = phone(written(folder, features))
    head(page)
    presses = type_in(page, boxes(features), read)
    whole = as_laid_out(features, read)
    assert saved(page) == whole
    assert page.inner_text("#say")
    typed_by_hand = sum(len(line.partition("  #")[0]) + 1 for line in whole.splitlines()[4:])
    assert presses * 2 < typed_by_hand, (presses, typed_by_hand)
    source, problems = read_bytes(whole.encode(), "arrival.yaml")
    assert not problems and len(source.data["tables"]) == len(features)


def test_the_demo_has_a_thousand_readings_to_type() -> None:
    assert sum(len(demo_round(name)[1]) for name in shop().jobs[SIX].rounds) > 1000


def test_a_question_waits_for_an_answer(phone: Callable[..., Any], folder: Path) -> None:
    """What cannot be is asked at once; typed again it is forgotten, and told so it stands with its mark."""
    features, read = demo_round("crank-b")
    page = phone(written(folder, features))
    first = boxes(features)[:4]
    type_in(page, first[:3], read)
    page.keyboard.type("759.68\n")
    assert page.evaluate("document.activeElement.id") == "again"
    assert "759.68" not in page.inner_text("#file") and page.is_hidden("#keys")
    page.keyboard.type(read[first[3]] + "\n")  # a gauge knows no buttons: its next value is the answer
    assert read[first[3]] in page.inner_text("#file")
    page.keyboard.press("u")
    page.fill("#reading", "75,968")
    page.keyboard.press("Enter")
    assert page.is_hidden("#stands") and "comma" in page.inner_text("#why")
    page.keyboard.press("Escape")
    page.fill("#reading", "7.597")
    page.keyboard.press("Enter")
    page.click("#stands")
    assert "7.597!" in page.inner_text("#file")


def test_a_gauge_that_writes_a_comma(phone: Callable[..., Any], folder: Path) -> None:
    """Asked about until somebody says that it is the point; a keypad's decimal key is one anywhere."""
    features, read = demo_round("crank-b")
    page = phone(written(folder, features))
    (first, text), (second, _) = list(read.items())[:2]
    page.check("#comma")
    page.focus("#reading")
    page.keyboard.type(text.replace(".", ",") + "\n")
    page.keyboard.type("75")
    key = "{code: 'NumpadDecimal', key: ',', bubbles: true}"
    page.evaluate(f"input.dispatchEvent(new KeyboardEvent('keydown', {key}))")
    page.keyboard.type("970\n")
    head(page)
    assert saved(page) == as_laid_out(features, {first: text, second: "75.970"})


def test_limits_are_hidden_until_a_value_stands(phone: Callable[..., Any], folder: Path) -> None:
    features, read = demo_round("crank-b")
    page = phone(written(folder, features))
    assert "75.97" not in page.evaluate("document.body.innerText")
    type_in(page, boxes(features)[:1], read)
    assert page.inner_text("#limits") == ""
    page.keyboard.press("ArrowUp")
    assert "75.970" in page.inner_text("#limits")


def test_nothing_is_lost(phone: Callable[..., Any], folder: Path) -> None:
    """Two windows of one phone, a page that dies, another phone that goes on with the file."""
    features, read = demo_round("crank-b")
    path, places = written(folder, features), boxes(features)
    one = phone(path)
    type_in(one, places[:3], read)
    other = phone(path)
    assert other.inner_text("#place") == one.inner_text("#place")
    type_in(one, places[3:4], read)
    expect(other.locator("#place")).to_have_text(one.inner_text("#place"))  # it has heard of the fourth
    type_in(other, places[4:6], read)
    expect(one.locator("#place")).to_have_text(other.inner_text("#place"))
    type_in(one, places[6:7], read)
    one.close()
    other.close()
    again = phone(path)
    head(again)
    part = {place: read[place] for place in places[:7] if place in read}
    begun = saved(again)
    assert begun == as_laid_out(features, part)
    (folder / "arrival.yaml").write_text(begun, "utf-8")
    elsewhere = phone(path, "another")
    elsewhere.set_input_files("#open", str(folder / "arrival.yaml"))
    expect(elsewhere.locator("#told")).not_to_be_empty()
    type_in(elsewhere, [place for place in places if place not in part], read)
    assert saved(elsewhere) == as_laid_out(features, read)


def test_a_round_goes_on_by_its_codes(phone: Callable[..., Any], folder: Path) -> None:
    """Read by the camera of another device, in any order; its text pasted, or typed by a hand scanner."""
    features, read = demo_round("arrival")
    path = written(folder, features)
    one, other = phone(path), phone(path, "another")
    head(one)
    other.clock.install()
    one.evaluate(
        "(all) => all.forEach(([place, text]) => keep(`r\t${place.join('\t')}`, text))", list(read.items())
    )
    one.click("#codes")
    parts = one.evaluate("parts")
    assert len(parts) > 2
    for part in reversed(parts):
        other.fill("#paste", part.rstrip("\n"))
        other.clock.run_for(1000)  # a scanner types letter by letter: the page waits until it is still
        expect(other.locator("#paste")).to_have_value("")
        if part is parts[-1]:
            assert other.inner_text("#told") == f"1 of {len(parts)} codes are here."
    assert saved(other) == as_laid_out(features, read)


def test_where_two_windows_stand_at_one_place_the_second_is_asked(
    phone: Callable[..., Any], folder: Path
) -> None:
    features, read = demo_round("crank-b")
    path, first = written(folder, features), boxes(features)[0]
    one, other = phone(path), phone(path)
    other.fill("#reading", "75.900")
    type_in(one, [first], read)
    other.press("#reading", "Enter")
    assert read[first] in other.inner_text("#why")
    other.click("#stands")
    assert "75.900" in one.inner_text("#file") and "!" not in one.inner_text("#file")


def test_the_codes_are_those_of_the_standard(phone: Callable[..., Any], folder: Path) -> None:
    """ISO/IEC 18004 as the library segno draws it, for every size that is used, filled to the last byte.

    (What fills the rest of a code may differ, and no reader looks at it.)
    """
    page = phone(written(folder, demo_round("crank-b")[0]))
    sizes = page.evaluate("QR_CHECK.map((_, i) => dataBytes(i + 1) - (i < 9 ? 2 : 3))")
    for version, size in enumerate(sizes, 1):
        text = "".join(random.Random(version).choices("M1: 75.968/<\n", k=size))
        drawn = page.evaluate("qrCode", text)
        how = {"error": "l", "mode": "byte", "boost_error": False, "mask": drawn["mask"], "version": version}
        assert drawn["rows"] == [list(row) for row in segno.make(text, **how).matrix], version
    page.click("#codes")
    parts = page.evaluate("parts")
    assert page.get_attribute("#code svg", "aria-label") == page.inner_text("#codeNumber")
    remark = re.compile(r"^# \d+/\d+\n")
    assert "".join(remark.sub("", part) for part in parts) == page.evaluate("wholeFile()")


NAMES = (
    "Müller",
    "bench 1",
    "2: me",
    "# 3",
    "- a",
    "yes",
    '"q"',
    "a #b",
    "null",
    "{x}",
    "%",
    "a\\b",
    "1/2",
    "☃ & Co",
)


def test_who_measured_is_read_back_as_typed(phone: Callable[..., Any], folder: Path) -> None:
    page = phone(written(folder, demo_round("crank-b")[0]))
    for name in NAMES:
        page.fill("#h-by", name)
        page.dispatch_event("#h-by", "change")
        source, problems = read_bytes(page.evaluate("wholeFile()").encode(), "arrival.yaml")
        assert (source.data["by"], problems) == (name, [])


def test_a_photo_is_named_by_job_part_and_position(phone: Callable[..., Any], folder: Path) -> None:
    features, _ = demo_round("crank-b")
    page = phone(written(folder, features))
    (folder / "IMG_1.JPG").write_bytes(b"\xff\xd8\xff")
    with page.expect_download() as waiting:
        page.set_input_files("#photo", str(folder / "IMG_1.JPG"))
    assert waiting.value.suggested_filename == f"{SIX}-{features[0].feature}-{features[0].positions[0]}-1.jpg"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_glove_and_a_screen_reader_can_use_it(scheme: str, phone: Callable[..., Any], folder: Path) -> None:
    """WCAG 2.1 AA by axe, keys of 56 px on a phone, all of them on its first screen."""
    page = phone(written(folder), color_scheme=scheme)
    page.evaluate("go(tables.find((table) => table.feature === 'main_housings').from)")
    for _ in range(2):
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        sizes = page.evaluate(
            "[...document.querySelectorAll('button, select, .button, .check')]"
            ".filter((one) => one.offsetParent)"
            ".map((one) => [one.id || one.textContent, one.offsetHeight, one.offsetWidth])"
        )
        assert [one for one in sizes if one[1] < 56 or one[2] < 44] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.keyboard.type("8.0\n")
    assert page.is_visible("#ask")
    page.keyboard.press("Escape")
    assert page.evaluate("document.getElementById('keys').getBoundingClientRect().bottom") <= 844
    assert page.get_attribute("#say", "aria-live") == "polite"


Case = tuple[int, dict[str, str], str, str, str]  # table, what stands beside, position, column, as typed


def mistyped(sure: random.Random, text: str, unit: str) -> str:
    """A reading as a tired hand may leave it, or as it is right."""
    number = re.match(r"<?[+-]?[0-9]*\.?[0-9]*", text)
    bare = number[0].lstrip("<") if number and number[0].strip("<.+-") else "1.25"
    value, places = float(bare), len(bare.partition(".")[2])
    k = sure.randrange(1, max(2, len(bare)))
    made = (
        bare,
        f"{value + sure.choice((0.001, 0.01, 0.02, 0.1, 0.5, -0.5, -0.02)):.{places}f}",
        f"{value * sure.choice((0.1, 10, 100, 0.01, 0.001)):.{sure.randrange(5)}f}",
        f"{value * sure.choice((25.4, 1 / 25.4)):.{sure.choice((3, 4))}f}",
        bare[: k - 1] + bare[k : k + 1] + bare[k - 1 : k] + bare[k + 1 :],
        bare[:k] + bare[k - 1 :],
        bare[:k] + bare[k + 1 :],
        bare + sure.choice("05"),
        f"{bare}/{value + sure.choice((0, 0.001, 0.003, 0.05)):.{places}f}",
        bare + sure.choice(("mm", "in", "thou", "bar", "!", "?", "x", '"', " ", "/", "<")),
        bare.replace(".", ","),
        f"<{bare}",
        f"{bare}<{value + sure.choice((0.05, -0.05)):.{places}f}",
        f"{value / 25.4:.4f}in" if unit == "mm" else f"-{bare}",
        sure.choice(("--", "none", "-", "1/2", "1/", ".", "+", ".5", "5.", "1e3", "0", "-0.02", "٣")),
    )
    return sure.choice(made)


def cases(sure: random.Random, count: int) -> Iterator[Case]:
    read, wanted = demo_round("arrival")[1], [(i, each) for i, each in enumerate(found())]
    for _ in range(count):
        number, each = sure.choice(wanted)
        own = {
            (at, column): read.get((each.feature, at, column), "--")
            for at in each.positions
            for column in each.columns
        }
        position, column = sure.choice(list(own))
        share = sure.random()
        beside = {
            f"{at}\t{name}": (mistyped(sure, text, each.unit) if sure.random() < 0.04 else text)
            for (at, name), text in own.items()
            if sure.random() < share and text != "--" and (at, name) != (position, column)
        }
        text = (
            own[position, column]
            if own[position, column] != "--"
            else sure.choice([*beside.values(), "0.35"])
        )
        yield number, beside, position, column, mistyped(sure, text, each.unit)


def asked_by_check(case: Case) -> bool:
    """Whether ``check`` says that this cell is none, or asks about it, by what its table alone shows."""
    number, beside, position, column, token = case
    each = found()[number]
    engine = shop().engines[shop().jobs[SIX].job.engine].model  # type: ignore[union-attr]
    house = shop().shop
    assert engine is not None and house is not None
    feature = engine.features[each.feature]
    if not token.strip() or " " in token:
        return True
    own = base(feature.unit or "mm")
    rows: dict[str, dict[str, Cell]] = {at: {} for at in each.positions}
    for at in each.positions:
        for name in each.columns:
            here = (at, name) == (position, column)
            try:
                rows[at][name] = cell(
                    token if here else beside.get(f"{at}\t{name}", "--"), feature.unit or "mm"
                )
            except QuantityError:
                if here:
                    return True
                rows[at][name] = cell("--", "mm")
            if not here and any(base(one.unit) != own for one in rows[at][name].readings):
                rows[at][name] = cell("--", "mm")
    instrument = each.instruments[0] if each.instruments else None
    typed = Table.model_construct(
        unit=feature.unit, instrument=instrument, columns=list(each.columns), rows={}
    )
    table = MeasuredTable("arrival", each.feature, typed, rows, None, Source("arrival.yaml"))
    spot = ("arrival", each.feature, position, column)
    mine = rows[position][column]
    if not mine.readings or mine.confirmed:
        return False
    if any(base(one.unit) != own for one in mine.readings):
        return True  # by ``tablecheck``, at the reading
    if instrument and spot in misread.unseen(table, house, feature):
        return True
    kind = KINDS[feature.kind]
    thimble = bool(instrument) and degrees.has_thimble(house.instruments[instrument])
    one = suspects._Read(table, feature, thimble=thimble)
    if kind.alike and suspects._suspect(one, (position, column)) is not None:
        return True
    if slips.slip(table, feature, position, column):
        return True
    others = {other for other, _ in table.read()} - {spot}
    if any(spot in (*doubt.spots, *doubt.kept) for doubt in headings.digits(table, house, others)):
        return True
    tool = house.instruments[instrument] if instrument else None
    levered = feature.kind == "end_float"
    return tool is not None and any(
        spot in doubt.kept for doubt in misread._scatter(table, tool, set(), levered)
    )


def test_it_asks_what_check_asks(
    phone: Callable[..., Any], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thousands of readings, right and wrong, among others that stand already: page and ``check`` agree.

    What the run of the other rows tells, and rows and rounds as a whole, is left to ``check``.
    """
    alone = tuple(test for test in suspects.TESTS if test is not suspects._against_the_run)
    monkeypatch.setattr(suspects, "TESTS", alone)
    tried = list(cases(random.Random(18), 4000))
    told = phone(written(folder)).evaluate(
        """(cases) => cases.map(([t, beside, position, column, token]) => {
            const table = tables[t], stands = (at, name) => beside[`${at}\\t${name}`];
            const asked = question(table, ROUND.tools[table.instrument], stands, position, column, token);
            return asked?.code ?? "";
        })""",
        tried,
    )
    pairs = zip(tried, told, strict=True)
    differ = [(case, code) for case, code in pairs if bool(code) != asked_by_check(case)]
    assert not differ, f"{len(differ)} of {len(tried)}, the first: {differ[0]}"
    assert {
        "range",
        "point",
        "inches",
        "slip",
        "turn",
        "digits",
        "finer",
        "lost",
        "apart",
        "comma",
        "leaf",
        "",
    } <= {*told}
