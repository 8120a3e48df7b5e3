"""Which pages an edition's history has, what each is made from, and writing those that changed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from itertools import islice
from pathlib import Path

from ...documents.day.daypage import LIST
from ...documents.report.view import Edition
from ...documents.showing import browse, engine_story
from ...documents.showing.browse import Card
from ...documents.showing.entries import Listed, ready
from ...records.files.shop import Shop
from ..disk import folders, sources
from ..disk.manifest import Entry, Manifest

# jobs on a page of a list: whole places of jobs, as those of a year are shown, or a line each
WHOLE, SHORT = 60, 400
Pieces = Iterable[bytes]


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """One file of an edition's history: what it is made from, and who makes it."""

    of: str
    make: Callable[[], Pieces]


@dataclass(frozen=True, slots=True)
class Ground:
    """Where the history is written, and for whom."""

    out: Path
    shop_dir: Path
    shop: Shop
    edition: Edition
    ground: str  # what all pages are made by and from

    @property
    def home(self) -> Path:
        return self.out / self.edition

    @property
    def first(self) -> str:
        """Where all jobs are listed: the shop's first page is its day."""
        return LIST if self.edition == "shop" else "index.html"

    @property
    def heads(self) -> tuple[str, str, str]:
        return self.shop.name, self.shop.contact, self.shop.notice or ""


def write(place: Ground, manifest: Manifest) -> None:
    """Write what changed of an edition's history, and take down what it no longer has."""
    known = manifest.fact(f"pages {place.edition}") or {}
    pages = _pages(place, manifest)
    for name, page in pages.items():
        if known.get(name) != page.of or not (place.home / name).is_file():
            folders.write_whole(place.home / name, page.make(), place.out)
    for gone in set(known) - set(pages):
        (place.home / gone).unlink(missing_ok=True)
    made = {name: page.of for name, page in pages.items()}
    if made != known:
        manifest.put(f"pages {place.edition}", made)


def _pages(place: Ground, manifest: Manifest) -> dict[str, HistoryPage]:
    found = [(Card(**entry), digest) for entry, digest in manifest.cards(place.edition)]
    cards, digests = [card for card, _ in found], [digest for _, digest in found]
    whole = sources.digest(place.ground, digests)
    groups = browse.lines(cards)
    pages = {
        place.first: HistoryPage(whole, lambda: _index(place, manifest, cards)),
        "jobs.js": HistoryPage(whole, lambda: browse.search_data(cards, groups)),
    }
    members: dict[tuple[str, str], list[int]] = {}
    for at, card in enumerate(cards):
        for facet, codes in card.facets.items():
            for code in codes:
                members.setdefault((facet, code), []).append(at)
    for facet, lines in groups.items():
        for line in lines:
            own = members[facet, line.code]
            pages |= _list_pages(place, manifest, facet, line, [found[at] for at in own])
            if facet == "engine":
                of = sources.digest(place.ground, [digests[at] for at in own])
                pages[f"engines/{line.code}.html"] = HistoryPage(
                    of, _maker(_engine, place, manifest, line.code)
                )
    for card, digest in found:
        pages[f"entries/{card.job}.js"] = HistoryPage(digest, _maker(_entry, place, manifest, card.job))
    return pages


def _maker(make: Callable[..., Pieces], *of: object) -> Callable[[], Pieces]:
    return lambda: make(*of)


def _list_pages(
    place: Ground, manifest: Manifest, facet: str, line: browse.Line, own: list[tuple[Card, str]]
) -> dict[str, HistoryPage]:
    """The pages of one list, cut from its oldest job on: a new job changes the newest page alone."""
    size = WHOLE if facet == "year" else SHORT
    oldest_first = own[::-1]
    parts = [oldest_first[at : at + size] for at in range(0, len(own), size)]
    names = [browse.address(facet, line.code, number) for number in range(1, len(parts))]
    names.append(line.address)  # the newest, wherever it ends
    pages = {}
    for name, part in zip(names, parts, strict=True):
        turn = [(other, other == name) for other in reversed(names)]
        of = sources.digest(place.ground, line.label, turn, [digest for _, digest in part])
        cards = [card for card, _ in reversed(part)]
        pages[name] = HistoryPage(of, _maker(_list, place, manifest, facet, line.label, cards, turn))
    return pages


def _index(place: Ground, manifest: Manifest, cards: list[Card]) -> Pieces:
    newest = islice(manifest.entries(place.edition), browse.NEWEST)
    items = (listed(entry).item for entry in newest)
    return _bytes(browse.index_html(place.heads, cards, items, place.edition, place.shop_dir))


def _list(
    place: Ground,
    manifest: Manifest,
    facet: str,
    label: str,
    cards: list[Card],
    turn: list[tuple[str, bool]],
) -> Pieces:
    items = _items(place, manifest, cards) if facet == "year" else ()
    made = (facet, label, cards, turn, items, place.edition, place.shop_dir)
    return _bytes(browse.list_html(place.heads, *made))


def _items(place: Ground, manifest: Manifest, cards: list[Card]) -> Iterator[str]:
    for card in cards:
        for entry in manifest.entries(place.edition, job=card.job):
            yield listed(entry, "../").item


def _engine(place: Ground, manifest: Manifest, engine: str) -> Pieces:
    jobs = (listed(entry, "../") for entry in manifest.entries(place.edition, engine=engine))
    system = place.shop.first_unit
    return _bytes(engine_story.engine_html(place.heads, jobs, place.edition, place.shop_dir, system))


def _entry(place: Ground, manifest: Manifest, job: str) -> Pieces:
    for entry in manifest.entries(place.edition, job=job):
        yield browse.entry_data(job, listed(entry).item)


def _bytes(pieces: Iterable[str]) -> Pieces:
    return (piece.encode() for piece in pieces)


def enter(manifest: Manifest, edition: str, one: Listed, failing: str = "") -> None:
    """List a job on the pages of an edition; ``failing``: what is said of its files."""
    data = asdict(one)
    item = data.pop("item")
    entry = Entry(
        one.job, one.opened, one.engine, item, {**data, "failing": failing}, asdict(browse.card(one))
    )
    manifest.enter(edition, one.job, entry)


def listed(entry: Entry, up: str = "") -> Listed:
    """An entry as the pages take it, from which ``up`` leads to the edition's folder."""
    data = dict(entry.data)
    return Listed(item=ready(entry.item, up, data.pop("failing")), **data)
