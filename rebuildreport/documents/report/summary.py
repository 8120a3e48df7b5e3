"""The summary: a line per feature, its worst position on arrival beside its worst now.

In: the summary lines of an Assessment.  Out: those that a page takes, as text.  Judges nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ...assess.model.assessment import Assessment, Characteristic, SummaryLine
from ..drawings.axes import by_fit
from ..drawings.scales import limit_text, lone
from ..drawings.verdict_marks import PRINTED, Verdict, judged, verdict
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


def summary(job: Assessment, drawn: set[str], everything: bool = False, room: int = ROOM) -> Summary:
    """The lines for page one, or with ``everything`` all of them for the annex.

    ``drawn`` holds the ids of the drawings that lines may link to.  Where there
    are more lines than page one takes, it shows each feature by its worst line
    and every line that is not in order now; what is left out is counted.
    """
    chosen = list(job.summary) if everything else _chosen(job, room)
    both = _changed(chosen)
    firsts = _cells([job.find(row.first) for row in chosen], job)
    nows = _cells([job.find(row.now) for row in chosen], job)
    rows: list[SummaryRow] = []
    for row, first, now in zip(chosen, firsts, nows, strict=True):
        if now is None and (both or first is None):
            now = _missing(row)
        title, first, now = _titled(told(row.title), first, now)
        rows.append(SummaryRow(title, _link(row, drawn), first, now, row.deviation))
    heads = {
        "delivery": say("As delivered"),
        "follow-up": say("As delivered"),
        "ready to collect": say("Now, ready to collect"),
    }
    return Summary(
        rows=tuple(rows),
        both=both,
        unit=unit_text(first_unit("mm", job.system)),
        first_head=say("On arrival"),
        now_head=heads.get(job.stage, say("Now")),
        also=_left_out(job, [row for row in job.summary if row not in chosen]),
        seconds=unit_text(first_unit("mm", other(job.system))),
    )


def _changed(rows: Sequence[SummaryLine]) -> bool:
    """Whether any line says something else now; what was never measured at all is no change."""
    return any(row.now != row.first for row in rows if row.first or row.now)


def _chosen(job: Assessment, room: int) -> list[SummaryLine]:
    """What is not in order now, then the worst line of each feature on arrival, as far as there is room."""
    if len(job.summary) <= room:
        return list(job.summary)
    both = _changed(job.summary)
    kept = {i for i, row in enumerate(job.summary) if both and row.now_verdict in SEVERITY[:2]}
    leading = sorted(_worst(job) - kept, key=lambda i: (_led(job, job.summary[i]), i))
    kept |= set(leading[: max(0, room - len(kept))])
    return [job.summary[i] for i in sorted(kept)]


def _worst(job: Assessment) -> set[int]:
    """Of each feature that was not in order on arrival the first of its worst lines."""
    worst: dict[str, tuple[int, int]] = {}
    for i, row in enumerate(job.summary):
        first = job.find(row.first)
        if first is not None and first.verdict in SEVERITY[:2]:
            line = (severity(first.verdict), i)
            worst[row.feature] = min(worst.get(row.feature, line), line)
    return {i for _, i in worst.values()}


def _led(job: Assessment, row: SummaryLine) -> int:
    """Lines in the order of the findings that rest on them; what no finding speaks of comes last."""
    for i, finding in enumerate(job.findings):
        shown = (job.find(key) for key in finding.shows)
        if row.feature in {measured.feature for measured in shown if measured is not None}:
            return i
    return len(job.findings)


def _left_out(job: Assessment, rows: list[SummaryLine]) -> str:
    """'67 more lines in the annex: six beyond limit on arrival; now eight not measured and 59 as new'."""
    if not rows:
        return ""
    firsts = [job.find(row.first) for row in rows]
    came = _tally((first.verdict for first in firsts if first is not None), SEVERITY[:2])
    nows = [(row.now_verdict, job.find(row.now)) for row in rows]
    now = _tally((judged(found) if found is not None else word for word, found in nows), PRINTED)
    said = say("on arrival {came}; now {now}", came=came, now=now) if came else say("now {now}", now=now)
    if len(rows) == 1:
        return say("One more line in the annex: {what}", what=said)
    return say("{count} more lines in the annex: {what}", count=capital(figure(len(rows))), what=said)


def _tally(verdicts: Iterable[str], told_of: Iterable[str]) -> str:
    """'six beyond limit and two too close to call'."""
    counts = Counter(verdicts)
    return joined(f"{counts[name]} {verdict(name).name}" for name in told_of if counts[name])


def _titled(
    title: str, first: SummaryCell | None, now: SummaryCell | None
) -> tuple[str, SummaryCell | None, SummaryCell | None]:
    """A place with a long name stands in the title: its column is made for M4 and C3."""
    names = [cell.position if cell is not None else "" for cell in (first, now)]
    if all(len(name) <= 5 for name in names):
        return title, first, now
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


def _cells(column: list[Characteristic | None], job: Assessment) -> list[SummaryCell | None]:
    values = [value(measured, job.system) for measured in column]
    pads = aligned([printed.text if printed else "" for printed in values])
    cells: list[SummaryCell | None] = []
    for measured, printed, pad in zip(column, values, pads, strict=True):
        if measured is None:
            cells.append(None)
            continue
        feature = next((f for f in job.features if f.name == measured.feature), None)
        cells.append(
            SummaryCell(
                "" if lone(measured, feature) else place(measured.position),
                replace(printed, pad=pad) if printed else None,
                limit_text(measured, job.system),
                verdict(judged(measured)),
                *_second(measured, job.system),
            )
        )
    return cells


def _second(measured: Characteristic, system: System) -> tuple[str, str]:
    """Value and limit in the other system of units, where there is one for this quantity."""
    printed = value(measured, other(system))
    if printed is None:
        return "", ""
    text = f">{printed.text}" if printed.bound else printed.text
    limit = "" if by_fit(measured) else limit_text(measured, other(system))  # words have no second unit
    return beside(text, measured, system), beside(limit, measured, system)
