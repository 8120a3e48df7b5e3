"""The sizes of a machining order: as many places as they need in both units, and never wider in print.

Conversions are exact, 1 in = 25.4 mm (NIST SP 811); sums by hand beside each case.
"""

from __future__ import annotations

import html
import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.documents.sheets import register
from rebuildreport.quantities import show_limits

from .bench import Bench

SHEET = """\
journals:
  kind: journal
  part: crankshaft
  positions: M1 M2
  columns: front_a front_b rear_a rear_b
  unit: {unit}
  new:
    size: {size}
    out_of_round: {form}
  undersizes: {steps}
  source: manual page 1
"""
INCH = {"unit": "in", "size": "3.3425 to 3.3435", "form": "max 0.00025", "steps": "0.010 0.020 in"}
METRIC = {"unit": "mm", "size": "75.970 to 75.990", "form": "max 0.008", "steps": "0.25 mm, 0.010 in"}


def order(folder: Path, sheet: dict[str, str], step: str, first: str = "mm", after: str = "") -> str:
    steps = sheet["steps"].partition(",")[0] if "in" not in step else sheet["steps"].rpartition(", ")[2]
    bench = Bench(folder, SHEET.format(**{**sheet, "steps": steps}))
    shop = bench.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8").replace("first_unit: mm", f"first_unit: {first}"), "utf-8")
    bench.write(
        "work.yaml",
        f"decisions:\n  W1:\n    about: journals\n    do: recondition\n    size: {step} undersize\n"
        "    why: worn\n    by: shop\n    date: 2026-03-03\nmachining:\n  O1:\n    to: the grinder\n"
        "    parts: crankshaft\n",
    )
    columns = "front_a front_b rear_a rear_b"
    if after:
        rows = f"    M1: {after}\n    M2: {after}\n"
        bench.round(
            "ground", "2026-03-09", f"journals:\n  columns: {columns}\n  instrument: mic\n  rows:\n{rows}"
        )
    sheet_ = register.named("machining-order")
    page = sheet_.html(sheet_.view(bench.assess(), None))
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").split())


def test_inch_limits_keep_their_four_places(tmp_path: Path) -> None:
    """3.3425 to 3.3435 less 0.010 is 3.3325 to 3.3335; in mm 84.6455 to 84.6709, so 84.646 to 84.670."""
    said = order(tmp_path / "in", INCH, "0.010 in", "in")
    assert "3.3325–3.3335 in (84.646–84.670 mm)" in said
    assert "max 0.00025 in (max 0.0063 mm)" in said  # 0.00635, and not 0.0064
    assert "84.646–84.670 mm (3.3325–3.3335 in)" in order(tmp_path / "mm", INCH, "0.010 in")


def test_metric_limits_are_no_wider_in_inches(tmp_path: Path) -> None:
    """75.720 to 75.740 is 2.98110 to 2.98189 in: 2.9812 to 2.9818 would take 24 % off; a place more 1 %."""
    said = order(tmp_path, METRIC, "0.25 mm")
    assert "75.720–75.740 mm (2.98111–2.98188 in)" in said
    assert "max 0.008 mm (max 0.0003 in)" in said  # 0.000315


def test_a_step_of_the_other_system(tmp_path: Path) -> None:
    """75.970 to 75.990 less 0.254 (0.010 in) is 75.716 to 75.736."""
    assert "75.716–75.736 mm" in order(tmp_path, METRIC, "0.010 in")


def test_what_comes_back_stays_on_its_side_of_the_limit(tmp_path: Path) -> None:
    """75.7402 is past 75.740, and says so although its readings are good for three places."""
    said = order(tmp_path, METRIC, "0.25 mm", after="75.7402 75.7400 75.7400 75.7400")
    assert "rejected" in said and "75.7402" in said


@given(
    st.decimals("0.001", "200", places=4),
    st.decimals("0.0005", "0.5", places=4),
    st.sampled_from(["mm", "in"]),
    st.integers(2, 4),
)
def test_limits_never_become_wider_and_lose_little(
    low: Decimal, width: Decimal, system: str, decimals: int
) -> None:
    """COMPUTED in exact decimals: both ends inside, and nine tenths of the tolerance are left."""
    high = low + width
    exact = [end if system == "mm" else end / Decimal("25.4") for end in (low, high)]
    shown = [
        Decimal(text) for text in show_limits(float(low), float(high), "mm", decimals, system).split("–")
    ]
    assert exact[0] - Decimal("1e-8") <= shown[0] <= shown[1] <= exact[1] + Decimal("1e-8")
    assert shown[1] - shown[0] >= Decimal("0.89") * (exact[1] - exact[0])


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((None, 0.03), "max 0.0011"),
        ((118.80, None), "min 4.6772"),
        ((None, None), ""),
        ((-0.05, None), "min −0.0019"),
    ],
)
def test_lone_ends(ends: tuple[float | None, float | None], said: str) -> None:
    """0.03 is 0.00118 in: 0.0011 keeps 93 %; 118.80 is 4.67717 in, and −0.05 is −0.00197."""
    assert show_limits(*ends, "mm", 3, "in") == said
