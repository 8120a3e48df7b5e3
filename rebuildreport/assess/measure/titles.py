"""How documents name features and characteristics: in words that another language may have its own for."""

from __future__ import annotations

from ...quantities import Sentence, Text
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS, Trait


def trait_title(engine: Engine, name: str, characteristic: str) -> Text:
    """'Main journals, out of round' from a feature and a characteristic."""
    feature = engine.features[name]
    trait: Trait = KINDS[feature.kind].trait(characteristic)
    title = feature_title(engine, name)
    return Sentence("{feature}, {characteristic}", feature=title, characteristic=Sentence(trait.title))


def feature_title(engine: Engine, name: str) -> Text:
    """How documents name a feature."""
    return Sentence(engine.features[name].title or name.replace("_", " ").capitalize())


def titled(name: str) -> Text:
    """A name of the files as a heading: a word of the trade that other languages may have, too."""
    return Sentence(name.replace("_", " ").capitalize())
