"""The engine of a job as documents name it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from ...quantities import Text
from ...trade.engine.cautions import Nature
from ...trade.engine.cylinders import Rows
from .edition import Public


def engine_name(maker: str, model: str) -> str:
    """Maker and model as one name.

    >>> engine_name("Alder (invented)", "Alder four"), engine_name("Tarnbeck", "OD6-54")
    ('Alder four', 'Tarnbeck OD6-54')
    """
    bare = maker.partition("(")[0].strip().lower()
    twice = bool(bare) and f"{model} ".lower().startswith(f"{bare} ")
    return model if twice else " ".join(part for part in (maker, model) if part)


class EngineFacts(Struct, frozen=True):
    name: Public[str]  # of the sheet
    maker: Public[str]
    model: Public[str]
    cylinders: Public[int]
    arrangement: Public[str]  # as typed
    fuel: Public[str]
    bore: Public[float | None]  # mm
    stroke: Public[float | None]  # mm
    displacement: Public[float | None]  # cm³
    front: Public[str]
    rotation: Public[str]
    firing_order: Public[str]
    counting: Public[Text]  # "No. 1 at the front"
    rows: Public[Rows] = ""
    bore_decimals: Public[int] = 1  # of the mm, such that the digits typed are kept
    stroke_decimals: Public[int] = 1
    cooling: Public[Literal["", "water", "air"]] = ""
    strokes: Public[int | None] = None
    banks: Public[tuple[tuple[int, ...], ...]] = ()  # cylinder numbers of each, from the front
    valves_clear: Public[bool] = False  # of the pistons, cam drive off

    @property
    def nature(self) -> Nature:
        """What decides which cautions fit it."""
        of = (self.fuel, self.cooling, self.strokes, self.displacement, self.cylinders)
        return Nature(*of, self.valves_clear)

    @property
    def full_name(self) -> str:
        """Maker and model; the maker is not said twice where the model begins with it."""
        return engine_name(self.maker, self.model) or self.name
