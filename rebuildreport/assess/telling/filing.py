"""Under which heading of the history a shop's features and parts are filed: by what the sheet says of them.

In: the engine's sheet.  Out: a code of ``trade/engine/subjects`` for whatever a record names.
Must not know: what was found on it.

A sheet names its features as it likes, so their names decide nothing: what is measured, what it is linked
with, the part it belongs to and the positions it shares tell which part of the engine it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from msgspec import Struct

from ...quantities import english
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.engine.subjects import BY_KIND, OTHER, part_subject
from ..measure.titles import component_title

# what a block or a head has, and no rod
FIXED = frozenset(
    {"main_line", "straightedge", "flatness_grid", "liner_protrusion", "deck_height", "deck_clearance"}
)
_JOINED = ("fit", "bearing_clearance", "running_fit")


class Filing(Struct, frozen=True, dict=True):
    """The headings of one engine's features and parts."""

    engine: Engine

    def heading(self, name: str) -> str:
        """The code for a feature, a part that features belong to, a part number, a group of bolts ...

        Words propose it only where the sheet says no more of a thing than its name.
        """
        features = self.engine.features
        if name in features:
            return self._feature(name, features[name])
        if name in self._parts:
            return self._parts[name]
        if name in self.engine.fasteners:
            return "fasteners"
        for serves, sheet in features.items():
            pieces = (*sheet.pieces.values(), *sheet.halves.values(), *sheet.sets.values())
            if name in (*sheet.replace_with, *pieces):
                return self._feature(serves, sheet)
        return part_subject(name, english(component_title(self.engine, name)))

    def of_the_crank(self, name: str) -> bool:
        """Whether it is about the crank's own bearings or journals, which are of no cylinder."""
        journals = name in self.engine.features and carries_rods(self.engine, name) is False
        return journals or self.heading(name) == "main_bearings"

    def _feature(self, name: str, sheet: FeatureRecord) -> str:
        by_kind = "valves" if "recession" in sheet.columns else BY_KIND.get(sheet.kind)
        if sheet.kind in ("end_float", "thrust_washer") and self._parts.get(sheet.part) == "crankshaft":
            return "main_bearings"  # what locates the crank is renewed, not the crank
        return (
            by_kind or self._by_links(name, sheet) or self._parts.get(sheet.part, "") or self._beside(sheet)
        )

    def _by_links(self, name: str, sheet: FeatureRecord) -> str:
        """What runs in what: a fit itself, and what it joins where that is no part of its own."""
        if sheet.kind == "shimmed_cap" and not sheet.outer:
            return self._bearing(self._parts.get(sheet.part, ""))
        for fit_name, fit in self.engine.features.items():
            if fit.kind == "fit" and name == fit.outer:
                return "cylinders"
            joint = self._joint(fit) if fit.kind in _JOINED else ""
            of_joint = {fit_name, fit.shells}
            if fit.kind == "running_fit":  # the bush of a main bearing, the pin of a rod
                of_joint.add({"main_bearings": fit.outer, "rods": fit.inner}.get(joint, ""))
            if joint and name in of_joint:
                return joint
        if sheet.kind == "bore" and len(sheet.positions) == self.engine.layout.cylinders:
            return "cylinders" if self._parts.get(sheet.part) == "block" else ""
        return ""

    def _joint(self, fit: FeatureRecord) -> str:
        within, runs = (self._of(fit.housing or fit.outer), self._of(fit.journal or fit.inner))
        if runs == "crankshaft":
            return self._bearing(within)
        return "rods" if within == "rods" else runs

    def _of(self, feature: str) -> str:
        sheet = self.engine.features.get(feature)
        return self._parts.get(sheet.part, "") if sheet else ""

    @staticmethod
    def _bearing(housing: str) -> str:
        """The crank's bearing in a housing: a rod's, or one that stands still."""
        return {"": "", "rods": "rod_bearings"}.get(housing, "main_bearings")

    def _beside(self, sheet: FeatureRecord) -> str:
        """What is read of no part of its own, at the places of shells: their crush, their spread."""
        for fit in self.engine.features.values():
            shells = self.engine.features.get(fit.shells)
            if shells and sheet.positions and shells.positions == sheet.positions:
                return self._joint(fit)
        return OTHER.code

    @cached_property
    def _parts(self) -> dict[str, str]:
        """What each part is: by what is measured on it and runs in it; a word of it where neither tells."""
        measured: dict[str, set[str]] = {}
        for sheet in self.engine.features.values():
            if sheet.part:
                measured.setdefault(sheet.part, set()).add(sheet.kind)
        return {part: self._part(part, kinds) or part_subject(part) for part, kinds in measured.items()}

    def _part(self, part: str, measured: set[str]) -> str:
        kinds, roles = {BY_KIND.get(kind) for kind in measured}, self._roles
        valves = bool(kinds & {"valves", "camshaft"})
        is_so = {
            "rods": part in roles["rods"],
            "camshaft": bool(measured & {"lobe", "cam_timing"}),
            # no barrel has valves
            "block": part in roles["block"] or "block" in kinds or (valves and part in roles["bored"]),
            "pistons": part in roles["pistons"],
            "head": valves and bool(measured & FIXED),
            "crankshaft": part in roles["turning"],
            **{code: code in kinds for code in ("cam_drive", "oil_pump", "fasteners", "cylinders")},
        }
        return next((code for code, so in is_so.items() if so), "")

    @cached_property
    def _roles(self) -> dict[str, set[str]]:
        """The parts that links give a role: what houses rods or the crank, what runs in what."""
        engine, fits = self.engine, self.engine.of_kind("fit").values()
        bearings = [fit for fit in engine.features.values() if fit.journal]
        joined = {
            "rods": [fit.housing for fit in bearings if carries_rods(engine, fit.journal)],
            "block": [fit.housing for fit in bearings if carries_rods(engine, fit.journal) is False],
            "turning": [fit.journal for fit in bearings],
            "bored": [fit.outer for fit in fits],
            "pistons": [fit.inner for fit in fits],
        }
        found = {role: _parts_with(engine, names) for role, names in joined.items()}
        return found | {"rods": found["rods"] | _rods(engine)}


def carries_rods(engine: Engine, journals: str) -> bool | None:
    """Whether these are the journals that the rods run on: their throw moves the pistons.

    That is known by the housings that they run in: of a part that is measured as a rod is, or of
    one that is no block, where the same shaft runs in the block elsewhere.  Names tell nothing;
    None where the sheet does not tell.
    """
    features = engine.features
    bored = {fit.outer for fit in engine.of_kind("fit").values()}
    # parts that stand still: those with a face, a line of bores, or the bores that pistons run in
    rods, fixed = _rods(engine), _parts_with(engine, bored.union(engine.of_kind(*FIXED)))
    housings: dict[str, set[str]] = {}  # journals of this shaft: the parts that they run in
    for fit in features.values():
        both = fit.journal and fit.housing
        if both and features[fit.journal].part == features[journals].part:
            housings.setdefault(fit.journal, set()).add(features[fit.housing].part)
    mine = housings.pop(journals, set())
    if mine & (rods | fixed):
        return bool(mine & rods)
    # a shaft runs in the block and carries rods: what is not the one is the other
    for parts in housings.values():
        if mine and parts & (rods | fixed):
            return not parts & rods
    return None


def _rods(engine: Engine) -> set[str]:
    """Parts that are measured as rods are: their twist, their mass beside a piston, the eye of its pin."""
    names = {*engine.of_kind("rod_alignment"), *(matching.rods for matching in engine.matching.values())}
    pistons = _parts_with(engine, {fit.inner for fit in engine.of_kind("fit").values()})
    running = engine.of_kind("running_fit").values()
    names |= {fit.outer for fit in running if _parts_with(engine, {fit.inner}) & pistons}
    return _parts_with(engine, names)


def _parts_with(engine: Engine, names: Iterable[str | None]) -> set[str]:
    """The parts that some features belong to."""
    sheets = [engine.features[name] for name in names if name in engine.features]
    return {sheet.part for sheet in sheets if sheet.part}
