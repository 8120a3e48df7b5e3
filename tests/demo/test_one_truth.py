"""All documents of a job, stage by stage: what one says, each says that speaks of it.

Read from the pages as a reader has them, by ids, classes and headings, not from the fields they are made of.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from click.testing import CliRunner

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.commands.check import command as check
from rebuildreport.documents.press.language import language, speaking
from rebuildreport.documents.sheets import letter, register
from rebuildreport.documents.showing import entries as site
from rebuildreport.quantities import amid, english
from rebuildreport.records import JobFolder, load_shop
from rebuildreport.records.files.issued import Issued
from rebuildreport.records.files.sheet import Engine
from rebuildreport.site.sending import issuing

from .conftest import D1, D2
from .stages import DAYS, at

VOID = {"br", "col", "img", "link", "meta", "input", "wbr", "hr"}
STAGES = [(job, stage, "en") for job in (D1, D2) for stage in DAYS[job]]
GERMAN = [(D1, "decision", "de"), (D1, "delivered", "de"), (D2, "arrival", "de"), (D2, "reopened", "de")]


@dataclass
class Node:
    """One element of a page."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    inside: list[Node | str] = field(default_factory=list)

    @property
    def text(self) -> str:
        words = " ".join(one if isinstance(one, str) else one.text for one in self.inside)
        return " ".join(words.replace("\u00a0", " ").split())

    def all(self, tag: str = "", kind: str = "", name: str = "") -> Iterator[Node]:
        """Every element of a tag, with a class, with an id, in the order of the page."""
        for one in self.inside:
            if isinstance(one, Node):
                classes = one.attributes.get("class", "").split()
                fits = (not tag or one.tag == tag) and (not kind or kind in classes)
                if fits and (not name or one.attributes.get("id") == name):
                    yield one
                yield from one.all(tag, kind, name)

    def texts(self, tag: str = "", kind: str = "") -> list[str]:
        return [one.text for one in self.all(tag, kind)]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open = [Node("page")]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {name: value or "" for name, value in attrs})
        self.open[-1].inside.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_endtag(self, tag: str) -> None:
        if tag in {node.tag for node in self.open[1:]}:
            while self.open.pop().tag != tag:
                pass

    def handle_data(self, data: str) -> None:
        if self.open[-1].tag not in ("style", "script", "title"):
            self.open[-1].inside.append(data)


def read(page: str) -> Node:
    reader = _Reader()
    reader.feed(page)
    return reader.open[0]


@dataclass
class Told:
    """Everything that is said of a job on one day."""

    stage: str
    one: Assessment
    papers: dict[str, Node]
    job: JobFolder
    engine: Engine
    index: Node
    check: str
    mail: str

    @property
    def report(self) -> Node:
        return self.papers["report"]

    @property
    def asks(self) -> list[str]:
        """What page one asks, without what is ticked and signed for there."""
        asking = next(self.report.all("div", "asking"))
        asks = asking.texts("li") or asking.texts("p")[:1]
        signed = self.one.deviations and self.finished and self.stage != "reopened"  # it was, when it left
        return asks[:-1] if signed else asks

    @property
    def boxes(self) -> list[str]:
        return next(self.report.all("div", "asking")).texts("p", "box")

    @property
    def finished(self) -> bool:
        return "statement" in self.papers

    @property
    def priced(self) -> Node:
        """The estimate until the work is finished, then the statement alone."""
        assert ("estimate" in self.papers) != self.finished
        return self.papers["statement" if self.finished else "estimate"]

    def fact(self, paper: str, name: str) -> str:
        node = self.priced if paper == "priced" else self.papers[paper]
        found = (one for one in node.all("div", "fact") if next(one.all("dt")).text == name)
        return next(next(one.all("dd")).text for one in found)

    def block(self, title: str) -> list[str]:
        """The lines of a block of the terminal."""
        found = re.search(rf"^  {title}: \d+\n((?:    .*\n)*)", self.check, re.M)
        return [" ".join(line.split()) for line in found[1].splitlines()] if found else []


@cache
def told(job: str, stage: str, tongue: str) -> Told:
    with TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        at(shop, job, stage)
        if tongue != "en":
            shop_file = shop / "shop.yaml"
            shop_file.write_text(f"{shop_file.read_text('utf-8')}\nlanguage: {tongue}\n", "utf-8")
        loaded = load_shop(shop, [job])
        sheet = loaded.sheet(loaded.jobs[job])
        assert sheet is not None
        assert not [one for one in loaded.all_problems if one.severity == "error"]
        one = assess_job(loaded, loaded.jobs[job])
        papers = {
            paper.name: read(paper.html(paper.view(one, shop), shop=shop))
            for paper in register.DOCUMENTS
            if paper.wanted(one)
        }
        with speaking(language(tongue, shop)):
            item = site.listed(site.entry(one)).item
        said = CliRunner().invoke(check, [job, "--shop", str(shop)]).output
        total = one.cost.total if one.cost.lines else None
        issue = Issued(
            number=1,
            document="report",
            date=date(2026, 6, 1),
            spell=1,
            total=total,
            minimum=one.cost.minimum,
            changed=(),
            language=tongue,
            file="",
            sha256="",
            basis="",
            basis_sha256="",
        )
        sender = letter.address("Shop <shop@example.invalid>")
        mail = letter.message(
            letter.Enclosed(issue, b""),
            letter.Envelope(sender, (sender,)),
            issuing._basis(loaded, loaded.jobs[job], one),
            language(tongue, shop),
            dict.fromkeys(("job", "name", "engine", "shop", "address", "contact", "link"), ""),
            shop,
        )
        body = mail.get_body(("plain",))
        assert body is not None
        return Told(stage, one, papers, loaded.jobs[job], sheet, read(item), said, str(body.get_content()))


@pytest.fixture(params=STAGES, ids=lambda param: f"{param[0][5:8]}-{param[1]}")
def day(request: pytest.FixtureRequest) -> Told:
    return told(*request.param)


@pytest.fixture(params=[*STAGES, *GERMAN], ids=lambda param: f"{param[0][5:8]}-{param[1]}-{param[2]}")
def any_day(request: pytest.FixtureRequest) -> Told:
    return told(*request.param)


def amounts(text: str) -> list[str]:
    """The sums in a text in cents, whatever separates their digits."""
    return [re.sub(r"\D", "", one) for one in re.findall(r"\d[\d.,]*[.,]\d\d\b", text)]


# ---------------------------------------------------------------- asked, approved, to pay


def test_the_customer_is_asked_the_same_everywhere(any_day: Told) -> None:
    for name in {"estimate", "statement"} & {*any_day.papers}:
        needs = [found for one in any_day.papers[name].all("div", "need") for found in one.texts("li")]
        needs = needs or [p for one in any_day.papers[name].all("div", "need") for p in one.texts("p")]
        if needs:
            assert any_day.asks == needs, name
        else:
            assert not any_day.boxes and not amounts(" ".join(any_day.asks)), name
    bullets = [line[2:] for line in any_day.mail.splitlines() if line.startswith("- ")]
    assert not bullets or any_day.asks == [" ".join(line.split()) for line in bullets]


def test_one_total_in_report_estimate_and_mail(any_day: Told) -> None:
    rows = {
        name: [row.text for one in paper.all("table", "tot") for row in one.all("tr")]
        for name, paper in (("report", any_day.report), ("priced", any_day.priced))
    }
    assert rows["report"] == rows["priced"]
    [total] = amounts(f"{any_day.one.cost.total:.2f}")
    foot = next(any_day.report.all("div", "askfoot")).text
    for said in (" ".join(any_day.mail.split()), " ".join(rows["report"]), foot):
        assert total in amounts(said)


def test_what_is_to_be_paid(any_day: Told) -> None:
    if any_day.finished:
        [needs] = [one.text for one in any_day.papers["statement"].all("div", "need")] or [""]
        big = amounts(next(any_day.report.all("p", "big")).text)
        owed = any_day.one.cost.due > 0
        assert (big[0] in amounts(needs)) == owed
        # the demo's shop has an account and a term: whoever asks for money names both, and the job
        assert all(("ZZ00 0000" in said and "14" in said) == owed for said in (needs, " ".join(any_day.asks)))
        assert (big[0] in amounts(" ".join(any_day.asks))) == owed


def test_a_decision_is_asked_for_or_nothing_stands_against_ordering(day: Told) -> None:
    """By the demo's files: each job waits for a word on arrival, and once more when it was decided about."""
    asked = bool(day.boxes)
    assert asked == (day.stage in ("arrival", "decision"))
    assert asked == ("Please decide" in next(day.report.all("h1")).text)
    if day.stage in ("delivered", "reopened"):  # nothing is ordered for it any more
        assert "Approval" not in day.papers["purchase-list"].texts("dt")
    else:
        assert asked == (day.fact("purchase-list", "Approval") != "nothing stands against ordering")
    assert asked == bool(re.search(r"^  (WORK STOPS|approval:)", day.check, re.M))
    assert asked == ("Approval:" in day.papers["build-sheet"].text)
    assert asked == ("Approval" in day.priced.texts("h2"))
    asks = next(day.report.all("div", "asking")).text
    assert not (asked and "Nothing at present" in asks)
    unsent = [
        one for one in day.papers["machining-order"].all("section", "order") if "Sent" not in one.texts("b")
    ]
    for order in unsent:
        assert asked == ("Approval:" in order.text), order.text[:60]
    comes_next = next(day.report.all("section", name="next")).text
    assert asked == ("The estimate wants" in comes_next or "The estimate has grown" in comes_next)


def test_decisions_stand_by_number_and_no_place_twice_in_what_is_open(day: Told) -> None:
    numbers = [int(made.id[1:]) for made in day.one.decisions]
    assert numbers == sorted(numbers)
    for text in map(english, day.one.open_questions):
        assert not re.search(r"([A-Z][^;,]+), [^;]+? (\w\d[^;:]*); \1, [^;]+? \2[;:]", text), text


def test_the_plan_calls_nothing_unmeasured_that_a_strip_judges(day: Told) -> None:
    """Guides were read again, recession was not: of the valves as a whole neither is said."""
    stands = {c.position for c in day.one.characteristics if c.stands and c.value is not None}
    for half in [*day.report.all("div", "half")][1:]:
        unread = [li.text for li in half.all("li") if re.search(r"\bnot measured \(", li.text)]
        assert not (any("all valves" in text for text in unread) and stands & {"I1", "E1", "E2"}), unread


# ---------------------------------------------------------------- taken apart, put together


def _accepted(paper: Node) -> list[str]:
    """Every accepted deviation with its reason and signature."""
    facts = (" ".join(one.texts("dt") + one.texts("dd")) for one in paper.all("div", "fact"))
    return [fact for fact in facts if re.match(r"[VB]\d+: ", fact)]


def test_what_was_accepted_is_told_alike(any_day: Told) -> None:
    said = {name: _accepted(any_day.papers[name]) for name in ("report", "measurement-record", "build-sheet")}
    # the record speaks of readings, and of nothing that was put together otherwise
    assert [one for one in said["report"] if one.startswith("V")] == said["measurement-record"]
    assert said["report"] == said["build-sheet"]
    assert len(said["report"]) >= len(any_day.one.deviations)


def test_lines_not_done_are_counted_alike(day: Told) -> None:
    """By the ticks of the build sheet: the report says whether all is done, the terminal how much."""
    ticks = [tick for line in day.papers["build-sheet"].all("div", "bline") for tick in _ticks(line)]
    left = ticks.count("to do")
    if built := next(day.report.all("p", "built"), None):
        assert ("Every line" in built.text) == (left == 0)
    done = re.search(r"^  build sheet: (\d+) done", day.check, re.M)
    assert done is None or int(done[1]) == ticks.count("done")


def _ticks(line: Node) -> list[str]:
    title = next(line.all("p", "title"))
    return [sign.attributes["aria-label"] for sign in title.all("span", "sign")]


def test_what_was_not_opened_is_told_alike(any_day: Told) -> None:
    for name in any_day.one.not_opened:
        for paper in ("report", "teardown-sheet", "measurement-record"):
            assert name in any_day.papers[paper].text, (paper, name)


def test_a_mark_is_told_alike_where_it_comes_apart_and_together(day: Told) -> None:
    """What the maker stamped and what was made here stands on both sheets of the bench."""
    for mark in day.one.bench.build.marks:
        for said in (mark.factory, mark.shop):
            for paper in ("teardown-sheet", "build-sheet"):
                assert not said or said in day.papers[paper].text, (paper, said)


# ---------------------------------------------------------------- bought and renewed


def test_what_the_estimate_prices_is_what_is_bought(any_day: Told) -> None:
    def parts(paper: str) -> list[tuple[str, str]]:
        group = next(next(any_day.papers[paper].all("table", "price")).all("tbody"))
        lines = [tr for tr in group.all("tr") if tr.attributes.get("class") != "group"]
        return sorted(
            (re.sub(r" \(.*\)", "", next(tr.all("td", "name")).text), next(tr.all("td", "quantity")).text)
            for tr in lines
        )

    bought = sorted(
        (cells[1], cells[2])
        for table in any_day.papers["purchase-list"].all("table", "purchases")
        for tr in table.all("tr")
        if (cells := tr.texts("td")) and len(cells) == 9
    )
    assert parts("report") == bought
    prices = next(any_day.priced.all("table", "price"))
    assert prices.text.split() == next(any_day.report.all("table", "price")).text.split()


def test_what_is_condemned_is_new_on_the_build_sheet(day: Told) -> None:
    """By the findings and decisions as typed: what is replaced at a place is not used again there."""
    decided = day.job.decisions.values()
    settled = {one.about for one in decided if one.do != "replace"}
    gone = [(one.component, one.positions) for one in day.job.seen.values() if one.disposition == "replace"]
    gone = [(about, where) for about, where in gone if about not in settled]
    gone += [(one.about, one.positions) for one in decided if one.do == "replace"]
    again = [
        (english(part.name), position)
        for line in day.one.bench.build.lines
        for part in line.parts
        if part.new is False
        for position in part.positions
    ]
    for about, where in gone:
        for feature, sheet in day.engine.features.items():
            if about in (feature, sheet.part):
                spots = {(feature.replace("_", " "), position) for position in where or sheet.positions}
                assert not spots & {*again}, about


def test_what_makes_the_total_a_minimum_is_counted_as_it_stands(day: Told) -> None:
    """Lines without a price are those of the table, on page one and on top of the estimate."""
    bare = sum("not priced" in row for row in next(day.priced.all("table", "price")).texts("tr"))
    said = {0: "", 1: "one line without"}.get(bare, f"{bare} lines without")
    for words in (next(day.report.all("div", "askfoot")).text, day.fact("priced", "Total")):
        assert said in words and ("without a price" in words) == bool(bare)


def test_what_was_accepted_is_told_beside_its_reading_on_page_one(any_day: Told) -> None:
    accepted = {key for one in any_day.one.deviations for key in one.covers}
    table = next(any_day.report.all("table", "complaint"))
    rows = [row for row in table.all("tr") if row.texts("td")]
    lines = [line for line in any_day.one.complaint_lines if line.first or line.now]
    assert len(rows) == len(lines)
    for line, row in zip(lines, rows, strict=True):
        for comes_of_it in row.texts("td", "say"):
            assert comes_of_it or not {line.first, line.now} & accepted, row.text


def test_every_dropped_line_says_why(any_day: Told) -> None:
    for name in {"report", "estimate", "statement"} & {*any_day.papers}:
        for table in any_day.papers[name].all("table"):
            for row in table.all("tr"):
                cells = row.texts("td")
                dropped = bool(cells) and cells[0] in ("dropped", "entfallen")
                assert not dropped or cells[-1] not in ("no reason written", "kein Grund aufgeschrieben")


def test_no_gap_of_a_price_list_is_told_twice(day: Told) -> None:
    """One thing, one line: of a set whose size is open no second line says that a place of it is."""
    names = [english(line.name) for line in day.one.cost.lines if line.amount is None]
    subjects = [re.split(r",|:| [A-Z]\d", name)[0].lower() for name in names]
    assert len(subjects) == len({*subjects})
    lists = list(day.report.all("ul", "plainlist"))
    about = [line.partition(":")[0] for one in lists for line in one.texts("li") if ":" in line]
    assert len(about) == len({*about})


def test_a_part_with_a_price_has_it_in_the_access_plan(day: Told) -> None:
    if day.one.access is None:
        return
    priced = {english(line.name) for line in day.one.cost.lines if line.amount is not None}
    assert not priced & {english(amid(name)) for name in day.one.access.unpriced}


def test_every_stay_is_told_alike(any_day: Told) -> None:
    """A job that came back: each row of report and statement, its days, why, what was done, who pays."""
    stays = [
        [row.texts("td") for table in paper.all("table", "stays") for row in table.all("tr")]
        for name, paper in any_day.papers.items()
        if name in ("report", "statement")
    ]
    assert all(rows == stays[0] for rows in stays)
    assert bool(stays[0]) == (len(any_day.one.spells) > 1)


def test_a_deposit_is_the_same_wherever_it_is_told(any_day: Told) -> None:
    held = amounts(f"{any_day.one.cost.core_deposit:.2f}")
    for name in {"estimate", "statement"} & {*any_day.papers}:
        told_of = [p for p in any_day.papers[name].texts("p", "cap") if re.match("Deposits|Pfand", p)]
        assert [amounts(text) for text in told_of] == ([held] if any_day.one.cost.cores else []), name
    rows = " ".join(row.text for one in any_day.report.all("table", "tot") for row in one.all("tr"))
    assert not any_day.one.cost.cores or held[0] in amounts(rows)


# ---------------------------------------------------------------- measured, beyond, not measured


def test_not_measured_is_the_same_in_report_and_on_the_terminal(day: Told) -> None:
    told_open = [text for text in day.report.texts("li") if text.startswith("Not measured:")]
    first, *rest = day.block("not measured")
    lines = [first, *(f"{line[:1].upper()}{line[1:]}" for line in rest)]
    assert [f"Not measured: {'. '.join(lines)}.".replace("_", " ")] == told_open
    never = re.search(r"([^.:]*) \(not at all yet\)", told_open[0])
    titles = {re.sub(r"^\d+\s*", "", one.inside[0]) for one in _heads(day) if isinstance(one.inside[0], str)}
    for title in never[1].split("; ") if never else []:
        assert title not in {" ".join(head.split()) for head in titles}


def test_what_is_not_measured_is_the_same_sentence_in_report_and_record(any_day: Told) -> None:
    open_ = [text for text in any_day.report.texts("li") if re.match("(Not measured|Nicht gemessen): ", text)]
    assert len(open_) == 1
    assert open_[0] in any_day.papers["measurement-record"].text


def _heads(day: Told) -> Iterator[Node]:
    for entry in day.papers["measurement-record"].all("div", "rec-entry"):
        yield next(entry.all("h3"))


def test_page_one_names_all_that_stands_out_of_its_limits(day: Told) -> None:
    """What the terminal lists as beyond its limit or too close to call, place by place."""
    table = next(day.report.all("table", "complaint"))
    others = next(day.report.all("p", "others")).text
    named = f"{table.text} {others}"
    for line in (*day.block("beyond limit"), *day.block("too close to call")):
        found = re.match(r"(?:(\S+) )?([A-Z][^,:]*)", line)
        assert found and found[2] in named, line
    # how a journal came is told until it is read again, ground
    mains = ("arrival", "decision", "approval") if day.one.job == D1 else ()
    assert ("Main journals M4" in others) == (day.stage in mains)


def test_a_value_of_all_places_together_is_named_on_page_one() -> None:
    """Pressures that are too far apart are no whole table of pressures that are out."""
    others = next(told(D1, "arrival", "en").report.all("p", "others")).text
    assert "but for: Compression, spread between cylinders; " in others


def test_each_surface_of_an_order_that_came_back_has_its_line() -> None:
    """Guides without a limit for new work were not measured again, and that does not go unsaid."""
    came_back = [*told(D1, "delivered", "en").papers["machining-order"].all("table")][-1].text
    assert "Exhaust guides" in came_back


def _last(row: Node) -> str:
    return re.sub(r"^\W+", "", row.texts("td", "ver")[-1])


def test_the_index_shows_the_stage_and_a_verdict_that_the_report_has(day: Told) -> None:
    stage = re.search(r"stage: (.*)", day.check)
    assert stage and day.index.texts("span", "st") == [stage[1]]
    shown = re.sub(r"^\W+", "", next(day.index.all("span", "v")).text)
    verdicts = {_last(row) for row in day.report.all("tr") if row.texts("td", "ver")}
    assert shown in verdicts
    if day.finished:
        assert shown != "beyond limit"


def test_a_headline_tells_of_the_stage(day: Told) -> None:
    headline = next(day.report.all("h1")).text
    assert ("delivered" in headline) == (day.one.stage in ("delivery", "follow-up"))
    assert ("back in the shop" in headline) == (day.one.stage == "re-opened")
    advice = next(day.report.all("section", name="answers")).texts("h2")
    assert ("What we did" in advice) == day.finished


# ---------------------------------------------------------------- what is over, and what says nothing


def test_nothing_is_said_of_what_is_over(any_day: Told) -> None:
    """No first start for who gets an engine that runs, no other ways where nothing is asked for any more."""
    start = any_day.one.bench.start.date
    words = " ".join(any_day.papers[name].text for name in {"report", "statement"} & {*any_day.papers})
    if start is not None and any_day.one.stage in ("delivery", "follow-up", "re-opened"):
        assert not re.search(r"Before the first start|Extinguisher|Vor dem ersten Start|Feuerlöscher", words)
    if any_day.one.cost.over_by is None:
        assert not re.search(r"Other ways:|If nothing is done:|Andere Wege:", any_day.priced.text)


def test_no_column_of_a_customers_paper_is_empty(any_day: Told) -> None:
    for name in {"report", "estimate", "statement"} & {*any_day.papers}:
        for table in any_day.papers[name].all("table", "plain"):
            heads = [one.text for one in next(table.all("tr")).inside if isinstance(one, Node)]
            rows = [row.texts("td") for body in table.all("tbody") for row in body.all("tr")]
            for column, head in enumerate(heads):
                assert not head or any(row[column] for row in rows), (name, heads)


def test_a_bound_is_no_reading_of_the_build_sheet(day: Told) -> None:
    """What worn shells leave open has boxes there; where one place of several is a bound, its sign stands."""
    sheet = day.papers.get("build-sheet")
    lines = [line for page in day.one.bench.build.pages for line in page.lines] if sheet else []
    for line in lines:
        if line.verb == "measure" and line.values:
            assert any(value.bound == "equal" for value in line.values), line.name
    bounds = [value for line in lines for value in line.values if value.bound != "equal"]
    cells = [text for table in (sheet.all("td") if sheet else ()) for text in [table.text]]
    assert sum(text.startswith((">", "<")) for text in cells) == len(bounds)


def test_a_job_that_is_back_says_on_page_one_why(day: Told) -> None:
    if day.one.stage == "re-opened":
        assert day.fact("report", "Came back for") == day.one.spells[-1].symptom


def test_no_two_tables_of_the_record_have_one_title(any_day: Told) -> None:
    record = any_day.papers.get("measurement-record", Node("page"))
    heads = ["".join(text for text in one.inside if isinstance(text, str)) for one in record.all("h3")]
    titles = [re.sub(r"^\d+\W+", "", head).strip() for head in heads]
    assert len({*titles}) == len(titles) or any_day.one.paper_tables, titles


def test_what_was_built_otherwise_is_outside_the_warranty_from_the_day_that_it_was_signed(day: Told) -> None:
    terms = " ".join(one.text for one in day.priced.all("div", name="terms"))
    for built in day.one.bench.build.departures:
        assert built.what in terms or day.one.stage == "declined"
