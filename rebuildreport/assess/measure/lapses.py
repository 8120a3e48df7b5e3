"""Values that rest on an instrument past its calibration: each says so, those worked out from it too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...quantities import NOTHING, Sentence, Several, Text
from ...records.files.sheet import Engine
from ...records.files.shop import Shop
from ...trade.kinds import KINDS
from ..model.assessment import Characteristic
from .observations import Occasion


def lapsed(
    engine: Engine, shop: Shop, taken: Sequence[Occasion], found: list[Characteristic]
) -> list[Characteristic]:
    """The same values, with a note at each that an instrument in doubt has read or helped to read.

    A fit is read by the instruments of its partners, in the newest round up to its own.
    """
    doubtful = {id(one): words for one in taken if (words := _words(shop, one))}
    if not doubtful:
        return found
    return [_marked(engine, taken, doubtful, one) for one in found]


def _words(shop: Shop, one: Occasion) -> Text:
    for name in (one.record and one.instrument.name, one.set_from):
        tool = shop.instruments.get(name or "")
        if tool is not None and tool.due and one.date > tool.due:
            return Sentence("read with the {instrument} past its calibration", instrument=Sentence(tool.kind))
    return NOTHING


def _marked(
    engine: Engine,
    taken: Sequence[Occasion],
    doubtful: dict[int, Text],
    one: Characteristic,
) -> Characteristic:
    feature = engine.features.get(one.feature)
    if one.value is None or feature is None or one.date is None:
        return one
    kind = KINDS.get(feature.kind)
    words = []
    links = () if kind is None or one.direct else feature.links(kind.links).values()
    for name in (one.feature, *links):
        ones = [
            at
            for at in taken
            if at.feature == name
            and at.date <= one.date
            and (name != one.feature or at.name == one.occasion)
            and (one.position in at.readings or one.position not in (feature.positions or ()))
        ]
        if ones and (said := doubtful.get(id(ones[-1]))) and said not in words:
            words.append(said)
    if not words:
        return one
    return replace(one, note=Several([text for text in (one.note, *words) if text], "; "))
