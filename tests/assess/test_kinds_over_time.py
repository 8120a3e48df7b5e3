"""What every kind of feature holds from round to round: new is new, and a whole engine's test ends.

That a new part has nothing of what was read of the old one, and that an engine which was apart is another
one, is common practice.  The readings are those of every kind's own sheet.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.assess.model.assessment import Characteristic
from rebuildreport.quantities import english
from rebuildreport.trade.kinds import KINDS

from .bench import Bench
from .test_every_kind import ROUND, SHEET
from .test_kinds_hold import FURTHER, FURTHER_ROUND

TEARDOWN = "by: me\ndate: {}\nsteps:\n  - removed: head\n"


def blocks(text: str) -> dict[str, str]:
    """Features of a sheet, or tables of a round, by their names."""
    return {one.partition(":")[0]: one for one in re.split(r"^(?=\w)", text, flags=re.MULTILINE) if one}


def names_of(kind: str) -> list[str]:
    """The features of a kind, and their partners."""
    sheet = blocks(SHEET + FURTHER)
    names = [name for name, text in sheet.items() if f"  kind: {kind}\n" in text]
    names += [other for name in names for other in sheet if re.search(rf": {other}\b", sheet[name])]
    return list(dict.fromkeys(names))


def of_kind(folder: Path, kind: str, more: str = "") -> Bench:
    """A job of the features of one kind and their partners, as they came."""
    sheet = blocks(SHEET + FURTHER)
    texts = (sheet[name] for name in names_of(kind))
    bench = Bench(folder, "".join(re.sub(r"(?<=\n)$", more, text) for text in texts), rule="guarded")
    bench.square()
    bench.round("arrival", "2026-03-02", tables_of(kind))
    return bench


def tables_of(kind: str) -> str:
    tables = blocks(ROUND + FURTHER_ROUND)
    return "".join(tables.get(name, "") for name in names_of(kind))


def of_round(job: Assessment, name: str) -> list[Characteristic]:
    return [one for one in job.characteristics if one.round == name]


@pytest.mark.parametrize("kind", KINDS)
def test_new_is_new_everywhere(tmp_path: Path, kind: str) -> None:
    bench = of_kind(tmp_path, kind)
    assert all(one.again for one in of_round(bench.assess(), "arrival"))
    decided = "".join(
        f"  W{at}:\n    about: {name}\n    do: replace\n    why: worn\n    by: shop\n    date: 2026-03-03\n"
        for at, name in enumerate(names_of(kind))
    )
    bench.write("work.yaml", f"decisions:\n{decided}")
    job = bench.assess()
    assert not any(one.stands for one in of_round(job, "arrival"))
    assert {one.verdict for one in job.characteristics if one.stands} <= {"not measured"}
    bench.round("after", "2026-03-05", tables_of(kind))
    after = of_round(bench.assess(), "after")
    assert after and not any(one.again for one in after)
    limits = [one.limits for one in after if one.limits and one.value is not None]
    assert {one.deciding for one in limits if one.new != (None, None)} <= {"new"}


@pytest.mark.parametrize("kind", KINDS)
def test_a_test_of_the_whole_engine_ends_when_it_is_apart(tmp_path: Path, kind: str) -> None:
    bench = of_kind(tmp_path, kind, "  whole_engine: yes\n")
    assert any(one.stands for one in of_round(bench.assess(), "arrival"))
    bench.write("teardown.yaml", TEARDOWN.format("2026-03-03"))
    assert not any(one.stands for one in of_round(bench.assess(), "arrival"))


@pytest.mark.parametrize("kind", KINDS)
def test_what_nobody_has_decided_makes_the_total_a_minimum(tmp_path: Path, kind: str) -> None:
    job = of_kind(tmp_path, kind).assess()
    # a test of the whole engine is decided about by its parts, a ring with too small a gap is filed
    beyond = {
        feature.title
        for feature in job.features
        for one in job.characteristics
        if (one.feature, one.verdict, one.stands) == (feature.name, "beyond limit", True) and not one.filing
        if not KINDS[feature.kind].whole
    }
    assert job.cost.minimum
    lacking = [english(one) for one in job.cost.not_priced]
    assert all(any(one.startswith(english(title)) for one in lacking) for title in beyond)
