"""Numbered findings with their photos, value scales and price lines; further pictures.

In: an Assessment and an album of prepared photos.  Out: a view each.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment, Characteristic, Finding, Photo
from ...quantities import message
from ..drawings.canvas import Drawing, Frame, frame
from ..drawings.scales import NARROW, name_of, scales, unit_of
from ..drawings.verdict_marks import Verdict, judged, verdict
from ..press.enginewords import done_to, numbered
from ..press.language import opening, say, told
from ..press.photos import Prepared
from ..press.templating import anchor
from ..press.words import (
    beside,
    capital,
    first_unit,
    interval,
    place,
    second_system,
    stop,
    unit_text,
    value,
)
from ..record.evidence_view import CauseView, beside_finding
from ..record.recordview import record_numbers

SIDE = 156.7  # the left column in print, points
TALL = 94.1  # 33.2 mm: three findings stand on a page
TEXT = 325.0


class Picture(Struct, frozen=True):
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


class Beside(Struct, frozen=True):
    """A value drawn beside a finding: its scales, wide and narrow, its name and verdicts."""

    name: str
    wide: tuple[Drawing, ...]
    narrow: tuple[Drawing, ...]
    first: Verdict | None
    now: Verdict | None
    second: str  # the numbers in the other system of units, where the shop asks for it
    note: str = ""


class FindingView(Struct, frozen=True):
    number: int
    anchor: str
    title: str
    text: str
    seen: str  # said where nobody has written a text
    cause: str
    done: str
    pictures: tuple[Picture, ...]  # at most one; or the same spot before and after
    when: tuple[str, ...]  # what stands above each of a pair
    beside: tuple[Beside, ...]
    of: str  # what its verdict is of, where no value stands beside it
    verdict: Verdict | None
    lines: tuple[int, ...]
    line_word: str  # what stands before their numbers
    record: tuple[str, int] | None  # anchor and number of its entry in the measurement record
    evidence: tuple[CauseView, ...] = ()


class Album(Struct, frozen=True):
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


def findings(job: Assessment, album: Album, public: bool) -> tuple[FindingView, ...]:
    """Every finding in its order, each with one picture, or with one spot before and after."""
    photos = {photo.name: photo for photo in shown_photos(job, public)}
    numbers = record_numbers(job)
    return tuple(
        _finding(finding, job, _of_finding(finding, photos), album, numbers, public)
        for finding in job.findings
    )


def _of_finding(finding: Finding, photos: Mapping[str, Photo]) -> tuple[Photo, ...]:
    """The photos that stand beside a finding: before and after of one spot where there are both, else one."""
    shown = [photos[name] for name in finding.photos if name in photos]
    for after in shown:
        if after.before in photos:
            return photos[after.before], after
    return tuple(shown[:1])


def _in_record(
    finding: Finding, shown: list[Characteristic], numbers: Mapping[str, int]
) -> tuple[str, int] | None:
    """Where the record has what a finding shows, or else what it is about."""
    features = [*(measured.feature for measured in shown), finding.component]
    return next(((anchor(name), numbers[name]) for name in features if name in numbers), None)


def _finding(
    finding: Finding,
    job: Assessment,
    photos: tuple[Photo, ...],
    album: Album,
    numbers: Mapping[str, int],
    public: bool,
) -> FindingView:
    shown = [one for key in finding.shows if (one := job.find(key)) is not None]
    return FindingView(
        number=finding.number,
        anchor=anchor(f"finding-{finding.id}"),
        title=opening(finding.title),
        text=numbered(finding.text, job),
        seen="" if finding.text else numbered("; ".join(finding.seen), job),
        cause=numbered(finding.cause, job),
        done=capital(done_to(job, finding.disposition, finding.component)),
        pictures=tuple(picture(photo, album, SIDE, TALL) for photo in photos),
        when=(say("Before"), say("After")) if len(photos) > 1 else ("",),
        beside=tuple(_beside(finding, job)),
        # what is found by looking needs no reading
        of=told(finding.component_title),
        verdict=verdict(finding.verdict) if finding.verdict not in ("", "not measured") else None,
        lines=finding.price_lines,
        line_word=_line_word(len(finding.price_lines), public),
        record=_in_record(finding, shown, numbers),
        evidence=beside_finding(job, finding.id),
    )


def _line_word(many: int, public: bool) -> str:
    if public:  # which has no prices
        return say("line no." if many == 1 else "line nos.")
    return say("price\u00a0line" if many == 1 else "price\u00a0lines")


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
        feature = job.feature(group[0].feature)
        counted = group[0].unit == "count"  # cracks found: a scale of one and nought shows nothing
        name = name_of(feature, group[0].name, group[0].position)
        advice = [measured.advice for measured in group if measured.advice and measured.verdict != "as new"]
        yield Beside(
            name=name if counted else f"{name},\u00a0{unit_of(group[0].unit, job.system)}",
            wide=() if counted else tuple(scales(first, now, feature, job.system, TEXT)),
            narrow=() if counted else tuple(scales(first, now, feature, job.system, NARROW)),
            first=verdict(judged(first), first.side) if first else None,
            now=verdict(judged(now), now.side) if now else None,
            second=_in_second(job, first, now),
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


def _in_second(job: Assessment, first: Characteristic | None, now: Characteristic | None) -> str:
    """'0.0081 in, now 0.0030 in, limit max 0.0059 in.': what the shop wants in the other system of units."""
    some = first or now
    said: list[str] = []
    system = second_system(job)
    if system and some and beside("x", some, job.system):
        for measured, words in ((first, "{value}"), (now, message("now {value}"))):
            if printed := value(measured, system):
                said.append(say(words, value=f"{printed.said}\u00a0{printed.unit}"))
    system = second_system(job, "limit")
    if system and some and some.limits and beside("x", some, job.system):
        unit = unit_text(first_unit(some.unit, system))
        said.append(say("limit {limit}", limit=f"{interval(some.limits, some.unit, system)}\u00a0{unit}"))
    return stop(capital(", ".join(said)))


def further(job: Assessment, album: Album, public: bool) -> tuple[Picture, ...]:
    """Photos that stand beside no finding."""
    shown = shown_photos(job, public)
    by_name = {photo.name: photo for photo in shown}
    used = {photo.name for finding in job.findings for photo in _of_finding(finding, by_name)}
    return tuple(picture(photo, album, SIDE, TALL) for photo in shown if photo.name not in used)
