"""The line of days of a job: from its opening to the promised day, with the present wait, today through all.

In: a ``Waiting`` and a day.  Out: a drawing, of the same five weeks to either side of today in every row.
"""

from __future__ import annotations

from datetime import date, timedelta

from ...assess.waiting.matters import Waiting
from ..drawings.axes import Axis
from ..drawings.canvas import Drawing, DrawingSheet
from ..press.language import say
from ..press.words import day

WIDTH, HEIGHT, ROW = 136.0, 26.0, 10.0
REACH = 35  # days to either side: five weeks, as most jobs of a small shop take (study of the page)
MARK = 21  # days at which the head of the column names a date: at four weeks a long month is cut off
HALF = WIDTH / 2
EDGE = 20.0  # from the end at which a date stands inwards of its tick


def _at(when: date, on: date) -> float:
    """Across, cut off at either end."""
    return Axis(-REACH, REACH, 0.0, WIDTH)((when - on).days)


def axis(on: date) -> Drawing:
    """The head of the column: today, and a date to either side."""
    sheet = DrawingSheet(WIDTH, 12)
    for days in (-MARK, MARK):
        when = on + timedelta(days=days)
        sheet.label(_at(when, on), 9, day(when, year=False), "italic")
    sheet.label(HALF, 9, say("today"), "strong")
    return sheet.done("")


def line(job: Waiting, on: date) -> Drawing:
    """One row."""
    sheet = DrawingSheet(WIDTH, HEIGHT)
    named = [wait.by for wait in job.waits if wait.by]
    late = [when for when in (*named, job.promised) if when and when < on]
    begun = job.opened or on
    end = max(job.promised or on, on)
    if late:
        sheet.hatch("hatch-bad", _at(min(late), on), ROW - 5, HALF, ROW + 5, step=2.6)
        for when in sorted(set(late)):
            sheet.line("span", _at(when, on), ROW - 5, _at(when, on), ROW + 5)
    sheet.line("thin", _at(begun, on), ROW, _at(end, on), ROW)
    if (on - begun).days <= REACH:
        sheet.line("thin", _at(begun, on), ROW - 3, _at(begun, on), ROW + 3)
    since = job.waits[0].since if job.waits else None
    if since and since <= on:
        sheet.line("wait", _at(since, on), ROW, HALF, ROW)
        sheet.ring("dot", _at(since, on), ROW, 1.9)
    for when in {by for by in named if by >= on}:
        sheet.line("span", _at(when, on), ROW - 3, _at(when, on), ROW + 3)
    if job.promised:
        _promised(sheet, job.promised, on)
    return sheet.done(_told(job, since))


def _promised(sheet: DrawingSheet, promised: date, on: date) -> None:
    at = _at(promised, on)
    kept = promised >= on
    sheet.line("promise" if kept else "limit", at, ROW - 5, at, ROW + 5)
    anchor, x = "middle", at
    if at > WIDTH - EDGE:
        anchor, x = "end", WIDTH
    elif at < EDGE:
        anchor, x = "start", 0.0
    elif abs(at - HALF) < EDGE:  # clear of the line of today
        anchor, x = ("start", HALF + 3) if kept else ("end", HALF - 3)
    sheet.label(x, ROW + 13, day(promised, year=False), "name" if kept else "strong", anchor)


def _told(job: Waiting, since: date | None) -> str:
    said = [say("opened {day}", day=day(job.opened, year=False))] if job.opened else []
    if since:
        said.append(say("waiting since {day}", day=day(since, year=False)))
    if job.promised:
        said.append(say("promised {day}", day=day(job.promised, year=False)))
    return ", ".join(said)
