"""A reading that is doubted is no better for it: of every kind, and in the money of a whole job.

COMPUTED by comparing each job with the same one whose reading somebody has confirmed.  What cannot be is left
out: it passes nothing, is asked about, and where less is bought by it the total is said to be a minimum.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.assess import Assessment
from rebuildreport.quantities import english
from rebuildreport.quantities.quantity import moved
from rebuildreport.records import JobFolder
from rebuildreport.records.doubts.slips import exchanged
from rebuildreport.trade.kinds import KINDS

from .. import DEEPER
from .test_kinds_hold import PASSES
from .test_kinds_over_time import of_kind
from .test_worse_costs_no_less import Variant, bought, twin_cam

OPEN = ("beyond limit", "too close to call", "not measured")
Judged = dict[tuple[str, str, str], str]  # feature, characteristic, position: verdict


def slips(word: str) -> list[str]:
    """What a hand or an eye may make of a reading, and what a worn part may."""
    value, places = float(word), len(word.partition(".")[2])
    by_point = [moved(word, 1), moved(word, -1), word + "3", word[:-1].rstrip(".")]
    by_turn = [value + 0.5, value - 0.5, value + 0.1, value - 0.1]
    other = [value / 25.4, value * 25.4, value * 3, value / 3, value * 1.2, 0.0]
    found = [*by_point, *exchanged(word), *(f"{max(0.0, one):.{places}f}" for one in (*by_turn, *other))]
    return [one for one in dict.fromkeys(found) if one != word and re.fullmatch(r"\d+(\.\d+)?", one)]


def judged(job: Assessment) -> Judged:
    return {(one.feature, one.name, one.position): one.verdict for one in job.characteristics if one.stands}


def no_better(folder: JobFolder, doubted: Assessment, confirmed: Assessment) -> None:
    was, now = judged(confirmed), judged(doubted)
    left_out = any(doubt.spots for doubt in folder.doubts)
    if not left_out:
        assert now == was  # judged as it was typed
    for key, verdict in was.items():
        assert now.get(key) not in PASSES or verdict in PASSES, key
        if verdict == "beyond limit":
            # what nobody can believe is missing where it is wanted
            feature, _, place = key
            assert any(now[one] in OPEN for one in now if (one[0], one[2]) == (feature, place)), key
    if left_out:
        assert {*doubted.to_decide} - {*confirmed.to_decide}
    if doubted.cost.minimum and {*doubted.cost.not_priced} - {*confirmed.cost.not_priced}:
        return
    chosen = {buy.part for job in (doubted, confirmed) for choice in job.choices for buy in choice.buy}
    (parts, total), (then, costs) = bought(confirmed, chosen), bought(doubted, chosen)
    assert parts <= then
    assert total <= costs
    assert confirmed.cost.total <= doubted.cost.total


@pytest.fixture(scope="module")
def four(tmp_path_factory: pytest.TempPathFactory) -> Variant:
    return twin_cam(tmp_path_factory.mktemp("doubted"))


@given(cell=st.integers(0, 10_000), which=st.integers(0, 100))
@settings(max_examples=12 * DEEPER, deadline=None)
def test_a_doubt_makes_no_engine_better_or_cheaper(four: Variant, cell: int, which: int) -> None:
    words = slips(four.word(cell))
    word = words[which % len(words)]
    folder, doubted = four.typed(cell, word)
    if folder.doubts:
        no_better(folder, doubted, four.typed(cell, f"{word}!")[1])


def test_of_a_reading_left_out_nobody_knows_what_it_asks_for(four: Variant) -> None:
    """A guide worn out is bought; one whose reading cannot be is not yet, and the total says so."""
    worn = next(at for at in range(len(four.cells)) if four.word(at) == "5.522")
    _, job = four.typed(worn, "55.22")
    assert job.cost.minimum
    assert [english(one) for one in job.cost.not_priced] == ["Exhaust guides E6: to be measured again"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_doubt_helps_no_kind(tmp_path: Path, kind: str) -> None:
    variant = Variant(of_kind(tmp_path, kind).job)

    @given(cell=st.integers(0, 1000), which=st.integers(0, 100))
    @settings(max_examples=5 * DEEPER, deadline=None)
    def holds(cell: int, which: int) -> None:
        words = slips(variant.word(cell))
        word = words[which % len(words)]
        folder, doubted = variant.typed(cell, word)
        if folder.doubts:
            no_better(folder, doubted, variant.typed(cell, f"{word}!")[1])

    if variant.cells:  # else it counts: teeth, cracks
        holds()
