"""Readings that look like a slip of the pen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .engine import Engine
from .problems import Problem

if TYPE_CHECKING:
    from .load import JobFolder, Spot


def find_suspects(job: JobFolder, engine: Engine | None) -> dict[Spot, Problem]:
    return {}
