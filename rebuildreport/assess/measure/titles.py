"""How documents name features and characteristics: in words that another language may have its own for."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from ...quantities import Name, Sentence, Several, Text
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS


def trait_title(engine: Engine, name: str, *characteristics: str) -> Text:
    """'Main journals, out of round' from a feature and a characteristic, or several of them."""
    kind = KINDS[engine.features[name].kind]
    traits = [Sentence(kind.trait(one).title) for one in characteristics]
    what = Several(traits, last="and") if len(traits) > 1 else traits[0]
    return Sentence("{feature}, {characteristic}", feature=feature_title(engine, name), characteristic=what)


def feature_title(engine: Engine, name: str) -> Text:
    """How documents name a feature."""
    return headed(engine.features[name].title, name)


def component_title(engine: Engine, name: str) -> Text:
    """How documents name a feature, a group of bolts, or a part that is neither."""
    return feature_title(engine, name) if name in engine.features else bolts_title(engine, name)


def headed(title: str, name: str) -> Text:
    """A title of the sheet as it was typed, else the name as a heading."""
    return Sentence(title) if title else titled(name)


def bolts_title(engine: Engine, name: str) -> Text:
    """How documents name a group of bolts."""
    return headed(engine.fasteners[name].title if name in engine.fasteners else "", name)


def titled(name: str) -> Text:
    """A name of the files as a heading: a word of the trade that other languages may have, too.

    >>> from rebuildreport.quantities import english
    >>> english(titled("main_bolts B2"))
    'Main bolts B2'
    """
    words = name.replace("_", " ")
    return Sentence(words[:1].upper() + words[1:])


def span(positions: Sequence[str]) -> Text:
    """Positions as a person writes them.

    >>> from rebuildreport.quantities import english
    >>> english(span(("M1", "M2", "M3", "M5"))), english(span(("top",)))
    ('M1 to M3, M5', 'top')
    """
    runs: list[list[str]] = []
    for position in positions:
        if runs and _follows(runs[-1][-1], position):
            runs[-1].append(position)
        else:
            runs.append([position])
    return Several(
        Sentence("{first} to {last}", first=Name(run[0]), last=Name(run[-1]))
        if len(run) > 2
        else Several(map(Name, run))
        for run in runs
    )


def where_on(engine: Engine, name: str, positions: Collection[str]) -> tuple[Text, ...]:
    """Where on a feature; of one that is read in one place the title has said it: the engine, the pump."""
    said = len(engine.features[name].positions) == 1 and not engine.features[name].positions[0][-1].isdigit()
    return () if said or not positions else (span([*positions]),)


def _follows(before: str, position: str) -> bool:
    first, second = (re.fullmatch(r"(\D*)(\d+)", place) for place in (before, position))
    return bool(first and second and first[1] == second[1] and int(second[2]) == int(first[2]) + 1)
