"""What else is decided or in hand where a compression ratio is foretold: other steps, skims, the gasket."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from ...quantities import Sentence, Several, Text, present
from ...records.files.jobfile import DecisionRecord
from ...trade.kinds import KINDS
from ...trade.measuring.form import largest
from ...trade.measuring.uncertainty import DoubtSource, Measured, rectangular
from ...trade.measuring.verdict import GUARD_FACTOR
from ..measure.observations import base_unit
from ..measure.timeline import step_in_mm
from ..parts.lookup import by_table
from .workbench import Workbench

RATIO = "compression_ratio"
OLD_CROWNS = Sentence("new pistons taken as the old ones in crown and height")


@dataclass(frozen=True)
class Else:
    """All but the question itself, as it enters one prediction."""

    ordered: dict[str, Measured]  # bores: the middle of the band that is ordered [mm]
    moved: dict[str, float]  # feature: by how much, in its base unit
    numbers: dict[str, float]  # number of the ratio: by how much
    assumes: Text  # in words, '' where nothing was decided and no gasket follows


def decided_else(bench: Workbench, ratio: str, about: str, until: date | None, gasket: bool = True) -> Else:
    """What the decisions about other features, and the gasket by the sheet's table, do to a ratio."""
    engine = bench.engine
    links = engine.features[ratio].links(KINDS[RATIO].links)
    ordered: dict[str, Measured] = {}
    moved: dict[str, float] = {}
    numbers: dict[str, float] = {}
    used: list[str] = []
    unknown: list[str] = []
    for name, feature, decision in _reconditioned(bench):
        sheet = engine.features[feature]
        if about and about in (feature, sheet.height):
            continue
        step = step_in_mm(decision.size or "")
        if sheet.kind == "bore" and sheet.oversizes and step:
            low, high = bench.ends(sheet.new.get("size"), sheet)
            if links.get("bores") == feature and low is not None and high is not None:
                doubt = {DoubtSource("ordered band", feature): rectangular((high - low) / 2.0)}
                ordered[feature] = Measured(round((low + high) / 2.0 + step, 9), doubt)
            elif "bores" not in links:
                numbers["bore"] = step
            used.append(name)
        elif sheet.kind in ("straightedge", "flatness_grid") and decision.remove is not None:
            taken = decision.remove.to("mm")
            moved |= dict.fromkeys(sheet.raises, taken) | dict.fromkeys(sheet.lowers, -taken)
            per_mm = bench.further(sheet.further.get("chamber_per_mm"), "cm³")
            chamber = links.get("chamber", "")
            if per_mm is not None and chamber:
                moved[chamber] = moved.get(chamber, 0.0) - per_mm * taken
            elif per_mm is not None:
                numbers["chamber_volume"] = -per_mm * taken
            elif chamber and engine.features[chamber].part == sheet.part:
                unknown.append(name)
                continue
            used.append(name)
    fits = _gasket(bench, links, until) if gasket else None
    thick = engine.features[ratio].further.get("gasket_thickness")
    own = bench.further(thick, "mm")
    said = []
    if fits and own is not None:
        numbers["gasket_thickness"] = fits[1] - own
        said.append(Sentence("with gasket {part}", part=fits[0]))
    if used:
        said.append(Sentence("with what {decisions} decides", decisions=Several(dict.fromkeys(used))))
    if unknown:
        words = "without the skim of {decisions}: what it takes from a chamber is not on file"
        said.append(Sentence(words, decisions=Several(dict.fromkeys(unknown))))
    return Else(ordered, moved, numbers, present(said))


def _reconditioned(bench: Workbench) -> Iterator[tuple[str, str, DecisionRecord]]:
    work = bench.job.work
    for name, decision in (work.decisions if work else {}).items():
        if decision.do == "recondition" and decision.about in bench.engine.features:
            yield name, decision.about, decision


def _gasket(bench: Workbench, links: dict[str, str], until: date | None) -> tuple[str, float] | None:
    """The one gasket that the table has for the height as it was read, and its thickness pressed [mm]."""
    for table in bench.engine.choices.values():
        sheet = bench.engine.features.get(table.by)
        if sheet is None or table.by not in links.values():
            continue
        readings = bench.now(table.by) or bench.as_found(table.by, until)
        inputs = bench.workings.inputs_on(table.by, lambda _, read=readings: read)  # type: ignore[misc]
        found = [c.measured for c in KINDS[sheet.kind].compute(inputs) if c.measured]
        if not found:
            continue
        top = largest(found)
        unit = table.unit or sheet.unit or "mm"
        guard = GUARD_FACTOR * top.u if bench.guarded else 0.0
        fits = by_table(table, top.value, guard, base_unit(unit), unit)
        part = bench.engine.parts.get(fits[0]) if len(fits) == 1 else None
        thick = bench.mm(part.thickness) if part else None
        if thick is not None:
            return fits[0], thick
    return None
