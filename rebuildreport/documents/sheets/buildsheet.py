"""The build sheet: one page an assembly, in order, with what to write and to sign.

In: an Assessment.  Out: a view whose texts are finished.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.model.bench import BuildColumn, BuildLine, BuildPage, BuildValue, Chosen, MarkLine
from ...assess.model.bolting import Fastening, Signed
from ...quantities import NOTHING, Text, dimension, limit_texts, message
from ...trade.measuring.verdict import Ends
from ..press.enginewords import approval_lacks
from ..press.frame import Framed, framed, numbers_after
from ..press.language import opening, say, show, show_interval, show_limits, spoken, told
from ..press.words import (
    NBSP,
    SIGNS,
    System,
    capital,
    day,
    figure,
    first_unit,
    heading,
    joined,
    place,
    places,
    second_system,
    stop,
    unit_text,
)
from ..report.asbuilt import deviations
from ..report.findings import NO_PHOTOS, Album
from .bolt_tables import BoltsView, ValueTable, bolts_view, in_reach, stretch_tables

TITLE = message("Build sheet")
RULE = message(
    "In this order. A line is done when its value stands and somebody has signed; nobody goes on past a hold "
    "point before two people have signed it."
)
ABREAST = 8  # boxes that a hand can write in
ROOM = 44.0  # lines of text that an assembly has on its page


class LineView(Struct, frozen=True):
    """One line.  ``details``: what stands under its title, word and text."""

    number: str
    verb: str
    title: str
    source: str
    done: bool
    state: str
    hold: bool
    signed: tuple[tuple[str, str], ...]  # label, what stands in the box
    details: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    bolts: BoltsView | None
    tables: tuple[ValueTable, ...]


class PageView(Struct, frozen=True):
    anchor: str
    title: str
    state: str
    before: tuple[tuple[str, bool], ...]  # text, whether the page is signed
    lines: tuple[LineView, ...]
    signed: tuple[tuple[str, str], ...]
    alone: bool  # an assembly of the engine's sheet, which has a paper page of its own

    @property
    def long(self) -> bool:
        """More than a page holds: set in smaller steps where it is to stay on one, else gone on with."""
        return len(self.before) + sum(map(_height, self.lines)) > ROOM


class BuildSheet(Framed, frozen=True):
    """The whole document."""

    engine: str
    rule: str
    state: str
    stops: tuple[str, ...]
    cautions: tuple[str, ...]
    deviations: tuple[tuple[str, str], ...]
    open: tuple[str, ...]
    unlisted: str  # parts bought that no line takes
    pages: tuple[PageView, ...]
    sources: tuple[str, ...]

    @property
    def covered(self) -> bool:
        """Whether the first assembly leaves the head a page to itself, which then lists the hold points."""
        return bool(self.pages) and self.pages[0].alone and self.pages[0].long


def _height(line: LineView) -> float:
    """About how many lines of text one line of the sheet takes; what a pen is to write in takes two."""
    rows = sum(1.0 + sum(1.1 if all(cells) else 2.0 for _, cells in table.rows) for table in line.tables)
    text = len(line.details) + 1.2 * len(line.cautions) + 2.6 * bool(line.signed) + line.hold
    bolts = 0.0
    if line.bolts is not None:
        bolts = 5.0 + len(line.bolts.stages) + 6.0 * (line.bolts.drawing is not None)
    return 1.8 + rows + text + bolts


def build_sheet(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> BuildSheet:
    """The view of one job's build sheet."""
    build = job.bench.build
    bolts = {group.name: group for group in build.fastenings}
    known = _Known(job.system, second_system(job, "limit"), bolts, _taken(build.lines), build.from_sheet)
    pages = tuple(_page(page, known) for page in build.pages)
    return BuildSheet(
        frame=framed(
            job,
            say(TITLE),
            say("Build sheet: {job}", job=job.title),
            style=f"@page{{margin-top:18mm;margin-bottom:13mm}}{numbers_after('.bpage>h2')}",
            sections=tuple((page.anchor, page.title) for page in pages),
        ),
        engine=engine_line(job),
        rule=say(RULE),
        state=_state(len(build.not_done)) if build.begun else "",
        stops=tuple(_against(job)),
        cautions=tuple(map(told, build.cautions)),
        deviations=deviations(job),
        open=tuple(map(_sentence, job.bench.open)) if build.begun else (),
        unlisted=stop("; ".join(map(_counted, build.unlisted))),
        pages=pages,
        sources=tuple(dict.fromkeys(_sentence(text) for group in build.fastenings for text in group.sources)),
    )


def _against(job: Assessment) -> Iterator[str]:
    """What stands against putting it together: the customer's word, as orders have it."""
    if lacks := approval_lacks(job):
        yield stop(say("Approval: {what}", what=lacks))
    yield from map(_sentence, job.bench.build.stops)


def engine_line(job: Assessment) -> str:
    """Maker, model, from which end cylinders are counted, which way it turns."""
    return ", ".join(
        filter(None, (job.engine.full_name, told(job.engine.counting), place(job.engine.rotation)))
    )


def _state(left: int) -> str:
    if not left:
        return say("All lines are done and signed.")
    words = message("One line not done yet." if left == 1 else "{count} lines not done yet.")
    return say(words, count=capital(figure(left)))


def _sentence(text: Text) -> str:
    return stop(opening(text))


class _Known(Struct, frozen=True):
    """What a line is told with, besides itself."""

    system: System
    second: System | None  # beside it
    bolts: dict[str, Fastening]
    taken: dict[str, list[str]]  # part: the lines that take of it, where no positions part it between them
    from_sheet: bool


def _taken(lines: tuple[BuildLine, ...]) -> dict[str, list[str]]:
    taken: dict[str, list[str]] = {}
    for line in lines:
        for part in line.parts:
            if part.part and not part.positions:
                taken.setdefault(part.part, []).append(line.number)
    return taken


def _page(page: BuildPage, known: _Known) -> PageView:
    counts = {state: number for state, number in page.counts.items() if number}
    untouched = set(counts) <= {"open"}
    return PageView(
        anchor=f"page-{page.name}",
        title=told(page.title),
        state="" if untouched else joined(f"{number} {say(state)}" for state, number in counts.items()),
        before=tuple((text, page.signed is not None) for text in page.before),
        lines=tuple(_line(line, known) for line in page.lines),
        signed=_boxes(page.signed, two=False),
        alone=known.from_sheet,
    )


def _line(line: BuildLine, known: _Known) -> LineView:
    group = known.bolts.get(line.fastening)
    two = line.hold or line.verb == "mark" or (line.signed is not None and bool(line.signed.witness))
    own = line.verb in ("hold", "mark", "check", "tighten")
    return LineView(
        number=line.number,
        verb=line.verb,
        title=heading(told(line.title)),
        source=told(line.source) if line.verb != "tighten" else "",  # there it stands with the bolts
        done=line.state == "done",
        state=_line_state(line),
        hold=line.hold,
        signed=_boxes(line.signed, two) if own else (),
        details=tuple(_details(line, known.taken)),
        cautions=tuple(map(_sentence, line.cautions)),
        bolts=None if group is None else bolts_view(group, known.system, known.second),
        tables=(*_values(line, known), *stretch_tables(group, known.system, known.second)),
    )


def _line_state(line: BuildLine) -> str:
    """What a line waits for; nothing of one that is simply open, or simply done.

    That a part is not decided about stands with the part.
    """
    if any(part.new is None for part in line.parts):
        return ""
    if line.state_text:
        return f"{say(line.state)}: {told(line.state_text)}"
    return "" if line.state in ("done", "open") else say(line.state)


def _boxes(signed: Signed | None, two: bool) -> tuple[tuple[str, str], ...]:
    """What is signed for, empty boxes where nobody has."""
    boxes = [(say("by"), told(signed.by) if signed else "")]
    if two:
        boxes.append((say("seen by"), told(signed.witness) if signed else ""))
    return (*boxes, (say("date"), day(signed.date) if signed else ""))


def _details(line: BuildLine, taken: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
    """What stands under the title of a line, word and text; how bolts are tightened stands with them."""
    details = [_chosen(part, taken.get(part.part, [])) for part in line.parts]
    if not line.parts:
        details.append((say("where"), places(line.positions)))
    details += [(say("way round"), told(text)) for text in line.orientation]
    if line.verb != "tighten":
        details.append((say("lubricant"), line.lubricant))
    details.append((say("sealant"), line.sealant))
    details += mark_details(line.mark) if line.mark is not None else [(say("found"), told(line.found))]
    if line.verb != "tighten":
        details += [(say("note"), told(note)) for note in line.notes]
    details += [(say("verdict"), _not_in_order(line)), (say("deviation"), joined(line.deviations))]
    return ((word, text) for word, text in details if text)


def _counted(part: Chosen) -> str:
    many = f"{part.count}{NBSP}×{NBSP}" if part.count > 1 else ""
    name, number = told(part.name), f" ({part.part})" if part.part != told(part.name) else ""
    # of more than its places nobody says where the others go
    known = 0 < part.count <= len(part.positions)
    where = " " + say("at {places}", places=places(part.positions)) if known else ""
    return f"{many}{name}{number}{where}"


def _chosen(part: Chosen, lines: list[str]) -> tuple[str, str]:
    """A part of a line; of one that several ``lines`` take no one can say how many go in here."""
    word = say({True: "new", False: "used again"}[part.new]) if part.new is not None else say("not decided")
    name, grade = told(part.name), told(part.grade)
    names = [part.part, name] if part.part != name else [name]
    where = say("at {places}", places=places(part.positions)) if part.positions and not grade else ""
    many = ""
    if part.count > 1 and not part.positions:
        many = say("{count} pieces", count=part.count)
        if len(lines) > 1:
            many = say("{count} pieces in all, for lines {lines}", count=part.count, lines=joined(lines))
    said = ", ".join(filter(None, (*names, many, where, grade)))
    return word, "; ".join(filter(None, (said, told(part.note))))


def mark_details(mark: MarkLine) -> Iterator[tuple[str, str]]:
    """A reference mark line by line, with what it proves."""
    makers = mark.factory
    if makers and mark.legible is False:
        makers = say("{mark} (not legible beyond doubt)", mark=makers)
    details = (
        (say("the maker's"), makers),
        (say("ours"), mark.shop),
        (say("crank at"), mark.crank_at),
        (say("count"), mark.count),
        (say("tensioner"), mark.tensioner),
        (say("trust"), f"{told(mark.trust_text)}: {told(mark.proves)}"),
        (say("proved by"), mark.verified) if mark.verified else (say("to prove by"), mark.verify),
        (say("found"), mark.found),
    )
    return ((word, text) for word, text in details if text)


def _values(line: BuildLine, known: _Known) -> Iterator[ValueTable]:
    """Tables of what a line wants; characteristics that are read at the same places share one.

    What is done without a reading, by a deviation, leaves nothing to write: no table, or a stroke in it.
    """
    if line.state == "done" and not line.values:
        return
    if not line.columns and line.wanted:
        yield ValueTable(tuple(map(place, line.wanted)), ((say("Value"), ("",) * len(line.wanted)),))
    groups: dict[tuple[str, ...], list[BuildColumn]] = {}
    for column in line.columns:
        groups.setdefault(_read_at(line, column), []).append(column)
    read = {(value.column, value.position): value for value in line.values}
    unread = "–" if line.state == "done" else ""

    def cells(column: BuildColumn, spots: Sequence[str]) -> tuple[str, ...]:
        shown = (_cell(read.get((column.name, spot)), column.limits, known.system) for spot in spots)
        return tuple(cell or unread for cell in shown)

    for positions, columns in groups.items():
        for some in in_reach(positions, ABREAST):
            rows = tuple((_column_head(column, known), cells(column, some)) for column in columns)
            yield ValueTable(tuple(map(place, some)), rows)


def _read_at(line: BuildLine, column: BuildColumn) -> tuple[str, ...]:
    """Where a characteristic is read: where the line wants it, or between two places that it lists."""
    there = tuple(dict.fromkeys(value.position for value in line.values if value.column == column.name))
    if line.wanted and (not there or set(there) & set(line.wanted)):
        return line.wanted
    return there or ("",)


def _column_head(column: BuildColumn, known: _Known) -> str:
    if not column.unit:
        return opening(column.title)
    limits = _both_limits(column.limits, column, known)
    if column.worn not in ((None, None), column.limits):
        new, worn = limits, _both_limits(column.worn, column, known)
        limits = say("new {new}, worn {worn}", new=new, worn=worn) if new else say("worn {worn}", worn=worn)
    unit = "" if limits else unit_text(first_unit(column.unit, known.system))
    return " ".join(filter(None, (opening(column.title) or say("Value"), limits, unit)))


def _both_limits(ends: Ends, column: BuildColumn, known: _Known) -> str:
    """'max 3.0 N·m', or 'max 3.0 N·m (2.2 lbf·ft)'; a converted one is rounded to the safe side."""
    if ends == (None, None):
        return ""
    shown = show(0.0, column.unit, column.decimals, known.system)
    unit = first_unit(column.unit, known.system)
    first = f"{_limits(ends, column, known.system, unit)}{NBSP}{unit_text(unit)}"
    if known.second is None or not shown.second_unit:
        return first
    second = _limits(ends, column, known.second, shown.second_unit, bare=True)  # its word is said once
    return f"{first} ({second}{NBSP}{shown.second_unit})"


def _limits(ends: Ends, column: BuildColumn, system: System, unit: str, bare: bool = False) -> str:
    if unit == column.unit:
        return show_interval(*ends, column.unit, column.decimals, system, bare=bare)
    # a torque in whole pound-feet is too coarse to work to
    finer = column.decimals + (dimension(column.unit) == "torque")
    if bare and None in ends:
        return spoken().figures("".join(limit_texts(*ends, column.unit, finer, system)))
    return show_limits(*ends, column.unit, finer, system)


def _cell(value: BuildValue | None, limits: Ends, system: System) -> str:
    if value is None or not value.unit:
        return ""
    return SIGNS[value.bound] + show(value.value, value.unit, value.decimals, system, limits).text


def _not_in_order(line: BuildLine) -> str:
    """Which values of a line are beyond a limit or too close to it, and where."""
    titles = {column.name: column.title for column in line.columns}
    said = message("{what} {place} {verdict}")
    return "; ".join(
        say(
            said,
            what=opening(titles.get(value.column, NOTHING)),
            place=place(value.position),
            verdict=say(value.verdict),
        ).strip()
        for value in line.values
        if value.verdict in ("beyond limit", "too close to call")
    )
