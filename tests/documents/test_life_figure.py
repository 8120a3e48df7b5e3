"""How long a part lasts, as an engine's page draws and words it."""

from __future__ import annotations

import re
from math import inf

from rebuildreport.documents.showing.life_figure import life_figure, life_section
from rebuildreport.trade.life.lifetimes import Lifetime

# NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: shape 1.7208, scale 606.53 h
NIST = [Lifetime(a, a) for a in (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)] + [Lifetime(500, inf)] * 10


def test_the_figure_says_what_the_handbook_says() -> None:
    """Half by 606.53 h · ln 2 ^ (1/1.7208) = 490 h; ten of twenty are still counted until the end."""
    figure = life_figure("water pump", NIST, "h")
    smooth = figure.smooth.replace("\u00a0", " ")
    assert "shape 1.7" in smooth and "half failed by 490 h" in smooth
    assert "cannot tell wear from chance" in smooth  # 0.9 to 2.9
    assert "Among the 20" in figure.reading and "10 had failed" in figure.reading
    assert "50 %" in figure.reading.replace("\u00a0", " ") or "half had failed" in figure.reading
    risk = [label.text for label in figure.wide.labels if float(label.y) > 170]
    assert risk == ["20", "19", "18", "15", "10", "10"]  # just before 0, 100, 200, ... 500 h
    assert figure.narrow.width != figure.wide.width


def test_few_engines_or_failures_are_only_counted() -> None:
    """Ten engines and five failures are the least that a curve is drawn for."""
    failed, good = [Lifetime(a, a) for a in (54, 187, 216, 240, 244)], [Lifetime(500, inf)] * 5
    assert life_section({"pump": failed[:4] + good + good}, "h") == ""
    assert life_section({"pump": failed + good[:4]}, "h") == ""
    section = life_section({"pump": failed + good, "chain": NIST}, "h")
    headings = re.findall("<h2>(.*?)</h2>", section)
    assert headings == ["Chain: at what age", "Pump: at what age"]  # what failed most often leads
    assert "no forecast" in section


def test_ages_that_nobody_saw_have_no_band_of_their_own() -> None:
    """Found worn out between two looks: said, and the band is that of the smooth line."""
    lives = [Lifetime(a, a + 60) for a in range(50, 350, 30)] + [Lifetime(a, inf) for a in range(40, 400, 30)]
    figure = life_figure("chain", lives, "h")
    assert "between two looks" in figure.reading
    assert next(path.d.count("Z") for path in figure.wide.paths if path.role == "tint") == 0
