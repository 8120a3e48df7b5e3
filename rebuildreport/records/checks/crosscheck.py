"""Whether a job's files agree with the engine's sheet, the shop and each other."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from ... import quantities
from ...quantities import QuantityError, dimension
from ..files.jobfile import Assembly, Findings, Job, Teardown, Work
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import Shop
from ..text.notes import Notes, Severity
from ..text.problems import Problem
from .builtcheck import check_apart, check_assembly, check_running, last_day, pictures
from .datecheck import check_dates
from .vocabulary import Vocabulary

if TYPE_CHECKING:
    from ..files.folder import JobFolder


def check_job(job: JobFolder, engine: Engine | None, shop: Shop | None) -> list[Problem]:
    """Everything that one file alone cannot show; what is missing is passed over."""
    found: list[Problem] = []
    words = Vocabulary(engine) if engine else None
    if job.job:
        found += _job(job.job, Notes(job.sources["job"]))
    from .roundcheck import check_rounds
    from .tablecheck import check_tables

    found += [*check_rounds(job), *check_tables(job, engine, shop)]
    notes = {kind: Notes(source) for kind, source in job.sources.items()}
    if job.teardown:
        _teardown(job.teardown, notes["teardown"], words)
        check_apart(job.teardown, notes["teardown"], engine, job.findings)
    if job.findings:
        _findings(job.findings, notes["findings"], words)
    if job.work:
        _work(job.work, notes["work"], words)
    if job.assembly:
        _assembly(job.assembly, notes["assembly"], words)
        check_assembly(job.assembly, notes["assembly"], engine, job.teardown)
    if job.running:
        check_running(job.running, notes["running"], last_day(job.assembly))
    if job.running and job.running.tables and not job.running.first_start:
        message = "readings of the first start, and nobody says when it was: they are left out"
        notes["running"].error(("tables",), message, "add 'first_start:' with its date and by", key=True)
    check_dates(job, engine, notes)
    _photos(job, notes)
    return found + [problem for one in notes.values() for problem in one.found]


def _job(job: Job, notes: Notes) -> list[Problem]:
    if job.publish and job.consent is None:
        notes.error(("publish",), "published without the owner's consent", "add 'consent: ' with its date")
    steps = [("opened", job.opened), ("ready", job.ready), ("delivered", job.delivered)]
    dated = [(name, day) for name, day in steps if day]
    for (before, first), (after, second) in pairwise(dated):
        if second < first:
            notes.warn((after,), f"{after} {second} lies before {before} {first}")
    if job.declined and job.delivered:
        notes.warn(("declined",), "both declined and delivered: a declined job goes back in boxes")
    numbers = [one.issue for one in job.issued]
    for i, number in enumerate(numbers):
        if number in numbers[:i]:
            notes.error(("issued", i, "issue"), f"issue {number} stands twice")
    return notes.found


def _teardown(teardown: Teardown, notes: Notes, words: Vocabulary | None) -> None:
    if not words:
        return
    known = words.components
    for i, step in enumerate(teardown.steps):
        notes.misspelt(("steps", i, "removed"), step.removed, known)
    places: list[tuple[str, int, str, list[str]]] = [
        ("sizes_as_found", i, one.feature, one.positions) for i, one in enumerate(teardown.sizes_as_found)
    ]
    places += [("missing", i, one.feature, one.positions) for i, one in enumerate(teardown.missing)]
    for key, i, feature, positions in places:
        if notes.known((key, i, "feature"), feature, words.engine.features, "no feature of the sheet"):
            _positions(notes, (key, i, "positions"), positions, feature, words)


def _findings(findings: Findings, notes: Notes, words: Vocabulary | None) -> None:
    if not words:
        return
    for name, finding in findings.findings.items():
        where = ("findings", name)
        known = words.components
        if finding.component not in known and not finding.needs and not finding.title:
            notes.known(
                (*where, "component"),
                finding.component,
                known,
                "no feature or part of the sheet",
                severity="warning",
            )
        _positions(notes, (*where, "positions"), finding.positions, finding.component, words)
        for part in finding.needs:
            if part not in words.engine.choices:
                _part(notes, (*where, "needs"), part, words)
        if finding.shows:
            _shows(notes, (*where, "shows"), finding.shows, words)


def _shows(notes: Notes, where: tuple[str, ...], text: str, words: Vocabulary) -> None:
    match = re.fullmatch(r"([^.\s]+)\.(\S+)\s+(\S+)", text)
    if not match:
        notes.error(where, f"'{text}' names no value", "main_journals.out_of_round M4")
        return
    feature, what, position = match.groups()
    if notes.known(where, feature, words.engine.features, "no feature of the sheet"):
        notes.known(where, what, words.characteristics(feature), f"nothing that {feature} has")
        at = position.split("-")  # between neighbours: C1-C2
        known = words.positions(feature)
        if position != "engine" and not set(at) <= known:
            notes.known(where, position, known, f"no position of {feature}", within=True)


def _work(work: Work, notes: Notes, words: Vocabulary | None) -> None:
    if not words:
        return
    for name, decision in work.decisions.items():
        where = ("decisions", name)
        notes.known(
            (*where, "about"),
            decision.about,
            words.components,
            "no feature or part of the sheet",
            severity="warning",
        )
        _positions(notes, (*where, "positions"), decision.positions, decision.about, words)
        if decision.size:
            _size(notes, (*where, "size"), decision.size, words.engine.features.get(decision.about))
            if decision.size.endswith("undersize"):
                _poured(notes, (*where, "size"), decision.about, words.engine)
    for name, deviation in work.deviations.items():
        where = ("deviations", name)
        feature = deviation.feature
        if not notes.known((*where, "feature"), feature, words.engine.features, "no feature of the sheet"):
            continue
        _positions(notes, (*where, "positions"), deviation.positions, feature, words)
        notes.known(
            (*where, "what"), deviation.what, words.characteristics(feature), f"nothing that {feature} has"
        )
        unit = words.engine.features[feature].unit
        for end in (deviation.accept.low, deviation.accept.high):
            if end and end.unit and unit and _dimension(end.unit) != _dimension(unit):
                notes.error((*where, "accept"), f"{end} is no {_dimension(unit)}", f"as in {unit}")
            if end and not end.unit and not unit:
                notes.error((*where, "accept"), f"{end.text} has no unit", f"max {end.text} mm")
    for i, one in enumerate(work.sublet):
        notes.misspelt(("sublet", i, "part"), one.part, words.components)
    for i, extra in enumerate(work.parts):
        _part(notes, ("parts", i, "part"), extra.part, words)


def _assembly(assembly: Assembly, notes: Notes, words: Vocabulary | None) -> None:
    if not words:
        return
    for i, fitted in enumerate(assembly.fitted):
        _part(notes, ("fitted", i, "part"), fitted.part, words)
        _positions(notes, ("fitted", i, "positions"), fitted.positions, fitted.part, words)


def _photos(job: JobFolder, notes: dict[str, Notes]) -> None:
    """Every picture that is named is there, and every one that proves something has a caption."""
    named: list[tuple[str, tuple[str | int, ...], str, bool]] = []
    if job.job and job.job.arrival.oil_filter and job.job.arrival.oil_filter.photo:
        named.append(("job", ("arrival", "oil_filter", "photo"), job.job.arrival.oil_filter.photo, False))
    named += pictures(job)
    captions = job.findings.photos if job.findings else {}
    if job.findings:
        for name, finding in job.findings.findings.items():
            place = ("findings", name, "photos")
            named += [("findings", place, photo, False) for photo in finding.photos]
        named += [("findings", ("photos", photo), photo, True) for photo in captions]
        named += [
            ("findings", ("photos", photo, "before"), record.before, False)
            for photo, record in captions.items()
            if record.before and record.before != photo
        ]
        for photo, record in captions.items():
            if record.before == photo:
                message = "a picture cannot be its own before: name the one taken before the work"
                notes["findings"].error(("photos", photo, "before"), message)
    for file, where, photo, key in named:
        there = notes[file].known(
            where, photo, job.photos, "no picture in photos/", severity="warning", key=key, within=True
        )
        if there and not key and photo not in captions:
            message = f"the picture '{photo}' has no caption"
            notes[file].add(where, message, "add it under photos: in findings.yaml", "warning", word=photo)


def _positions(
    notes: Notes, where: tuple[str | int, ...], positions: list[str], component: str, words: Vocabulary
) -> None:
    known = words.positions(component)
    if known:
        whose = (
            f"no position of {component}"
            if component in words.engine.features
            else "no position of the sheet"
        )
        notes.all_known(where, positions, known, whose)


def _part(notes: Notes, where: tuple[str | int, ...], part: str, words: Vocabulary) -> None:
    severity: Severity = "error" if words.engine.parts else "warning"
    notes.known(
        where, part, words.engine.parts, "not among the sheet's parts", severity=severity, within=True
    )


def _wrong_side(feature: FeatureRecord, side: str) -> bool:
    """Whether no tool makes such a size: a crankpin larger, a barrel smaller.

    By the steps of the sheet: pistons are read like journals and bought oversize, and poured metal is
    bored undersize to a ground crank.
    """
    if feature.kind == "journal" and side == "oversize":
        return bool(feature.undersizes) and not feature.oversizes
    return (
        feature.kind == "bore" and side == "undersize" and bool(feature.oversizes) and not feature.undersizes
    )


def _poured(notes: Notes, where: tuple[str | int, ...], name: str, engine: Engine) -> None:
    """A bore smaller than standard: poured or bushed, as round a ground journal; else it is asked about."""
    feature = engine.features.get(name)
    if feature is None or feature.kind != "bore" or feature.undersizes or feature.oversizes:
        return
    inner = [engine.features.get(fit.inner or "") for fit in engine.features.values() if fit.outer == name]
    if not any(one is not None and one.undersizes for one in inner):
        hint = f"write the step under 'undersizes:' of {name} in the engine's sheet"
        notes.warn(where, "a bore smaller than standard: poured metal or a bush?", hint)


def _size(notes: Notes, where: tuple[str | int, ...], size: str, feature: FeatureRecord | None) -> None:
    """A step must be one that the sheet offers; ground to order is then said in 'why'."""
    if size == "standard":
        return
    match = re.fullmatch(r"(.+?)\s+(undersize|oversize)", size)
    try:
        if not match:
            raise QuantityError("it lacks 'undersize' or 'oversize'")
        wanted = quantities.parse(match.group(1), dimension="length")
    except QuantityError as problem:
        notes.error(
            where, f"'{size}' is no size: {problem}", "0.50 mm undersize, 0.020 in oversize, standard"
        )
        return
    step, side = match.groups()
    if feature is not None and _wrong_side(feature, side):
        made, right = ("larger", "oversize") if side == "undersize" else ("smaller", "undersize")
        message = f"no {side} is made of a {feature.kind}: machining makes it {made}"
        notes.error(where, message, f"{step} {right}")
        return
    offered = getattr(feature, f"{side}s") if feature else None
    if not offered:
        return
    *offers, unit = offered.split()
    try:
        known = [quantities.parse(one, unit=unit) for one in offers]
    except QuantityError:
        return  # the sheet's own line is reported
    if all(abs(one.to("mm") - wanted.to("mm")) > 1e-9 for one in known):
        notes.warn(where, f"{step} is none of the sheet's steps", f"the sheet lists {offered}")


def _dimension(unit: str) -> str:
    try:
        return dimension(unit)
    except quantities.UnknownUnit:
        return unit
