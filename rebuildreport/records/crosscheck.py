"""Whether the files agree with each other: names, units, states, dates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .engine import Engine
from .problems import Problem
from .reader import Source
from .shop import Shop

if TYPE_CHECKING:
    from .load import JobFolder


def check_shop(shop: Shop, source: Source) -> list[Problem]:
    return []


def check_engine(engine: Engine, source: Source) -> list[Problem]:
    return []


def check_job(job: JobFolder, engine: Engine | None, shop: Shop | None) -> list[Problem]:
    return []
