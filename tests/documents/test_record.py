"""The measurement record against the Assessment: every reading and every value once, verdicts that agree."""

from __future__ import annotations

import html
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.model.assessment import Characteristic
from rebuildreport.assess.publishing.public import public
from rebuildreport.documents.press.words import place, value
from rebuildreport.documents.record.record_cells import Section
from rebuildreport.documents.record.record_entries import RecordEntry
from rebuildreport.documents.record.recordview import MeasurementRecord, measurement_record
from rebuildreport.documents.sheets.register import named
from rebuildreport.quantities import Typed, english
from rebuildreport.records import ShopFolder, load_shop
from tests.assess.bench import Bench
from tests.assess.test_every_kind import ROUND, SHEET

JOBS = Path(__file__).resolve().parents[2] / "jobs"
NAMES = ("2026-003-orchard-six", "2026-004-twin-cam")
# ISO 14253-1 has conforming, not conforming and neither; the worse comes first
WORST = ("beyond limit", "too close to call", "serviceable", "as new")


@pytest.fixture(scope="module")
def shop() -> ShopFolder:
    return load_shop(JOBS, NAMES)


@pytest.fixture(scope="module", params=[*NAMES, "every kind"])
def job(
    request: pytest.FixtureRequest, shop: ShopFolder, tmp_path_factory: pytest.TempPathFactory
) -> Assessment:
    """The demo's jobs, and one that reads a feature of every kind."""
    if request.param in NAMES:
        return assess_job(shop, shop.jobs[request.param])
    bench = Bench(tmp_path_factory.mktemp("kinds"), SHEET)
    bench.square()
    bench.round("arrival", "2026-03-02", ROUND)
    return bench.assess()


@pytest.fixture(scope="module")
def record(job: Assessment) -> MeasurementRecord:
    return measurement_record(job)


def entries(record: MeasurementRecord) -> list[RecordEntry]:
    return [entry for part in record.parts for entry in part.entries]


def sections(entry: RecordEntry) -> Iterator[Section]:
    for table in entry.tables:
        yield from table.sections


def readings(record: MeasurementRecord) -> Iterator[tuple[str, str]]:
    """Feature and text of every reading that is printed as one."""
    for entry in entries(record):
        for section in sections(entry):
            for _, cells in section.rows:
                for head, cell in zip(section.heads, cells, strict=True):
                    if head.each:
                        yield from ((entry.feature, text) for text in cell.text.split())
        for strip in entry.strips:
            for where, text in strip.items:
                spots = strip.places if text.startswith("each ") else (where,)
                yield from ((entry.feature, text.removeprefix("each ")) for _ in spots if strip.read)


def test_every_reading_stands_there_once_as_it_was_typed(job: Assessment, record: MeasurementRecord) -> None:
    typed: Counter[tuple[str, str]] = Counter()
    for table in (*job.tables, *job.paper_tables):
        for texts in table.rows.values():
            said = (re.sub(r"^-(?=\d)", "\u2212", text.replace("--", "\u2013")) for text in texts if text)
            typed.update((table.feature, text) for text in said)
    marked = Counter((feature, text.rstrip("?*")) for feature, text in readings(record))
    dashes = Counter({key: count for key, count in marked.items() if key[1] == "\u2013"})
    assert marked - dashes == Counter({key: n for key, n in typed.items() if key[1] != "\u2013"})


Told = tuple[str, tuple[str, ...], str, str, str]


def told(record: MeasurementRecord) -> Iterator[Told]:
    """Feature, rounds, characteristic, place and text of every value of one place."""
    for entry in entries(record):
        for section in sections(entry):
            for where, cells in section.rows:
                for head, cell in zip(section.heads, cells, strict=True):
                    for name in head.tells if re.search(r"\d", cell.text) else ():  # a gap of "none" is none
                        yield entry.feature, section.rounds, name, where, cell.text
        for strip in entry.strips:
            for where, text in strip.items:
                for spot in strip.places if text.startswith("each ") else (where,):
                    for name in strip.tells if re.search(r"\d", text) else ():
                        yield entry.feature, strip.rounds, name, spot, text.removeprefix("each ")


def test_every_value_stands_there_once(job: Assessment, record: MeasurementRecord) -> None:
    """Among the readings that it is one of, in a column of its own, or below as one of all places."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for feature, rounds, name, where, text in told(record):
        for one in rounds:
            found.setdefault((feature, one, name, where), []).append(text)
    below: dict[str, str] = {}
    for entry in entries(record):
        below[entry.feature] = " ".join(
            [below.get(entry.feature, ""), *(text for text, _, _ in entry.of_all)]
        )
    known = [c for c in job.characteristics if c.value is not None]
    twice = Counter((c.feature, c.round, c.name, c.position) for c in known)
    for c in known:
        printed = value(c, job.system)
        assert printed is not None
        texts = found.get((c.feature, c.round, c.name, place(c.position)), [])
        if not texts or any("\u2013" in text.split() for text in texts):  # read before, it stands there
            for one in job.rounds:
                before = found.get((c.feature, one.name, c.name, place(c.position)), [])
                texts = before if printed.text in " ".join(before).split() else texts
        there = [text for text in texts if printed.text in re.split(r"[\s/?*]", text)]
        if not texts:
            assert re.search(rf"(?<![\d.]){re.escape(printed.text)}(?![\d.])", below[c.feature]), c.key
        elif twice[c.feature, c.round, c.name, c.position] == 1:
            assert len(texts) == len(there) == 1, (c.key, texts)
        else:  # read again in the same round, in a table of its own
            assert there, (c.key, texts)


def test_limits_and_guards_stand_once_to_a_column(job: Assessment, record: MeasurementRecord) -> None:
    for entry in entries(record):
        for section in sections(entry):
            for head in section.heads:
                for texts in (head.limits, head.guards):
                    assert len(texts) in (0, 1, len(head.names))


def expected(values: list[Characteristic]) -> str:
    """The worst of what was judged; where nothing was, what the values say of that."""
    words = [c.verdict for c in values]
    for word in WORST:
        if word in words:
            return word
    # that no limit is on file would belie the limits at the head of the column
    limited = any(c.limits is not None and c.limits.edges for c in values)
    return "not judged" if "not measured" in words or limited else words[0]


def test_the_verdict_of_a_row_is_the_worst_of_its_values(job: Assessment, record: MeasurementRecord) -> None:
    for entry in entries(record):
        agreed = [(when.removesuffix(":"), one) for when, _, one in entry.agreed]
        for section in sections(entry):
            names = {name for head in section.heads for name in head.tells}
            for where, cells in section.rows:
                here = [
                    c
                    for c in job.characteristics
                    if (c.feature, place(c.position)) == (entry.feature, where)
                    and c.round in section.rounds
                    and c.name in names
                    and c.value is not None
                ]
                said = [cell.verdict.name for cell in cells if cell.verdict is not None]
                said = said or [one.name for when, one in agreed if when in ("", section.title)]
                if here and not any(c.table for c in here):
                    assert said == [expected(here)], (entry.title, where)


def test_links_of_the_report_find_every_feature(job: Assessment) -> None:
    page = named("measurement-record").html(named("measurement-record").view(job))
    anchors = re.findall(r'\bid="([^"]+)"', page)
    assert len(anchors) == len(set(anchors))
    measured = {c.feature for c in job.characteristics if c.value is not None} | {
        t.feature for t in job.tables
    }
    assert measured <= set(anchors)


@pytest.mark.parametrize("name", NAMES)
def test_it_says_what_a_certificate_has_to(shop: ShopFolder, name: str) -> None:
    """ISO/IEC 17025:2017, 7.8.2.1 and 7.8.6 (MEMORY of the headings): who, what, when, how, by which rule."""
    job = assess_job(shop, shop.jobs[name])
    page = html.unescape(re.sub("<[^>]+>", " ", named("measurement-record").html(measured(job))))
    page = page.replace("\u00a0", " ")
    head = job.letterhead
    for text in (job.shop, head.customer, head.serial, "Not an accredited laboratory", "End of record"):
        assert text in page
    assert all(english(one.title) in page for one in job.rounds)
    assert english(job.rule_text).replace("\u00a0", " ") in page
    assert all(deviation.why.split(";")[0] in page for deviation in job.deviations)
    keys = {one.name for one in job.instruments} | {c for t in job.tables for c in (*t.columns, t.name)}
    assert [key for key in keys if "_" in key and key in page] == []
    for one in job.instruments:
        assert english(one.permitted_error).replace("\u00a0", " ").replace("percent", "%") in page


def measured(job: Assessment) -> MeasurementRecord:
    view = named("measurement-record").view(job)
    assert isinstance(view, MeasurementRecord)
    return view


@pytest.mark.parametrize("name", NAMES)
def test_everybody_sees_no_person_and_nothing_to_sign(shop: ShopFolder, name: str) -> None:
    job = assess_job(shop, shop.jobs[name])
    document = named("measurement-record")
    page = document.html(document.view(public(job), edition="public"))
    owner = shop.jobs[job.job].job.owner  # type: ignore[union-attr]
    assert owner is not None
    private = [
        owner.name,
        owner.contact,
        owner.address,
        owner.registration,
        owner.serial,
        job.letterhead.email,
    ]
    assert [text for text in private if text and text.split(" (")[0] in page] == []
    assert "signature" not in re.sub("<style.*?</style>", "", page, flags=re.S)
    seen = document.view(public(job), edition="public")
    assert isinstance(seen, MeasurementRecord)
    assert [e.number for e in entries(seen)] == [e.number for e in entries(measured(job))]


def test_a_doubt_stands_beside_its_reading(shop: ShopFolder) -> None:
    """Marked where it stands, and asked about below: what is left out, and what is judged as typed."""
    job = assess_job(shop, shop.jobs[NAMES[0]])
    table = next(t for t in job.tables if t.name == "main_journals")
    spot, other = list(table.rows)[:2]
    doubted = replace(
        table,
        left_out=((spot, table.columns[0]),),
        asked=((other, table.columns[1]),),
        doubts=(Typed("is that a slip?"), Typed("read again, please")),
    )
    tables = tuple(doubted if t is table else t for t in job.tables)
    entry = next(
        e for e in entries(measurement_record(replace(job, tables=tables))) if e.feature == table.feature
    )
    rows = {where: cells[0].text for where, cells in next(sections(entry)).rows}
    assert f"{table.rows[spot][0]}?" in rows[spot] and f"{table.rows[other][1]}*" in rows[other]
    notes = " ".join(entry.notes)
    assert "is that a slip?" in notes and "read again, please" in notes
    assert "in no value" in notes and "judged as typed" in notes


@pytest.mark.parametrize(
    ("wanted", "limits", "values"), [("no", 0, 0), ("beside limits", 1, 0), ("everywhere", 1, 1)]
)
def test_the_second_unit_stands_where_the_shop_asks_for_it(
    shop: ShopFolder, wanted: str, limits: int, values: int
) -> None:
    """0.030 mm is 0.00118 in (1 in = 25.4 mm), in a table and in a strip."""
    job = replace(assess_job(shop, shop.jobs[NAMES[0]]), second_unit=wanted)
    page = named("measurement-record").html(measured(job))
    journals = page.partition('id="main_journals"')[2].partition("</table>")[0]
    assert journals.count("0.0012<") == 2 * limits  # out of round and taper, on arrival
    assert (" (0.0" in journals.partition("<tbody>")[2]) == bool(values)
    strip = page.partition('id="rod_crush"')[2].partition("</p>")[0]
    assert ("0.03\u20130.13 (0.001\u20130.005)" in strip) == bool(limits)


def test_a_table_without_a_single_sound_row_is_no_entry(job: Assessment) -> None:
    """As where the files name no place that the sheet has: nothing was read, and nothing is told of it."""
    name = job.tables[0].feature
    emptied = replace(
        job,
        tables=tuple(replace(one, rows={}) if one.feature == name else one for one in job.tables),
        characteristics=tuple(one for one in job.characteristics if one.feature != name),
    )
    titles = [english(one.title) for one in job.features if one.name == name]
    assert not any(entry.title in titles for entry in entries(measurement_record(emptied)))
    assert any(entry.title in titles for entry in entries(measurement_record(job)))


def test_the_parts_of_a_record_do_not_hang_on_what_places_are_called() -> None:
    """A head is read along lines, a bush at its ends: what the sheet says of them tells their part."""
    launch = "2026-008-river-launch"
    shop = load_shop(JOBS, [launch])
    record = measurement_record(assess_job(shop, shop.jobs[launch]))
    parts = {entry.title: part.title for part in record.parts for entry in part.entries}
    assert parts["Head flatness"] == parts["Valve guides"] == "Head and valve gear"
    assert (
        parts["Main bushes, white metal on bronze"] == parts["Poured rod bearings"] != parts["Rod journals"]
    )
    assert [part.title for part in record.parts if "Further" in part.title] == []


def test_a_limit_s_source_names_the_tables_that_hold_what_it_judged(
    job: Assessment, record: MeasurementRecord
) -> None:
    """Not the first table of the feature: score depths have no limit, the journals below them do."""
    named: set[int] = set()
    for line in record.sources:
        for group in re.findall(r"\(([\d, ]+)\)", line) or [line.rpartition(":")[2].rstrip(".")]:
            named |= {int(number) for number in group.split(",")}
    limited = {c.key for c in job.characteristics if c.limits is not None}
    assert named == {entry.number for entry in entries(record) if entry.keys & limited}
