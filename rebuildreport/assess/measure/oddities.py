"""What does not fit together although each file by itself is right: questions for a person.

A clearance read directly against the one worked out, a part that is not there,
one position of another size than its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from ... import quantities
from ...quantities import Figure, Sentence, Several, Text, amid
from ...quantities.show import decimals_in
from ...records import JobFolder
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring.uncertainty import DoubtSource, Measured, agreement
from ..model.assessment import Characteristic
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
    notes: dict[str, Text] = {}
    lines: list[Text] = []
    # what was machined or read again since is no question any more
    for direct in (one for one in found if one.direct and one.value is not None and one.stands):
        ends = _worked_out(engine, timeline, direct, found)
        score, other = _score(direct, ends)
        if other is None or abs(score) <= 1.0:
            continue
        places = next((n for n in range(1, 6) if round(abs(score), n) > 1.0), 6)
        words: dict[str, Text | str] = {
            "where": Several([feature_title(engine, direct.feature), direct.position], " "),
            "direct": Figure(quantities.show(direct.value or 0.0, direct.unit, direct.decimals, system).text),
            "worked": Figure(quantities.show(other.value or 0.0, other.unit, other.decimals, system).text),
            "unit": quantities.show(other.value or 0.0, other.unit, other.decimals, system).unit_text,
            "basis": other.basis,
            "score": Figure(f"E_n {abs(score):.{places}f}"),  # never the 1.0 that it is above
        }
        asks = (
            "{where}: measured directly {direct}, worked out {worked} {unit} ({basis}); they disagree by "
            "more than their uncertainty ({score}): measure again"
        )
        note = "disagrees with {worked} worked out ({score}): measure again"
        if other.bound == "at least":
            asks = (
                "{where}: measured directly {direct}, worked out at least {worked} {unit} ({basis}); they "
                "disagree by more than their uncertainty ({score}): measure again"
            )
            note = "disagrees with at least {worked} worked out ({score}): measure again"
        lines.append(Sentence(asks, **words))
        notes[direct.key] = Sentence(note, **words)
        for end in ends:
            notes[end.key] = Sentence(
                "disagrees with {direct} measured directly ({score}): measure again", **words
            )
    return _noted(found, notes), lines


def _noted(found: list[Characteristic], notes: dict[str, Text]) -> list[Characteristic]:
    """The same values, each with what is noted at it."""
    return [
        replace(value, note=Several([note for note in (value.note, notes[value.key]) if note], "; "))
        if value.key in notes
        else value
        for value in found
    ]


def _worked_out(
    engine: Engine,
    timeline: Timeline,
    direct: Characteristic,
    found: list[Characteristic],
) -> list[Characteristic]:
    """Smallest and largest clearance of the same parts: of the round itself, else of the nearest before."""

    sheet = engine.features[direct.feature]
    links = [link for key in ("housing", "shells", "journal") if (link := getattr(sheet, key))]

    def same_parts(one: Characteristic) -> bool:
        first, last = sorted((one.day, direct.day))
        return not any(timeline.ended(link, direct.position, first, last) for link in links)

    ones = [
        one
        for one in found
        if (one.feature, one.position) == (direct.feature, direct.position)
        and one.name in ("smallest_clearance", "largest_clearance")
        and one.value is not None
        and same_parts(one)
    ]
    if not ones:
        return []
    nearest = min(ones, key=lambda one: (abs((one.day - direct.day).days), one.round)).round
    return [one for one in ones if one.round == nearest]


def _score(direct: Characteristic, ends: list[Characteristic]) -> tuple[float, Characteristic | None]:
    """E_n against the end that the direct reading lies beyond; 0 where it lies between them."""
    by_name = {one.name: one for one in ends}
    low, high = by_name.get("smallest_clearance"), by_name.get("largest_clearance")
    value = direct.value or 0.0
    beyond = None
    if low is not None and value < (low.value or 0.0) and low.bound != "at most":
        beyond = low
    elif high is not None and value > (high.value or 0.0) and high.bound != "at least":
        beyond = high
    if beyond is None:
        return 0.0, None
    score = agreement(
        Measured(value, {DoubtSource("direct", ""): direct.standard_uncertainty or 0.0}),
        Measured(beyond.value or 0.0, {DoubtSource("worked out", ""): beyond.standard_uncertainty or 0.0}),
    )
    return score, beyond


# ---------------------------------------------------------------- what would not go together


def interferences(engine: Engine, found: list[Characteristic]) -> tuple[list[Characteristic], list[Text]]:
    """A running fit worked out below nothing: no wear makes that, so its readings are asked about."""
    notes: dict[str, Text] = {}
    places: dict[str, list[str]] = {}
    for one in found:
        sheet = engine.features.get(one.feature)
        kind = KINDS.get(sheet.kind) if sheet else None
        if kind is None or not kind.fitted or not kind.partners or one.value is None or not one.stands:
            continue
        limits = (*one.limits.new, *one.limits.wear) if one.limits else ()
        if one.value >= 0.0 or one.bound == "at least" or any(end < 0.0 for end in limits if end is not None):
            continue  # pressed together, where the limits themselves lie below nothing
        notes[one.key] = Sentence("would not go together as measured")
        at = places.setdefault(one.feature, [])
        at += [one.position] if one.position not in at else []
    words = (
        "{where}: would not go together as measured: a slip, exchanged rows, or parts of another size; "
        "measure again"
    )
    lines: list[Text] = [
        Sentence(words, where=Several([feature_title(engine, name), Several(at, ", ")], " "))
        for name, at in places.items()
    ]
    return _noted(found, notes), lines


# ---------------------------------------------------------------- parts that are not there


def absent(engine: Engine, job: JobFolder) -> dict[tuple[str, str], Text]:
    """What cannot be measured at a position, or worked out there, and what is missing for it."""
    known: dict[tuple[str, str], Text] = {}
    parts: dict[tuple[str, str], str] = {}
    for one in job.teardown.missing if job.teardown else []:
        if one.feature not in engine.features:
            continue  # reported where it is written
        for position in one.positions:
            known[one.feature, position] = Sentence("cannot be measured: {part} missing", part=one.what)
            parts[one.feature, position] = one.what
    for name, feature in engine.features.items():
        for link in ("housing", "shells", "journal", "outer", "inner"):
            partner = getattr(feature, link)
            for absentee, position in list(known):
                if partner == absentee and (name, position) not in known:
                    part = parts.setdefault((name, position), parts[absentee, position])
                    known[name, position] = Sentence(
                        "cannot be worked out: {part} missing ({of})", part=part, of=title(engine, absentee)
                    )
    return known


def explain_absent(
    engine: Engine, job: JobFolder, found: list[Characteristic]
) -> tuple[list[Characteristic], list[Text]]:
    """Say why a value is missing where its part is; and what waits for it."""
    known = absent(engine, job)
    said = [
        replace(one, advice=known[one.feature, one.position])
        if one.verdict == "not measured" and one.stands and (one.feature, one.position) in known
        else one
        for one in found
    ]
    lines: list[Text] = []
    for one in job.teardown.missing if job.teardown else []:
        open_ = [
            position
            for position in one.positions
            if not any(
                (c.feature, c.position) == (one.feature, position) and c.value is not None and c.stands
                for c in found
            )
        ]
        if not open_ or one.feature not in engine.features:
            continue
        where = ", ".join(open_)
        waits = [feature_title(engine, name) for (name, p) in known if p in open_ and name != one.feature]
        shelled = any(one.feature == fit.housing and fit.shells for fit in engine.features.values())
        remedy = one.remedy or Sentence("have one made and the bore machined with it")
        words = "{where}: {part} missing, so it cannot be measured; {remedy}. The build sheet waits for it"
        if waits and shelled:
            words = (
                "{where}: {part} missing, so it cannot be measured; {remedy}; until then nobody chooses "
                "shells for it: {waits}. The build sheet waits for it"
            )
        elif waits:
            words = (
                "{where}: {part} missing, so it cannot be measured; {remedy}; until then nobody can say "
                "how it fits: {waits}. The build sheet waits for it"
            )
        lines.append(
            Sentence(
                words,
                where=Several([feature_title(engine, one.feature), where], " "),
                part=one.what,
                remedy=remedy,
                waits=Several(dict.fromkeys(waits), ", "),
            )
        )
    return said, lines


# ---------------------------------------------------------------- sizes


def odd_sizes(engine: Engine, timeline: Timeline, day: date) -> Iterator[Text]:
    """One position at another size than its neighbours: limits go by position, and so do the parts."""
    for name, feature in engine.features.items():
        if feature.kind not in ("journal", "bore"):
            continue
        sizes: dict[str, list[str]] = {}
        for position in feature.positions or []:
            size = timeline.decided_size(name, position) or timeline.size(name, position, day)
            sizes.setdefault(size if size != "standard" else "", []).append(position)
        if len(sizes) < 2:
            continue
        usual = max(sizes, key=lambda size: len(sizes[size]))
        for size, positions in sizes.items():
            if size == usual:
                continue
            if feature.kind == "journal":
                shelled = any(one.journal == name and one.shells for one in engine.features.values())
                words = "{where}: {size}, the others {usual}; shells of a size of their own go with it"
                if not shelled:
                    words = "{where}: {size}, the others {usual}; the bearing there is another size, too"
            elif any(one.outer == name for one in engine.features.values()):
                words = (
                    "{where}: {size}, the others {usual}; is the mass of its piston within the tolerance of "
                    "the set?"
                )
            else:
                continue
            yield Sentence(
                words,
                where=Several([feature_title(engine, name), ", ".join(positions)], " "),
                size=sized(size) or STANDARD,
                usual=sized(usual) or STANDARD,
            )


def sleeves(
    engine: Engine, job: JobFolder, timeline: Timeline, found: list[Characteristic], system: str
) -> Iterator[Text]:
    """A sleeved bore goes by what its sleeve allows: the steps of the block do not hold for it."""
    for entry in job.teardown.sizes_as_found if job.teardown else []:
        feature = engine.features.get(entry.feature)
        if feature is None or not entry.sleeved:
            continue
        unit = feature.unit or "mm"
        nominal = ends_in(feature.new.get("size"), "mm", unit)[0]
        decimals = feature.new["size"].decimals if "size" in feature.new else 3
        *allowed, of = (feature.sleeve_oversizes or "").replace(",", " ").split() or [""]
        for position in entry.positions:
            where = Several([feature_title(engine, entry.feature), position], " ")
            if not allowed or nominal is None:
                words = (
                    "{where}: sleeved, and nobody says how far its sleeve goes; the block's steps do not hold"
                )
                yield Sentence(words, where=where)
                continue
            most = max(step_in_mm(f"{step} {of} oversize") for step in allowed)
            typed = next(step for step in allowed if step_in_mm(f"{step} {of} oversize") == most)
            widest = max(
                (
                    one.value
                    for one in found
                    if (one.feature, one.position, one.name) == (entry.feature, position, "largest")
                    and one.stands
                    and one.value is not None
                ),
                default=nominal,
            )
            size = timeline.decided_size(entry.feature, position)
            # a two-point reading shows half of what a bore has lost on one side since it was last bored;
            # boring has to reach it
            was = nominal + step_in_mm(timeline.size(entry.feature, position, date.min))
            needed = max(widest + max(0.0, widest - was), nominal + step_in_mm(size))
            if needed <= nominal + most + 1e-9:
                continue
            asked, most_of_all = (
                quantities.show(end, "mm", decimals_in(unit, decimals, "mm"), system).both
                for end in (needed, nominal + most)
            )
            yield Sentence(
                "{where}: sleeved, and {asked} is needed where its sleeve allows {most} ({step} at most): a "
                "new sleeve, and no step of the block",
                where=where,
                asked=Figure(asked),
                most=Figure(most_of_all),
                step=sized(f"{typed} {of} oversize"),
            )
