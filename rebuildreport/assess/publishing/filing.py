"""Under which heading of the history a shop's features and parts are filed: by what the sheet says of them.

In: the engine's sheet.  Out: a code of ``trade/engine/subjects`` for whatever a record names.
Must not know: what was found on it.

A sheet names its features as it likes, so their names decide nothing: what is measured, what it is linked
with, the part it belongs to and the positions it shares tell which part of the engine it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ...quantities import english
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.engine.subjects import BY_KIND, OTHER, part_subject
from ..choose.worn_surfaces import FIXED, carries_rods, parts_of, rod_parts
from ..measure.titles import component_title

_JOINED = ("fit", "bearing_clearance", "running_fit")


@dataclass(frozen=True)
class Filing:
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

    def _feature(self, name: str, sheet: FeatureRecord) -> str:
        by_kind = "valves" if "recession" in sheet.columns else BY_KIND.get(sheet.kind)
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
        engine, found = self.engine, dict[str, str]()
        features = engine.features.values()
        housings: dict[str, list[str]] = {"rods": [], "block": []}
        for fit in features:
            carries = carries_rods(engine, fit.journal) if fit.journal in engine.features else None
            if carries is not None:
                housings["rods" if carries else "block"].append(fit.housing)
        rods, block = (
            rod_parts(engine) | parts_of(engine, housings["rods"]),
            parts_of(engine, housings["block"]),
        )
        joined = {
            (kind, link): parts_of(engine, {fit.link(link) for fit in features if fit.kind == kind})
            for kind, link in (("fit", "outer"), ("fit", "inner"), ("bearing_clearance", "journal"))
        }
        bored = joined["fit", "outer"]
        for part in {one.part: None for one in features if one.part}:
            measured = {one.kind for one in features if one.part == part}
            kinds = {BY_KIND.get(kind) for kind in measured}
            valves = bool(kinds & {"valves", "camshaft"})
            is_so = {
                "rods": part in rods,
                "camshaft": bool(measured & {"lobe", "cam_timing"}),
                # no barrel has valves
                "block": part in block or "block" in kinds or (valves and part in bored),
                "pistons": part in joined["fit", "inner"],
                "head": valves and bool(measured & FIXED),
                "crankshaft": part in joined["bearing_clearance", "journal"],
                **{code: code in kinds for code in ("cam_drive", "oil_pump", "fasteners", "cylinders")},
            }
            found[part] = next((code for code, so in is_so.items() if so), "") or part_subject(part)
        return found
