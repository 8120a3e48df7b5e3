"""The specimen of every part, and the words explained: made again with the program and the templates.

In: an order, what is known of the last run.  Out: their files.  Knows no job.
"""

from __future__ import annotations

from msgspec.structs import replace

from ..documents.press import templating
from ..documents.press.language import Language, speaking
from ..documents.showing import explained, specimen
from ..records import Problem
from .disk import folders, sources
from .disk.manifest import Manifest
from .making.work import Order, shop_of, site_language


def due(order: Order, manifest: Manifest, language: Language) -> str:
    """What they are to be made from; "" where they were."""
    made = sources.digest(order.made_by.program, order.pdf, order.made_by.templates, language.tag)
    stand = (order.out / "shop" / specimen.NAME / "index.html").is_file()
    return "" if stand and manifest.fact("specimen") == made else made


def pages(order: Order) -> tuple[str, str] | Problem:
    """Specimen and words, in whatever process; a template of the shop's that fails is told."""
    try:
        page = specimen.specimen_html(pdf=specimen.PDF if order.pdf else "", shop=order.shop)
    except Exception as fault:
        problem = templating.fault_of_the_shops(fault, order.shop)
        if problem is None:
            raise
        return replace(problem, severity="warning")
    with speaking(site_language(shop_of(order))):
        return page, explained.page(order.shop)


def write(order: Order, manifest: Manifest, made: str, found: tuple[str, str] | Problem) -> list[Problem]:
    """Put both pages in their place, made from what ``due`` says."""
    if isinstance(found, Problem):
        return [found]
    folder = order.out / "shop" / specimen.NAME
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in zip(("index.html", explained.ADDRESS), found, strict=True):
        folders.write_whole(folder / name, [text.encode()], order.out)
    specimen.copy_photos(folder)
    if not order.pdf:
        (folder / specimen.PDF).unlink(missing_ok=True)
    manifest.put("specimen", made)
    return []


def print_out(order: Order, manifest: Manifest) -> None:
    """Its PDF comes last of all."""
    path = order.out / "shop" / specimen.NAME / specimen.PDF
    of = [manifest.fact("specimen"), order.made_by.printing]
    if path.parent.is_dir() and (manifest.fact("specimen paper") != of or not path.is_file()):
        folders.write_whole(path, specimen.specimen_pdf(order.shop), order.out)
        manifest.put("specimen paper", of)
