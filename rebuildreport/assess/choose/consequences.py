"""What a step or a cut does to other values, before anybody decides: with its doubt and its verdict."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from ... import quantities
from ...quantities import Figure, Sentence, Several, Text, amid, present
from ...records.files.sheet import FeatureRecord
from ...trade.engine import drives
from ...trade.kinds import KINDS, Computed, Kind
from ...trade.measuring.uncertainty import DoubtSource, Measured, rectangular
from ...trade.measuring.verdict import GUARD_FACTOR
from ...trade.measuring.verdict import ORDER as WORST_FIRST
from ..measure.judging import Opinion, limits_for, opinion, unit_of
from ..measure.observations import base_unit
from ..measure.titles import feature_title
from ..model.assessment import Limits
from ..model.choice import Effect, Ends
from ..parts.lookup import by_table
from ..telling.questions import span
from .decided_else import OLD_CROWNS, Else, decided_else
from .workbench import Readings, Workbench, one

RATIO = "compression_ratio"
NOTHING: Ends = (None, None)


@dataclass
class Change:
    """What is changed on paper: readings moved, numbers of the sheet moved, sizes that are ordered."""

    bench: Workbench
    until: date | None = None  # only what was read up to this day is known
    moved: dict[str, float] = field(default_factory=dict)  # feature: by how much, in its base unit
    ordered: dict[str, Measured] = field(default_factory=dict)  # feature: what every place of it becomes
    places: dict[str, str] = field(default_factory=dict)  # feature: the only place of it that is touched
    numbers: dict[str, float] = field(default_factory=dict)  # number of the compression ratio: by how much
    besides: Else | None = None  # what is decided or in hand besides: before and after alike

    def before(self, feature: str) -> Readings:
        """The readings of a feature that the decision can rest on."""
        if self.besides and feature in self.besides.ordered:
            every = self.bench.engine.features[feature].positions or []
            return {position: {"finished": self.besides.ordered[feature]} for position in every}
        by = self.besides.moved.get(feature, 0.0) if self.besides else 0.0
        read: Readings = {
            position: {column: value.shifted(by) for column, value in columns.items()}
            for position, columns in self.bench.as_found(feature, self.until).items()
        }
        place = self.places.get(feature)
        return {position: read[position] for position in read if position == place} if place else read

    def after(self, feature: str) -> Readings:
        """The same as the change leaves them."""
        if feature in self.ordered:
            every = self.bench.engine.features[feature].positions or []
            return {position: {"finished": self.ordered[feature]} for position in every}
        by = self.moved.get(feature, 0.0)
        return {
            position: {column: value.shifted(by) for column, value in columns.items()}
            for position, columns in self.before(feature).items()
        }

    def effects(self, feature: str) -> list[Effect]:
        """What becomes of one feature's characteristics; of those that the change leaves alone, none."""
        sheet = self.bench.engine.features[feature]
        kind = KINDS[sheet.kind]
        title = feature_title(self.bench.engine, feature)
        rests_on = [feature, *sheet.links(kind.links).values()]
        if not any(self.before(name) for name in rests_on):
            return [self._unread(feature, title, rests_on)]
        then, now = (self._worked_out(feature, kind, readings) for readings in (self.before, self.after))
        names = dict.fromkeys(name for name, _ in now)
        found = []
        for name in names:
            spots = [position for known, position in now if known == name]
            old = [was for position in spots if (was := then.get((name, position))) is not None]
            new = [now[name, position] for position in spots]
            if not _changed(old, new) or (name in kind.traits and kind.traits[name].optional):
                continue
            trait = kind.trait(name)
            what = (
                title
                if len(names) == 1 or not trait.title or trait.short == ""
                else Sentence(
                    "{feature}, {characteristic}", feature=title, characteristic=Sentence(trait.title)
                )
            )
            found.append(self._effect(feature, sheet, name, what, tuple(spots), old, new))
        return found if now else [self._unread(feature, title, rests_on)]

    def _unread(self, feature: str, title: Text, rests_on: list[str]) -> Effect:
        """A value that cannot be foretold, with what nobody has read."""
        engine = self.bench.engine
        what = [
            amid(feature_title(engine, name))
            for name in rests_on[1:]
            if KINDS[engine.features[name].kind].needs_columns and not self.before(name)
        ]
        words = "not known: {what} not measured" if what else "not known: not measured"
        if self.until is not None:
            words = "not known: not measured before it was decided"
            if what:
                words = "not known: {what} not measured before it was decided"
        note = Sentence(words, what=Several(what, last="and"))
        return Effect(title, feature, (), verdict="not measured", note=note)

    def _worked_out(
        self, feature: str, kind: Kind, readings: Callable[[str], Readings]
    ) -> dict[tuple[str, str], Computed]:
        inputs = self.bench.workings.inputs_on(feature, readings)
        if kind.name == RATIO:
            numbers = dict(inputs.given)
            moved = [self.besides.numbers if self.besides else {}]
            moved += [self.numbers] if readings == self.after else []
            for key, by in (pair for one_ in moved for pair in one_.items()):
                if key in numbers:
                    numbers[key] += by
            inputs = replace(inputs, given={**inputs.given, **numbers})
        return {(c.name, c.position): c for c in kind.compute(inputs) if c.measured is not None}

    def _effect(
        self,
        feature: str,
        sheet: FeatureRecord,
        name: str,
        what: Text,
        spots: tuple[str, ...],
        old: list[Computed],
        new: list[Computed],
    ) -> Effect:
        kind = KINDS[sheet.kind]
        trait = kind.trait(name)
        unit = unit_of(sheet, trait)
        limits = limits_for(self.bench.engine, sheet, trait, unit, "")
        said = {
            spot: opinion(computed, trait, limits, True, self.bench.shop)
            for spot, computed in zip(spots, new, strict=True)
        }
        worst = min((one.verdict for one in said.values()), key=WORST_FIRST.index)
        u = max(c.measured.u for c in new if c.measured)
        return Effect(
            what,
            feature,
            spots,
            unit,
            _decimals(u, limits),
            _ends(old),
            _ends(new),
            u,
            GUARD_FACTOR * u if self.bench.guarded else None,
            next(iter(said.values())).decides,
            worst if limits is not None else "",
            present(
                [
                    self._note(sheet, spots, said, worst, self._gaskets(feature, new)),
                    self.besides.assumes if self.besides else "",
                ]
            ),
        )

    def _note(
        self,
        sheet: FeatureRecord,
        spots: tuple[str, ...],
        said: Mapping[str, Opinion],
        worst: str,
        gaskets: str,
    ) -> Text:
        notes = []
        ones = [spot for spot, opinion_ in said.items() if opinion_.verdict == worst]
        if worst in ("beyond limit", "too close to call"):
            side = next((said[spot].side for spot in ones if said[spot].side), "")
            every = set(ones) == set(spots) and len(ones) > 1
            notes.append(side if every else Sentence("{side} at {places}", side=side, places=span(ones)))
        unread = [p for p in sheet.positions or [] if p not in spots] if sheet.positions else []
        if unread and all("-" not in spot for spot in spots) and set(spots) & set(sheet.positions or []):
            notes.append(Sentence("{places} not measured", places=span(unread)))
        return present([*notes, gaskets])

    def _gaskets(self, feature: str, new: list[Computed]) -> str:
        """The part that the sheet chooses by this value, as it would be then."""
        said = []
        for name, table in self.bench.engine.choices.items():
            if table.by != feature:
                continue
            unit = table.unit or self.bench.engine.features[feature].unit or "mm"
            top = max((c.measured for c in new if c.measured), key=lambda m: m.value)
            guard = GUARD_FACTOR * top.u if self.bench.guarded else 0.0
            chosen = by_table(table, top.value, guard, base_unit(unit), unit)
            words = name.replace("_", " ")
            said.append(
                f"{words}: {' or '.join(chosen)}" if chosen else f"{words}: none of the sheet's fits then"
            )
        return "; ".join(said)


def _changed(old: list[Computed], new: list[Computed]) -> bool:
    pairs = {c.position: c for c in old}
    return any(
        (was := pairs.get(c.position)) is None
        or was.measured is None
        or c.measured is None
        or abs(was.measured.value - c.measured.value) > 1e-9
        for c in new
    )


def _ends(ones: list[Computed]) -> Ends:
    values = [c.measured.value for c in ones if c.measured]
    return (round(min(values), 9), round(max(values), 9)) if values else NOTHING


def _decimals(u: float, limits: Limits | None) -> int:
    """As many as the limits have; where there are none, as many as the doubt leaves, and three at most."""
    if limits is not None:
        return min(limits.decimals, 3)
    return min(quantities.place_of(u), 3) if u else 3


def of_cut(bench: Workbench, face: str, taken: float, until: date | None) -> list[Effect]:
    """All that a cut of so much off a face moves: what the sheet says is measured from it, ratio, timing."""
    sheet = bench.engine.features[face]
    change = Change(bench, until)
    if sheet.height:
        change.moved[sheet.height] = -taken
    change.moved |= dict.fromkeys(sheet.raises, taken) | dict.fromkeys(sheet.lowers, -taken)
    found = [effect for feature in change.moved for effect in change.effects(feature)]
    return [*found, *_ratio_of_cut(change, face, sheet, taken), *_timing(bench, sheet, taken, until)]


def _ratio_of_cut(change: Change, face: str, sheet: FeatureRecord, taken: float) -> list[Effect]:
    """The compression ratio, where the cut takes from the chamber or lifts the piston; what is not known."""
    engine = change.bench.engine
    per_mm = change.bench.further(sheet.further.get("chamber_per_mm"), "cm³")
    found = []
    for name, one_ in engine.features.items():
        if one_.kind != RATIO:
            continue
        links = one_.links(KINDS[RATIO].links)
        has_chamber = "chamber" in links or "chamber_volume" in one_.further
        if per_mm is not None and "chamber" in links:
            change.moved[links["chamber"]] = -per_mm * taken
        elif per_mm is not None and has_chamber:
            change.numbers["chamber_volume"] = -per_mm * taken
        title = feature_title(engine, name)
        if set(links.values()) & set(change.moved) or change.numbers:
            change.besides = decided_else(change.bench, name, face, change.until)
            found += change.effects(name)
            change.besides = None
        elif has_chamber:
            note = Sentence("not known: what a millimetre takes from a chamber is not on file")
            found.append(Effect(title, name, (), verdict="not measured", note=note))
        else:
            found.append(Effect(title, name, (), note=Sentence("stays: there is no chamber in this face")))
    if not found:
        note = Sentence("not known: its volumes are not on file")
        found = [Effect(Sentence("Compression ratio"), "", (), verdict="not measured", note=note)]
    return found


def _timing(bench: Workbench, sheet: FeatureRecord, taken: float, until: date | None) -> list[Effect]:
    """What the cut does to a chain's timing, or to the backlash of gears, whose centres it brings nearer."""
    what = Sentence("Timing")
    name, _, position = (sheet.drive or "").partition(" ")
    drive = bench.engine.features.get(name)
    if not sheet.drive:
        note = Sentence("not known: whether a chain or gears run across this face is not on file")
        return [Effect(what, "", (), verdict="not measured", note=note)]
    if drive is None:
        return [Effect(what, "", (), note=Sentence("stays: no chain and no gears run across this face"))]
    title = feature_title(bench.engine, name)
    if drive.kind == "backlash":
        change = Change(bench, until, moved={name: drives.backlash_after(Measured(0.0), taken).value})
        change.places |= {name: position} if position else {}
        return change.effects(name)
    numbers = bench.workings.inputs_on(name, lambda _: {}).given
    if not {"pitch", "cam_teeth"} <= set(numbers):
        note = Sentence("not known: the teeth of the cam sprocket are not on file")
        return [
            Effect(Sentence("{feature}, timing", feature=title), name, (), verdict="not measured", note=note)
        ]
    late = drives.cam_lag(Measured(taken), numbers["pitch"], numbers["cam_teeth"])
    note = Sentence("so much later than now; set right at the sprockets")
    after = (round(late.value, 9), round(late.value, 9))
    return [Effect(Sentence("Cam timing, of the crank"), name, (), "deg", 1, NOTHING, after, note=note)]


def of_bore(
    bench: Workbench, feature: str, step: float, band: tuple[float, float], until: date | None
) -> list[Effect]:
    """What boring to an oversize does to the compression ratio, with pistons of the same crown."""
    engine = bench.engine
    middle = (band[0] + band[1]) / 2.0
    doubt = {DoubtSource("ordered band", feature): rectangular((band[1] - band[0]) / 2.0)}
    found: list[Effect] = []
    for name, one_ in engine.features.items():
        if one_.kind != RATIO:
            continue
        links = one_.links(KINDS[RATIO].links)
        besides = decided_else(bench, name, feature, until)
        besides = replace(besides, assumes=present(filter(None, [besides.assumes, OLD_CROWNS])))
        change = Change(bench, until, besides=besides)
        if links.get("bores") == feature:
            change.ordered[feature] = Measured(round(middle, 9), doubt)
        else:
            change.numbers["bore"] = step
        found += change.effects(name)
        hole = bench.further(one_.further.get("gasket_hole"), "mm")
        if hole is not None and hole < band[1]:
            words = "its hole of {size} is smaller than the bore would be: another gasket"
            note = Sentence(words, size=one(bench, hole))
            found.append(Effect(Sentence("Head gasket"), "", (), verdict="beyond limit", note=note))
    if not found:
        note = Sentence("not known: its volumes are not on file")
        found = [Effect(Sentence("Compression ratio"), "", (), verdict="not measured", note=note)]
    return found


def of_throw(bench: Workbench, until: date | None, off: float = 0.1) -> Text:
    """What a throw that is not held would do, for a crank that is ground: a sentence."""
    said = Sentence(
        "each {amount} that a throw is off moves its piston by as much", amount=one(bench, off, 1)
    )
    for name, one_ in bench.engine.features.items():
        links = one_.links(KINDS[RATIO].links) if one_.kind == RATIO else {}
        key = next((key for key in ("protrusion", "depth") if key in links), "")
        if not key:
            continue
        change = Change(bench, until)
        change.moved[links[key]] = off if key == "protrusion" else -off
        change.numbers["stroke"] = 2.0 * off
        effect = change.effects(name)[0]
        if effect.before[1] is not None and effect.after[1] is not None:
            words = (
                "each {amount} that a throw is off moves its piston by as much, and its compression ratio by "
                "{ratio}"
            )
            ratio = Figure(f"{effect.after[1] - effect.before[1]:.1f}")
            return Sentence(words, amount=one(bench, off, 1), ratio=ratio)
    return said
