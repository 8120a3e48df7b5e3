"""What every word means: kinds, keys, units by their registers; verdicts, doubts, files as written out.

In: the registers of the floors below, and ``templates/explained/*.md``, one subject a file, an entry each row
of a table and each item of a list.  Out: entries to look a word up in, and one page.  No text stands here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from ...quantities import message, units
from ...records import json_schema
from ...trade.kinds import KINDS, Kind
from ...trade.measuring.gauges import WORDS
from ..press import places, templating
from ..press.language import say, spoken

ADDRESS = "explained.html"
WRITTEN = ("files", "judging", "doubts", "money", "editions", "status")
# said to whoever reads another language
ENGLISH = message(
    "This page is in English: keys, kinds and units stand in the files as they stand here, whatever language "
    "a shop's documents are in."
)


class Explained(Struct, frozen=True):
    """One word, or one rule, as it is explained."""

    subject: str
    name: str
    text: str  # Markdown

    @property
    def words(self) -> set[str]:
        """Keys that it speaks of, and words that it sets apart."""
        found = re.findall(r"`([\w-]+):?`|\*\*(?:an? )?([\w -]+)\*\*", self.text, re.IGNORECASE)
        return {(key or word).casefold() for key, word in found}


def entries() -> list[Explained]:
    """Every entry, subject by subject."""
    return [*_written(), *_kinds(), *_keys(), *_units()]


def subjects() -> dict[str, str]:
    """Every subject with its title."""
    titles = {name: _text(name).split("\n", 1)[0].lstrip("# ") for name in WRITTEN}
    return titles | {
        "kinds": "Kinds of feature: what is worked out, by which formula, from which source",
        "keys": "Keys of the files",
        "units": "Units",
    }


def meanings(word: str) -> list[Explained]:
    """Entries of this name; where there is none, those that speak of it.

    >>> [found.subject for found in meanings("end_float")], meanings("thou")[0].text[:21]
    (['kinds'], 'length; 1 thou = 0.02')
    """
    wanted, every = _plain(word), entries()
    named = [found for found in every if _plain(found.name) == wanted]
    spoken = [found for found in every if wanted in map(_plain, found.words) and found not in named]
    # what a kind works out is told by the kind: taper by journal and bore
    return [*named, *(found for found in spoken if not named or found.subject in WRITTEN)]


def known() -> list[str]:
    """Every word that can be asked for."""
    every = entries()
    return sorted({found.name for found in every} | {word for found in every for word in found.words})


def page(shop: Path | None = None) -> str:
    """All of it as one page of the shop edition, beside the specimen; in English, and why is told others."""
    why = "" if spoken().code.startswith("en") else say(ENGLISH)
    return (
        templating.environment(shop)
        .get_template("text.html.jinja")
        .render(
            lang="en",
            title="What the words mean",
            shop="rebuildreport",
            intro=why,
            assets="../assets/",
            home="../index.html",
            edition="",
            contact="",
            notice="",
            text=_whole(),
        )
    )


@cache
def _whole() -> str:
    """The page's text as HTML: in English, whatever is spoken, and of the program alone."""
    from markdown_it import MarkdownIt

    parts = []
    for subject in WRITTEN:
        title, _, rest = _text(subject).partition("\n")
        parts.append(f"## {title.lstrip('# ')}\n{rest}")
    titles = subjects()
    for subject, found in (("kinds", _kinds()), ("keys", _keys()), ("units", _units())):
        parts.append(f"## {titles[subject]}\n")
        parts += [f"### {entry.name}\n\n{entry.text}\n" for entry in found]
    return str(MarkdownIt("commonmark", {"html": False}).enable("table").render("\n".join(parts)))


@cache
def _plain(word: str) -> str:
    return re.sub(r"[\W_]+", " ", word.casefold()).strip() or word


def text_of(subject: str) -> str:
    """The whole of a subject as Markdown; of a register its words, each in a line."""
    if subject in WRITTEN:
        return _text(subject)
    return "\n".join(entry.name for entry in entries() if entry.subject == subject)


def _text(name: str) -> str:
    return places.find(f"explained/{name}.md").read_text("utf-8")


def _written() -> Iterator[Explained]:
    for subject in WRITTEN:
        text = _text(subject)
        for item in re.findall(r"^- (.*(?:\n  .*)*)", text, re.M):
            name = re.search(r"\*\*(.+?)\*\*", item)
            yield Explained(subject, name[1] if name else "", re.sub(r"\n\s+", " ", item))
        rows = re.findall(r"^\| (.+?) \| (.+?) \|$", text, re.M)
        heads = {"---", rows[0][0]} if rows else set()
        yield from (Explained(subject, first, second) for first, second in rows if first not in heads)


def _kinds() -> Iterable[Explained]:
    return [Explained("kinds", kind.name, "\n".join(_of_kind(kind))) for kind in KINDS.values()]


def _of_kind(kind: Kind) -> Iterator[str]:
    """One kind as Markdown, from its entry of the register."""
    yield f"{kind.says[:1].upper()}{kind.says[1:]}.\n"
    yield f"- **Readings:** {kind.readings}."
    if kind.instruments:
        yield f"- **Instrument:** {', or '.join(WORDS[family] for family in kind.instruments)}."
    yield f"- **Worked out:** {kind.formula}."
    yield f"- **Source:** {kind.source}."
    yield f"- **Uncertainty:** {kind.doubt}."
    keys = [f"`{partner}:`" for partner in kind.partners]
    keys += [f"`{partner}:` (if any)" for partner in kind.optional_partners]
    keys += [f"`{key}:` {one.says}{'' if one.needed else ' (if any)'}" for key, one in kind.given.items()]
    keys += [f"`{key}:`" for key in sorted(kind.keys)]
    if keys:
        yield f"- **Keys of its own:** {', '.join(keys)}."
    units_of = {trait.limit: f" in {trait.unit}" for trait in kind.traits.values() if trait.unit}
    names = [
        f"`{limit}`{units_of.get(limit, '')}"
        for limit in dict.fromkeys(t.limit for t in kind.traits.values())
    ]
    yield f"- **Limits:** {', '.join(names) or 'one for each column'}."


def _keys() -> Iterable[Explained]:
    """Every key of every kind of file, once: the places where it stands, with what is said of it there."""
    found: dict[str, list[str]] = {}
    for kind, (_, place) in json_schema.KINDS.items():
        whole = json_schema.schema(kind)
        for owner, name, says in _properties(whole):
            where = f"{place}, {owner}" if owner else place
            found.setdefault(name, []).append(f"- {where}{f': {says}' if says else ''}")
    return [Explained("keys", name, "\n".join(dict.fromkeys(lines))) for name, lines in sorted(found.items())]


def _properties(whole: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    for name, about in whole.get("properties", {}).items():
        yield "", name, about.get("description", "")
    for owner, part in whole.get("$defs", {}).items():
        for name, about in part.get("properties", {}).items():
            yield _of(owner), name, about.get("description", "")


def _of(owner: str) -> str:
    """'feature' for FeatureRecord: whose keys these are."""
    words = re.findall(r"[A-Z][a-z]+", owner.removesuffix("Record").removesuffix("Plan"))
    return "of " + " ".join(words).lower()


def _units() -> Iterable[Explained]:
    return [
        Explained(
            "units",
            unit,
            f"{dimension}; 1 {unit} = {factor:.9g} {units.BASE[dimension]}"
            + (f"; typed as well: {', '.join(typed)}" if typed else ""),
        )
        for unit, (dimension, factor, typed) in units.everyday().items()
    ]
