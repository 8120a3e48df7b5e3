"""What is fitted where, as far as codes and decisions say: shells by grade, before anybody measures them."""

from __future__ import annotations

from ... import quantities
from ...records import JobFolder
from ...records.checks.choosecheck import bands_in
from ...records.files.sheet import Engine, FeatureRecord

Band = tuple[float, float]


def decided_walls(
    job: JobFolder, feature: FeatureRecord, shells: str, position: str
) -> tuple[Band, Band] | None:
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


def bands_at(
    engine: Engine, job: JobFolder, shells: str, position: str, undersize: float
) -> tuple[Band, Band] | None:
    """Wall bands of the halves at a position [mm]: those of its set's size, or by its stamped codes."""
    from ...trade.choosing.shells import halves_of_cell
    from ...trade.engine.bearings import undersize_wall

    feature = engine.features[shells]
    typed = [feature.wall, feature.wall]
    if feature.wall is None and feature.grades and feature.codes:
        cell = grade_by_code(engine, job, feature, shells, position)
        typed = [feature.grades.get(grade) for grade in halves_of_cell(cell or "")]
    scale = quantities.factor(feature.unit or "mm", "mm")
    bands = []
    for one in typed:
        low, high = one.within(feature.unit or "mm") if one else (None, None)
        if low is None or high is None:
            return None
        bands.append(undersize_wall((low * scale, high * scale), undersize))
    return bands[0], bands[1]


def grade_by_code(
    engine: Engine, job: JobFolder, feature: FeatureRecord, shells: str, position: str
) -> str | None:
    """What the stamped codes call for, a grade or S2/S3; None where a code was not read."""
    from ...trade.choosing.shells import grade_by_codes

    table = feature.codes
    codes = job.teardown.codes if job.teardown else {}
    fit = next((f for f in engine.features.values() if f.shells == shells and f.housing), None)
    housing, journal = (fit.housing or "", fit.journal or "") if fit else ("", "")
    index = (feature.positions or []).index(position)
    rows, columns = codes.get(housing, []), codes.get(journal, [])
    if table is None or index >= len(rows) or index >= len(columns):
        return None
    return grade_by_codes(table.rows, table.columns, rows[index], columns[index])
