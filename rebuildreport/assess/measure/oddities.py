"""What does not fit together although each file by itself is right: questions for a person.

A clearance read directly against the one worked out, a part that is not there,
one position of another size than its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec.structs import replace

from ... import quantities
from ...quantities import Figure, Sentence, Several, Text, Typed, amid, message, present
from ...quantities.show import decimals_in
from ...records import JobFolder
from ...records.files.sheet import Engine
from ...records.files.sizes import listed_steps
from ...records.files.teardown import Missing
from ...trade.kinds import KINDS
from ...trade.measuring.uncertainty import agreement, alone
from ...trade.measuring.verdict import guard_band
from ..model.assessment import Characteristic
from ..model.keys import ValueKey
from .judging import ends_in
from .timeline import Timeline, sized, step_in_mm
from .titles import feature_title

STANDARD = Sentence("standard")


def title(engine: Engine, name: str) -> Text:
    """A feature as documents name it, in the middle of a sentence."""
    return amid(feature_title(engine, name))


# ---------------------------------------------------------------- two ways to one clearance


def contradictions(
    engine: Engine, timeline: Timeline, found: list[Characteristic], system: str
) -> tuple[list[Characteristic], list[Text]]:
    """Each direct clearance held against the one worked out for the same state of the engine.

    A direct reading is one place of a clearance that differs from place to
    place: it contradicts where it lies outside smallest and largest by more
    than the joint uncertainty (E_n above 1).  Both values then say so, beside
    their verdicts, which stay what they are.

    The two doubts are joined as if nothing were shared.  What they do share (the
    journal's micrometer, a gauge set in it, the journal reading itself) enters
    both with the same sign and would cancel in their difference, so the joint
    doubt is at most too large: a shared instrument can hide a contradiction as
    small as its own error, and never makes one.
    """
    notes: dict[ValueKey, Text] = {}
    lines: list[Text] = []
    # what was machined or read again since is no question any more
    for direct in (value for value in found if value.direct and value.value is not None and value.stands):
        ends = _worked_out(engine, timeline, direct, found)
        other = _contradicted(direct, ends)
        if other is None:
            continue
        read, worked = (alone(one.value or 0.0, one.standard_uncertainty or 0.0) for one in (direct, other))
        score = abs(agreement(read, worked))
        if score <= 1.0:
            continue
        words = _told(engine, direct, other, score, system)
        asks, note = _CONTRADICTION[other.bound == "at least"]
        lines.append(Sentence(asks, **words))
        notes[direct.key] = Sentence(note, **words)
        back = Sentence("disagrees with {direct} measured directly ({score}): measure again", **words)
        notes |= {end.key: back for end in ends}
    return _noted(found, notes), lines


# question and note: where the value worked out is known, and where only the least that it can be
_CONTRADICTION = message(
    (
        (
            "{where}: measured directly {direct}, worked out {worked} {unit} ({basis}); they disagree by "
            "more than their uncertainty ({score}): measure again",
            "disagrees with {worked} worked out ({score}): measure again",
        ),
        (
            "{where}: measured directly {direct}, worked out at least {worked} {unit} ({basis}); they "
            "disagree by more than their uncertainty ({score}): measure again",
            "disagrees with at least {worked} worked out ({score}): measure again",
        ),
    )
)


def _told(
    engine: Engine, direct: Characteristic, other: Characteristic, score: float, system: str
) -> dict[str, Text | str]:
    read = quantities.show(direct.value or 0.0, direct.unit, direct.decimals, system)
    worked = quantities.show(other.value or 0.0, other.unit, other.decimals, system)
    places = next((n for n in range(1, 6) if round(score, n) > 1.0), 6)
    return {
        "where": Several([feature_title(engine, direct.feature), direct.position], " "),
        "direct": Figure(read.text),
        "worked": Figure(worked.text),
        "unit": worked.unit,
        "basis": other.basis,
        "score": Figure(f"E_n {score:.{places}f}"),  # never the 1.0 that it is above
    }


def _noted(found: list[Characteristic], notes: dict[ValueKey, Text]) -> list[Characteristic]:
    """The same values, each with what is noted at it."""
    noted = {one.key: present([one.note, notes[one.key]]) for one in found if one.key in notes}
    return [replace(one, note=noted[one.key]) if one.key in noted else one for one in found]


def _worked_out(
    engine: Engine, timeline: Timeline, direct: Characteristic, found: list[Characteristic]
) -> list[Characteristic]:
    """Smallest and largest clearance of the same parts: of the round itself, else of the nearest before."""
    links = engine.features[direct.feature].links(("housing", "shells", "journal")).values()
    ones = []
    for one in found:
        here = (one.feature, one.position) == (direct.feature, direct.position) and one.value is not None
        if here and one.name in ("smallest_clearance", "largest_clearance"):
            days = sorted((one.day, direct.day))
            if not any(timeline.ended(link, direct.position, *days) for link in links):
                ones.append(one)
    nearest = min(ones, key=lambda one: (abs((one.day - direct.day).days), one.round), default=direct).round
    return [one for one in ones if one.round == nearest]


def _contradicted(direct: Characteristic, ends: list[Characteristic]) -> Characteristic | None:
    """The end that the direct reading lies beyond; None where it lies between them."""
    value = direct.value or 0.0
    for end in ends:
        if end.name == "smallest_clearance":
            beyond = value < (end.value or 0.0) and end.bound != "at most"
        else:
            beyond = value > (end.value or 0.0) and end.bound != "at least"
        if beyond:
            return end
    return None


# ---------------------------------------------------------------- what would not go together


def interferences(engine: Engine, values: list[Characteristic]) -> tuple[list[Characteristic], list[Text]]:
    """A running fit that is surely below nothing: no wear makes that, so its readings are asked about."""
    notes: dict[ValueKey, Text] = {}
    places: dict[str, list[str]] = {}
    for value in values:
        kind = KINDS[engine.features[value.feature].kind]
        if not kind.fitted or not kind.partners or not value.stands:
            continue
        if value.value is None or value.bound == "at least":
            continue
        limits = value.limits.edges if value.limits else []
        # Two that just slide together read as often a little below nothing as above; and where the limits
        # themselves lie below nothing, they are pressed together.
        sure = value.value + guard_band(value.standard_uncertainty or 0.0) < 0.0
        if sure and not any(end < 0.0 for end in limits):
            notes[value.key] = Sentence("would not go together as measured")
            at = places.setdefault(value.feature, [])
            at += [value.position] if value.position not in at else []
    words = message(
        "{where}: would not go together as measured: a slip, exchanged rows, or parts of another size; "
        "measure again"
    )
    lines: list[Text] = [
        Sentence(words, where=Several([feature_title(engine, name), Several(at, ", ")], " "))
        for name, at in places.items()
    ]
    return _noted(values, notes), lines


# ---------------------------------------------------------------- parts that are not there

PARTNERS = ("housing", "shells", "journal", "outer", "inner")


def absent(engine: Engine, job: JobFolder) -> dict[tuple[str, str], Text]:
    """What cannot be measured at a position, or worked out there, and what is missing for it."""
    known: dict[tuple[str, str], Text] = {}
    parts: dict[tuple[str, str], str] = {}
    for one in _missing(engine, job):
        for position in one.positions:
            known[one.feature, position] = Sentence("cannot be measured: {part} missing", part=one.what)
            parts[one.feature, position] = one.what
    for name, feature in engine.features.items():
        for partner in feature.links(PARTNERS).values():
            for absentee, position in list(known):
                if partner == absentee and (name, position) not in known:
                    part = parts.setdefault((name, position), parts[absentee, position])
                    words = message("cannot be worked out: {part} missing ({of})")
                    known[name, position] = Sentence(words, part=part, of=title(engine, absentee))
    return known


def _missing(engine: Engine, job: JobFolder) -> list[Missing]:
    """Parts that are not there; of features that the sheet lacks the check tells."""
    return [one for one in job.written_teardown.missing if one.feature in engine.features]


def explain_absent(
    engine: Engine, job: JobFolder, values: list[Characteristic]
) -> tuple[list[Characteristic], list[Text]]:
    """Say why a value is missing where its part is; and what waits for it."""
    known = absent(engine, job)
    said = [
        replace(value, advice=known[value.feature, value.position])
        if value.verdict == "not measured" and value.stands and (value.feature, value.position) in known
        else value
        for value in values
    ]
    read = {(value.feature, value.position) for value in values if value.value is not None and value.stands}
    lines: list[Text] = []
    for one in _missing(engine, job):
        places = [position for position in one.positions if (one.feature, position) not in read]
        if places:
            waits = [name for name, at in known if at in places and name != one.feature]
            lines.append(_waits_for(engine, one, places, waits))
    return said, lines


def _waits_for(engine: Engine, one: Missing, places: list[str], waits: list[str]) -> Text:
    """What a part that is not there keeps from being chosen or worked out."""
    words = message(
        "{where}: {part} missing, so it cannot be measured; {remedy}. The build sheet waits for it"
    )
    if waits and any(fit.shells for fit in engine.fits(housing=one.feature)):
        words = message(
            "{where}: {part} missing, so it cannot be measured; {remedy}; until then nobody chooses "
            "shells for it: {waits}. The build sheet waits for it"
        )
    elif waits:
        words = message(
            "{where}: {part} missing, so it cannot be measured; {remedy}; until then nobody can say "
            "how it fits: {waits}. The build sheet waits for it"
        )
    remedy: Text = Sentence("have one made and the bore machined with it")
    return Sentence(
        words,
        where=Several([feature_title(engine, one.feature), ", ".join(places)], " "),
        part=one.what,
        remedy=Typed(one.remedy) if one.remedy else remedy,
        waits=Several(dict.fromkeys(feature_title(engine, name) for name in waits), ", "),
    )


# ---------------------------------------------------------------- sizes


def odd_sizes(engine: Engine, timeline: Timeline, day: date) -> Iterator[Text]:
    """One position at another size than its neighbours: limits go by position, and so do the parts."""
    for name, feature in engine.features.items():
        words = _goes_with_its_size(engine, name, feature.kind)
        if not words:
            continue
        sizes: dict[str, list[str]] = {}
        for position in feature.positions:
            size = timeline.decided_size(name, position) or timeline.size(name, position, day)
            sizes.setdefault("" if size == STANDARD.pattern else size, []).append(position)
        usual = max(sizes, key=lambda size: len(sizes[size]), default="")
        sizes.pop(usual, None)
        for size, positions in sizes.items():
            where = Several([feature_title(engine, name), ", ".join(positions)], " ")
            yield Sentence(words, where=where, size=sized(size) or STANDARD, usual=sized(usual) or STANDARD)


def _goes_with_its_size(engine: Engine, name: str, kind: str) -> str:
    """What has to follow where one position has a size of its own; '' where nothing does."""
    if kind == "journal":
        if any(fit.shells for fit in engine.fits(journal=name)):
            return "{where}: {size}, the others {usual}; shells of a size of their own go with it"
        if any(one.inner == name and one.kind == "fit" for one in engine.features.values()):
            return ""  # its bore tells of it
        return "{where}: {size}, the others {usual}; the bearing there is another size, too"
    if kind == "bore" and engine.fits(outer=name):
        return (
            "{where}: {size}, the others {usual}; is the mass of its piston within the tolerance of the set?"
        )
    return ""


def sleeves(
    engine: Engine, job: JobFolder, timeline: Timeline, values: list[Characteristic], system: str
) -> Iterator[Text]:
    """A sleeved bore goes by what its sleeve allows: the steps of the block do not hold for it."""
    for entry in job.written_teardown.sizes_as_found:
        feature = engine.features.get(entry.feature)
        if feature is None or not entry.sleeved:
            continue
        unit, limit = feature.unit or "mm", feature.new.get("size")
        nominal = ends_in(limit, "mm", unit)[0]
        allowed = listed_steps(feature.sleeve_oversizes, "oversize")
        for position in entry.positions:
            where = Several([feature_title(engine, entry.feature), position], " ")
            if not allowed or nominal is None or limit is None:
                words = message(
                    "{where}: sleeved, and nobody says how far its sleeve goes; the block's steps do not hold"
                )
                yield Sentence(words, where=where)
                continue
            most = max(allowed, key=lambda step: step.mm)
            needed = _needed_size(timeline, entry.feature, position, nominal, values)
            if needed <= nominal + most.mm + 1e-9:
                continue
            decimals = decimals_in(unit, limit.decimals, "mm")
            shown = [quantities.show(end, "mm", decimals, system) for end in (needed, nominal + most.mm)]
            asked, goes_to = (Figure(f"{one.text}\u00a0{one.unit}") for one in shown)
            words = message(
                "{where}: sleeved, and {asked} is needed where its sleeve allows {most} ({step} at most): a "
                "new sleeve, and no step of the block"
            )
            yield Sentence(words, where=where, asked=asked, most=goes_to, step=most.said)


def _needed_size(
    timeline: Timeline, feature: str, position: str, nominal: float, values: list[Characteristic]
) -> float:
    """How wide a bore has to become [mm]: as decided, or as its wear asks for.

    A two-point reading shows half of what a bore has lost on one side since it was last bored; boring has
    to reach it.
    """
    here = [one for one in values if (one.feature, one.position, one.name) == (feature, position, "largest")]
    widest = max((one.value for one in here if one.stands and one.value is not None), default=nominal)
    was = nominal + step_in_mm(timeline.size(feature, position, date.min))
    decided = nominal + step_in_mm(timeline.decided_size(feature, position))
    return max(widest + max(0.0, widest - was), decided)
