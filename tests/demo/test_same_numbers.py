"""Sums, places, sizes and readings of a job, stage by stage: no document has one that another lacks.

What is outside of the documents decides where it can: the amounts, sizes and places as somebody typed them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

import pytest

from rebuildreport.records.files.jobfile import DecisionRecord

from .test_one_truth import STAGES, Node, Told, amounts, told

OVERRUN = re.compile(
    r"comes to (?:at least )?([\d.]+) EUR, "
    r"([\d.]+)(?: EUR)? above (?:the ([\d.]+) approved|what you approved)"
)
COUNTED = {
    word: n for n, word in enumerate(("", "one", "two", "three", "four", "five", "six", "seven", "eight"))
}


@pytest.fixture(params=STAGES, ids=lambda param: f"{param[0][5:8]}-{param[1]}")
def day(request: pytest.FixtureRequest) -> Told:
    return told(*request.param)


def _texts(day: Told) -> dict[str, str]:
    papers = {name: paper.text for name, paper in day.papers.items()}
    mail = " ".join(day.mail.split())
    return {**papers, "index": day.index.text, "mail": mail, "check": " ".join(day.check.split())}


# ---------------------------------------------------------------- money


def test_an_overrun_is_the_same_three_sums_wherever_it_is_told(day: Told) -> None:
    """By hand: the total of the price table, what was approved last, and the one less the other."""
    said = {name: OVERRUN.findall(text) for name, text in _texts(day).items()}
    stopped = bool(day.boxes) and bool(day.job.record.approvals)
    unsent = [
        one for one in day.papers["machining-order"].all("section", "order") if "Sent" not in one.texts("b")
    ]
    priced = "statement" if day.finished else "estimate"
    telling = ["report", priced, "purchase-list", "build-sheet", "mail", "check"]
    for name in [*telling, *(["machining-order"] if unsent else [])]:
        assert bool(said[name]) == stopped, name
    if stopped:
        total, limit = _total(day), day.job.record.approvals[-1].limit
        assert limit is not None
        for name, found in said.items():
            for sums in found:
                for told_, known in zip(sums, (total, total - limit, limit), strict=True):
                    assert not told_ or Decimal(told_) == known, (name, sums)


def _total(day: Told) -> Decimal:
    [row] = [
        row.text for one in day.priced.all("table", "tot") for row in one.all("tr") if "Total" in row.text
    ]
    return Decimal(re.findall(r"\d+\.\d\d", row)[-1])


def test_every_sum_beside_the_price_table_was_typed_or_follows_from_it(day: Told) -> None:
    """Totals, approvals, what was paid, what one is above another: page one, under the table, mail, check."""
    job, total = day.job.record, _total(day)
    limits = [one.limit for one in job.approvals if one.limit is not None]
    first = [one.total for one in job.issued if one.total is not None]
    first += [one.total for one in day.job.issued.issues if one.total is not None]
    paid = [one.amount for one in job.paid if one.date <= day.one.as_of]
    known = {total, *limits, *first, *paid, sum(paid, Decimal(0))}
    known |= {abs(total - one) for one in (*limits, *first, sum(paid, Decimal(0)))}
    rows = [row.text for one in day.priced.all("table", "tot") for row in one.all("tr")]
    ledger = {f"{one:.2f}".replace(".", "") for one in known} | {*amounts(" ".join(rows))}
    ledger |= {one for table in day.priced.all("table", "price") for one in amounts(table.text)}
    ledger |= {*amounts(" ".join(_ways(day)))}
    for name, text in _beside(day):
        assert {*amounts(text)} <= ledger, (name, text)


def _beside(day: Told) -> Iterator[tuple[str, str]]:
    for name, paper in day.papers.items():
        for kind in ("askfoot", "closing", "need", "asking"):
            yield from ((name, one.text) for one in paper.all("div", kind) if name != "machining-order")
        if name in ("estimate", "statement", "purchase-list"):
            yield from ((name, one.text) for one in paper.all("dl", "facts"))
        since = (said for one in paper.all("section", name="since") for said in one.texts("p", "blk"))
        yield from ((name, said) for said in since if said.startswith("Approved on"))
    yield "mail", day.mail
    yield from (("check", line) for line in day.check.splitlines() if "approv" in line)


def test_what_a_choice_costs_stands_in_the_price_table(day: Told) -> None:
    """A set, a cut: each alone, or the sum of its lines."""
    table = next(day.priced.all("table", "price")).text
    known = [Decimal(one) for one in re.findall(r"\d+\.\d\d", table)]
    sums = {*known, *(one + other for one in known for other in known)}
    for chosen in day.report.all("div", "chosen"):
        if re.search(r"\(W\d", chosen.text):  # decided, so it is in the table
            assert {Decimal(one) for one in re.findall(r"(\d+\.\d\d) EUR", chosen.text)} <= sums, chosen.text


def _ways(day: Told) -> list[str]:
    """What each way to go on costs, by the estimate."""
    tables = (table for one in day.priced.all("section", name="options") for table in one.all("table"))
    return [
        cell
        for table in tables
        for row in table.all("tr")
        if "with tax" in row.text
        for cell in row.texts("td")
    ]


def test_each_way_to_go_on_costs_the_same_on_page_one_and_the_estimate(day: Told) -> None:
    ways = _ways(day)
    if ways and day.boxes and not day.finished:
        assert amounts(" ".join(day.boxes)) == amounts(" ".join(ways))
        assert amounts(" ".join(ways))[:1] == [f"{_total(day):.2f}".replace(".", "")]


# ---------------------------------------------------------------- what is to be done, and where


def _places(text: str) -> set[str]:
    """The places that a text names, ranges spelt out: 'E3, C1 to C3'."""
    found = re.findall(r"\b([A-Z])(\d+)(?: to \1(\d+))?\b", text)
    return {f"{row}{n}" for row, low, high in found for n in range(int(low), int(high or low) + 1)}


def test_a_decision_is_told_as_it_was_typed(day: Told) -> None:
    """Its places, what is done, to which size: in the report, and where the estimate rests on it."""
    assert bool(day.job.decisions) == bool([*day.report.all("tr", name="decision-W1")])
    for key, made in day.job.decisions.items():
        for name in ("report", "estimate", "statement"):
            rows = [*day.papers[name].all("tr", name=f"decision-{key}")] if name in day.papers else []
            assert rows or name != "report", key
            for row in rows:
                cells = row.texts("td")
                what = next(cell for cell in cells if ":" in cell)
                title, _, done = what.partition(":")
                assert _places(title.replace(key, "", 1)) == _places(" ".join(made.positions)), what
                assert done.strip().startswith(made.do) and made.size in done, what
                assert made.remove is None or made.remove.text in done, what


def _about(day: Told, title: str) -> Iterator[DecisionRecord]:
    """The decisions about what an operation is called after, or about what is cut with it."""
    for name, sheet in day.engine.features.items():
        if title == sheet.title:
            heights = [
                one for one, cut in day.engine.features.items() if cut.links(["height"]).get("height") == name
            ]
            alike = {name, *heights, sheet.links(["height"]).get("height"), sheet.part}
            yield from (made for made in day.job.decisions.values() if made.about in alike)


def _named(day: Told, title: str) -> str:
    return next(name for name, sheet in day.engine.features.items() if sheet.title == title)


def _operations(day: Told) -> Iterator[tuple[str, str, Node]]:
    for one in day.papers["machining-order"].all("div", "operation"):
        title, _, what = re.sub(r"^\d+\s*", "", next(one.all("h2")).text).partition(":")
        yield title, what.strip(), one


def test_a_machine_shop_is_asked_for_what_was_decided_and_nowhere_else(day: Told) -> None:
    """Places in the text, places over the boxes and places as typed; sizes by the sheet and the step."""
    for title, what, one in _operations(day):
        made = [*_about(day, title)]
        if not made:
            continue  # work in words, or a part that was condemned without a decision
        where = _places(next(one.all("p")).text)
        wide = {spot for each in made for spot in each.positions}
        assert not wide or not where or where <= wide or any(not each.positions for each in made), title
        boxes = {head for table in one.all("table", "penned") for head in table.texts("th")}
        assert not where or not boxes or _places(" ".join(boxes)) == where, title
        cut = any(each.remove for each in made)
        for row in [] if cut else one.all("tr"):
            ends = {text for text in row.texts("td", "r")[1:] if "." in text}
            assert "mm" not in row.texts("td") or ends <= _known(day, _named(day, title)), row.text
        sizes = {each.size for each in made if each.size}
        for size in sizes:
            assert size in what, title
            step = Decimal(size.split()[0]) * (-1 if "undersize" in size else 1)
            sheet = day.engine.features[_named(day, title)]
            low, high = sheet.new["size"].low, sheet.new["size"].high
            assert low is not None and high is not None
            ends = [Decimal(low.text) + step, Decimal(high.text) + step]
            [row] = [row for row in one.all("tr") if "Finished size" in row.text and "mm" in row.text][:1]
            assert [Decimal(cell) for cell in row.texts("td")[1:3]] == ends, title
            # whoever puts it together reads by the same
            built = [
                head
                for head in day.papers["build-sheet"].texts("th")
                if head.startswith(("Largest ", "Smallest "))
            ]
            assert (
                not built or any(f"{ends[0]}–{ends[1]}" in head for head in built) or not _boxed(day, title)
            )


def test_an_order_names_the_ceiling_that_was_typed(day: Told) -> None:
    orders = day.papers["machining-order"].all("section", "order")
    ceilings = {
        f"{one.price_limit:.2f}" for one in day.job.written_work.machining.values() if one.price_limit
    }
    said = [found for one in orders for found in re.findall(r"Price ceiling ([\d.]+)", one.text)]
    assert {*said} == ceilings


def test_what_is_bought_is_not_called_used_again_at_the_bench(day: Told) -> None:
    tables = day.papers["purchase-list"].all("table", "purchases")
    bought = {cells[0] for table in tables for row in table.all("tr") if (cells := row.texts("td"))}
    for line in day.papers["build-sheet"].all("p", "detail"):
        state = " ".join(line.texts("span", "muted"))
        number = line.text.removeprefix(state).strip().partition(",")[0]
        assert (number in bought) <= (state == "new"), line.text


def test_the_way_to_the_parts_costs_the_same_on_paper_and_on_the_terminal(day: Told) -> None:
    if "access-plan" in day.papers:
        lead = day.papers["access-plan"].text
        [said] = re.findall(r"([\d.]+) h off, ([\d.]+) h back, ([\d.]+) EUR", day.check)
        [paper] = re.findall(r"([\d.]+) h off, ([\d.]+) h back;.*?: ([\d.]+) EUR", lead)
        assert [*map(Decimal, said)] == [*map(Decimal, paper)]


def _boxed(day: Told, title: str) -> bool:
    """Whether the build sheet still has empty boxes for what a line is called."""
    lines = (line for line in day.papers["build-sheet"].all("div", "bline") if title in line.texts("b"))
    return any(True for line in lines for _ in line.all("span", "box"))


def test_a_size_that_was_decided_about_is_on_one_order(day: Told) -> None:
    """Nothing that is ground or bored is forgotten, and nothing is ordered twice."""
    asked = [title for title, what, _ in _operations(day) if "size" in what]
    for made in day.job.decisions.values():
        if made.do == "recondition" and made.size and made.about in day.engine.features:
            assert asked.count(day.engine.features[made.about].title) == 1, made.about


# ---------------------------------------------------------------- what was read


def _numbers(text: str) -> set[str]:
    return {*re.findall(r"\d+\.\d+", text)}


def _entries(day: Told, feature: str) -> list[str]:
    record, title = (
        day.papers["measurement-record"].all("div", "rec-entry"),
        day.engine.features[feature].title,
    )
    return [one.text for one in record if re.sub(r"^\d+\s*", "", next(one.all("h3")).text).startswith(title)]


def _known(day: Told, feature: str) -> set[str]:
    """Numbers that the record has of a feature, and its limits as typed, at each size that was decided."""
    mine = _entries(day, feature)
    assert mine, feature
    sheet = day.engine.features[feature]
    ends = [
        end for limits in (sheet.new, sheet.wear) for each in limits.values() for end in (each.low, each.high)
    ]
    steps = [Decimal(0)]
    for made in day.job.decisions.values():
        if made.about in (feature, sheet.part) and made.size:
            steps.append(Decimal(made.size.split()[0]) * (-1 if "undersize" in made.size else 1))
    typed = {str(Decimal(end.text) + step) for end in ends if end is not None for step in steps}
    return typed | _numbers(" ".join(mine))


def test_what_page_one_reads_stands_in_the_record(day: Told) -> None:
    for row in next(day.report.all("table", "complaint")).all("tr"):
        for link in row.all("a"):
            _, _, feature = link.attributes["href"].partition("measurement-record.html#")
            if feature in day.engine.features:
                said = _numbers(" ".join((*row.texts("td", "r"), *row.texts("td", "lim"))))
                assert said <= _known(day, feature), row.text
                # each value behind its place, and no other place between them
                place = next(iter(re.findall(r"\b[A-Z]\d+\b", link.text)), "")
                for value in row.texts("td", "r") if place in day.engine.features[feature].positions else []:
                    there = rf"\b{place}\b(?:(?!\b[A-Z]\d+\b).)*{re.escape(value)}"
                    assert any(re.search(there, entry) for entry in _entries(day, feature)), row.text
        for link in row.all("a"):
            _, _, key = link.attributes["href"].partition("#finding-")
            if key:  # what comes of it, as the finding itself says
                said_there = next(day.report.all("article", name=f"finding-{key}")).text
                assert link.text.partition(": ")[2].capitalize() in said_there, row.text


def test_what_a_drawing_shows_stands_in_the_record(day: Told) -> None:
    """Of findings, of the panels, and the one on the index: values and limits."""
    drawn = [(one, "") for one in day.report.all("div", "beside")] + [(day.index, "")]
    drawn += [
        (one, one.attributes["id"].split("-")[1])
        for one in day.report.all("div", "row")
        if one.attributes.get("id", "").startswith("m-")
    ]
    titles = {sheet.title: name for name, sheet in day.engine.features.items()}
    for one, feature in drawn:
        for figure in one.all("svg"):
            label = figure.attributes.get("aria-label", "")
            name = feature or next(
                (titles[head] for head in sorted(titles, key=len) if label.startswith(head)), ""
            )
            under = next(iter([*one.texts("p", "ft"), *one.texts("span", "muted")]), "")
            called = re.sub(r", \S+$", "", under.rpartition(": ")[2])
            assert feature or len([*one.all("svg")]) > 2 or label.startswith(called), label
            if name and "on the plate" not in label:
                said = _numbers(
                    " ".join(text for text in figure.texts("text") if not re.search("20 °C|µ", text))
                )
                assert said <= _known(day, name), label


def test_a_drawing_counts_every_place_once(day: Told) -> None:
    """'M4 beyond limit and six not judged' of the seven places that it draws."""
    for row in day.report.all("div", "row"):
        feature = row.attributes.get("id", "").split("-")[1:2]
        if not feature or feature[0] not in day.engine.features:
            continue
        places = day.engine.features[feature[0]].positions
        drawn = {text for text in row.texts("text") if re.fullmatch(r"[A-Z]\d+", text)} or {*places}
        for said in row.texts("p", "cap"):
            counts = re.findall(
                r"(?:On arrival|Now): ([^.]*(?:judged|serviceable|as new|close to call|beyond limit))\.", said
            )
            for count in counts if drawn and "two planes" not in said else []:
                named = {place for place in places if re.search(rf"\b{place.replace('_', ' ')}\b", count)}
                words = [COUNTED[word] for word in re.findall(r"[a-z]+", count) if word in COUNTED]
                assert len(named | _places(count)) + sum(words) == len(drawn), said


# ---------------------------------------------------------------- what is open, what has come


def test_what_is_to_decide_is_the_same_in_the_report_and_on_the_terminal(day: Told) -> None:
    """But for what has no price: that stands in the price table."""
    terminal = {
        line.rstrip(".").replace("_", " ")
        for line in day.block("to decide")
        if not line.startswith("No price yet")
    }
    report = {
        line.rstrip(".")
        for one in day.report.all("ul", "plainlist")
        for line in one.texts("li")
        if not re.match("Not measured|Not opened", line) and "too close to call" not in line
    }
    assert terminal == report


def test_what_has_not_come_is_counted_as_it_stands(day: Told) -> None:
    tables = day.papers["purchase-list"].all("table", "purchases")
    rows = [row.texts("td") for table in tables for row in table.all("tr")]
    asked = [cells for cells in rows if len(cells) == 9 and cells[3] != "nothing"]  # not from the shelf
    missing = sum(not cells[5] for cells in asked)
    # of an engine that runs no part is still to come
    runs = day.one.bench.start.date is not None
    said = day.fact("purchase-list", "Receipt not noted" if runs else "Not received")
    assert said == (f"{missing} of {len(asked)}" if missing else f"nothing, all {len(asked)} are here")
    assert not (missing and day.finished)
