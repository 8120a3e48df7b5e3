"""Shell codes as read and as measured, and whether they still tell anything."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ... import quantities
from ...quantities import Sentence, Text, amid
from ...records.checks.choosecheck import bands_in
from ...trade.choosing import shells
from ...trade.measuring.uncertainty import Measured, mean
from ..measure.timeline import sized
from ..measure.titles import feature_title
from ..model.choice import Place

if TYPE_CHECKING:
    from .shell_choice import _Chooser


def codes_at(of: _Chooser, position: str) -> Place:
    """Codes as read and as measured, and what they would have fitted."""
    table = of.sheet.codes
    place = Place(position, "nothing known")
    if table is None:
        return place
    teardown = of.bench.job.teardown
    read = {**(teardown.codes if teardown else {}), **of.bench.paper_codes}
    at = of.positions.index(position)
    housing, journal = (
        codes[at] if (codes := read.get(key, [])) and at < len(codes) else ""
        for key in (of.housing, of.journal)
    )
    void = _void(of, position)
    grade = shells.grade_by_codes(table.rows, table.columns, housing, journal) or ""
    unit = of.sheet.unit or "mm"
    scale = quantities.factor(unit, "mm")
    housings = {n: (a * scale, b * scale) for n, (a, b) in bands_in(table.housing_bands, unit).items()}
    journals = {n: (a * scale, b * scale) for n, (a, b) in bands_in(table.journal_bands, unit).items()}
    bore, pin = _mean(of, of.housing, position), _mean(of, of.journal, position)
    measured = by_measurement = ""
    reasons: list[str] = []
    if bore and pin:
        bore_code = next(iter(shells.codes_of(bore, housings)), "?")
        pin_code = next(iter(shells.codes_of(pin, journals)), "?")
        measured = f"{bore_code}/{pin_code}"
        by_measurement = shells.grade_by_codes(table.rows, table.columns, bore_code, pin_code) or ""
        if housing and journal and not void and grade != by_measurement:
            reasons = shells.mismatch(housing, journal, bore, pin, housings, journals)
            reasons = reasons or [
                Sentence("within what the measuring can tell: the size lies at a border of its band")
            ]
    stamped = f"{housing or '?'}/{journal or '?'}" if housing or journal else ""
    by_code = "" if void else grade
    return replace(
        place,
        stamped=stamped,
        by_code=by_code,
        void=void if stamped else "",
        measured=measured,
        by_measurement=by_measurement,
        agree=by_code == by_measurement if by_code and by_measurement else None,
        reasons=tuple(reasons),
    )


def _mean(of: _Chooser, feature: str, position: str) -> Measured | None:
    columns = of.readings.get(feature, {}).get(position, {})
    ones = list(columns.values())
    if feature == of.housing:
        loaded = of.fit.direction or "v"
        ones = [value for name, value in columns.items() if name.rpartition("_")[2] == loaded]
    return mean(ones) if ones else None


def _void(of: _Chooser, position: str) -> Text:
    """Why the codes tell nothing here, '' where they hold."""
    teardown = of.bench.job.teardown
    for feature in (of.journal, of.housing):
        if feature in of.bench.paper_codes:
            continue  # stamped on what is tried itself
        if feature in of.bench.override:
            return Sentence("{what} of another source", what=amid(feature_title(of.engine, feature)))
        if teardown and feature in teardown.codes_void:
            return teardown.codes_void[feature]
        size = of.bench.timeline.size(feature, position, date.max)
        title = amid(feature_title(of.engine, feature))
        if size and size != "standard":
            return Sentence("{title} at {size}", title=title, size=sized(size))
        decisions = of.bench.job.work.decisions if of.bench.job.work else {}
        for name, decision in decisions.items():
            spots = of.bench.timeline.spots(decision.about, decision.positions)
            if decision.do != "reuse" and (feature, position) in spots:
                done = "reconditioned" if decision.do == "recondition" else "exchanged"
                return f"{title} {done} ({name})"
    return ""
