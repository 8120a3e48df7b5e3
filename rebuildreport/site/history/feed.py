"""What machines read of the public edition: the Atom feed of its newest jobs, and the map of all its pages.

In: what lists keep of each job, and the address of the site.  Out: XML.  Source: RFC 4287 (Atom), RFC 3339
(dates), the sitemap protocol 0.9 (sitemaps.org: at most 50,000 addresses a file).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree as ET

from ...documents.showing.browse import Card
from ..making.addresses import permanent

ATOM, MAP = "http://www.w3.org/2005/Atom", "http://www.sitemaps.org/schemas/sitemap/0.9"
NEWEST = 40  # jobs in the feed
MOST = 50_000  # addresses in a map
FEED, SITEMAP = "feed.xml", "sitemap.xml"


def feed(site: str, shop: str, title: str, language: str, cards: Sequence[Card]) -> bytes:
    """The newest jobs.  A job that was renamed keeps the name that readers know it by."""
    root = ET.Element("feed", {"xmlns": ATOM, "xml:lang": language})
    _add(root, "id", site)
    _add(root, "title", title)
    newest = max((card.as_of for card in cards), default="1970-01-01")
    _add(root, "updated", _time(newest))
    ET.SubElement(
        root, "link", {"rel": "self", "type": "application/atom+xml", "href": permanent(site, FEED)}
    )
    ET.SubElement(root, "link", {"rel": "alternate", "type": "text/html", "href": site})
    _add(ET.SubElement(root, "author"), "name", shop)
    for card in cards[:NEWEST]:
        entry = ET.SubElement(root, "entry")
        first = card.was[-1] if card.was else card.job
        _add(entry, "id", permanent(site, f"{first}/index.html"))
        _add(entry, "title", card.title)
        _add(entry, "updated", _time(card.as_of))
        _add(entry, "published", _time(card.opened))
        where = {"rel": "alternate", "type": "text/html", "href": permanent(site, f"{card.job}/index.html")}
        ET.SubElement(entry, "link", where)
        if card.family:
            ET.SubElement(entry, "category", {"term": card.family})
        _add(entry, "summary", card.says)
    return _whole(root)


def maps(site: str, pages: Iterable[tuple[str, str]]) -> dict[str, bytes]:
    """The map of all pages, each with the day on which it was last true or ""; of very many one of maps."""
    every = list(pages)
    parts = [every[start : start + MOST] for start in range(0, len(every), MOST)]
    if len(parts) == 1:
        return {SITEMAP: _map(site, parts[0])}
    made = {f"sitemap-{number}.xml": _map(site, part) for number, part in enumerate(parts, 1)}
    root = ET.Element("sitemapindex", {"xmlns": MAP})
    for name in made:
        _add(ET.SubElement(root, "sitemap"), "loc", permanent(site, name))
    return {SITEMAP: _whole(root), **made}


def _map(site: str, pages: Iterable[tuple[str, str]]) -> bytes:
    root = ET.Element("urlset", {"xmlns": MAP})
    for name, day in pages:
        url = ET.SubElement(root, "url")
        _add(url, "loc", permanent(site, name))
        if day:
            _add(url, "lastmod", day)
    return _whole(root)


def _add(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, tag).text = text


def _time(day: str) -> str:
    """Midnight of a day: the records know no hour, and the same records make the same feed."""
    return f"{day}T00:00:00Z"


def _whole(root: ET.Element) -> bytes:
    return f'<?xml version="1.0" encoding="utf-8"?>\n{ET.tostring(root, "unicode")}\n'.encode()
