"""The demo shop, loaded once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from rebuildreport.records import ShopFolder, load_shop

ROOT = Path(__file__).resolve().parents[2]
D1, D2 = "2026-003-orchard-six", "2026-004-twin-cam"


def expected(name: str) -> dict[str, Any]:
    """Results worked out apart from the product, all scalars as text."""
    text = (Path(__file__).parent / f"expected_{name}.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.load(text, Loader=yaml.BaseLoader)
    return data


@pytest.fixture(scope="session")
def demo() -> ShopFolder:
    return load_shop(ROOT / "jobs", [D1, D2])
