"""Numbered findings with their photos, value scales and price lines; further pictures; decisions."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from ...assess.model.assessment import Assessment, Characteristic, Finding, Photo
from ..drawings.canvas import Drawing, Frame, frame
from ..drawings.scales import NARROW, name_of, scales, unit_of
from ..press.codes import DONE
from ..press.language import say, told
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
    runs,
    stop,
    value,
)
from .answers import Verdict, verdict

SIDE = 156.7  # the left column in print, points
TEXT = 325.0


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo on the page; ``missing`` says why there is none to show."""

    number: int
    anchor: str
    caption: str
    callouts: tuple[tuple[str, str], ...]
    source: str
    small: str
    small_width: int
    full_width: int
    pixels: tuple[int, int]
    frame: Frame | None
    alt: str
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
    id: str
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
    lines_text: str


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
    caption = capital(photo.caption) or say("Picture without a caption")
    callouts = tuple((one.letter, one.text) for one in photo.callouts)
    alt = stop(caption) + "".join(f" {letter}: {stop(text)}" for letter, text in callouts)
    name = anchor(f"picture-{photo.name}")
    if prepared is None or not prepared.full:
        why = (
            prepared.problem
            if prepared
            else (say("the file is not there") if not photo.file else say("not prepared"))
        )
        return Picture(photo.number, name, caption, callouts, "", "", 0, 0, (0, 0), None, alt, why)
    pixels = (prepared.width, prepared.height)
    return Picture(
        number=photo.number,
        anchor=name,
        caption=caption,
        callouts=callouts,
        source=album.base + prepared.full,
        small=album.base + prepared.small,
        small_width=prepared.small_width,
        full_width=prepared.width,
        pixels=pixels,
        frame=frame(pixels, photo.callouts, width, tallest, ""),
        alt=alt,
    )


def shown_photos(one: Assessment, public: bool) -> list[Photo]:
    """Photos that this edition may show, by number."""
    allowed = [photo for photo in one.photos if photo.public or not public]
    return sorted(allowed, key=lambda photo: (photo.number or 10_000, photo.name))


def leading(one: Assessment, album: Album, public: bool) -> Photo | None:
    """The photo of page one: the first that can be shown."""
    for photo in shown_photos(one, public):
        prepared = album.prepared.get(photo.name)
        if prepared is not None and prepared.full:
            return photo
    return None


def findings(one: Assessment, album: Album, public: bool, lead: Photo | None) -> tuple[FindingView, ...]:
    """Every finding in its order; the photo of page one is not printed twice unless nothing else shows it."""
    photos = {photo.name: photo for photo in shown_photos(one, public)}
    views: list[FindingView] = []
    for finding in one.findings:
        names = [name for name in finding.photos if name in photos]
        pairs = [
            (photos[photos[name].before], photos[name]) for name in names if photos[name].before in photos
        ]
        paired = {photo.name for pair in pairs for photo in pair}
        names = [name for name in names if name not in paired]
        if lead is not None and lead.name in names and len(names) > 1:
            names.remove(lead.name)
        views.append(
            _finding(
                finding,
                one,
                [picture(photos[name], album, SIDE, 104.0) for name in names],
                [(picture(a, album, SIDE, 118.0), picture(b, album, SIDE, 118.0)) for a, b in pairs],
            )
        )
    return tuple(views)


def _finding(
    finding: Finding, one: Assessment, pictures: list[Picture], pairs: list[tuple[Picture, Picture]]
) -> FindingView:
    where = places([place(name) for name in finding.positions])
    return FindingView(
        number=finding.number,
        anchor=anchor(f"finding-{finding.id}"),
        id=finding.id,
        title=capital(told(finding.title)),
        where=f"{told(finding.component_title)} {where}".strip(),
        text=_numbered(finding.text, one),
        seen=_numbered(joined(finding.seen), one),
        cause=_numbered(finding.cause, one),
        disposition=say(DONE[finding.disposition]),
        pictures=tuple(pictures),
        pairs=tuple(pairs),
        beside=_beside(finding, one),
        verdict=verdict(finding.verdict) if finding.verdict else None,
        lines=finding.price_lines,
        lines_text=runs(finding.price_lines),
    )


def _numbered(text: str, one: Assessment) -> str:
    """'debris of F1' as a reader finds it: 'debris of finding 1'."""
    printed = {finding.id: str(finding.number) for finding in one.findings}
    return re.sub(
        r"\b[A-Z]+\d+\b",
        lambda found: (
            say("finding\u00a0{number}", number=printed[found[0]]) if found[0] in printed else found[0]
        ),
        text,
    )


def _beside(finding: Finding, one: Assessment) -> tuple[Beside, ...]:
    """Keys of one feature, name and position belong together: arrival first, then now."""
    pairs: dict[tuple[str, str, str], list[Characteristic]] = {}
    for key in finding.shows:
        found = one.find(key)
        if found is not None and found.value is not None:
            pairs.setdefault((found.feature, found.name, found.position), []).append(found)
    out: list[Beside] = []
    for ones in pairs.values():
        first: Characteristic | None
        now: Characteristic | None
        if len(ones) > 1:
            first, now = ones[0], ones[-1]
        elif ones[0].round in one.as_found or not ones[0].stands:
            first, now = ones[0], None
        else:
            first, now = None, ones[0]
        feature = next((f for f in one.features if f.name == ones[0].feature), None)
        out.append(
            Beside(
                name=name_of(ones[0], feature),
                unit=unit_of(ones[0], one.system),
                wide=tuple(scales(first, now, feature, one.system, TEXT)),
                narrow=tuple(scales(first, now, feature, one.system, NARROW)),
                first=verdict(first.verdict, first.side) if first else None,
                now=verdict(now.verdict, now.side) if now else None,
                values=_in_both(first, now, one.system),
                limits=_limits_in_both(now if now is not None and now.limits else ones[0], one.system),
                note=next(
                    (
                        stop(place(told(c.advice)))
                        for c in reversed(ones)
                        if c.advice and c.verdict != "as new"
                    ),
                    "",
                ),
            )
        )
    return tuple(out)


def _in_both(first: Characteristic | None, now: Characteristic | None, system: str) -> str:
    """'At least 0.206 mm (0.0081 in), now 0.077 mm (0.0030 in).'"""
    before, after = value(first, system), value(now, system)
    said = [before.both if before else "", say("now {value}", value=after.both) if after else ""]
    return stop(capital(", ".join(part for part in said if part)))


def _limits_in_both(one: Characteristic, system: System) -> str:
    """'New 0.050–0.110 (0.0020–0.0043), wear max 0.150 (0.0059).'"""
    if one.limits is None:
        return ""
    said: list[str] = []
    for ends, word in ((one.limits.new, say("new")), (one.limits.wear, say("wear"))):
        text = interval(ends, one, system)
        if text:
            second = beside(interval(ends, one, other(system)), one, system)
            said.append(f"{word} {text} ({second})" if second else f"{word} {text}")
    return stop(say("Limits: {what}", what=", ".join(said))) if said else ""


def further(one: Assessment, album: Album, public: bool, lead: Photo | None) -> tuple[Picture, ...]:
    """Photos that no finding shows and that do not stand on page one."""
    used = {name for finding in one.findings for name in finding.photos} | ({lead.name} if lead else set())
    used |= {photo.before for photo in one.photos if photo.name in used and photo.before}
    return tuple(
        picture(photo, album, SIDE, 104.0) for photo in shown_photos(one, public) if photo.name not in used
    )


def decisions(one: Assessment) -> tuple[tuple[str, ...], ...]:
    """Decisions, a row each: what is done to what, why, by whom; kept apart from findings and verdicts."""
    out: list[tuple[str, ...]] = []
    for made in one.decisions:
        where = f" {places([place(name) for name in made.positions])}" if made.positions else ""
        size = f", {told(made.size)}" if made.size else ""
        what = f"{told(made.about_title)}{where}: {say(DONE[made.do])}{size}"
        out.append((made.id, what, made.why, say(made.by), day(made.date)))
    return tuple(out)
