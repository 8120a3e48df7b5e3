"""The register of kinds: complete, and written out."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport import quantities
from rebuildreport.trade.instruments import FAMILIES
from rebuildreport.trade.kinds import KINDS, Kind
from rebuildreport.trade.kinds.reference import reference

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_a_kind_says_everything_about_itself(kind: Kind) -> None:
    for said in (kind.says, kind.readings, kind.formula, kind.source, kind.doubt, kind.drawing):
        assert said.strip() and not said.endswith(".")
    assert set(kind.instruments) <= set(FAMILIES)
    for trait in kind.traits.values():
        assert trait.title and trait.limit
        assert not trait.unit or trait.unit in quantities.units.BASE.values()
    for given in kind.given.values():
        assert given.dimension in ("", "feature", *quantities.units.BASE)


def test_the_written_out_register_is_the_register() -> None:
    text = (ROOT / "rebuildreport/trade/kinds/README.md").read_text("utf-8")
    run = "python -m rebuildreport.trade.kinds > rebuildreport/trade/kinds/README.md"
    assert text == reference(), f"run: {run}"
