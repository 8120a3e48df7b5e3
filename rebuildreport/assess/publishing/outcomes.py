"""What of one job the shop's history keeps: what failed, why, what was done, how far each part was worn.

In: a job's records and its Assessment, of either edition.  Out: plain data without a name or a price, which
the site keeps beside the job's place in its lists, so that no job has to be loaded again to tell of many.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from hashlib import blake2b
from typing import Literal

from msgspec import Struct

from ...quantities import Several, Text
from ...records import JobFolder, ShopFolder
from ...records.files.sheet import Engine
from ...trade.engine.subjects import NOT_FOUND, OTHER, cause_subjects
from ...trade.life.lifetimes import PartState
from ..model.assessment import Assessment, Ends, PartLook, VerdictName
from ..telling.filing import Filing
from ..telling.part_lives import arrived_at

Done = Literal["", "reuse", "recondition", "replace"]
_STRENGTH: tuple[Done, ...] = ("", "reuse", "recondition", "replace")
_WORST: tuple[PartState, ...] = ("failed", "worn out", "good")


class Outcome(Struct, frozen=True):
    """One part of one engine as it came in, and what was done about it.

    A good part that was replaced all the same was replaced as a precaution.
    """

    part: str  # a code of trade/engine/subjects.py
    state: PartState  # the worst of all that is counted as this part
    done: Done
    causes: tuple[str, ...] = ()  # of what failed, as its findings tell them


class Wear(Struct, frozen=True):
    """The worst of one feature as the engine came, against its limits, in the unit of the record."""

    feature: str
    name: str  # of the limit
    title: Text  # "Main journals, out of round"; with the size step that moved its limits
    value: float
    unit: str
    verdict: VerdictName
    new: Ends
    wear: Ends
    decimals: int


class StepHours(Struct, frozen=True):
    """What one step of taking apart took, beside what the sheet has for it [h]."""

    name: str
    title: Text
    took: float
    sheet: float | None


class Past(Struct, frozen=True):
    """One job in the shop's history."""

    usage: float | None  # hours or km when it came in; None where nobody knows, or believes the meter
    usage_unit: Literal["", "h", "km"]
    failed: tuple[str, ...]  # codes of parts, the first finding's first
    causes: tuple[str, ...]
    done: tuple[tuple[str, str], ...]  # part, what was done
    outcomes: tuple[Outcome, ...]
    wear: tuple[Wear, ...]
    lives: tuple[PartLook, ...] = ()
    hours: tuple[StepHours, ...] = ()  # the shop's alone: of the public side none is known
    age: int | None = None  # years since it was built; None where nobody knows
    same_engine: str = ""  # the same in all jobs of one engine, and tells nothing of it; "" without a number


def past(shop: ShopFolder, job: JobFolder, assessment: Assessment) -> Past:
    """What the history keeps of a job, by what its edition shows."""
    usage, unit = arrived_at(job)
    filed = Filing(shop.sheet(job) or Engine.unknown()).heading
    records = job.seen
    failed: dict[str, dict[str, None]] = {}
    done: dict[str, Done] = {}
    for finding in assessment.findings:
        if finding.disposition == "reuse":
            continue
        part = filed(finding.component)
        named = records[finding.id].points_to if finding.id in records else None
        failed.setdefault(part, {}).update(dict.fromkeys(cause_subjects(finding.cause, named)))
        _set_down(done, part, finding.disposition)
    for decision in assessment.decisions:
        _set_down(done, filed(decision.about), decision.do)
    if assessment.stage == "declined":
        done = {}  # advised, and not done
    causes = {part: _known(proposed) for part, proposed in failed.items()}
    built, owner = job.record.arrival.built, job.record.owner
    number = "".join((owner.serial or owner.registration).split()).upper() if owner else ""
    return Past(
        usage,
        unit,
        tuple(failed),
        tuple(dict.fromkeys(cause for of_part in causes.values() for cause in of_part)),
        tuple((part, did) for part, did in done.items() if did != "reuse"),
        tuple(_outcomes(assessment, filed, causes, done)),
        tuple(_wear(assessment)),
        assessment.lives,
        tuple(_hours(assessment)),
        job.record.opened.year - built if built and built <= job.record.opened.year else None,
        blake2b(number.encode(), digest_size=8).hexdigest() if number else "",
    )


def _known(causes: Collection[str]) -> tuple[str, ...]:
    """What somebody could say of a part; of nothing but other words and no cause, the one that says more."""
    said = [code for code in causes if code not in (NOT_FOUND.code, OTHER.code)]
    return tuple(said) or ((OTHER if OTHER.code in causes else NOT_FOUND).code,)


def _hours(assessment: Assessment) -> Iterator[StepHours]:
    for line in assessment.apart.lines:
        if line.took is not None:
            sheet = None if line.takes is None else float(line.takes)
            yield StepHours(line.name, line.title, float(line.took), sheet)


def _set_down(done: dict[str, Done], part: str, code: str) -> None:
    """What was done about a part: of several decisions the one that went furthest."""
    if code in _STRENGTH:
        done[part] = max(done.get(part, ""), code, key=_STRENGTH.index)


def _outcomes(
    assessment: Assessment,
    filed: Callable[[str], str],
    causes: Mapping[str, tuple[str, ...]],
    done: Mapping[str, Done],
) -> Iterator[Outcome]:
    states: dict[str, PartState] = {}
    arrived = assessment.lives[0].use if assessment.lives else None
    for look in assessment.lives:
        if look.component and look.use == arrived:
            part = filed(look.component)
            states[part] = min(states.get(part, "good"), look.state, key=_WORST.index)
    for part, state in sorted(states.items()):
        yield Outcome(part, state, done.get(part, ""), causes.get(part, ()))


def _wear(assessment: Assessment) -> list[Wear]:
    """The worst of each line of the summary that has limits; a test of the whole engine, too."""
    found = []
    for line in assessment.summary:
        value = assessment.find(line.first)
        if value is None or value.value is None or value.limits is None:
            continue
        worst = value.value if value.worst is None else value.worst
        limits = value.limits
        ends = limits.new, limits.wear, limits.decimals
        title = Several([line.title, limits.size]) if limits.size else line.title
        found.append(Wear(value.feature, line.characteristic, title, worst, value.unit, value.verdict, *ends))
    return found
