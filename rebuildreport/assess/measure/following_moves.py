"""What else ends with a decision: a skim moves what is measured from its face, a piston is another piece."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities.units import dimension
from ...records import JobFolder
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring.form import number_of

FACES = ("straightedge", "flatness_grid")
HEIGHTS = ("deck_clearance", "piston_protrusion")  # of a piston against the face of the block
RATIO = "compression_ratio"


def carried(engine: Engine, feature: str, position: str, do: str) -> Iterator[tuple[str, str]]:
    """Features and positions whose readings no longer hold once this is done to a position of a feature.

    Which cylinders lie under a line across a face the sheet does not say: all
    of them are read again.
    """
    features = engine.features
    if do == "recondition":
        for name in dict.fromkeys(_from_face(engine, feature)):
            yield from ((name, place) for place in features[name].positions)
        # gears that a skim of a face brings nearer: their backlash, at the place that the sheet names
        drive, at = features[feature].drives
        if features[feature].kind in FACES and drive in engine.of_kind("backlash"):
            yield from ((drive, place) for place in features[drive].positions if at in ("", place))
    elif do == "replace" and engine.fits(kind="fit", inner=feature):
        for name in dict.fromkeys(_of_piston(engine, feature)):
            yield from ((name, place) for place in _of_cylinder(position, features[name].positions))


def _of_cylinder(position: str, positions: list[str]) -> list[str]:
    """The place of another feature that is on the same piston: of its name, or of its number.

    A pin is named as its rod, R1, and the skirt as its cylinder, C1: one piston has both.

    >>> _of_cylinder("C1", ["R1", "R2"]), _of_cylinder("C1", ["C1", "R1"]), _of_cylinder("left", ["R1"])
    (['R1'], ['C1'], [])
    """
    if position in positions:
        return [position]
    number = number_of(position)
    return [place for place in positions if number is not None and number_of(place) == number]


def _from_face(engine: Engine, feature: str) -> Iterator[str]:
    """What the sheet says is measured from a face, and what lies in or under it by its kind."""
    faces = engine.of_kind(*FACES)
    for face, sheet in faces.items():
        # a skim is decided about the face, or about the height under it
        if feature in (face, sheet.height):
            yield from filter(None, (sheet.height, *sheet.raises, *sheet.lowers))
            # another look at it, as by a grid on the plate: over the same height there is one face
            alike = [name for name, other in faces.items() if other.height == sheet.height]
            yield from (name for name in alike if name != feature and sheet.height)
            if sheet.part:
                yield from _of_part(engine, sheet.part)


def _of_part(engine: Engine, part: str) -> Iterator[str]:
    """What a cut of any face of a part moves: heights over a block's deck, the chambers of a head."""
    block = any(one.kind == "bore" and one.oversizes and one.part == part for one in engine.features.values())
    for name, one in engine.features.items():
        if (one.kind in HEIGHTS and block) or (one.kind == "deck_height" and one.part == part):
            yield name
    yield from chambers_in(engine, part)


def chambers_in(engine: Engine, part: str) -> Iterator[str]:
    """Volumes that are poured in a part's face, whether or not a compression ratio is worked out by them."""
    for name, one in engine.features.items():
        if one.kind == "matched" and one.part == part and one.unit and dimension(one.unit) == "volume":
            yield name


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


def settled(engine: Engine, about: str, do: str) -> tuple[str, ...]:
    """What else is decided with what becomes another: the fits that join it, another look at its face."""
    if do not in ("replace", "recondition"):
        return ()
    known = engine.features.get(about)
    height = known.height if known and known.kind in FACES else about
    faces = [name for name, face in engine.of_kind(*FACES).items() if height and face.height == height]
    # a part that is renewed is so in all that is measured of it
    renewed = about if do == "replace" else None
    pieces = {about, *(name for name, one in engine.features.items() if one.part == renewed)}
    joined = [
        name
        for name, one in engine.features.items()
        if name in pieces or pieces & {*one.links(KINDS[one.kind].partners).values()}
    ]
    return tuple(name for name in dict.fromkeys([*joined, *faces]) if name != about)


def skimmed_off(engine: Engine, job: JobFolder, with_block: bool = True, driven: bool = False) -> float:
    """The most taken from any head, and from the block besides [mm]; ``driven``: where a chain runs."""
    features = engine.features
    blocks = {features[one.outer].part for one in engine.of_kind("fit").values() if one.outer}
    heads, block = [0.0], [0.0]
    for face, sheet in engine.of_kind(*FACES).items():
        about = [one for one in job.decisions.values() if one.about in (face, sheet.height)]
        taken = [one.remove.to("mm") for one in about if one.remove]
        if not driven or sheet.drives[0] in features:
            (block if (sheet.part or face) in blocks else heads).extend(taken)
    return max(heads) + (max(block) if with_block else 0.0)
