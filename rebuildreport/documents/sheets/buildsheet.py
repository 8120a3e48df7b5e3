"""The build sheet: one page an assembly, in order, with what to write and to sign; all texts finished."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.bench import BuildColumn, BuildLine, BuildPage, BuildValue, Chosen, Ends, MarkLine
from ...assess.model.bolting import Fastening, Signed
from ...quantities import dimension, english, show, show_interval, show_limits
from ..press.frame import Framed
from ..press.language import opening, told
from ..press.words import NBSP, System, capital, count, day, joined, other, place, places, stop, unit_text
from ..report.asbuilt import deviations
from ..report.bolt_tables import BoltsView, ValueTable, bolts_view, in_reach, stretch_tables

TITLE = "Build sheet"
RULE = (
    "In this order. A line is done when its value stands and somebody has signed; nobody goes on past a hold "
    "point before two people have signed it."
)
ROOM = 44.0  # lines of text that an assembly has on its page
WORDS = {"done": "done", "out of limits": "out of limits", "not signed": "not signed", "open": "open"}


@dataclass(frozen=True, slots=True)
class LineView:
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


@dataclass(frozen=True, slots=True)
class PageView:
    anchor: str
    title: str
    state: str
    before: tuple[tuple[str, bool], ...]  # text, whether the page is signed
    lines: tuple[LineView, ...]
    signed: tuple[tuple[str, str], ...]

    @property
    def tight(self) -> bool:
        """Set in smaller steps, to stay on its one page."""
        return len(self.before) + sum(map(_height, self.lines)) > ROOM


@dataclass(frozen=True, slots=True)
class BuildSheet(Framed):
    """The whole document, with what its frame asks for."""

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


def _height(line: LineView) -> float:
    """About how many lines of text one line of the sheet takes."""
    rows = sum(1.3 + 1.1 * len(table.rows) for table in line.tables)
    text = len(line.details) + 1.2 * len(line.cautions) + 1.5 * bool(line.signed) + 2.0 * line.hold
    bolts = (
        0.0 if line.bolts is None else 5.0 + len(line.bolts.stages) + 6.0 * (line.bolts.drawing is not None)
    )
    return 1.8 + rows + text + bolts


def is_built(one: Assessment) -> bool:
    """Whether there is anything to put together yet."""
    return bool(one.bench.build.pages)


def build_sheet(one: Assessment, shop: Path | None = None) -> BuildSheet:
    """The view of one job's build sheet."""
    build = one.bench.build
    name = " ".join(part for part in (one.engine.maker, one.engine.model) if part) or one.engine.name
    bolts = {group.name: group for group in build.fastenings}
    pages = tuple(_page(page, one.system, bolts) for page in build.pages)
    left = len(build.not_done)
    state = "All lines are done and signed." if not left else f"{capital(count(left, 'line'))} not done yet."
    return BuildSheet(
        title=f"{TITLE}: {one.title}",
        lang="en",
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        head=f"Job {one.job} · {name} · build sheet, as of {day(one.as_of)}",
        description=f"Build sheet of job {one.job}, {name}",
        paged=True,
        style="@page{margin:20mm 18mm 15mm}",
        sections=tuple((page.anchor, page.title) for page in pages),
        engine=", ".join(filter(None, (name, told(one.engine.counting), one.engine.rotation))),
        rule=RULE,
        state=state if build.begun else "",
        stops=tuple(stop(capital(text)) for text in build.stops),
        cautions=tuple(english(caution) for caution in build.cautions),
        deviations=deviations(one),
        open=tuple(stop(capital(text)) for text in one.bench.open) if build.begun else (),
        unlisted=stop(capital("; ".join(_counted(part) for part in build.unlisted))),
        pages=pages,
        sources=tuple(dict.fromkeys(stop(capital(s)) for g in build.fastenings for s in g.sources)),
    )


def _page(page: BuildPage, system: System, bolts: dict[str, Fastening]) -> PageView:
    counts = page.counts
    said = [f"{number} {state}" for state, number in counts.items() if number]
    return PageView(
        anchor=f"page-{page.name}",
        title=told(page.title),
        state=joined(said) if any(counts[state] for state in counts if state != "open") else "",
        before=tuple((text, page.signed is not None) for text in page.before),
        lines=tuple(_line(line, system, bolts) for line in page.lines),
        signed=_boxes(page.signed, two=False),
    )


def _line(line: BuildLine, system: System, bolts: dict[str, Fastening]) -> LineView:
    group = bolts.get(line.fastening)
    two = line.hold or line.verb == "mark" or (line.signed is not None and bool(line.signed.witness))
    own = line.verb in ("hold", "mark", "check", "tighten")
    state = "" if line.state == "open" and not line.state_text else WORDS[line.state]
    if line.state_text:
        state = f"{state}: {line.state_text}" if state else line.state_text
    return LineView(
        number=line.number,
        verb=line.verb,
        title=opening(line.title),
        source=told(line.source) if line.verb != "tighten" else "",
        done=line.state == "done",
        state="" if line.state == "done" and not line.state_text else state,
        hold=line.hold,
        signed=_boxes(line.signed, two) if own else (),
        details=tuple(_details(line)),
        cautions=tuple(stop(capital(english(caution))) for caution in line.cautions),
        bolts=None if group is None else bolts_view(group, system),
        tables=(*_values(line, system), *stretch_tables(group, system)),
    )


def _boxes(signed: Signed | None, two: bool) -> tuple[tuple[str, str], ...]:
    """What is signed for, empty boxes where nobody has."""
    boxes = [("by", signed.by if signed else "")]
    if two:
        boxes.append(("seen by", signed.witness if signed else ""))
    return (*boxes, ("date", day(signed.date) if signed else ""))


def _details(line: BuildLine) -> Iterable[tuple[str, str]]:
    for part in line.parts:
        yield _chosen(part)
    if line.positions and not line.parts:
        yield "where", places(line.positions)
    for text in line.orientation:
        yield "way round", text
    if line.lubricant and line.verb != "tighten":  # there it stands with the bolts
        yield "lubricant", line.lubricant
    if line.sealant:
        yield "sealant", line.sealant
    if line.mark is not None:
        yield from mark_details(line.mark)
    if line.found and line.mark is None:
        yield "found", line.found
    for note in line.notes if line.verb != "tighten" else ():
        yield "note", note
    if line.deviations:
        yield "deviation", joined(line.deviations)


def _counted(part: Chosen) -> str:
    many = f"{part.count} × " if part.count > 1 else ""
    return f"{many}{part.name}" + (f" ({part.part})" if part.part != part.name else "")


def _chosen(part: Chosen) -> tuple[str, str]:
    word = {True: "new", False: "used again", None: "not decided"}[part.new]
    names = [part.part, part.name] if part.part and part.name != part.part else [part.name]
    where = f"at {places(part.positions)}" if part.positions and not part.grade else ""
    many = f"{part.count} pieces" if part.count > 1 and not part.positions else ""
    return word, ", ".join(text for text in (*names, many, where, part.grade, told(part.note)) if text)


def mark_details(mark: MarkLine) -> Iterable[tuple[str, str]]:
    """A reference mark line by line, with what it proves."""
    if mark.factory:
        yield "the maker's", mark.factory + (" (not legible beyond doubt)" if mark.legible is False else "")
    if mark.shop:
        yield "ours", mark.shop
    if mark.crank_at:
        yield "crank at", mark.crank_at
    if mark.count:
        yield "count", mark.count
    if mark.tensioner:
        yield "tensioner", mark.tensioner
    yield "trust", f"{mark.trust_text}: {mark.proves}"
    if mark.verified:
        yield "proved by", mark.verified
    elif mark.verify:
        yield "to prove by", mark.verify
    if mark.found:
        yield "found", mark.found


def _values(line: BuildLine, system: System) -> Iterable[ValueTable]:
    """Tables of what a line wants; characteristics that are read at the same places share one."""
    if not line.columns and line.wanted:
        cells = tuple("" for _ in line.wanted)
        yield ValueTable(tuple(place(position) for position in line.wanted), (("", cells),))
    groups: dict[tuple[str, ...], list[BuildColumn]] = {}
    read: dict[tuple[str, str], BuildValue] = {(v.column, v.position): v for v in line.values}
    for column in line.columns:
        there = [v.position for v in line.values if v.column == column.name]
        own = [position for position in line.wanted if position in there or not there]
        # between neighbours: positions that the line itself does not list
        wanted = tuple(line.wanted) if own else tuple(dict.fromkeys(there)) or ("",)
        groups.setdefault(wanted, []).append(column)
    for positions, columns in groups.items():
        for some in in_reach(positions):
            rows = tuple(
                (
                    _column_head(column, system),
                    tuple(_cell(read.get((column.name, one)), column.limits, system) for one in some),
                )
                for column in columns
            )
            yield ValueTable(tuple(place(one) for one in some), rows)


def _column_head(column: BuildColumn, system: System) -> str:
    if not column.unit:
        return capital(column.title)
    ends = [_both_limits(column.limits, column, system)]
    if column.worn not in ((None, None), column.limits):
        new = f"new {ends[0]}" if ends[0] else ""
        ends = [new, f"worn {_both_limits(column.worn, column, system)}"]
    said = ", ".join(text for text in ends if text)
    unit = "" if said else unit_text(show(0.0, column.unit, column.decimals, system).unit)
    return capital(" ".join(part for part in (column.title or "value", said, unit) if part))


def _both_limits(ends: Ends, column: BuildColumn, system: System) -> str:
    """Limits in both systems: 'max 3.0 N·m (2.2 lbf·ft)'; a converted one is rounded to the safe side."""
    if ends == (None, None):
        return ""
    shown = show(0.0, column.unit, column.decimals, system)
    first = _limits(ends, column, system, shown.unit)
    if not shown.second_unit:
        return f"{first}{NBSP}{unit_text(shown.unit)}"
    second = _limits(ends, column, other(system), shown.second_unit)
    second = second.removeprefix("max ").removeprefix("min ")
    return f"{first}{NBSP}{unit_text(shown.unit)} ({second}{NBSP}{shown.second_unit})"


def _limits(ends: Ends, column: BuildColumn, system: System, unit: str) -> str:
    if unit == column.unit:
        return show_interval(*ends, column.unit, column.decimals, system)
    # a torque in whole pound-feet is too coarse to work to
    finer = column.decimals + (dimension(column.unit) == "torque")
    return show_limits(*ends, column.unit, finer, system)


def _cell(value: BuildValue | None, limits: Ends, system: System) -> str:
    if value is None:
        return ""
    text = show(value.value, value.unit, value.decimals, system, limits).text if value.unit else ""
    bad = value.verdict in ("beyond limit", "too close to call")
    return f"{text} {value.verdict}" if bad else text
