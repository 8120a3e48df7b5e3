"""What of one job the shop's history keeps: what failed, why, what was done, how far each part was worn.

In: a job's records and its Assessment, of either edition.  Out: plain data without a name or a price, which
the site keeps beside the job's place in its lists, so that no job has to be loaded again to tell of many.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from ...quantities import QuantityError, Text, english, parse
from ...records import JobFolder
from ...trade.engine.subjects import cause_subjects, part_subject
from ..model.assessment import Assessment, Characteristic, Ends, Feature, VerdictName

# failed: a finding of the job has it repaired or renewed; worn: beyond its limit when it was measured, and no
# finding of its own; sound: measured, inside its limit
Found = Literal["failed", "worn", "sound"]
Done = Literal["", "reuse", "recondition", "replace"]
# tests of the whole engine tell that something is wrong, and not what
_TESTS = frozenset({"compression", "leak_down", "compression_ratio"})
_STRENGTH: tuple[Done, ...] = ("", "reuse", "recondition", "replace")
KM_A_MILE = 1.609344  # by definition (international yard and pound agreement, 1959)


@dataclass(frozen=True, slots=True)
class Outcome:
    """One part of one engine as it came in, and what was done about it.

    For a life: ``failed`` is an event, ``worn`` one that happened some time before, ``sound`` none yet; a
    sound part that was replaced all the same was replaced as a precaution.
    """

    part: str  # a code of trade/engine/subjects.py
    found: Found
    done: Done
    causes: tuple[str, ...] = ()  # of what failed, as its findings tell them


@dataclass(frozen=True, slots=True)
class Wear:
    """The worst of one feature as the engine came, against its limits, in the unit of the record."""

    feature: str
    name: str  # of the limit
    title: Text  # "Main journals, out of round"
    value: float
    unit: str
    verdict: VerdictName
    new: Ends
    wear: Ends
    decimals: int


@dataclass(frozen=True, slots=True)
class Past:
    """One job in the shop's history."""

    usage: float | None  # hours or km when it came in; None where nobody knows, or believes the meter
    usage_unit: Literal["", "h", "km"]
    failed: tuple[str, ...]  # codes of parts, the first finding's first
    causes: tuple[str, ...]
    done: tuple[tuple[str, str], ...]  # part, what was done
    outcomes: tuple[Outcome, ...]
    wear: tuple[Wear, ...]


def past(job: JobFolder, assessment: Assessment) -> Past:
    """What the history keeps of a job, by what its edition shows."""
    usage, unit = usage_of(job)
    failed: dict[str, list[str]] = {}
    done: dict[str, Done] = {}
    for finding in assessment.findings:
        if finding.disposition == "reuse":
            continue
        part = part_subject(finding.component, english(finding.component_title))
        failed.setdefault(part, []).append(finding.cause)
        _set_down(done, part, finding.disposition)
    for decision in assessment.decisions:
        _set_down(done, part_subject(decision.about, english(decision.about_title)), decision.do)
    if assessment.stage == "declined":
        done = {}  # advised, and not done
    causes = dict.fromkeys(cause for told in failed.values() for cause in cause_subjects(told))
    return Past(
        usage,
        unit,
        tuple(failed),
        tuple(causes),
        tuple((part, did) for part, did in done.items() if did != "reuse"),
        _outcomes(assessment, failed, done),
        tuple(_wear(assessment)),
    )


def _set_down(done: dict[str, Done], part: str, code: str) -> None:
    """What was done about a part: of several decisions the one that went furthest."""
    if code in _STRENGTH:
        done[part] = max(done.get(part, ""), code, key=_STRENGTH.index)


def usage_of(job: JobFolder) -> tuple[float | None, Literal["", "h", "km"]]:
    """What the meter said, in hours or in km; None where it is not believed.

    Source: the mile by definition.
    """
    arrival = job.job.arrival if job.job else None
    if arrival is None or not arrival.meter or arrival.meter_believed is False:
        return None, ""
    text = re.sub(r"(?<=\d)[ \u00a0\u202f](?=\d{3}\b)", "", arrival.meter)
    if miles := re.fullmatch(r"([\d.]+) ?(?:mi|miles?)", text):
        return round(float(miles[1]) * KM_A_MILE), "km"
    try:
        read = parse(text)
    except QuantityError:
        return None, ""
    if read.unit == "h":
        return read.value, "h"
    return (read.value, "km") if read.unit == "km" else (None, "")


def _arrived(assessment: Assessment) -> list[tuple[Feature, Characteristic]]:
    """What was measured as the engine came, with its feature."""
    found = []
    for value in assessment.characteristics:
        feature = assessment.feature(value.feature)
        if feature and value.round in assessment.as_found and value.value is not None:
            found.append((feature, value))
    return found


def _outcomes(
    assessment: Assessment, failed: dict[str, list[str]], done: dict[str, Done]
) -> tuple[Outcome, ...]:
    found: dict[str, Found] = dict.fromkeys(failed, "failed")
    for feature, value in _arrived(assessment):
        if feature.kind in _TESTS or value.limits is None:
            continue
        part = part_subject(feature.name, english(feature.title))
        if value.verdict == "beyond limit":
            found[part] = "failed" if part in failed else "worn"
        elif value.verdict in ("serviceable", "as new"):
            found.setdefault(part, "sound")
    return tuple(
        Outcome(part, what, done.get(part, ""), cause_subjects(failed[part]) if part in failed else ())
        for part, what in sorted(found.items())
    )


def _wear(assessment: Assessment) -> list[Wear]:
    """The worst of each line of the summary that has limits; a test of the whole engine, too."""
    found = []
    for line in assessment.summary:
        value = assessment.find(line.first)
        if value is None or value.value is None or value.limits is None or value.limits.size:
            continue
        worst = value.value if value.worst is None else value.worst
        limits = value.limits
        ends = limits.new, limits.wear, limits.decimals
        found.append(
            Wear(value.feature, line.characteristic, line.title, worst, value.unit, value.verdict, *ends)
        )
    return found
