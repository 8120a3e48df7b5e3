"""One part of the derived list while it is being gathered."""

from __future__ import annotations

from dataclasses import field

from ..quantities import Sentence, Several
from ..quantities.dataclass import dataclass


@dataclass(slots=True)
class Need:
    """One part of the list while it is being gathered."""

    part: str
    name: str = ""  # where it is no part of the sheet: what is still to be chosen
    count: int = 0  # asked for as a number
    positions: list[str] = field(default_factory=list)  # asked for by position: each once
    places: dict[str, list[str]] = field(default_factory=dict)  # position: features that ask for it there
    each: bool = False  # one for each feature that asks: the springs of C1's two valves
    reasons: dict[str, list[str]] = field(default_factory=dict)  # what: where
    grounds: list[str] = field(default_factory=list)  # findings, decisions and values that ask for it, by key
    whole: bool = False  # a set: one for the engine, whatever asks for it

    @property
    def because(self) -> tuple[str, ...]:
        """Why the line is there, one phrase a reason."""
        return tuple(
            Sentence("{why}: {where}", why=why, where=Several(where)) if where else why
            for why, where in self.reasons.items()
        )

    def quantity(self, per_engine: bool) -> int:
        """How many to buy: one for the engine, or each position once plus what was asked by number."""
        if per_engine or self.whole:
            return 1
        once = dict.fromkeys(self.positions, 1)
        if self.each:
            once |= {position: len(features) for position, features in self.places.items()}
        return sum(once.values()) + self.count
