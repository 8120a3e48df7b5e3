"""What a value of a job is known by, wherever something else names it."""

from __future__ import annotations

from msgspec import Struct

from .edition import Public


class ValueKey(Struct, frozen=True):
    """Unique within a job: what was worked out, where, and in which round."""

    feature: Public[str]
    name: Public[str]  # "out_of_round"
    position: Public[str]  # "M4"
    round: Public[str]  # "arrival"; '' where nothing was read
    table: Public[str] = ""  # where its round had read the feature before
