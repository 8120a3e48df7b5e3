"""The history of a shop as lists: its first page, the pages of each heading, and what is searched in them.

In: what the site keeps of each job.  Out: HTML and one script of data, piece by piece, so that thousands of
jobs are never held as pages.  All of it is complete without JavaScript, but for searching by words.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field

from ...assess.model.enginefacts import engine_name
from ...quantities import message
from ...trade.engine.subjects import NOT_FOUND, OTHER, TITLES
from ..drawings.canvas import KEYS
from ..drawings.verdict_marks import verdict
from ..press import templating
from ..press.language import say, spoken
from ..press.words import NBSP, SEVERITY, capital, in_threes
from ..report.view import Edition
from .entries import Listed

FACETS = message(
    {
        "engine": "Engine family",
        "failed": "What failed",
        "cause": "Cause",
        "done": "What was done",
        "usage": "Hours or distance",
        "age": "Age when it came",
        "year": "Year",
    }
)
# how the lines of a heading are sorted; the others by their number
BY_NAME, BY_CODE = ("engine",), ("usage", "age")
NEWEST = 24  # jobs on the first page: with their drawings some 60 kB
# the ends of the bands of hours, kilometres and years: four to a life (our choice)
BANDS = {"h": (1000, 3000, 6000, 10000), "km": (50000, 100000, 150000, 200000), "years": (10, 20, 40, 70)}
DONE_TO = message({"recondition": "{part}: machined or put right", "replace": "{part}: renewed"})
# what a code of a heading is made of: it stands in addresses, so it is one word
BAND_OF = {f"{unit}-{at}": (unit, at) for unit, ends in BANDS.items() for at in range(len(ends) + 1)}
DONE_OF = {f"{part}.{did}": (part, did) for part in TITLES for did in DONE_TO}


class Card(Struct, frozen=True):
    """A job as it is searched and listed in one line; all that changes with it changes its pages."""

    job: str
    opened: str
    title: str
    meta: str
    says: str
    verdict: str
    shown: str  # what the verdict is on
    family: str
    picture: str
    as_of: str
    was: Sequence[str] = ()  # names that it had before, the newest first
    facets: Mapping[str, Sequence[str]] = field(default_factory=dict)  # heading: its codes


class Line(Struct, frozen=True):
    """One line of a heading: a list of its own."""

    code: str
    label: str
    many: int
    address: str


def card(listed: Listed) -> Card:
    """What a job is listed under."""
    past = listed.past
    facets = {
        "engine": [listed.engine] if listed.engine else [],
        "failed": list(past.get("failed", ())),
        "cause": list(past.get("causes", ())),
        "done": [f"{part}.{did}" for part, did in past.get("done", ())],
        "usage": band(past.get("usage"), past.get("usage_unit", "")),
        "age": band(past.get("age"), "years"),
        "year": [listed.opened[:4]] if past else [],
    }
    family = engine_name(listed.maker, listed.model) or listed.engine
    said = (listed.title, listed.meta or listed.job, listed.says, listed.verdict, listed.shown)
    return Card(listed.job, listed.opened, *said, family, listed.picture, listed.as_of, listed.was, facets)


def band(usage: float | None, unit: str) -> list[str]:
    """The code of the band that a meter reading lies in; nothing where there is none.

    >>> band(9412, "h"), band(142300, "km"), band(None, "")
    (['h-3'], ['km-2'], [])
    """
    if usage is None or unit not in BANDS:
        return []
    return [f"{unit}-{sum(usage >= end for end in BANDS[unit])}"]


def label(facet: str, code: str, family: str = "") -> str:
    """A code of a heading in words."""
    if facet == "engine":
        return family or code
    if facet in BY_CODE:
        return _band_label(code)
    if facet == "done":
        part, did = DONE_OF[code]
        return say(DONE_TO[did], part=capital(say(TITLES[part])))
    return code if facet == "year" else capital(say(TITLES.get(code, code)))


def _band_label(code: str) -> str:
    unit, at = BAND_OF[code]
    ends = BANDS[unit]
    unit = say("years") if unit == "years" else unit
    if at == 0:
        return say("under {most}", most=f"{in_threes(ends[0])}{NBSP}{unit}")
    if at == len(ends):
        return say("{least} and more", least=f"{in_threes(ends[-1])}{NBSP}{unit}")
    return say("{least} to {most}", least=in_threes(ends[at - 1]), most=f"{in_threes(ends[at])}{NBSP}{unit}")


def lines(cards: Sequence[Card]) -> dict[str, list[Line]]:
    """The lines of every heading that has any, with their numbers: of the page and of its script alike."""
    many: dict[str, dict[str, int]] = {facet: {} for facet in FACETS}
    family: dict[str, str] = {}
    for one in cards:
        for facet, codes in one.facets.items():
            for code in codes:
                many[facet][code] = many[facet].get(code, 0) + 1
        family.update((code, one.family) for code in one.facets.get("engine", ()))
    found = {}
    for facet, counted in many.items():
        if not counted:
            continue
        made = [
            Line(code, label(facet, code, family.get(code, "")), number, address(facet, code))
            for code, number in counted.items()
        ]
        found[facet] = sorted(made, key=lambda line: _rank(facet, line))
    return found


def _rank(facet: str, line: Line) -> tuple[object, ...]:
    if facet in BY_NAME:
        return (line.label.casefold(), line.code)
    if facet in BY_CODE:
        return (line.code,)
    if facet == "year":
        return (-int(line.code),)
    part, _ = DONE_OF.get(line.code, (line.code, ""))
    unsaid = part in (OTHER.code, NOT_FOUND.code)
    return (unsaid, -line.many, line.label)


def address(facet: str, code: str, page: int = 0) -> str:
    """Where a list stands below the edition's folder; ``page`` 0 is its newest."""
    return f"lists/{facet}-{code}{f'-{page}' if page else ''}.html"


def index_html(
    heads: tuple[str, str, str],
    cards: Sequence[Card],
    items: Iterable[str],
    edition: Edition = "shop",
    shop: Path | None = None,
    **more: object,
) -> Iterator[str]:
    """The list of all jobs of an edition, piece by piece: the newest with the measurement that decided them.

    ``heads`` are the shop's name, contact and notice; ``items`` the places of the newest jobs.
    """
    intro = say("No job is published yet.")
    if cards:
        intro = say("Each job shows the measurement that decided it, against its limits.")
    return _page(
        "index",
        heads,
        shop,
        title=say("Engines taken apart, measured and put back"),
        home="index.html" if edition == "shop" else "",
        intro=intro,
        items=items,
        many=len(cards),
        newest=NEWEST,
        groups=[(facet, say(FACETS[facet]), found) for facet, found in lines(cards).items()],
        marks=[verdict(name) for name in reversed(SEVERITY)],
        keys={say(name): sign for name, sign in KEYS.items()},
        words=_words(),
        edition=edition,
        assets="assets/",
        **more,
    )


def _words() -> dict[str, str]:
    """What the script says."""
    return {
        "all": say("{count} jobs, newest first", count="{0}"),
        "some": say("{count} of {all} jobs, newest first", count="{0}", all="{1}"),
        "none": say("None of {all} jobs fits all of this", all="{0}"),
        "one": say("One job", count="{0}"),
        "more": say("Show more, {count} are left", count="{0}"),
        "show": say("Show {count} jobs", count="{0}"),
        "nothing": say("None fits: take one away"),
        "narrow": say("Narrow down"),
        "chosen": say("{count} chosen", count="{0}"),
        "remove": say("Take away: {what}", what="{0}"),
        "near": say("No job says “{word}”; nearest: {words}", word="{0}", words="{1}"),
        "lost": say("The list could not be loaded. The lists of links still lead to every job."),
    }


def list_html(
    heads: tuple[str, str, str],
    facet: str,
    name: str,
    cards: Sequence[Card],
    pages: Sequence[tuple[str, bool]],
    items: Iterable[str] = (),
    edition: Edition = "shop",
    shop: Path | None = None,
    **more: object,
) -> Iterator[str]:
    """One heading's list, or a page of it: whole places of jobs (``items``), or a line each.

    ``pages``: the addresses of all its pages, the newest first, and whether it is this one.
    """
    items = list(items)
    return _page(
        "list",
        heads,
        shop,
        title=f"{say(FACETS[facet])}: {name}",
        home="../index.html",
        intro=say("Newest first.") if items else say("Newest first, each as it came."),
        cards=[(one, verdict(one.verdict)) for one in cards],
        items=items,
        pages=[(Path(where).name, number, here) for number, (where, here) in enumerate(pages, 1)],
        edition=edition,
        assets="../assets/",
        **more,
    )


def _page(template: str, heads: tuple[str, str, str], shop: Path | None, **values: object) -> Iterator[str]:
    name, contact, notice = heads
    found = templating.environment(shop).get_template(f"{template}.html.jinja")
    return found.generate(lang=spoken().code, shop=name, contact=contact, notice=notice, **values)


def search_data(cards: Iterable[Card], groups: Mapping[str, Sequence[Line]]) -> Iterator[bytes]:
    """What the first page searches: the headings' codes, then a row a job; a local file loads a script."""
    codes = {facet: {line.code: at for at, line in enumerate(found)} for facet, found in groups.items()}
    named = {facet: [[line.code, line.label] for line in found] for facet, found in groups.items()}
    yield f"historyJobs({_json(named)},[\n".encode()
    for one in cards:
        under = [[codes[facet][code] for code in one.facets.get(facet, ())] for facet in codes]
        yield (_json([one.job, one.title, one.meta, one.says, under]) + ",\n").encode()
    yield b"])\n"


def entry_data(job: str, item: str) -> bytes:
    """A job's place in a list as a script: what was found by searching is shown as every list shows it."""
    return f"historyEntry({_json(job)},{_json(item)})\n".encode()


def _json(thing: object) -> str:
    return json.dumps(thing, ensure_ascii=False, separators=(",", ":"))
