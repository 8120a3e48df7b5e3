"""What more than one document says of a job: how its engine is built, what was accepted.

In: an Assessment.  Out: texts in the language that is spoken.  Works out no value.
"""

from __future__ import annotations

import re

from ...assess.model.assessment import Assessment, Decision, Deviation
from ...assess.money.asking import against_ordering
from ...quantities import convert
from ...trade.engine.cylinders import Rows
from .codes import DID, DONE
from .language import opening, say, show, spoken, told
from .words import NBSP, NUMBERS, day, joined, place, places, second_system, stop


def arranged(arrangement: str, cylinders: int, rows: Rows = "") -> str:
    """How an engine is built, as people say it.

    >>> [arranged(*built) for built in (("inline", 6), ("V", 2, "v"), ("V8", 8, "v"), ("single", 1), ("", 3))]
    ['inline six', 'V-twin', 'V8', 'single cylinder', 'three cylinders']
    """
    if cylinders == 1:
        return "single cylinder"
    if not 1 < cylinders < len(NUMBERS):
        return arrangement
    if rows == "v":
        return "V-twin" if cylinders == 2 else f"V{cylinders}"
    if not arrangement:
        return f"{NUMBERS[cylinders]} cylinders"
    return f"{arrangement} {'twin' if cylinders == 2 else NUMBERS[cylinders]}"


def engine_lines(job: Assessment, alone: bool = True) -> tuple[str, ...]:
    """'Tarnbeck OD6-54, inline six, diesel' and '98.0 x 120.0 mm, 5431 cm³, 9412 h'.

    Not ``alone``: beside others of its family, which have its name, and no meter of theirs.
    """
    engine = job.engine
    built = say(arranged(engine.arrangement, engine.cylinders, engine.rows))
    first = ", ".join(part for part in (engine.full_name if alone else "", built, say(engine.fuel)) if part)
    sizes: list[str] = []
    if engine.bore is not None and engine.stroke is not None:
        bore = show(engine.bore, "mm", engine.bore_decimals, job.system)
        stroke = show(engine.stroke, "mm", engine.stroke_decimals, job.system)
        sizes.append(f"{bore.text} × {stroke.text}{NBSP}{bore.unit}")
    if engine.displacement is not None:
        sizes.append(swept(engine.displacement, job.system, both=second_system(job) is not None))
    if alone and job.meter:
        sizes.append(told(job.meter).replace(" ", NBSP))
    return (first, ", ".join(sizes)) if sizes else (first,)


def swept(volume: float, system: str, both: bool) -> str:
    """A displacement [cm³] as an engine is known by: in a shop of inches in cubic inches first."""
    unit, decimals = ("cm³", 0) if system == "mm" else ("in³", 1)
    shown = show(convert(volume, "cm³", unit), unit, decimals, system)
    return shown.both if both else f"{shown.text}{NBSP}{shown.unit}"


def approval_lacks(job: Assessment) -> str:
    """Why nothing may be ordered, sent out or put together yet; '' where an approval covers it."""
    return "; ".join(map(told, against_ordering(job)))


def accepted(deviation: Deviation) -> tuple[str, str]:
    """A part used although outside a limit: what, why, by whom."""
    by = say("Signed by {name}, {day}.", name=told(deviation.signed), day=day(deviation.date))
    limit = spoken().figures(deviation.accept)
    accepted = say("{what} {limit} accepted", what=opening(deviation.what), limit=limit)
    spots = joined(map(place, deviation.positions))
    head = f"{deviation.id}: {told(deviation.feature_title)} {spots}".strip()
    return head, f"{stop(f'{accepted}: {deviation.why}')} {by}"


def done_to(job: Assessment, disposition: str, about: str) -> str:
    """What becomes of a part; once the customer has declined nobody waits for his word any more."""
    feature = job.feature(about)
    if disposition == "recondition" and feature is not None and feature.kind == "valve_clearance":
        return say("adjusted" if job.did_is_done else "adjust")
    if disposition == "hold_for_customer" and job.stage == "declined":
        return say("declined")
    return say((DID if job.did_is_done else DONE)[disposition])


def decided(decision: Decision, job: Assessment) -> str:
    """'Gear backlash: replaced (idler gear bush)': a reading is not replaced, the part behind it is."""
    about = f"{told(decision.about_title)} {places([*map(place, decision.positions)])}".strip()
    done = done_to(job, decision.do, decision.about)
    parts = [
        told(line.name) for line in job.cost.lines if line.group == "part" and decision.id in line.decisions
    ]
    if decision.do == "replace" and parts:
        done = f"{done} ({', '.join(parts)})"
    return ", ".join(filter(None, [f"{about}: {done}", told(decision.size)]))


def numbered(text: str, job: Assessment) -> str:
    """'debris of F1' as a reader finds it: 'debris of finding 1'."""
    printed = {finding.id: str(finding.number) for finding in job.findings}

    def number(name: re.Match[str]) -> str:
        if name[0] not in printed:
            return name[0]
        return say("finding\u00a0{number}", number=printed[name[0]])

    return re.sub(r"\b[A-Z]+\d+\b", number, text)
