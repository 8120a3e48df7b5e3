"""The words that the engine sheet and the shop allow in a job: features, positions, parts, instruments."""

from __future__ import annotations

from msgspec import Struct

from ...trade.engine.failure_causes import Subject
from ...trade.kinds import KINDS
from ..files.sheet import Engine, FeatureRecord
from ..text.problems import Severity

# kinds of what is measured on each
_BEARINGS = ("shells", "bearing_clearance", "shimmed_cap")
_VALVES = ("guide", "valve_seat", "valve_clearance", "spring_load", "spring_length", "valve_to_piston")
_PISTONS = ("fit", "ring_gap", "ring_side", "piston_protrusion")
# parts that no kind tells of, by their whole name: a valve's cover or a piston's pin is neither
_NAMED: dict[str, Subject] = {
    **dict.fromkeys(("valve", "valves", "exhaust_valves", "intake_valves", "inlet_valves"), "valve"),
    **dict.fromkeys(("ventil", "ventile", "auslassventile", "einlassventile"), "valve"),
    **dict.fromkeys(("piston", "pistons", "kolben"), "piston"),
}


def part_severity(engine: Engine) -> Severity:
    """A sheet whose parts are not typed in yet is unfinished, not wrong."""
    return "error" if engine.parts else "warning"


class Vocabulary(Struct, frozen=True):
    """The words that a job may use, from its engine's sheet."""

    engine: Engine

    @property
    def fitted(self) -> set[str]:
        """What goes together: features, the parts that they belong to, part numbers, joints, choices."""
        sheet = self.engine
        words = {*sheet.features, *sheet.parts, *sheet.joints, *sheet.access, *sheet.choices, *sheet.shims}
        return words | {feature.part for feature in sheet.features.values() if feature.part}

    @property
    def components(self) -> set[str]:
        """What a finding or a decision can be about: what goes together, its bolts, and what comes off."""
        words = self.fitted - {*self.engine.choices} | {*self.engine.fasteners}
        return words | {word for ways in self.engine.ways.values() for way in ways for word in way}

    @property
    def grades(self) -> set[str]:
        """Grades and classes that any part comes in."""
        return {name for one in self.engine.features.values() for name in (*one.grades, *one.classes)}

    def positions(self, component: str) -> set[str]:
        """Positions of a feature, or of all features of a part; of a free word, every position there is."""
        features = self.engine.features
        chosen = [features[component]] if component in features else []
        chosen = chosen or [one for one in features.values() if one.part == component]
        found = {name for one in chosen for name in self._of(one)}
        return found or {name for one in features.values() for name in self._of(one)}

    def _of(self, feature: FeatureRecord) -> list[str]:
        if feature.positions:
            return feature.positions
        if not KINDS.get(feature.kind):
            return []
        joined = [
            self.engine.features.get(link) for link in feature.links(KINDS[feature.kind].links).values()
        ]
        return next((one.positions for one in joined if one and one.positions), [])

    def characteristics(self, feature: str) -> set[str]:
        """What is judged or worked out of a feature: its limits' names, its characteristics, its columns."""
        one = self.engine.features[feature]
        found = {*one.new, *one.wear, *one.columns}
        if kind := KINDS.get(one.kind):
            found |= {
                *kind.characteristics(tuple(one.columns), {*one.new, *one.wear}),
                *(kind.limit_keys or ()),
            }
        return found


def subject_of(engine: Engine, component: str) -> Subject | None:
    """Whether a feature or a part is a bearing's, a piston's or a valve's."""
    sheet = engine.features.get(component)
    kind, part = (sheet.kind, sheet.part) if sheet else ("", component)
    every = engine.features.values()
    bearings, fits = ([one for one in every if one.kind in kinds_] for kinds_ in (_BEARINGS, ("fit",)))
    if kind in _BEARINGS or any(component in one.links(["journal", "inner"]).values() for one in bearings):
        return "bearing"
    if kind in _VALVES or "recession" in ((sheet and sheet.columns) or ()):
        return "valve"
    if kind in _PISTONS or any(component in one.links(["inner"]).values() for one in fits):
        return "piston"
    return _NAMED.get(part)
