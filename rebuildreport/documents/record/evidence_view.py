"""What speaks for a cause and what against, in words: a few lines beside a finding.

In: FindingEvidence of an Assessment.  Out: views.  Weighs nothing: the order is that of the facts.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.model.failure_evidence import CauseEvidence, Clue, FindingEvidence
from ...quantities import message
from ..drawings.scales import name_of
from ..press.language import say, show, told
from ..press.words import NBSP, joined, micro, value

NEAREST = 2  # alternatives beside the cause that is named
CAUSE_WORDS = message(
    {
        "overload": "overload",
        "starvation": "too little oil",
        "dirt": "dirt",
        "misalignment": "misalignment",
        "bend": "bent crankshaft or rod",
        "fatigue": "fatigue",
        "corrosion": "corrosion",
        "assembly": "how it was put together",
        "fuel in oil": "fuel in the oil",
        "tight fit": "too tight a fit",
        "heat": "overheating",
        "early firing": "firing too early",
        "no lash": "no valve clearance",
        "worn guide": "worn guide",
        "seat": "valve not tight on its seat",
        "spring": "weak spring",
        "contact": "valve and piston met",
    }
)
LOOK_WORDS = message(
    {
        "oil pressure": "oil pressure",
        "oil pump": "oil pump",
        "bearing clearance": "clearance",
        "taper": "taper of the journal",
        "housing": "bore of the housing",
        "crush": "crush of the shells",
        "bent crank": "runout of the crankshaft",
        "main line": "line of the main bores",
        "bent rod": "straightness of the rod",
        "roughness": "roughness",
        "stretched bolts": "length of the bolts",
        "damper": "damper",
        "dirt in the oil": "oil analysis, dirt",
        "fuel in the oil": "oil analysis, fuel",
        "water in the oil": "oil analysis, water",
        "piston clearance": "piston clearance",
        "ring gap": "ring gap",
        "head face": "face of the head",
        "compression ratio": "compression ratio",
        "chain": "chain",
        "cam timing": "valve timing",
        "lash": "valve clearance",
        "guide": "valve guide",
        "seat": "valve seat",
        "recession": "depth of the valve",
        "spring": "valve spring",
        "valve to piston": "gap from valve to piston",
        "oil film": "oil film",
        "loaded half": "walls of the worn halves",
        "particles in the filter": "oil filter cut open",
        "fuel drained": "fuel in the drained oil",
        "water drained": "water in the drained oil",
    }
)
FILM = message("film with oil {film} at a clearance of {clearance}, roughness {rough}")
SO = message(
    {
        "oil film": FILM,
        "loaded half": "the loaded half is worn {wear} more; so at {few} of {many} positions that differ",
        "alone": "the only one of {many} beyond its limits",
        "particles in the filter": "particles in the cut oil filter",
        "fuel drained": "fuel in the drained oil",
        "water drained": "water in the drained oil",
    }
)
NOT_SO = message(
    {
        "oil film": FILM,
        "loaded half": "the half that bears less is worn {wear} more; the loaded one at {few} of {many}",
        "alone": "{few} of {many} beyond their limits",
        "particles in the filter": "none in the cut oil filter",
        "fuel drained": "no fuel in the drained oil",
        "water drained": "no water in the drained oil",
    }
)


class CauseView(Struct, frozen=True):
    """One cause: what speaks for it, against it, and what nobody looked at; '' where nothing does."""

    cause: str
    named: bool
    speaks_for: str
    against: str
    unknown: str


def beside_finding(job: Assessment, finding: str) -> tuple[CauseView, ...]:
    """The named cause and the alternatives nearest to it; nothing where no cause is named, and where no
    reading says anything of it."""
    told_of = next((one for one in job.evidence if one.finding == finding), None)
    if told_of is None or told_of.named is None:
        return ()
    first, *others = told_of.causes
    if not any(clue.look != "seen" for clue in (*first.speaks_for, *first.against)):
        return ()
    near = [one for one in others if one.speaks_for or one.against][:NEAREST]
    return tuple(_view(one, told_of, job) for one in (first, *near))


def _view(one: CauseEvidence, of: FindingEvidence, job: Assessment) -> CauseView:
    return CauseView(
        say(CAUSE_WORDS[one.cause]),
        one.cause == of.named,
        _listed(one.speaks_for, job),
        _listed(one.against, job),
        joined([say(LOOK_WORDS[look]) for look in one.unknown]),
    )


def _listed(clues: Sequence[Clue], job: Assessment) -> str:
    return "; ".join(_clue(clue, job) for clue in clues)


def _length(length: float, job: Assessment) -> str:
    shown = show(length, "mm", 3, job.system)
    return f"{shown.text}{NBSP}{shown.unit}"


def _clue(clue: Clue, job: Assessment) -> str:
    shown = job.find(clue.shown)
    if shown is not None:
        printed = value(shown, job.system)
        name = name_of(job.feature(shown.feature), shown.name, shown.position)
        said = f"{name} {printed.said}{NBSP}{printed.unit}" if printed else name
        return (
            f"{said}, {told(shown.side)}" if clue.is_so and shown.side else say("{value}, inside", value=said)
        )
    if clue.look == "seen":
        return say(clue.typed)
    numbers = clue.figures or (0.0, 0.0)
    first, few, many = numbers[0], numbers[-2], numbers[-1]
    figures = {
        "film": micro(first),
        "clearance": _length(few, job),
        "rough": micro(many),
        "wear": micro(first) if job.system == "mm" else _length(first, job),
        "few": f"{few:.0f}",
        "many": f"{many:.0f}",
    }
    return say((SO if clue.is_so else NOT_SO)[clue.look], **figures)
