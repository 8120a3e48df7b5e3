"""The summary: a line per feature, its worst position on arrival beside its worst now."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...assess.model.assessment import Assessment, Characteristic, SummaryLine
from ..drawings.axes import by_fit
from ..drawings.scales import limit_text, lone
from ..press.language import say, told
from ..press.templating import anchor
from ..press.words import (
    SEVERITY,
    System,
    Value,
    aligned,
    beside,
    capital,
    figure,
    first_unit,
    joined,
    other,
    place,
    severity,
    unit_text,
    value,
)
from .answers import Verdict, verdict

ROOM = 16  # lines that page one takes beside its answers


@dataclass(frozen=True, slots=True)
class SummaryCell:
    """A position with its value, limit and verdict: half a line of the summary."""

    position: str
    value: Value | None
    limit: str
    verdict: Verdict
    second: str = ""  # the value in the other system; "" where the trade has one unit only
    second_limit: str = ""


@dataclass(frozen=True, slots=True)
class SummaryRow:
    title: str
    link: str
    first: SummaryCell | None
    now: SummaryCell | None
    deviation: str


@dataclass(frozen=True, slots=True)
class Summary:
    """Lines of the summary; ``both`` where anything was measured again since arrival."""

    rows: tuple[SummaryRow, ...]
    both: bool
    unit: str
    first_head: str
    now_head: str
    also: str  # what else was judged and is in order
    seconds: str = ""  # unit of the other system, where it stands below every value


def summary(one: Assessment, drawn: set[str], everything: bool = False, room: int = ROOM) -> Summary:
    """The lines for page one, or with ``everything`` all of them for the annex.

    ``drawn`` holds the ids of the drawings that lines may link to.  Where there
    are more lines than page one takes, it shows each feature by its worst line
    and every line that is not in order now; what is left out is counted.
    """
    # never measured at all is no change: it needs no second half
    both = any(row.now != row.first for row in one.summary if row.first or row.now)
    chosen = list(one.summary) if everything else _chosen(one, both, room)
    # lines that say the same twice need no second half
    both = any(row.now != row.first for row in chosen if row.first or row.now)
    firsts = _cells([one.find(row.first) for row in chosen], one)
    nows = _cells([one.find(row.now) for row in chosen], one)
    rows: list[SummaryRow] = []
    for row, first, now in zip(chosen, firsts, nows, strict=True):
        shown = now or (_missing(row) if both or first is None else None)
        title, first, shown = _titled(told(row.title), first, shown)
        rows.append(SummaryRow(title, _link(row, drawn), first, shown, row.deviation))
    heads = {
        "delivery": say("As delivered"),
        "follow-up": say("As delivered"),
        "ready to collect": say("Now, ready to collect"),
    }
    return Summary(
        rows=tuple(rows),
        both=both,
        unit=unit_text(first_unit("mm", one.system)),
        first_head=say("On arrival"),
        now_head=heads.get(one.stage, say("Now")),
        also=_left_out(one, [row for row in one.summary if row not in chosen]),
        seconds=unit_text(first_unit("mm", other(one.system))),
    )


def _chosen(one: Assessment, both: bool, room: int) -> list[SummaryLine]:
    if len(one.summary) <= room:
        return list(one.summary)
    worst: dict[str, SummaryLine] = {}
    kept: set[int] = set()
    for i, row in enumerate(one.summary):
        first = one.find(row.first)
        if first is not None and first.verdict in SEVERITY[:2]:
            known = worst.get(row.feature)
            before = one.find(known.first) if known else None
            if before is None or severity(first.verdict) < severity(before.verdict):
                worst[row.feature] = row
        if both and row.now_verdict in SEVERITY[:2]:
            kept.add(i)
    chosen = [i for i, row in enumerate(one.summary) if i in kept or worst.get(row.feature) is row]
    spare = max(0, room - len(kept))
    leading = sorted((i for i in chosen if i not in kept), key=lambda i: _led(one, one.summary[i]))[:spare]
    return [one.summary[i] for i in chosen if i in kept or i in leading]


def _led(one: Assessment, row: SummaryLine) -> int:
    """Lines in the order of the findings that rest on them; what no finding speaks of comes last."""
    features = [{c.feature for key in finding.shows if (c := one.find(key))} for finding in one.findings]
    return next((i for i, found in enumerate(features) if row.feature in found), len(features))


def _left_out(one: Assessment, rows: list[SummaryLine]) -> str:
    """'67 more lines in the annex: six beyond limit on arrival; now eight not measured and 59 as new'."""
    if not rows:
        return ""
    arrived: list[str] = [first.verdict for row in rows if (first := one.find(row.first)) is not None]
    before = [(arrived.count(name), name) for name in SEVERITY[:2]]
    tally = [(sum(row.now_verdict == name for row in rows), name) for name in SEVERITY]
    came = joined(f"{many} {say(name)}" for many, name in before if many)
    now = joined(f"{many} {say(name)}" for many, name in tally if many)
    said = say("on arrival {came}; now {now}", came=came, now=now) if came else say("now {now}", now=now)
    if len(rows) == 1:
        return say("One more line in the annex: {what}", what=said)
    return say("{count} more lines in the annex: {what}", count=capital(figure(len(rows))), what=said)


def _titled(
    title: str, first: SummaryCell | None, now: SummaryCell | None
) -> tuple[str, SummaryCell | None, SummaryCell | None]:
    """A place with a long name stands in the title: its column is made for M4 and C3."""
    if all(cell is None or len(cell.position) <= 5 for cell in (first, now)):
        return title, first, now
    names = [cell.position if cell is not None else "" for cell in (first, now)]
    if names[0] and names[1] and names[0] != names[1]:
        title = say("{title}, {first}, now {now}", title=title, first=names[0], now=names[1])
    else:
        title = f"{title}, {names[0] or names[1]}"
    bare = [None if cell is None else replace(cell, position="") for cell in (first, now)]
    return title, bare[0], bare[1]


def _link(row: SummaryLine, drawn: set[str]) -> str:
    name = anchor(f"m-{row.feature}-{row.characteristic}")
    return f"#{name}" if name in drawn else ""


def _missing(row: SummaryLine) -> SummaryCell:
    """Nothing stands: the cell says so and shows no value."""
    return SummaryCell("", None, "", verdict(row.now_verdict if row.now is None else "not measured"))


def _cells(ones: list[Characteristic | None], whole: Assessment) -> list[SummaryCell | None]:
    values = [value(one, whole.system) for one in ones]
    pads = aligned([printed.text if printed else "" for printed in values])
    cells: list[SummaryCell | None] = []
    for one, printed, pad in zip(ones, values, pads, strict=True):
        if one is None:
            cells.append(None)
            continue
        shown = Value(printed.text, printed.unit, printed.both, printed.bound, pad) if printed else None
        feature = next((f for f in whole.features if f.name == one.feature), None)
        where = "" if lone(one, feature) else place(one.position)
        limit = limit_text(one, whole.system)
        cells.append(SummaryCell(where, shown, limit, verdict(one.verdict), *_second(one, whole.system)))
    return cells


def _second(one: Characteristic, system: System) -> tuple[str, str]:
    """Value and limit in the other system of units, where there is one for this quantity."""
    printed = value(one, other(system))
    if printed is None:
        return "", ""
    text = f">{printed.text}" if printed.bound else printed.text
    limit = "" if by_fit(one) else limit_text(one, other(system))  # words have no second unit
    return beside(text, one, system), beside(limit, one, system)
