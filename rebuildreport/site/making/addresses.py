"""Where pages stand for good, by the address that the shop gives in ``shop.yaml``."""

from __future__ import annotations

from urllib.parse import quote, urljoin, urlsplit

from ...records import Problem

PREVIEW = "assets/preview.png"  # shown of a page that has no picture of its own


def site_base(site: str | None) -> str:
    """The address of the public edition with its last stroke; "" where the shop names none.

    >>> site_base("https://example.invalid/engines"), site_base(None), site_base("not an address")
    ('https://example.invalid/engines/', '', '')
    """
    parts = urlsplit(site or "")
    return f"{site.rstrip('/')}/" if site and parts.scheme in ("http", "https") and parts.netloc else ""


def permanent(base: str, name: str) -> str:
    """The address of a page; a folder stands for the page in it.

    >>> permanent("https://example.invalid/e/", "2026-003 six/index.html"), permanent("", "index.html")
    ('https://example.invalid/e/2026-003%20six/', '')
    """
    return urljoin(base, quote(name.removesuffix("index.html"))) if base else ""


def no_address(site: str | None) -> list[Problem]:
    """That what shop.yaml gives as the address of the public edition is none."""
    if not site or site_base(site):
        return []
    message = f"site: '{site}' is no address: without one there is no feed and no map of the public pages"
    return [Problem("shop.yaml", 1, 1, "warning", message, f"site: {site}", f"https://{site}")]
