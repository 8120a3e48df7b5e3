"""Whether a job's files agree with the engine's sheet, the shop and each other."""

from __future__ import annotations

from ... import quantities
from ...quantities import Quantity, QuantityError, UnknownUnit, dimension
from ...trade.engine.failure_causes import CAUSES
from ..files.folder import JobFolder
from ..files.jobfile import DeviationRecord, FindingRecord, Findings, Job, Teardown, Work
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import Shop
from ..files.sizes import size_step
from ..text.meters import meter_reading
from ..text.notes import Notes, words_at
from ..text.problems import Problem
from ..text.reader import Where
from .builtcheck import REGISTER, check_apart, check_assembly, check_running, last_day
from .datecheck import check_dates
from .roundcheck import check_rounds
from .tablecheck import check_tables
from .vocabulary import Vocabulary, part_severity, subject_of

NO_FEATURE, NO_PART = "no feature of the sheet", "not among the sheet's parts"
NO_COMPONENT = "no feature or part of the sheet"
NO_PICTURE = "no picture in photos/"
SAME = 1e-9  # mm: two numbers that a person typed, compared as floats


def check_job(
    job: JobFolder, notes: dict[str, Notes], engine: Engine | None, shop: Shop | None
) -> list[Problem]:
    """What one file alone cannot show, into ``notes``; what is found of the rounds is given back."""
    if job.job:
        _job(job.job, notes["job"])
    if engine:
        _against_sheet(job, notes, Vocabulary(engine))
    if job.teardown:
        findings = None if job.unread("findings") else job.written_findings
        check_apart(job.teardown, notes["teardown"], engine, findings)
    if job.assembly:
        check_assembly(job.assembly, notes["assembly"], engine, job.teardown)
    if job.running:
        check_running(job.running, notes["running"], last_day(job.assembly))
        if job.running.tables and not job.running.first_start:
            message = "readings of the first start, and nobody says when it was: they are left out"
            hint = "add 'first_start:' with its date and by"
            notes["running"].error(("tables",), message, hint, key=True)
    check_dates(job, engine, notes)
    _photos(job, notes)
    return [*check_rounds(job), *check_tables(job, engine, shop)]


def _against_sheet(job: JobFolder, notes: dict[str, Notes], words: Vocabulary) -> None:
    parts = words.engine.measured_parts
    if job.job:
        notes["job"].named(job.job, ("arrival.only.*",), parts, "no part that the sheet measures")
    if job.teardown:
        _teardown(job.teardown, notes["teardown"], words)
    if job.findings:
        _findings(job.findings, notes["findings"], words)
    if job.work:
        _work(job.work, notes["work"], words)
    if job.assembly:
        sheet = words.engine
        notes["assembly"].named(job.assembly, ("fitted.*.part",), sheet.parts, NO_PART, part_severity(sheet))
        for i, fitted in enumerate(job.assembly.fitted):
            _positions(notes["assembly"], ("fitted", i, "positions"), fitted.positions, fitted.part, words)
            if {*fitted.grades} <= words.grades and 1 < len(fitted.grades) != len(fitted.positions):
                message = f"{len(fitted.grades)} grades for {len(fitted.positions)} positions"
                notes["assembly"].warn(("fitted", i, "grade"), message, "one for each, in their order")


def _job(job: Job, notes: Notes) -> None:
    if job.publish and job.consent is None:
        notes.error(("publish",), "published without the owner's consent", "add 'consent: ' with its date")
    notes.in_order((), {"opened": job.opened, "ready": job.ready, "delivered": job.delivered})
    if job.declined and job.delivered:
        notes.warn(("declined",), "both declined and delivered: a declined job goes back in boxes")
    numbers = [issue.issue for issue in job.issued]
    for i, number in enumerate(numbers):
        if number in numbers[:i]:
            notes.error(("issued", i, "issue"), f"issue {number} stands twice")


def _teardown(teardown: Teardown, notes: Notes, words: Vocabulary) -> None:
    for i, step in enumerate(teardown.steps):
        notes.misspelt(("steps", i, "removed"), step.removed, words.components)
    places = ("sizes_as_found.*.feature", "missing.*.feature")
    notes.named(teardown, places, words.engine.features, NO_FEATURE)
    for key in ("sizes_as_found", "missing"):
        for i, entry in enumerate(getattr(teardown, key)):
            if entry.feature in words.engine.features:
                _positions(notes, (key, i, "positions"), entry.positions, entry.feature, words)
    notes.named(teardown, ("earlier_work.*.renewed",), words.components, NO_COMPONENT)
    for i, work in enumerate(teardown.earlier_work):
        if work.meter and meter_reading(work.meter) is None:
            hint = "number and unit, as in 90000 km or 4100 h"
            notes.error(("earlier_work", i, "meter"), f"'{work.meter}' is no reading of a meter", hint)


def _findings(findings: Findings, notes: Notes, words: Vocabulary) -> None:
    sheet = words.engine
    parts = {**sheet.parts, **sheet.choices}
    notes.named(findings, ("findings.*.needs",), parts, NO_PART, part_severity(sheet))
    for name, finding in findings.findings.items():
        where, word = ("findings", name), finding.component
        place = (*where, "component")
        if not finding.needs and not finding.title:
            notes.known(place, word, words.components, NO_COMPONENT, severity="warning")
        elif word not in words.components and (hint := _slipped(word, words)):
            notes.warn(place, f"'{word}' is {NO_FEATURE}", f"did you mean '{hint}'?")
        _positions(notes, (*where, "positions"), finding.positions, finding.component, words)
        if finding.shows:
            _shows(notes, (*where, "shows"), finding, words)
        if finding.points_to:
            _points_to(notes, (*where, "points_to"), finding, sheet)


def _points_to(notes: Notes, where: Where, finding: FindingRecord, sheet: Engine) -> None:
    """A usual cause of what the finding is about."""
    subject = subject_of(sheet, finding.component)
    if subject is None:
        message = f"{finding.component} is no bearing, piston or valve: its causes are in its own words only"
        notes.warn(where, message, key=True)
    else:
        what = f"no usual cause of a {subject}'s failure"
        notes.known(where, str(finding.points_to), CAUSES[subject], what)


def _shows(notes: Notes, where: Where, finding: FindingRecord, words: Vocabulary) -> None:
    if finding.shown is None:
        notes.error(where, f"'{finding.shows}' names no value", "main_journals.out_of_round M4")
        return
    feature, what, position = finding.shown
    if notes.known(where, feature, words.engine.features, NO_FEATURE):
        notes.known(where, what, words.characteristics(feature), f"nothing that {feature} has")
        known = words.positions(feature)
        if position != "engine" and not {*position.split("-")} <= known:  # between neighbours: C1-C2
            notes.known(where, position, known, f"no position of {feature}", within=True)


def _work(work: Work, notes: Notes, words: Vocabulary) -> None:
    sheet = words.engine
    notes.named(work, ("decisions.*.about",), words.components, NO_COMPONENT, "warning")
    notes.named(work, ("deviations.*.feature",), sheet.features, NO_FEATURE)
    notes.named(work, ("parts.*.part",), sheet.parts, NO_PART, part_severity(sheet))
    for name, decision in work.decisions.items():
        where: Where = ("decisions", name)
        _positions(notes, (*where, "positions"), decision.positions, decision.about, words)
        if decision.size:
            _size(notes, (*where, "size"), decision.size, sheet.features.get(decision.about))
            if size_step(decision.size).side == "undersize":
                _poured(notes, (*where, "size"), decision.about, sheet)
        if decision.remove and (feature := sheet.features.get(decision.about)):
            _as_limited(notes, (*where, "remove"), decision.remove, feature.unit or "mm")
            if _dimension(decision.remove.unit) == "length" and decision.remove.to("mm") > MOST_OFF:
                message = f"{decision.remove} is more than is taken off a face or a diameter at once"
                notes.warn((*where, "remove"), message, "a point astray, or another unit?")
    for name, deviation in work.deviations.items():
        if deviation.feature in sheet.features:
            _deviation(notes, ("deviations", name), deviation, words)
    for i, sublet in enumerate(work.sublet):
        notes.misspelt(("sublet", i, "part"), sublet.part, words.components)


def _deviation(notes: Notes, where: Where, deviation: DeviationRecord, words: Vocabulary) -> None:
    feature = deviation.feature
    _positions(notes, (*where, "positions"), deviation.positions, feature, words)
    known = words.characteristics(feature)
    notes.known((*where, "what"), deviation.what, known, f"nothing that {feature} has")
    unit = words.engine.features[feature].unit
    for end in deviation.accept.ends:
        if end.unit and unit:
            _as_limited(notes, (*where, "accept"), end, unit)
        if not end.unit and not unit:
            notes.error((*where, "accept"), f"{end.text} has no unit", f"max {end.text} mm")


MOST_OFF = 2.0  # mm (common practice: a skim takes tenths, a step of grinding or boring half a millimetre)


def _as_limited(notes: Notes, where: Where, amount: Quantity, unit: str) -> None:
    """What is taken off, or accepted, is of the kind that the feature's limits are."""
    if _dimension(amount.unit) != _dimension(unit):
        notes.error(where, f"{amount} is no {_dimension(unit)}", f"as in {unit}")


# where a picture is named as a proof of what is written there
PICTURES = {
    "job": ("arrival.oil_filter.photo",),
    "teardown": ("steps.*.photos", *(f"{key}.*.photo" for key in REGISTER)),
    "findings": ("findings.*.photos", "photos.*.before"),
}


def _photos(job: JobFolder, notes: dict[str, Notes]) -> None:
    """Every picture that is named is there, and every one that proves something has a caption."""
    captions = job.written_findings.photos
    if job.findings:
        notes["findings"].named(job.findings, ("photos.@",), job.photos, NO_PICTURE, "warning")
    for file, paths in PICTURES.items():
        for path in paths:
            for where, photo, _ in words_at(getattr(job, file), path):
                told = photo in captions or job.unread("findings")
                _photo(notes[file], where, photo, job, told)


def _photo(notes: Notes, where: Where, photo: str, job: JobFolder, captioned: bool) -> None:
    if where == ("photos", photo, "before"):
        notes.error(where, "a picture cannot be its own before: name the one taken before the work")
        return
    there = notes.known(where, photo, job.photos, NO_PICTURE, severity="warning", within=True)
    if there and not captioned:
        hint = "add it under photos: in findings.yaml"
        notes.add(where, f"the picture '{photo}' has no caption", hint, "warning", word=photo)


def _slipped(word: str, words: Vocabulary) -> str:
    """The feature that a word misses by one letter, or by two exchanged: 'bore' and 'boers' are the bores."""
    for name in sorted(words.components):
        alike = zip(word, name, strict=False)
        differ = (at for at, (typed, meant) in enumerate(alike) if typed != meant)
        at = next(differ, min(len(word), len(name)))
        typed, meant = word[at:], name[at:]
        if typed[1:] in (meant, meant[1:]) or typed == meant[1:]:
            return name
        if typed[:2] == meant[1::-1] and typed[2:] == meant[2:]:
            return name
    return ""


def _positions(notes: Notes, where: Where, positions: list[str], component: str, words: Vocabulary) -> None:
    if known := words.positions(component):
        whose = component if component in words.engine.features else "the sheet"
        notes.all_known(where, positions, known, f"no position of {whose}")


def _wrong_side(feature: FeatureRecord, side: str) -> bool:
    """Whether no tool makes such a size: a crankpin larger, a barrel smaller.

    By the steps of the sheet: pistons are read like journals and bought oversize, and poured metal is
    bored undersize to a ground crank.
    """
    usual = {("journal", "oversize"): "undersize", ("bore", "undersize"): "oversize"}.get(
        (feature.kind, side)
    )
    return {step.side for step in feature.steps} == {usual}


def _poured(notes: Notes, where: Where, name: str, engine: Engine) -> None:
    """A bore smaller than standard: poured or bushed, as round a ground journal; else it is asked about."""
    feature = engine.features.get(name)
    if feature is None or feature.kind != "bore" or feature.undersizes or feature.oversizes:
        return
    inner = [engine.features.get(fit.inner) for fit in engine.features.values() if fit.outer == name]
    if not any(one is not None and one.undersizes for one in inner):
        hint = f"write the step under 'undersizes:' of {name} in the engine's sheet"
        notes.warn(where, "a bore smaller than standard: poured metal or a bush?", hint)


def _size(notes: Notes, where: Where, size: str, feature: FeatureRecord | None) -> None:
    """A step must be one that the sheet offers; ground to order is then said in 'why'."""
    if size == "standard":
        return
    wanted = size_step(size)
    if wanted.amount is None:
        hint = "0.50 mm undersize, 0.020 in oversize, standard"
        notes.error(where, f"'{size}' is no size: {_why_no_size(size)}", hint)
        return
    if feature is None:
        return
    if _wrong_side(feature, wanted.side):
        made, right = ("larger", "oversize") if wanted.side == "undersize" else ("smaller", "undersize")
        message = f"no {wanted.side} is made of a {feature.kind}: machining makes it {made}"
        notes.error(where, message, f"{wanted.amount} {right}")
        return
    offered = [step for step in feature.steps if step.side == wanted.side]
    if offered and all(abs(step.mm - wanted.mm) > SAME for step in offered):
        listed_so = feature.undersizes if wanted.side == "undersize" else feature.oversizes
        message = f"{wanted.amount} is none of the sheet's steps"
        notes.warn(where, message, f"the sheet lists {listed_so}")


def _why_no_size(size: str) -> str:
    step, _, side = size.rpartition(" ")
    if side not in ("undersize", "oversize"):
        return "it lacks 'undersize' or 'oversize'"
    try:
        quantities.parse(step, dimension="length")
    except QuantityError as problem:
        return str(problem)
    return "its step is no length"


def _dimension(unit: str) -> str:
    try:
        return dimension(unit)
    except UnknownUnit:
        return unit
