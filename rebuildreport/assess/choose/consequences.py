"""What a step or a cut does to other values, before anybody decides: with its doubt and its verdict.

In: the workbench, and what is changed on paper.  Out: effects, before and after.
Must not know: which size or cut is chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from math import cos, radians, sin

from msgspec import Struct, field
from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Figure, Sentence, Several, Text, amid, message, present
from ...records.files.sheet import ChoiceRule, FeatureRecord
from ...records.files.sizes import step_in_mm
from ...trade.engine import drives
from ...trade.kinds import KINDS, Computed, Kind
from ...trade.measuring.form import is_size, largest
from ...trade.measuring.uncertainty import DoubtSource, Measured, rectangular
from ...trade.measuring.verdict import OPEN, Ends, guard_band
from ...trade.measuring.verdict import ORDER as WORST_FIRST
from ..measure.following_moves import FACES, chambers_in
from ..measure.following_moves import RATIO as RATIO
from ..measure.judging import Opinion, limits_for, moved, opinion, unit_of
from ..measure.observations import base_unit
from ..measure.titles import feature_title, span, trait_title
from ..model.assessment import Limits
from ..model.choice import Effect
from ..parts.lookup import by_table
from .workbench import Readings, Workbench, length

OLD_CROWNS = Sentence("new pistons taken as the old ones in crown and height")


# ---------------------------------------------------------------- what is decided or in hand besides


class DecidedElse(Struct):
    """All that is decided or in hand but the question itself, as it enters one prediction."""

    ordered: dict[str, Measured] = field(default_factory=dict)  # bores: the middle of their band [mm]
    moved: dict[str, float] = field(default_factory=dict)  # feature: by how much, in its base unit
    numbers: dict[str, float] = field(default_factory=dict)  # number of the ratio: by how much
    assumes: Text = NOTHING  # in words; nothing where nothing was decided and no gasket follows


def decided_else(
    bench: Workbench, ratio: str, about: str, until: date | None, gasket: bool = True
) -> DecidedElse:
    """What the decisions about other features, and the gasket by the sheet's table, do to a ratio."""
    features, made = bench.engine.features, DecidedElse()
    links = features[ratio].links(KINDS[RATIO].links)
    used: list[str] = []  # decisions that are in it
    unknown: list[str] = []  # skims of which it cannot be said
    for name, decision in bench.job.decisions.items():
        sheet, step = features.get(decision.about), step_in_mm(decision.size)
        if decision.do != "recondition" or sheet is None:
            continue
        if about and about in (decision.about, sheet.height):
            continue
        if sheet.kind == "bore" and sheet.oversizes and step:
            _bored(bench, links, decision.about, step, made)
            used.append(name)
        elif sheet.kind in FACES and decision.remove is not None:
            known = _cut(bench, links.get("chamber", ""), sheet, decision.remove.to("mm"), made)
            (used if known else unknown).append(name)
    pressed = features[ratio].given("gasket_thickness", "mm")
    fits = _gasket_by_table(bench, links, until) if gasket and pressed is not None else None
    if fits and pressed is not None:
        made.numbers["gasket_thickness"] = fits[1] - pressed
    made.assumes = _assumed(fits[0] if fits else "", used, unknown)
    return made


def _assumed(part: str, used: Sequence[str], unknown: Sequence[str]) -> Text:
    """What is taken for granted: a gasket, decisions that are in it, skims that are not."""
    words = message("without the skim of {decisions}: what it takes from a chamber is not on file")
    return present(
        [
            Sentence("with gasket {part}", part=part) if part else NOTHING,
            Sentence("with what {decisions} decides", decisions=Several(used)) if used else NOTHING,
            Sentence(words, decisions=Several(unknown)) if unknown else NOTHING,
        ]
    )


def _bored(bench: Workbench, links: Mapping[str, str], bores: str, step: float, made: DecidedElse) -> None:
    """Bores that are made larger by a step [mm]."""
    sheet = bench.engine.features[bores]
    low, high = bench.ends(sheet.new.get("size"), sheet)
    if links.get("bores") == bores and low is not None and high is not None:
        made.ordered[bores] = band_ordered(bores, (low + step, high + step))
    elif "bores" not in links:
        made.numbers["bore"] = step


def _cut(bench: Workbench, chamber: str, face: FeatureRecord, taken: float, made: DecidedElse) -> bool:
    """A face that is skimmed [mm]; False where what it takes from a chamber is not on file."""
    per_mm = face.given("chamber_per_mm", "cm³")
    made.moved |= moved_by_cut(face, taken)
    if per_mm is None:
        return not chamber or bench.engine.features[chamber].part != face.part
    if chamber:
        made.moved[chamber] = made.moved.get(chamber, 0.0) - per_mm * taken
    else:
        made.numbers["chamber_volume"] = -per_mm * taken
    return True


def _gasket_by_table(bench: Workbench, links: dict[str, str], until: date | None) -> tuple[str, float] | None:
    """The one gasket that the table has for the height as it was read, and its thickness pressed [mm]."""
    for table in bench.engine.choices.values():
        sheet = bench.engine.features.get(table.by)
        if sheet is None or table.by not in links.values():
            continue
        readings = bench.now(table.by) or bench.as_found(table.by, until)
        inputs = bench.workings.inputs_on(table.by, lambda _, read=readings: read)  # type: ignore[misc]
        heights = [c.measured for c in KINDS[sheet.kind].compute(inputs) if c.measured]
        highest = largest(heights) if heights else None
        fits = parts_by_table(bench, table, highest.value, highest.u) if highest else []
        part = bench.engine.parts.get(fits[0]) if len(fits) == 1 else None
        thickness = bench.mm(part.thickness) if part else None
        if thickness is not None:
            return fits[0], thickness
    return None


def parts_by_table(bench: Workbench, table: ChoiceRule, value: float, u: float) -> list[str]:
    """The parts that a table of the sheet may have for a value of this uncertainty, likeliest first."""
    sheet = bench.engine.features.get(table.by)
    unit = table.unit or (sheet.unit if sheet else None) or "mm"
    guard = guard_band(u, bench.guarded)
    return by_table(table, value, guard, base_unit(unit), unit)


def band_ordered(feature: str, band: tuple[float, float]) -> Measured:
    """A size that is known only by the band that it is ordered to: anywhere in it [mm]."""
    low, high = band
    doubt = {DoubtSource("ordered band", feature): rectangular((high - low) / 2.0)}
    return Measured(round((low + high) / 2.0, 9), doubt)


def moved_by_cut(face: FeatureRecord, taken: float) -> dict[str, float]:
    """What is measured from a face, and by how much a cut of so much moves it [mm]."""
    return dict.fromkeys(face.raises, taken) | dict.fromkeys(face.lowers, -taken)


# ---------------------------------------------------------------- before and after


class Change(Struct):
    """What is changed on paper: readings moved, numbers of the sheet moved, sizes that are ordered."""

    bench: Workbench
    until: date | None = None  # only what was read up to this day is known
    moved: dict[str, float] = field(default_factory=dict)  # feature: by how much, in its base unit
    ordered: dict[str, Measured] = field(default_factory=dict)  # feature: what every place of it becomes
    places: dict[str, str] = field(default_factory=dict)  # feature: the only place of it that is touched
    numbers: dict[str, float] = field(default_factory=dict)  # number of the compression ratio: by how much
    besides: DecidedElse = field(default_factory=DecidedElse)  # what is in hand besides, before and after

    def before(self, feature: str) -> Readings:
        """The readings of a feature that the decision can rest on."""
        if feature in self.besides.ordered:
            return self._finished(feature, self.besides.ordered[feature])
        read = _shifted(self.bench.as_found(feature, self.until), self.besides.moved.get(feature, 0.0))
        place = self.places.get(feature)
        return {position: read[position] for position in read if position == place} if place else read

    def after(self, feature: str) -> Readings:
        """The same as the change leaves them."""
        if feature in self.ordered:
            return self._finished(feature, self.ordered[feature])
        return _shifted(self.before(feature), self.moved.get(feature, 0.0))

    def _finished(self, feature: str, size: Measured) -> Readings:
        sheet = self.bench.engine.features[feature]
        columns = list(filter(is_size, sheet.columns)) or ["finished"]
        return {position: dict.fromkeys(columns, size) for position in sheet.positions}

    def effects(self, feature: str) -> list[Effect]:
        """What becomes of one feature's characteristics; of those that the change leaves alone, none."""
        sheet = self.bench.engine.features[feature]
        kind = KINDS[sheet.kind]
        rests_on = [feature, *sheet.links(kind.links).values()]
        if not any(self.before(name) for name in rests_on):
            return [self._unread(feature, rests_on)]
        then, now = (self._worked_out(feature, kind, readings) for readings in (self.before, self.after))
        if not now:
            return [self._unread(feature, rests_on)]
        found = []
        names = dict.fromkeys(computed.name for computed in now)
        for name in names:
            old = {computed.position: computed for computed in then if computed.name == name}
            new = {computed.position: computed for computed in now if computed.name == name}
            optional = name in kind.traits and kind.traits[name].optional
            if _changed(old, new) and not optional:
                found.append(self._effect(feature, self._title(feature, name, len(names) == 1), old, new))
        return found

    def _title(self, feature: str, name: str, alone: bool) -> Text:
        trait = KINDS[self.bench.engine.features[feature].kind].trait(name)
        if alone or not trait.title or trait.short == "":
            return feature_title(self.bench.engine, feature)
        return trait_title(self.bench.engine, feature, name)

    def _unread(self, feature: str, rests_on: list[str]) -> Effect:
        """A value that cannot be foretold, with what nobody has read."""
        engine = self.bench.engine
        title = feature_title(engine, feature)
        what = [
            amid(feature_title(engine, name))
            for name in rests_on[1:]
            if KINDS[engine.features[name].kind].needs_columns and not self.before(name)
        ]
        words = message("not known: {what} not measured" if what else "not known: not measured")
        if self.until is not None:
            words = message("not known: not measured before it was decided")
            if what:
                words = message("not known: {what} not measured before it was decided")
        return _not_known(Sentence(words, what=Several(what, last=message("and"))), title, feature)

    def _worked_out(self, feature: str, kind: Kind, readings: Callable[[str], Readings]) -> list[Computed]:
        """What the readings come to; what comes twice for a place stands once, as the last."""
        inputs = self.bench.workings.inputs_on(feature, readings)
        if kind.name == RATIO:
            numbers = dict(inputs.given)
            for changes in (self.besides.numbers, self.numbers if readings == self.after else {}):
                for key in numbers.keys() & changes:
                    numbers[key] += changes[key]
            inputs = replace(inputs, given=numbers)
        computed = [c for c in kind.compute(inputs) if c.measured is not None]
        return list({(c.name, c.position): c for c in computed}.values())

    def _effect(
        self, feature: str, what: Text, old: Mapping[str, Computed], new: Mapping[str, Computed]
    ) -> Effect:
        sheet = self.bench.engine.features[feature]
        trait = KINDS[sheet.kind].trait(next(iter(new.values())).name)
        unit = unit_of(sheet, trait)
        limits = limits_for(self.bench.engine, sheet, trait, unit, "")
        said = {
            position: opinion(computed, trait, limits, True, self.bench.shop)
            for position, computed in new.items()
        }
        worst = min((judged.verdict for judged in said.values()), key=WORST_FIRST.index)
        values = [computed.measured for computed in new.values() if computed.measured]
        u = max(value.u for value in values)
        notes = [
            _worst_places(said, worst),
            self._not_read(sheet, list(new)),
            self._parts_then(feature, largest(values)),
            self.besides.assumes,
        ]
        return Effect(
            what,
            feature,
            tuple(new),
            unit,
            _decimals(u, limits),
            _ends(computed for position in new if (computed := old.get(position))),
            _ends(new.values()),
            u,
            guard_band(u) if self.bench.guarded else None,
            next(iter(said.values())).decides,
            worst if limits is not None else "",
            present(notes),
        )

    def _not_read(self, sheet: FeatureRecord, known: Sequence[str]) -> Text:
        """Places of which nothing can be said; of what lies between places (C1-C2) none is missed."""
        every = sheet.positions
        unread = [position for position in every if position not in known]
        by_place = known and {*known} <= {*every}
        return Sentence("{places} not measured", places=span(unread)) if unread and by_place else NOTHING

    def _parts_then(self, feature: str, top: Measured) -> Text:
        """The part that the sheet chooses by this value, as it would be then."""
        said = []
        for name, table in self.bench.engine.choices.items():
            if table.by == feature:
                fits = parts_by_table(self.bench, table, top.value, top.u)
                words = message("{what}: {parts}" if fits else "{what}: none of the sheet's fits then")
                what = name.replace("_", " ")
                said.append(Sentence(words, what=what, parts=Several(fits, last="or")))
        return present(said)


def _shifted(readings: Readings, by: float) -> Readings:
    return {
        position: {column: value.shifted(by) for column, value in columns.items()}
        for position, columns in readings.items()
    }


def _worst_places(said: Mapping[str, Opinion], worst: str) -> Text:
    """On which side, and where, a value is beyond its limit or too near to call."""
    if worst not in ("beyond limit", "too close to call"):
        return NOTHING
    places = [position for position, judged in said.items() if judged.verdict == worst]
    side = next((said[position].side for position in places if said[position].side), NOTHING)
    if len(places) == len(said) > 1:
        return side
    return Sentence("{side} at {places}", side=side, places=span(places))


def _changed(old: Mapping[str, Computed], new: Mapping[str, Computed]) -> bool:
    for position, computed in new.items():
        was = old[position].measured if position in old else None
        if was is None or computed.measured is None or abs(was.value - computed.measured.value) > 1e-9:
            return True
    return False


def _ends(computed: Iterable[Computed]) -> Ends:
    values = [c.measured.value for c in computed if c.measured]
    return moved((min(values), max(values))) if values else OPEN


def _decimals(u: float, limits: Limits | None) -> int:
    """As many as the limits have; where there are none, as many as the doubt leaves, and three at most."""
    if limits is not None:
        return min(limits.decimals, 3)
    return min(quantities.place_of(u), 3) if u else 3


def _not_known(note: Text, what: Text, feature: str = "") -> Effect:
    return Effect(what, feature, (), verdict="not measured", note=note)


# ---------------------------------------------------------------- a cut, a bore, a throw


def of_cut(bench: Workbench, face: str, taken: float, until: date | None) -> list[Effect]:
    """All that a cut of so much off a face moves: what the sheet says is measured from it, ratio, timing."""
    sheet = bench.engine.features[face]
    change = Change(bench, until)
    if sheet.height:
        change.moved[sheet.height] = -taken
    change.moved |= moved_by_cut(sheet, taken)
    per_mm = sheet.given("chamber_per_mm", "cm³")
    if per_mm is not None and sheet.part:
        # what a ratio is worked out by is told with that
        told = {one.links(KINDS[RATIO].links).get("chamber") for one in bench.engine.of_kind(RATIO).values()}
        chambers = {*chambers_in(bench.engine, sheet.part)} - told
        change.moved |= dict.fromkeys(sorted(chambers), -per_mm * taken)
    found = [effect for feature in change.moved for effect in change.effects(feature)]
    found += [*_ratios_of_cut(change, face, taken), *_timing(bench, sheet, taken, until)]
    return [*found, _intake_faces(bench, face, taken)] if bench.engine.layout.rows == "v" else found


def _ratios_of_cut(change: Change, face: str, taken: float) -> list[Effect]:
    """The compression ratio, where the cut takes from the chamber or lifts the piston; what is not known."""
    bench = change.bench
    per_mm = bench.engine.features[face].given("chamber_per_mm", "cm³")
    found = []
    for name, sheet in bench.engine.of_kind(RATIO).items():
        links = sheet.links(KINDS[RATIO].links)
        has_chamber = "chamber" in links or "chamber_volume" in sheet.further
        if per_mm is not None and "chamber" in links:
            change.moved[links["chamber"]] = -per_mm * taken
        elif per_mm is not None and has_chamber:
            change.numbers["chamber_volume"] = -per_mm * taken
        title = feature_title(bench.engine, name)
        if set(links.values()) & set(change.moved) or change.numbers:
            change.besides = decided_else(bench, name, face, change.until)
            found += change.effects(name)
            change.besides = DecidedElse()
        elif has_chamber:
            note = Sentence("not known: what a cut takes from a chamber is not on file")
            found.append(_not_known(note, title, name))
        else:
            found.append(Effect(title, name, (), note=Sentence("stays: there is no chamber in this face")))
    return found or [_no_volumes()]


def _no_volumes() -> Effect:
    note = Sentence("not known: its volumes are not on file")
    return _not_known(note, Sentence("Compression ratio"))


def _timing(bench: Workbench, sheet: FeatureRecord, taken: float, until: date | None) -> list[Effect]:
    """What the cut does to a chain's timing, or to the backlash of gears, whose centres it brings nearer."""
    what = Sentence("Timing")
    name, position = sheet.drives
    drive = bench.engine.features.get(name)
    if not sheet.drive:
        note = Sentence("not known: whether a chain or gears run across this face is not on file")
        return [_not_known(note, what)]
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
        return [_not_known(note, Sentence("{feature}, timing", feature=title), name)]
    late = drives.cam_lag(Measured(taken), numbers["pitch"], numbers["cam_teeth"])
    note = Sentence("so much later than now; set right at the sprockets")
    after = (round(late.value, 9), round(late.value, 9))
    return [Effect(Sentence("Cam timing, of the crank"), name, (), "deg", 1, OPEN, after, note=note)]


def _intake_faces(bench: Workbench, face: str, taken: float) -> Effect:
    """Where a manifold lies between the heads of a V, a cut moves the ports of one of them against it.

    The head slides along its cylinders, which lean by half of the angle between the rows: so much down,
    so much inwards.  What then has to come off an intake face depends on how it lies, which no sheet says.

    Source: plane trigonometry; that the faces are to be matched is common practice.
    """
    engine, sheet = bench.engine, bench.engine.features[face]
    others = []
    for name, other in engine.of_kind(*FACES).items():
        if name == face or (other.height and other.height == sheet.height):
            continue
        for decision in bench.job.decisions.values():
            if decision.about in (name, other.height) and decision.remove:
                title, off = feature_title(engine, name), Figure(decision.remove)
                others.append(Sentence("{face} by {amount}", face=title, amount=off))
    besides = Sentence("no other head or deck is decided to be cut")
    if others:
        besides = Sentence("besides are cut: {others}", others=Several(others, last=message("and")))
    ask = Sentence("match the intake faces on both sides before the manifold goes on")
    what = Sentence("Intake ports, inwards")
    angle = engine.motion.bank_angle if engine.motion else None
    if angle is None:
        moves = Sentence(
            "out of line with the manifold by this cut; the angle that tells how far is not on file"
        )
        return Effect(what, "", (), note=present([moves, besides, ask]))
    lean = radians(angle.to("deg") / 2.0)
    inwards = round(taken * sin(lean), 9)
    moves = Sentence("and down by {down}", down=length(bench, taken * cos(lean), 2))
    return Effect(what, "", (), "mm", 2, after=(inwards, inwards), note=present([moves, besides, ask]))


def of_bore(
    bench: Workbench, feature: str, step: float, band: tuple[float, float], until: date | None
) -> list[Effect]:
    """What boring to an oversize does to the compression ratio, with pistons of the same crown."""
    found: list[Effect] = []
    for name, sheet in bench.engine.of_kind(RATIO).items():
        besides = decided_else(bench, name, feature, until)
        besides = replace(besides, assumes=present([besides.assumes, OLD_CROWNS]))
        change = Change(bench, until, besides=besides)
        if sheet.links(KINDS[RATIO].links).get("bores") == feature:
            change.ordered[feature] = band_ordered(feature, band)
        else:
            change.numbers["bore"] = step
        found += change.effects(name)
        hole = sheet.given("gasket_hole", "mm")
        if hole is not None and hole < band[1]:
            words = message("its hole of {size} is smaller than the bore would be: another gasket")
            note = Sentence(words, size=length(bench, hole))
            found.append(Effect(Sentence("Head gasket"), "", (), verdict="beyond limit", note=note))
    return found or [_no_volumes()]


def of_throw(bench: Workbench, until: date | None) -> Text:
    """What a throw that is not held would do, for a crank that is ground: a sentence."""
    metric = bench.shop.first_unit == "mm"
    # mm: an amount to tell it by, as grinders do; 0.005 in where inches come first
    off = 0.1 if metric else 0.127
    amount = length(bench, off, 1 if metric else 2)
    for name, sheet in bench.engine.of_kind(RATIO).items():
        links = sheet.links(KINDS[RATIO].links)
        key = next((key for key in ("protrusion", "depth") if key in links), "")
        if not key:
            continue
        change = Change(bench, until)
        change.moved[links[key]] = off if key == "protrusion" else -off
        change.numbers["stroke"] = 2.0 * off
        effect = change.effects(name)[0]
        if effect.before[1] is not None and effect.after[1] is not None:
            words = message(
                "each {amount} that a throw is off moves its piston by as much, and its compression ratio by "
                "{ratio}"
            )
            ratio = Figure(f"{effect.after[1] - effect.before[1]:.1f}")
            return Sentence(words, amount=amount, ratio=ratio)
    return Sentence("each {amount} that a throw is off moves its piston by as much", amount=amount)
