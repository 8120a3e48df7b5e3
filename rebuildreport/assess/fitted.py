"""What is fitted where, as far as codes and decisions say: shells by grade, before anybody measures them."""

from __future__ import annotations

from .. import quantities
from ..records import JobFolder
from ..records.choosecheck import bands_in
from ..records.engine import Engine, Feature

Band = tuple[float, float]


def decided_walls(job: JobFolder, feature: Feature, shells: str, position: str) -> tuple[Band, Band] | None:
    """Wall bands of the upper and lower half that a decision fits at a position [mm]; or None.

    A whole bush has the same on both sides.
    """
    decisions = job.work.decisions.values() if job.work else ()
    fits = [one.fit[position] for one in decisions if one.about == shells and position in one.fit]
    if not fits or len(fits[-1]) not in (1, 2):
        return None
    unit = feature.unit or "mm"
    grades = dict(feature.grades)
    for other in feature.other.values():
        grades |= other.grades
    scale = quantities.factor(unit, "mm")
    bands = {name: (low * scale, high * scale) for name, (low, high) in bands_in(grades, unit).items()}
    upper, lower = fits[-1][0], fits[-1][-1]
    return (bands[upper], bands[lower]) if upper in bands and lower in bands else None


def grade_by_code(
    engine: Engine, job: JobFolder, feature: Feature, shells: str, journal: str, position: str
) -> str | None:
    """The grade that the stamped codes call for; None where a code was not read."""
    from ..trade.shells import grade_by_codes

    table = feature.codes
    codes = job.teardown.codes if job.teardown else {}
    housing = next((f.housing for f in engine.features.values() if f.shells == shells and f.housing), "")
    index = (feature.positions or []).index(position)
    rows, columns = codes.get(housing or "", []), codes.get(journal, [])
    if table is None or index >= len(rows) or index >= len(columns):
        return None
    return grade_by_codes(table.rows, table.columns, rows[index], columns[index])
