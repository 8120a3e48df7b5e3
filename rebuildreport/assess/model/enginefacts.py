"""The engine of a job as documents name it."""

from __future__ import annotations

from dataclasses import dataclass

from ...quantities import Text


def engine_name(maker: str, model: str) -> str:
    """Maker and model as one name.

    >>> engine_name("Alder (invented)", "Alder four"), engine_name("Tarnbeck", "OD6-54")
    ('Alder four', 'Tarnbeck OD6-54')
    """
    bare = maker.partition("(")[0].strip().lower()
    twice = bool(bare) and f"{model} ".lower().startswith(f"{bare} ")
    return model if twice else " ".join(part for part in (maker, model) if part)


@dataclass(frozen=True, slots=True)
class EngineFacts:
    name: str  # of the sheet
    maker: str
    model: str
    cylinders: int
    arrangement: str
    fuel: str
    bore: float | None  # mm
    stroke: float | None  # mm
    displacement: float | None  # cm³
    front: str
    rotation: str
    firing_order: str
    counting: Text  # "No. 1 at the front"
    bore_decimals: int = 1  # of the mm, such that the digits typed are kept
    stroke_decimals: int = 1
    banks: tuple[tuple[int, ...], ...] = ()  # cylinder numbers of each, from the front

    @property
    def full_name(self) -> str:
        """Maker and model; the maker is not said twice where the model begins with it."""
        return engine_name(self.maker, self.model) or self.name
