"""Values that rest on an instrument past its calibration: each says so, those worked out from it too."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Text, present
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
    marked = []
    for value in found:
        feature = engine.features[value.feature]
        partners = () if value.direct else feature.links(KINDS[feature.kind].links).values()
        placed = value.position in feature.positions
        names = (value.feature, *partners) if value.value is not None else ()
        read_by = (_newest(taken, name, value, placed) for name in names)
        said = dict.fromkeys(doubtful[id(one)] for one in read_by if id(one) in doubtful)
        marked.append(replace(value, note=present([value.note, *said])) if said else value)
    return marked


def _words(shop: Shop, one: Occasion) -> Text:
    for name in (one.record and one.instrument.name, one.set_from):
        tool = shop.instruments.get(name or "")
        if tool is not None and tool.due and one.date > tool.due:
            return Sentence("read with the {instrument} past its calibration", instrument=Sentence(tool.kind))
    return NOTHING


def _newest(taken: Sequence[Occasion], name: str, value: Characteristic, placed: bool) -> Occasion | None:
    """The newest table of a feature that a value can rest on; of its own feature the one that read it."""
    ones = [
        occasion
        for occasion in taken
        if occasion.feature == name
        and occasion.date <= value.day
        and (name != value.feature or (occasion.round, occasion.again) == (value.round, value.table))
        and (value.position in occasion.readings or not placed)
    ]
    return ones[-1] if ones else None
