"""``check``: what is wrong in the files, and what stands out in each job."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..quantities import english
from .terminal.options import known_jobs, shop_option
from .terminal.telling import PROBLEMS, count, problem_lines, say

if TYPE_CHECKING:
    from ..assess.model.assessment import Assessment, Characteristic
    from ..records import Problem, ShopFolder


@click.command("check")
@click.argument("jobs", nargs=-1, metavar="[JOB]...")
@shop_option()
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.option(
    "--strict",
    is_flag=True,
    help="leave with 1, too, where work must stop or went past a hold point or limit",
)
def command(jobs: tuple[str, ...], shop: Path, form: str, strict: bool) -> int:
    """Look through the files of each JOB (all without one).

    First every problem, with its file, line and column; then for each job its
    stage, what is beyond its limit, what is too close to call, what is not
    measured, and the open questions.
    """
    names = known_jobs(shop, jobs)
    from ..assess.build.bench_record import gone_past
    from ..records import load_shop

    folder = load_shop(shop, names)
    known = _worked_out(folder)
    problems = _problems(folder, known)
    if form == "json":
        say(json.dumps(_as_data(problems, known), ensure_ascii=False, indent=1))
    else:
        say("\n".join(_text(folder, problems, known)).lstrip("\n"))
    if strict and any(one is not None and (one.cost.stops or gone_past(one)) for one in known.values()):
        return PROBLEMS
    return PROBLEMS if any(one.severity == "error" for one in problems) else 0


def _worked_out(folder: ShopFolder) -> dict[str, Assessment | None]:
    """Each job, without the entries in which errors stand; None where too little is left."""
    from ..assess import assess_job, assess_sound

    known: dict[str, Assessment | None] = {}
    for name, job in folder.jobs.items():
        if job.usable and folder.shop is not None:
            known[name] = assess_job(folder, job)
        else:
            *_, known[name] = assess_sound(folder.path, name, folder.siblings) or [None]
    return known


def _problems(folder: ShopFolder, known: dict[str, Assessment | None]) -> list[Problem]:
    """What stands against the files, errors behind errors too, and what working them out has shown."""
    from ..records.load import errors_behind

    worked_out = {problem for one in known.values() if one for problem in one.problems}
    found = set(folder.all_problems)
    for name, one in known.items():
        if one is None or one.without:
            found |= {*errors_behind(folder.path, name, folder.siblings)}
    # what nothing but the reading without the faulty entries misses in their file is those entries
    faulty = {problem.file for problem in found if problem.severity == "error"}
    return sorted(found | {problem for problem in worked_out if problem.file not in faulty})


def _text(folder: ShopFolder, problems: list[Problem], known: dict[str, Assessment | None]) -> Iterable[str]:
    for problem in problems:
        yield from problem_lines(problem, folder.path)
    if problems:
        errors = sum(one.severity == "error" for one in problems)
        yield f"{count(errors, 'error')}, {count(len(problems) - errors, 'warning')}"
    for name, assessment in known.items():
        yield ""
        if assessment is None:
            yield f"{name}: not worked out, put the errors right first"
            continue
        if assessment.without:
            yield f"{name}: errors above; worked out without lines: {'; '.join(assessment.without)}"
        yield from _job(name, assessment)
    if not known and not problems:
        yield "no jobs yet"


def _job(name: str, one: Assessment) -> Iterable[str]:
    from ..assess.model.prices import FINISHED
    from ..assess.money.asking import against_ordering

    yield f"{name}: {one.title}"
    yield f"  stage: {one.stage}"
    going_on = one.cost.stops and one.stage not in FINISHED
    stops = "WORK STOPS for an approval" if going_on else "approval"
    yield from (f"  {stops}: {english(line)}" for line in against_ordering(one))
    yield from _since_approved(one)
    standing = [value for value in one.characteristics if value.stands]
    for verdict in ("beyond limit", "too close to call"):
        yield from _block(verdict, _values([value for value in standing if value.verdict == verdict], one))
    yield from _block("not measured", map(english, one.not_measured))
    yield from _block("chosen", _chosen(one))
    yield from _block("to decide", map(english, (*one.to_decide, *one.to_price)))
    if one.in_the_files:
        yield from _block("to put right in the files", map(english, one.in_the_files))
    if plan := one.access:
        price = "" if plan.total is None else f", {plan.total:f} {one.cost.currency} with its parts"
        yield f"  access plan: {len(plan.steps)} steps, {plan.hours:f} h off, {plan.back:f} h back{price}"
    yield from _build(one)


def _build(one: Assessment) -> Iterable[str]:
    """How far the build sheet is, its hold points without signatures, and what was built otherwise."""
    build = one.bench.build
    if not build.begun:
        return
    counts = [(state, sum(line.state == state for line in build.lines)) for state in _STATES]
    yield "  build sheet: " + ", ".join(f"{number} {state}" for state, number in counts if number)
    for line in build.unsigned_holds:
        state = english(line.state_text) or "not signed"
        yield f"    hold point {line.number} {english(line.title)}: {state}"
    for departure in build.departures:
        about, what = english(departure.about), english(departure.what)
        yield f"    deviation {departure.id} {about}: {what} ({english(departure.signed)})"


_STATES = ("done", "out of limits", "not signed", "open")


def _chosen(job: Assessment) -> Iterable[str]:
    """``Main shells: S2 at M1, M3; S3 at M2 (decided, W1)``"""
    for one in job.choices:
        status = "none surely fits" if one.status == "none fits" else one.status
        word = f"{status}, {one.decision}" if one.decision else status
        paper = f" tried with {one.on_paper}" if one.on_paper else ""
        if one.answer:
            yield f"{english(one.title)}{paper}: {english(one.answer)} ({word})"


def _since_approved(one: Assessment) -> Iterable[str]:
    """Lines that differ from those that were approved, and what they do to the date."""
    against = one.cost.against
    if against is None or (not against.changes and not against.days_later):
        return
    when = against.approval.date.isoformat()
    many = len(against.changes)
    differ = "one line differs" if many == 1 else f"{many or 'no'} lines differ"
    yield f"  since the approval of {when}: {differ}"
    for change in against.changes:
        gap = "no price" if change.difference is None else f"{change.difference:+}"
        why = f", {english(change.why)}" if change.why else ", no reason written"
        yield f"    {change.kind}: {english(change.name)} {gap}{why}"
    if against.days_later:
        days = "one day" if abs(against.days_later) == 1 else f"{abs(against.days_later)} days"
        yield f"    ready {days} {'later' if against.days_later > 0 else 'earlier'} than promised"


def _block(title: str, lines: Iterable[str]) -> Iterable[str]:
    found = list(lines)
    yield f"  {title}: " + (str(len(found)) if found else "nothing")
    yield from (f"    {line}" for line in found)


def _title(value: Characteristic, one: Assessment) -> str:
    feature = one.feature(value.feature)
    return f"{english(feature.title)}, {_name(value, one)}" if feature else f"{value.feature} {value.name}"


def _name(value: Characteristic, one: Assessment) -> str:
    feature = one.feature(value.feature)
    return english(feature.characteristics.get(value.name, value.name)) if feature else value.name


def _values(values: list[Characteristic], one: Assessment) -> Iterable[str]:
    """A line each; the smallest, mean and largest clearance of a bearing, held to one limit, share theirs."""
    alike: dict[tuple[object, ...], list[Characteristic]] = {}
    for value in values:
        ends = value.limits.decides if value.limits else value.key
        alike.setdefault((value.feature, value.position, ends, english(value.side)), []).append(value)
    for first, *others in alike.values():
        also = ", ".join(_name(value, one) for value in others)
        yield _value(first, one) + (f"; and {also}" if also else "")


def _value(value: Characteristic, one: Assessment) -> str:
    """``M4 Main journals, out of round: 0.034 mm (0.0013 in), limit max 0.030: too large``"""
    from ..quantities import show, show_interval

    ends = value.limits.decides if value.limits else (None, None)
    text = f"{value.position} {_title(value, one)}: "
    if value.value is None:
        return text + (english(value.advice) or "no value")
    limit_decimals = value.limits.decimals if value.limits else None
    shown = show(value.value, value.unit, value.decimals, one.system, ends, limit_decimals)
    text += shown.both
    if value.limits and not value.limits.by_fit:
        limit = show_interval(*ends, value.unit, value.limits.decimals, one.system, shown.places)
        text += f", limit {limit}"
    side = english(value.side)
    if side and value.verdict == "too close to call":
        side = f"may be {side}"
    covered = [f"accepted by {d.id}" for d in one.deviations if value.key in d.covers]
    by = english(value.note) if value.limits and value.limits.by_fit else ""  # another value decides
    advice = "" if covered else english(value.advice)
    said = [part for part in (by, side, *covered, advice, english(value.fitness)) if part]
    return text + (f": {'; '.join(said)}" if said else "")


def _as_data(problems: list[Problem], known: dict[str, Assessment | None]) -> dict[str, Any]:
    """The same for machines: problems, and each job in the form of results.json."""
    from msgspec.structs import asdict

    from ..assess.publishing.results import to_json

    jobs = {name: one and json.loads(to_json(one))["assessment"] for name, one in known.items()}
    return {"problems": [asdict(one) for one in problems], "jobs": jobs}
