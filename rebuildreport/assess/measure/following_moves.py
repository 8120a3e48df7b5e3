"""What else ends with a decision: a skim moves what is measured from its face, a piston is another piece."""

from __future__ import annotations

from collections.abc import Iterator

from ...records import JobFolder
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.kinds import KINDS

FACES = ("straightedge", "flatness_grid")
HEIGHTS = ("deck_clearance", "piston_protrusion")  # of a piston against the face of the block
RATIO = "compression_ratio"


def carried(engine: Engine, feature: str, position: str, do: str) -> Iterator[tuple[str, str]]:
    """Features and positions whose readings no longer hold once this is done to a position of a feature.

    Which cylinders lie under a line across a face the sheet does not say: all
    of them are read again.
    """
    if do == "recondition":
        for name in dict.fromkeys(_from_face(engine, feature)):
            yield from ((name, place) for place in engine.features[name].positions)
        yield from _drive(engine, engine.features[feature])
    elif do == "replace" and _is_piston(engine, feature):
        for name in dict.fromkeys(_of_piston(engine, feature)):
            if position in engine.features[name].positions:
                yield name, position


def _drive(engine: Engine, face: FeatureRecord) -> Iterator[tuple[str, str]]:
    """Gears that a skim of a face brings nearer: their backlash, at the place that the sheet names."""
    drive, at = face.drives
    gears = engine.features.get(drive)
    if face.kind in FACES and gears is not None and gears.kind == "backlash":
        yield from ((drive, place) for place in gears.positions if at in ("", place))


def _from_face(engine: Engine, feature: str) -> Iterator[str]:
    """What the sheet says is measured from a face, and what lies in or under it by its kind."""
    for face, sheet in engine.features.items():
        # a skim is decided about the face, or about the height under it
        if sheet.kind in FACES and feature in (face, sheet.height):
            named = (sheet.height, *sheet.raises, *sheet.lowers)
            yield from (name for name in named if name in engine.features)
            # another look at it, as by a grid on the plate: over the same height there is one face
            yield from (
                name
                for name, other in engine.features.items()
                if other.kind in FACES and name != feature and sheet.height and other.height == sheet.height
            )
            if sheet.part:
                yield from _of_part(engine, sheet.part)


def _of_part(engine: Engine, part: str) -> Iterator[str]:
    """What a cut of any face of a part moves: heights over a block's deck, the chambers of a head."""
    block = any(one.kind == "bore" and one.oversizes and one.part == part for one in engine.features.values())
    for name, one in engine.features.items():
        if (one.kind in HEIGHTS and block) or (one.kind == "deck_height" and one.part == part):
            yield name
        chamber = one.links(KINDS[RATIO].links).get("chamber", "") if one.kind == RATIO else ""
        if chamber and engine.features[chamber].part == part:
            yield chamber


def _is_piston(engine: Engine, feature: str) -> bool:
    return any(one.kind == "fit" and one.inner == feature for one in engine.features.values())


def _of_piston(engine: Engine, feature: str) -> Iterator[str]:
    """What else was read on the piston, or from it: its crown, its mass, how it stands."""
    part = engine.features[feature].part
    for name, one in engine.features.items():
        if name == feature:
            continue
        if one.kind in HEIGHTS or (part and one.part == part):
            yield name
        bowl = one.links(KINDS[RATIO].links).get("bowl") if one.kind == RATIO else None
        if bowl:
            yield bowl


def _skims(engine: Engine, job: JobFolder) -> Iterator[tuple[str, str, float]]:
    """Faces that were decided to be skimmed: the face, its part, by how much [mm]."""
    for decision in job.decisions.values():
        for face, sheet in engine.features.items():
            if decision.remove and decision.about in (face, sheet.height) and sheet.kind in FACES:
                yield face, sheet.part or face, decision.remove.to("mm")


def skimmed_off(engine: Engine, job: JobFolder, with_block: bool = True, driven: bool = False) -> float:
    """The most taken from any head, and from the block besides [mm]; ``driven``: where a chain runs."""
    features = engine.features
    blocks = {features[one.outer].part for one in features.values() if one.kind == "fit" and one.outer}
    heads, block = [0.0], [0.0]
    for face, part, amount in _skims(engine, job):
        if not driven or features[face].drives[0] in features:
            (block if part in blocks else heads).append(amount)
    return max(heads) + (max(block) if with_block else 0.0)
