"""What a shop has seen of one engine family: what fails, how often, at what age, how far its parts wear.

In: what the site keeps of each job.  Out: the family's page, piece by piece.  Everything counted on it is
counted here, from the same records: the lead, the tally, the panels and the list cannot disagree.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from math import ceil
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import PartLook
from ...assess.model.enginefacts import engine_name
from ...quantities import convert, message
from ...trade.access.spent import Spent, spent
from ...trade.engine.subjects import OTHER, TITLES
from ...trade.life.lifetimes import Lifetime, of_family
from ..drawings.axes import Axis, round_up
from ..drawings.canvas import Drawing, DrawingSheet, n
from ..drawings.verdict_marks import verdict
from ..press import templating
from ..press.codes import DID
from ..press.language import say, show, spoken
from ..press.words import NBSP, capital, figure, first_unit, in_threes, joined, unit_text
from ..report.view import Edition
from .entries import Listed
from .life_figure import life_section

MOST_LOZENGES = 25  # in one line of the tally: of more engines each stands for several
MOST_PANELS = 12
MOST_STEPS = 12
FEWEST = 2  # engines with a meter reading from which on wear is drawn: one point is no picture
MANY = 60  # engines in a panel from which on their lozenges are drawn smaller
LISTED = 24  # jobs on the page; the others stand in the family's list
_BEYOND = ("failed", "worn out")
_WIDE, _HIGH = 150.0, 92.0  # of a panel, points


class Tally(Struct, frozen=True):
    """One part of the family: how many engines had lost it, and at what age."""

    part: str
    many: int
    because: str  # what led to it most often
    ages: str  # "4210 to 11 880 h"
    done: str  # "3 replaced, 2 reconditioned"
    lozenges: Drawing


class WearPanel(Struct, frozen=True):
    """One characteristic over all engines: its wear against their age."""

    title: str
    said: str  # "11 of 23 beyond 0.150 mm"
    drawing: Drawing


def engine_html(
    heads: tuple[str, str, str],
    jobs: Iterable[Listed],
    edition: Edition = "shop",
    shop: Path | None = None,
    system: str = "mm",
    **more: object,
) -> Iterator[str]:
    """One engine family, piece by piece; ``jobs`` come newest first."""
    every = [in_miles(job) if system == "in" else job for job in jobs]
    if not every:
        raise ValueError("no job is of the engine")
    newest = every[0]
    name, contact, notice = heads
    title = engine_name(newest.maker, newest.model) or newest.engine
    tally = _tally(every)
    template = templating.environment(shop).get_template("engine.html.jinja")
    return template.generate(
        lang=spoken().code,
        shop=name,
        contact=contact,
        notice=notice,
        title=title,
        home="../index.html",
        intro=capital("; ".join(newest.built)) + "." if newest.built else "",
        lead=_lead(every, tally),
        many=_engines(every),
        each=_each(_engines(every)),
        tally=tally,
        life=life_section(*_lives(every), shop),
        panels=panels(every, system),
        hours=hours_spent(every) if edition == "shop" else (),
        jobs=[(job, ages([job]), verdict(job.verdict)) for job in every[:LISTED]],
        all_jobs=f"../lists/engine-{newest.engine}.html" if len(every) > LISTED else "",
        every=len(every),
        edition=edition,
        assets="../assets/",
        **more,
    )


def in_miles(job: Listed) -> Listed:
    """The job as a shop of inches tells of it: what ran kilometres, as lives are kept, ran miles."""
    past = job.past
    if past.get("usage_unit") != "km":
        return job
    lives = []
    for look in past.get("lives", ()):
        run = {key: look[key] for key in ("use", "new_at", "known_from") if look.get(key)}
        miles = {key: convert(value, "km", "mi") for key, value in run.items()}
        lives.append({**look, **miles, "unit": "mi"})
    told = {"usage": convert(past["usage"], "km", "mi"), "usage_unit": "mi"}
    return replace(job, past={**past, **told, "lives": lives})


def _engines(jobs: Iterable[Listed]) -> int:
    """How many engines came: one that came twice is one, as far as its number tells."""
    return len({job.past.get("same_engine") or job.job for job in jobs})


def _lead(jobs: Sequence[Listed], tally: Sequence[Tally]) -> str:
    """The answer before the evidence, with both counts in it: never a share alone."""
    many = _engines(jobs)
    if many == 1:
        return say("One of them has come here so far.")
    said = capital(say("{count} of them have come here so far.", count=figure(many)))
    if not tally or tally[0].many < 2:
        return said
    words = message("What went most often: {part}, on {count} of the {all} engines that came here.")
    if tally[0].many == many:
        words = message("What went most often: {part}, on each of the {all}.")
    return say(words, part=tally[0].part, count=figure(tally[0].many), all=figure(many))


# ------------------------------------------------------------------------------- what fails


def _tally(jobs: Sequence[Listed]) -> list[Tally]:
    """Every part that one of the engines had lost, the most frequent first."""
    beyond: dict[str, list[Listed]] = {}
    causes: dict[str, Counter[str]] = {}
    done: dict[str, Counter[str]] = {}
    for job in jobs:
        for outcome in job.past.get("outcomes", ()):
            if outcome["state"] in _BEYOND:
                beyond.setdefault(outcome["part"], []).append(job)
                causes.setdefault(outcome["part"], Counter()).update(outcome["causes"])
                done.setdefault(outcome["part"], Counter())[outcome["done"]] += 1
    every, found = _engines(jobs), []
    for part, had in beyond.items():
        many = _engines(had)
        told = _because(causes[part]), ages(had), _done(done[part], alone=len(had) == 1)
        found.append(Tally(_part(part), many, *told, lozenges(many, every)))
    return sorted(found, key=lambda line: (line.part == _part(OTHER.code), -line.many, line.part))


def _part(code: str) -> str:
    return say(TITLES.get(code, code))


def _because(causes: Counter[str]) -> str:
    """What led to it most often, of what somebody could say."""
    known = [(many, code) for code, many in causes.items() if code not in ("not_found", "other")]
    if not known:
        return ""
    most = max(many for many, _ in known)
    return "; ".join([_part(code) for many, code in known if many == most][:3])


def _done(did: Counter[str], alone: bool) -> str:
    """What was done about it, of those of which that is decided."""
    known = [(say(DID[code]), many) for code, many in did.most_common() if code]
    return ", ".join(word if alone else f"{many} {word}" for word, many in known)


def ages(jobs: Sequence[Listed]) -> str:
    """From what meter reading to what, in each unit that there is; "" where no meter is believed."""
    said = []
    for unit in ("h", "km", "mi"):
        read = [job.past["usage"] for job in jobs if job.past.get("usage_unit") == unit]
        if read:
            least, most = in_threes(min(read)), in_threes(max(read))
            words = least if least == most else say("{least} to {most}", least=least, most=most)
            said.append(f"{words}{NBSP}{unit}")
    return joined(said)


def _each(many: int) -> int:
    """For how many engines a lozenge stands."""
    return ceil(many / MOST_LOZENGES)


def lozenges(had: int, many: int) -> Drawing:
    """One lozenge an engine, filled for those that had lost the part; of many engines each for several."""
    each = _each(many)
    filled, every = round(had / each) or min(had, 1), ceil(many / each)
    sheet = DrawingSheet(every * 8.0 + 1.0, 9.0)
    for at in range(every):
        sheet.lozenge("beyond" if at < filled else "p-open", 4.5 + at * 8.0, 4.5, 3.2)
    return sheet.done("")  # its numbers stand beside it


def _lives(jobs: Sequence[Listed]) -> tuple[dict[str, list[Lifetime]], str]:
    """Lives by part, in the use that most meters of the family show."""
    units = Counter(job.past["usage_unit"] for job in jobs if job.past.get("usage_unit"))
    if not units:
        return {}, ""
    unit = units.most_common(1)[0][0]
    names: dict[str, str] = {}
    seen = []
    for job in jobs:
        looks = [look for look in job.past.get("lives", ()) if look["unit"] == unit]
        names = {look["component"]: look["title"] for look in looks} | names
        seen.append([PartLook(**look).seen(job.past["same_engine"]) for look in looks])
    return {names[name]: lives for name, lives in of_family(seen).items()}, unit


# ------------------------------------------------------------------------------- how far it wears


def panels(jobs: Sequence[Listed], system: str) -> list[WearPanel]:
    """Each characteristic that several engines were measured for: the most often beyond first.

    A panel has one pair of limits: what was ground or bored is drawn with its own step alone.  All share
    one axis of hours, or of distance where that is what most meters show.
    """
    units = Counter(unit for job in jobs if (unit := job.past.get("usage_unit")))
    if not units:
        return []
    unit = units.most_common(1)[0][0]
    read: dict[tuple[object, ...], list[tuple[float, dict[str, Any]]]] = {}
    for past in (job.past for job in jobs if job.past.get("usage_unit") == unit):
        for wear in past.get("wear", ()):
            drawn = (wear["feature"], wear["name"], *wear["new"], *wear["wear"])
            read.setdefault(drawn, []).append((past["usage"], wear))
    longest = max((usage for many in read.values() for usage, _ in many), default=0.0)
    last = round_up(max(longest, 1.0), (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0))
    found = [(_beyond(points), len(points), points) for points in read.values() if len(points) >= FEWEST]
    found.sort(key=lambda one: (-one[0], -one[1], one[2][0][1]["title"]))
    return [_panel(points, last, unit, system) for _, _, points in found[:MOST_PANELS]]


def hours_spent(jobs: Sequence[Listed]) -> list[tuple[str, ...]]:
    """Steps of taking apart that took other hours than the newest sheet's: those that cost most first."""
    took: dict[str, list[float]] = {}
    newest: dict[str, dict[str, Any]] = {}
    for job in jobs:
        for step in job.past.get("hours", ()):
            newest.setdefault(step["name"], step)
            took.setdefault(step["name"], []).append(step["took"])
    held = [(newest[name], spent(hours, newest[name]["sheet"])) for name, hours in took.items()]
    odd = [(step, found) for step, found in held if found.middle != step["sheet"]]
    odd.sort(key=lambda one: (-abs(one[1].middle - (one[0]["sheet"] or 0.0)) * one[1].count, one[0]["name"]))
    rows = [_hours(step, found) for step, found in odd[:MOST_STEPS]]
    return rows if any(row[-1] for row in rows) else [row[:-1] for row in rows]  # nothing is proposed yet


def _hours(step: dict[str, Any], found: Spent) -> tuple[str, ...]:
    def in_hours(hours: float | None) -> str:
        return "" if hours is None else spoken().number(Decimal(f"{hours:g}"))

    spread = in_hours(found.least)
    if found.most != found.least:
        spread = say("{first} to {last}", first=spread, last=in_hours(found.most))
    asked = say("{hours} h in the sheet?", hours=in_hours(found.proposed)) if found.proposed else ""
    middle = in_hours(found.middle)
    return capital(step["title"]), in_hours(step["sheet"]), middle, spread, str(found.count), asked


def _beyond(points: Sequence[tuple[float, dict[str, Any]]]) -> int:
    return sum(wear["verdict"] == "beyond limit" for _, wear in points)


def _panel(points: Sequence[tuple[float, dict[str, Any]]], last: float, unit: str, system: str) -> WearPanel:
    """One panel, wear upwards: a part that gets smaller is drawn upside down."""
    newest = points[0][1]  # of all of them the limits are the same
    low, high = _deciding(newest)
    down = high is None  # only a least is given: wear makes it less
    limit = low if down else high
    edges: list[float] = [end for ends in (newest["new"], newest["wear"]) for end in ends if end is not None]
    values: list[float] = [wear["value"] for _, wear in points]
    least, most = min([*edges, *values]), max([*edges, *values])
    room = 0.08 * ((most - least) or 1.0)
    least, most = (0.0 if not down and 0 <= least < 0.4 * most else least - room), most + room

    sheet = DrawingSheet(_WIDE, _HIGH)
    left, right, foot = 6.0, _WIDE - 6.0, _HIGH - 16.0
    height = Axis(least, most, *((4.0, foot) if down else (foot, 4.0)))
    sheet.over("tint", "hatch", "limit", "axis")
    new_low, new_high = newest["new"]
    if limit is not None:
        sheet.hatch("hatch", left, 4.0, right, height(limit))
        sheet.line("limit", left, height(limit), right, height(limit))
    if (new_low, new_high) != (None, None):
        ends = [height(least if new_low is None else new_low), height(most if new_high is None else new_high)]
        top = max(min(ends), 4.0 if limit is None else height(limit))
        sheet.box("tint", left, top, right, min(max(ends), foot))
    sheet.line("axis", left, foot, right, foot)
    for usage, wear in sorted(points, key=lambda point: point[0]):
        x = Axis(0.0, last, left, right)(usage)
        role = "beyond" if wear["verdict"] == "beyond limit" else "arrival"
        sheet.lozenge(role, x, height(wear["value"]), 2.8 if len(points) <= MANY else 1.8)
    _ages(sheet, Axis(0.0, last, left, right), unit)
    said = _caption(points, newest, limit, system)
    return WearPanel(
        newest["title"], said, sheet.done(f"{newest['title']}: {said}; {_spread(points, newest, system)}")
    )


def _ages(sheet: DrawingSheet, x: Axis, unit: str) -> None:
    """What stands below a panel: nought, half and the whole of its axis."""
    for share, anchor in ((0.0, "start"), (0.5, "middle"), (1.0, "end")):
        end = x.high * share
        text = in_threes(end) if end == int(end) else spoken().figures(n(end))
        text += f"{NBSP}{unit}" if share == 1.0 else ""
        sheet.label(x(end), _HIGH - 4.0, text, "limit", anchor)


def _deciding(wear: dict[str, Any]) -> tuple[float | None, float | None]:
    """The ends that wear is judged by: its wear limit, and where a side has none its new limit."""
    low, high = wear["wear"]
    if (low, high) != (None, None):
        return low, high
    return wear["new"][0], wear["new"][1]


def _caption(
    points: Sequence[tuple[float, dict[str, Any]]], newest: dict[str, Any], limit: float | None, system: str
) -> str:
    if limit is None:
        return say("{count} measured", count=len(points))
    shown = show(limit, newest["unit"], newest["decimals"], system)
    words = message("{count} of {all} beyond {limit}")
    unit = unit_text(first_unit(newest["unit"], system))
    return say(words, count=_beyond(points), all=len(points), limit=f"{shown.text}{NBSP}{unit}")


def _spread(points: Sequence[tuple[float, dict[str, Any]]], newest: dict[str, Any], system: str) -> str:
    values = [wear["value"] for _, wear in points]
    ends = [show(end, newest["unit"], newest["decimals"], system).text for end in (min(values), max(values))]
    return say("{least} to {most}", least=ends[0], most=ends[1])
