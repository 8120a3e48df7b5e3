"""What speaks for the usual causes of a failure and what against: facts and codes. Decides nothing."""

from __future__ import annotations

from msgspec import Struct

from ...trade.engine.failure_causes import CauseCode, Subject
from .edition import Public
from .keys import ValueKey


class Clue(Struct, frozen=True):
    """One look that was taken: what it is, whether it is so, and the value or the figures that show it."""

    look: Public[str]
    is_so: Public[bool]
    shown: Public[ValueKey | None] = None  # the value that shows it
    figures: Public[tuple[float, ...]] = ()  # of a look that is no reading: see ``assess/loads/evidence.py``
    position: Public[str] = ""
    typed: Public[str] = ""  # as the rebuilder wrote it


class CauseEvidence(Struct, frozen=True):
    """One usual cause: what of this job speaks for it, what against, what was not looked at."""

    cause: Public[CauseCode]
    speaks_for: Public[tuple[Clue, ...]]
    against: Public[tuple[Clue, ...]]
    unknown: Public[tuple[str, ...]]  # codes of looks


class FindingEvidence(Struct, frozen=True):
    """Of one finding: the cause that the rebuilder names, or that what he saw usually has, and all others."""

    finding: Public[str]
    subject: Public[Subject]
    positions: Public[tuple[str, ...]]
    named: Public[CauseCode | None]
    by_hand: Public[bool]  # named by the rebuilder himself
    causes: Public[tuple[CauseEvidence, ...]]  # the named one first, then as near as what speaks for them
