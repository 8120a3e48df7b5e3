"""Numbered findings with their photos, value scales and price lines; further pictures; decisions.

In: an Assessment and an album of prepared photos.  Out: a view each.  Works out no value.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from ...assess.model.assessment import Assessment, Characteristic, Finding, Photo
from ..drawings.canvas import Drawing, Frame, frame
from ..drawings.scales import NARROW, name_of, scales, unit_of
from ..drawings.verdict_marks import Verdict, judged, verdict
from ..press.codes import DONE
from ..press.language import opening, say, told
from ..press.photos import Prepared
from ..press.templating import anchor
from ..press.words import (
    System,
    beside,
    capital,
    day,
    interval,
    joined,
    other,
    place,
    places,
    stop,
    value,
)

SIDE = 156.7  # the left column in print, points
TEXT = 325.0


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo on the page; ``missing`` says why there is none to show."""

    number: int
    anchor: str
    caption: str
    callouts: tuple[tuple[str, str], ...]
    alt: str
    source: str = ""
    small: str = ""
    small_width: int = 0
    full_width: int = 0
    pixels: tuple[int, int] = (0, 0)
    frame: Frame | None = None
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Beside:
    """A value drawn beside a finding: its scales, wide and narrow, its name and verdicts."""

    name: str
    unit: str
    wide: tuple[Drawing, ...]
    narrow: tuple[Drawing, ...]
    first: Verdict | None
    now: Verdict | None
    note: str
    values: str = ""  # in both systems of units
    limits: str = ""  # the same


@dataclass(frozen=True, slots=True)
class FindingView:
    number: int
    anchor: str
    title: str
    where: str
    text: str
    seen: str
    cause: str
    disposition: str
    pictures: tuple[Picture, ...]
    pairs: tuple[tuple[Picture, Picture], ...]  # the same spot before and after
    beside: tuple[Beside, ...]
    verdict: Verdict | None
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Album:
    """Photos as prepared, and where the pages find them."""

    prepared: Mapping[str, Prepared]
    base: str  # "photos/" in a page, PRINTED in a PDF
    printed: bool = False  # pictures are fitted to their page of paper; a screen has room for the whole


PRINTED = "photo:"  # in a PDF, wherever on this machine the photos are
NO_PHOTOS = Album({}, "")


def on_paper(photos: Mapping[str, Prepared]) -> Album:
    """The photos of a document that becomes a PDF."""
    return Album(photos, PRINTED, printed=True)


def picture(photo: Photo, album: Album, width: float, tallest: float) -> Picture:
    """A photo at a width; its text alternative is its caption and what its letters mean."""
    prepared = album.prepared.get(photo.name)
    caption = photo.caption or say("Picture without a caption")
    callouts = tuple((callout.letter, callout.text) for callout in photo.callouts)
    alt = stop(caption) + "".join(f" {letter}: {stop(text)}" for letter, text in callouts)
    bare = Picture(photo.number, anchor(f"picture-{photo.name}"), caption, callouts, alt)
    if prepared is None:
        why = say("not prepared") if photo.file else say("the file is not there")
        return replace(bare, missing=why)
    if not prepared.full:
        return replace(bare, missing=prepared.problem)
    pixels = (prepared.width, prepared.height)
    return replace(
        bare,
        source=album.base + prepared.full,
        small=album.base + prepared.small,
        small_width=prepared.small_width,
        full_width=prepared.width,
        pixels=pixels,
        frame=frame(pixels, photo.callouts, width, tallest, ""),
    )


def shown_photos(job: Assessment, public: bool) -> list[Photo]:
    """Photos that this edition may show, by number."""
    allowed = [photo for photo in job.photos if photo.public or not public]
    return sorted(allowed, key=lambda photo: (photo.number or 10_000, photo.name))


def leading(job: Assessment, album: Album, public: bool) -> Photo | None:
    """The photo of page one: the first that can be shown."""
    for photo in shown_photos(job, public):
        prepared = album.prepared.get(photo.name)
        if prepared is not None and prepared.full:
            return photo
    return None


def findings(job: Assessment, album: Album, public: bool, lead: Photo | None) -> tuple[FindingView, ...]:
    """Every finding in its order; the photo of page one is not printed twice unless nothing else shows it."""
    photos = {photo.name: photo for photo in shown_photos(job, public)}
    views: list[FindingView] = []
    for finding in job.findings:
        shown = [photos[name] for name in finding.photos if name in photos]
        pairs = [(photos[after.before], after) for after in shown if after.before in photos]
        paired = {photo.name for pair in pairs for photo in pair}
        alone = [photo for photo in shown if photo.name not in paired]
        if lead is not None and lead in alone and len(alone) > 1:
            alone.remove(lead)
        views.append(
            _finding(
                finding,
                job,
                tuple(picture(photo, album, SIDE, 104.0) for photo in alone),
                tuple(
                    (picture(before, album, SIDE, 118.0), picture(after, album, SIDE, 118.0))
                    for before, after in pairs
                ),
            )
        )
    return tuple(views)


def _finding(
    finding: Finding,
    job: Assessment,
    pictures: tuple[Picture, ...],
    pairs: tuple[tuple[Picture, Picture], ...],
) -> FindingView:
    where = places([place(name) for name in finding.positions])
    return FindingView(
        number=finding.number,
        anchor=anchor(f"finding-{finding.id}"),
        title=opening(finding.title),
        where=f"{told(finding.component_title)} {where}".strip(),
        text=_numbered(finding.text, job),
        seen=_numbered(joined(finding.seen), job),
        cause=_numbered(finding.cause, job),
        disposition=say(DONE[finding.disposition]),
        pictures=pictures,
        pairs=pairs,
        beside=tuple(_beside(finding, job)),
        verdict=verdict(finding.verdict) if finding.verdict else None,
        lines=finding.price_lines,
    )


def _numbered(text: str, job: Assessment) -> str:
    """'debris of F1' as a reader finds it: 'debris of finding 1'."""
    printed = {finding.id: str(finding.number) for finding in job.findings}

    def number(name: re.Match[str]) -> str:
        if name[0] not in printed:
            return name[0]
        return say("finding\u00a0{number}", number=printed[name[0]])

    return re.sub(r"\b[A-Z]+\d+\b", number, text)


def _beside(finding: Finding, job: Assessment) -> Iterator[Beside]:
    """The values that a finding shows, arrival beside now: of one feature, name and position together."""
    shown: dict[tuple[str, str, str], list[Characteristic]] = {}
    for key in finding.shows:
        measured = job.find(key)
        if measured is not None and measured.value is not None:
            same = (measured.feature, measured.name, measured.position)
            shown.setdefault(same, []).append(measured)
    for group in shown.values():
        first, now = _arrival_and_now(group, job)
        feature = next((feature for feature in job.features if feature.name == group[0].feature), None)
        limited = now if now is not None and now.limits else group[0]
        advice = [measured.advice for measured in group if measured.advice and measured.verdict != "as new"]
        yield Beside(
            name=name_of(group[0], feature),
            unit=unit_of(group[0], job.system),
            wide=tuple(scales(first, now, feature, job.system, TEXT)),
            narrow=tuple(scales(first, now, feature, job.system, NARROW)),
            first=verdict(judged(first), first.side) if first else None,
            now=verdict(judged(now), now.side) if now else None,
            values=_in_both(first, now, job.system),
            limits=_limits_in_both(limited, job.system),
            note=stop(place(told(advice[-1]))) if advice else "",
        )


def _arrival_and_now(
    group: list[Characteristic], job: Assessment
) -> tuple[Characteristic | None, Characteristic | None]:
    """Of one value the first word and the last; of a single one, which of both it is."""
    if len(group) > 1:
        return group[0], group[-1]
    (only,) = group
    found = only.round in job.as_found or not only.stands
    return (only, None) if found else (None, only)


def _in_both(first: Characteristic | None, now: Characteristic | None, system: str) -> str:
    """'At least 0.206 mm (0.0081 in), now 0.077 mm (0.0030 in).'"""
    before, after = value(first, system), value(now, system)
    said = [before.both if before else "", say("now {value}", value=after.both) if after else ""]
    return stop(capital(", ".join(filter(None, said))))


def _limits_in_both(measured: Characteristic, system: System) -> str:
    """'New 0.050–0.110 (0.0020–0.0043), wear max 0.150 (0.0059).'"""
    if measured.limits is None:
        return ""
    said: list[str] = []
    for ends, word in ((measured.limits.new, say("new")), (measured.limits.wear, say("wear"))):
        text = interval(ends, measured, system)
        second = beside(interval(ends, measured, other(system)), measured, system)
        if text:
            said.append(f"{word} {text} ({second})" if second else f"{word} {text}")
    return stop(say("Limits: {what}", what=", ".join(said))) if said else ""


def further(job: Assessment, album: Album, public: bool, lead: Photo | None) -> tuple[Picture, ...]:
    """Photos that no finding shows and that do not stand on page one."""
    used = {name for finding in job.findings for name in finding.photos} | ({lead.name} if lead else set())
    used |= {photo.before for photo in job.photos if photo.name in used and photo.before}
    return tuple(
        picture(photo, album, SIDE, 104.0) for photo in shown_photos(job, public) if photo.name not in used
    )


def decisions(job: Assessment) -> tuple[tuple[str, ...], ...]:
    """Decisions, a row each: what is done to what, why, by whom; kept apart from findings and verdicts."""
    rows: list[tuple[str, ...]] = []
    for decision in job.decisions:
        where = f" {places([place(name) for name in decision.positions])}" if decision.positions else ""
        size = f", {told(decision.size)}" if decision.size else ""
        what = f"{told(decision.about_title)}{where}: {say(DONE[decision.do])}{size}"
        rows.append((decision.id, what, decision.why, told(decision.by), day(decision.date)))
    return tuple(rows)
