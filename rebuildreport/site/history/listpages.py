"""Which pages an edition's history has, what each is made from, and writing those that changed."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from msgspec import Struct
from msgspec.json import decode
from msgspec.structs import asdict

from ...documents.day.daypage import LIST
from ...documents.press import templating
from ...documents.press.language import say, spoken
from ...documents.report.view import Edition
from ...documents.showing import browse, engine_story
from ...documents.showing.browse import Card
from ...documents.showing.entries import Listed, ready
from ...records.files.shop import Shop
from ..disk import folders, sources
from ..disk.manifest import Entry, Manifest
from ..making.addresses import PREVIEW, permanent, site_base
from . import feed
from .net import Leak, Looking
from .shoptexts import ShopText

# jobs on a page of a list: whole places of jobs, as those of a year are shown, or a line each
WHOLE, SHORT = 60, 400
Pieces = Iterable[bytes]


class HistoryPage(Struct, frozen=True):
    """One file of an edition's history: what it is made from, and who makes it."""

    of: str
    make: Callable[[], Pieces]


class Ground(Struct, frozen=True):
    """Where the history is written, and for whom."""

    out: Path
    shop_dir: Path
    shop: Shop
    edition: Edition
    by: str  # what all pages are made by and from
    texts: tuple[ShopText, ...] = ()  # the shop's own pages

    @property
    def home(self) -> Path:
        return self.out / self.edition

    @property
    def first(self) -> str:
        """Where all jobs are listed: the shop's first page is its day."""
        return LIST if self.edition == "shop" else "index.html"

    @property
    def heads(self) -> tuple[str, str, str]:
        return self.shop.name, self.shop.contact, self.shop.notice

    @property
    def base(self) -> str:
        """The address of the public edition; the shop's own stands nowhere else."""
        return site_base(self.shop.site) if self.edition == "public" else ""

    def digest(self, *parts: object) -> str:
        """What a page is made from: its own parts, and what every page shows."""
        return sources.digest(self.by, [(text.title, text.name) for text in self.texts], *parts)

    def frame(self, name: str, picture: str = "") -> dict[str, Any]:
        """What every page shows beside its own: the shop's pages, and where it stands for good."""
        return {
            "texts": [(text.title, text.address) for text in self.texts],
            "up": "../" * name.count("/"),
            "base": self.base,
            "url": permanent(self.base, name),
            "image": permanent(self.base, picture or PREVIEW),
        }


def write(ground: Ground, manifest: Manifest, looking: Looking) -> list[Leak]:
    """Write what changed of an edition's history, and take down what it no longer has.

    A page of the public edition that holds something private is not written, and told of.
    """
    known = manifest.fact(f"pages {ground.edition}") or {}
    # as text: of thousands, a Path of each would take longer than the look
    lost = {name for name in known if not os.path.isfile(f"{ground.home}/{name}")}  # noqa: PTH113
    lists, of = f"lists {ground.edition}", ground.digest([text.markdown for text in ground.texts])
    if manifest.fact(lists) == of and not lost:  # the manifest forgets it with the first entry that changes
        return []
    pages = _pages(ground, manifest)
    made, leaks = {}, []
    for name, page in pages.items():
        if known.get(name) != page.of or name in lost:
            data = b"".join(page.make())
            if ground.edition == "public" and (found := looking.page(name, data)):
                leaks += found
                continue
            folders.write_whole(ground.home / name, [data], ground.out)
        made[name] = page.of
    for gone in set(known) - set(made):
        if next(manifest.entries(ground.edition, job=gone.partition("/")[0]), None) is not None:
            continue  # an old address of one job that is another's own now
        (ground.home / gone).unlink(missing_ok=True)
        with suppress(OSError):
            (ground.home / gone).parent.rmdir()
    if made != known:
        manifest.put(f"pages {ground.edition}", made)
    if not leaks:
        manifest.put(lists, of)
    return leaks


def carded(manifest: Manifest, edition: str) -> Iterator[tuple[Card, str]]:
    """Every job of an edition as it is listed, newest first, and a digest of all that is kept of it."""
    return ((decode(card, type=Card), digest) for card, digest in manifest.cards(edition))


def _pages(ground: Ground, manifest: Manifest) -> dict[str, HistoryPage]:
    found = [*carded(manifest, ground.edition)]
    cards, digests = [card for card, _ in found], [digest for _, digest in found]
    whole = ground.digest(digests)
    groups = browse.lines(cards)
    pages = {
        ground.first: HistoryPage(whole, lambda: _index(ground, manifest, cards)),
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
            pages |= _list_pages(ground, manifest, facet, line, [found[at] for at in own])
            if facet == "engine":
                of = ground.digest([digests[at] for at in own])
                pages[f"engines/{line.code}.html"] = HistoryPage(
                    of, _maker(_engine, ground, manifest, line.code)
                )
    for card, digest in found:
        pages[f"entries/{card.job}.js"] = HistoryPage(digest, _maker(_entry, ground, manifest, card.job))
    for text in ground.texts:
        of = ground.digest(text.title, text.markdown)
        pages[text.address] = HistoryPage(of, _maker(_text, ground, text))
    pages |= _moved(ground, cards)
    if ground.edition == "public":
        pages["404.html"] = HistoryPage(ground.digest(ground.shop.site), _maker(_not_found, ground))
    return pages | _for_machines(ground, cards, whole, pages)


def _moved(ground: Ground, cards: list[Card]) -> dict[str, HistoryPage]:
    """A page at every address that a job had before: but for one that another job has now."""
    taken = {card.job for card in cards}
    pages = {}
    for card in cards:
        for old in card.was:
            if old not in taken and Path(old).name == old and not old.startswith("."):
                of = ground.digest(card.job, card.title)
                pages[f"{old}/index.html"] = HistoryPage(of, _maker(_moved_page, ground, card))
    return pages


def _for_machines(
    ground: Ground, cards: list[Card], whole: str, pages: dict[str, HistoryPage]
) -> dict[str, HistoryPage]:
    """Feed and map, where the shop says at which address its pages stand."""
    base, name = ground.base, ground.shop.name
    if not base:
        return {}
    title = say("{shop}: engines taken apart, measured and put back", shop=name)
    told = (base, name, title, spoken().code, cards)
    listed = [(page, "") for page in pages if page.endswith(".html") and page.startswith(_SHOWN)]
    listed += [(f"{card.job}/index.html", card.as_of) for card in cards]
    made = {feed.FEED: HistoryPage(whole, lambda: [feed.feed(*told)])}
    for file, data in feed.maps(base, listed).items():
        made[file] = HistoryPage(sources.digest(data.decode()), _maker(list, [data]))
    return made


_SHOWN = ("index.html", "engines/", "lists/", "pages/")  # what a map tells of, beside the jobs


def _maker(make: Callable[..., Pieces], *of: object) -> Callable[[], Pieces]:
    return lambda: make(*of)


def _list_pages(
    ground: Ground, manifest: Manifest, facet: str, line: browse.Line, own: list[tuple[Card, str]]
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
        of = ground.digest(line.label, turn, [digest for _, digest in part])
        cards = [card for card, _ in reversed(part)]
        pages[name] = HistoryPage(of, _maker(_list, ground, manifest, facet, line.label, cards, turn))
    return pages


def _index(ground: Ground, manifest: Manifest, cards: list[Card]) -> Pieces:
    newest = islice(manifest.entries(ground.edition), browse.NEWEST)
    items = (listed(entry).item for entry in newest)
    picture = next((card.picture for card in cards if card.picture), "")
    frame = ground.frame("index.html", picture)
    return _bytes(browse.index_html(ground.heads, cards, items, ground.edition, ground.shop_dir, **frame))


def _list(
    ground: Ground,
    manifest: Manifest,
    facet: str,
    label: str,
    cards: list[Card],
    turn: list[tuple[str, bool]],
) -> Pieces:
    items = _items(ground, manifest, cards) if facet == "year" else ()
    made = (facet, label, cards, turn, items, ground.edition, ground.shop_dir)
    here = next(name for name, here in turn if here)
    return _bytes(browse.list_html(ground.heads, *made, **ground.frame(here)))


def _items(ground: Ground, manifest: Manifest, cards: list[Card]) -> Iterator[str]:
    for card in cards:
        for entry in manifest.entries(ground.edition, job=card.job):
            yield listed(entry, "../").item


def _engine(ground: Ground, manifest: Manifest, engine: str) -> Pieces:
    jobs = [listed(entry, "../") for entry in manifest.entries(ground.edition, engine=engine)]
    picture = next((job.picture for job in jobs if job.picture), "")
    known = {"system": ground.shop.first_unit, **ground.frame(f"engines/{engine}.html", picture)}
    return _bytes(engine_story.engine_html(ground.heads, jobs, ground.edition, ground.shop_dir, **known))


def _entry(ground: Ground, manifest: Manifest, job: str) -> Pieces:
    for entry in manifest.entries(ground.edition, job=job):
        yield browse.entry_data(job, listed(entry).item)


def _text(ground: Ground, text: ShopText) -> Pieces:
    return _own(ground, "text", ground.frame(text.address), "../", title=text.title, text=text.html, intro="")


def _not_found(ground: Ground) -> Pieces:
    """Shown for any address, so it names its files from the root of the site."""
    root = urlsplit(ground.base).path or "/"
    frame = {**ground.frame("404.html"), "up": root, "url": ""}
    words = say("It may have been taken off, or its address was cut short.")
    words = f'<p>{words} <a href="{root}">{say("All jobs")}</a></p>'
    return _own(ground, "text", frame, root, title=say("There is no such page"), text=words, intro="")


def _moved_page(ground: Ground, card: Card) -> Pieces:
    to = f"../{card.job}/index.html"
    url = permanent(ground.base, f"{card.job}/index.html")
    return _own(ground, "moved", {"url": url}, "../", title=card.title, to=to)


def _own(ground: Ground, template: str, frame: dict[str, Any], root: str, **values: object) -> Pieces:
    name, contact, notice = ground.heads
    heads = {"shop": name, "contact": contact, "notice": notice, "edition": ground.edition}
    heads |= {"lang": spoken().code, "home": f"{root}index.html", "assets": f"{root}assets/"}
    found = templating.environment(ground.shop_dir).get_template(f"{template}.html.jinja")
    yield found.render(**{**heads, **frame, **values}).encode()


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
