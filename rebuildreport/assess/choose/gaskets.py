"""Every gasket on offer held against the piston's protrusion and the compression ratio that it would give.

In: the workbench.  Out: a choice for each table of gaskets of which the sheet gives two thicknesses or more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from ...quantities import (
    NOTHING,
    Figure,
    Measure,
    Sentence,
    Several,
    Text,
    Typed,
    amid,
    as_printed,
    message,
    present,
)
from ...records.files.sheet import ChoiceRule, FeatureRecord
from ...trade.kinds import KINDS, Computed
from ...trade.measuring.verdict import ORDER
from ..measure.judging import limits_for, opinion, source_text, unit_of
from ..measure.titles import feature_title, titled
from ..model.choice import Candidate, Choice, Fitness, Status
from .consequences import OLD_CROWNS, RATIO, Change, decided_else, parts_by_table
from .workbench import Workbench


def gasket_choices(bench: Workbench) -> list[Choice]:
    """One for each table of gaskets of which the sheet gives two thicknesses or more."""
    if bench.on_paper:
        return []  # a crank or rods tried on paper have no head
    made = []
    for name, table in bench.engine.choices.items():
        thick = {part: bench.mm(bench.engine.part(part).thickness) for part in table.table}
        known = {part: thickness for part, thickness in thick.items() if thickness is not None}
        if len(known) > 1:
            made.append(_Gaskets(bench, name, table, known).choice())
    return [choice for choice in made if choice is not None]


class _Ratio(Struct, frozen=True):
    """What one gasket would make of the compression ratio."""

    low: float
    high: float
    verdict: Fitness
    note: Text
    off: float  # how far the mean is from the middle of its limits


class _Decided(Struct, frozen=True):
    """The value that decides by the sheet's table, and the gaskets that it may have for it."""

    text: Text = NOTHING  # "piston protrusion of 0.62 mm at C3"; nothing where it was not read
    fits: list[str] = field(default_factory=list)  # likeliest first


class _Gaskets(Struct, frozen=True):
    bench: Workbench
    name: str
    table: ChoiceRule
    thick: Mapping[str, float]  # part: thickness pressed [mm]

    def choice(self) -> Choice | None:
        """The choice, or None where neither protrusion nor volumes were read."""
        by = self._by_protrusion()
        ratios = {part: self._ratio(thickness) for part, thickness in self.thick.items()}
        known = any(ratios.values())
        if not by.fits and not known:
            return None
        chosen, status = self._taken(by.fits, ratios)
        steps = tuple(
            self._candidate(part, ratios[part], self._fit(part, by), part == chosen)
            for part in sorted(self.thick, key=lambda part: self.thick[part])
        )
        volumes = Sentence("volumes of chambers and bowls: the compression ratio is not known without them")
        return Choice(
            name=self.name,
            kind="gasket",
            title=titled(self.name),
            status=status,
            answer=self._answer(chosen, by),
            decimals=2,
            why=self._why(by, ratios[chosen]) if chosen else NOTHING,
            steps=steps,
            impossible=() if chosen or not by.text else (self._impossible(by),),
            cost=self.bench.price(chosen) if chosen else None,
            decides=() if known else (volumes,),
            source=source_text(self.bench.engine, self.table.source),
        )

    def _printed(self, value: float, decimals: int) -> Text:
        return as_printed(Measure(value, "mm", decimals), self.bench.shop.first_unit)

    def _candidate(self, part: str, ratio: _Ratio | None, fit: Text, chosen: bool) -> Candidate:
        thickness = self.thick[part]
        if ratio is None:
            return Candidate(Typed(part), middle=thickness, note=fit, chosen=chosen, part=part)
        note = present([fit, ratio.note])
        ends = ratio.low, ratio.high
        return Candidate(Typed(part), *ends, thickness, ratio.verdict, note, chosen, part=part)

    # ------------------------------------------------------------ what is known

    def _by_protrusion(self) -> _Decided:
        by = self.table.by
        standing = [c for c in self.bench.found if c.feature == by and c.stands and c.value is not None]
        if not standing:
            return _Decided()
        top = max(standing, key=lambda c: c.value or 0.0)
        value = top.value or 0.0
        title, said = amid(feature_title(self.bench.engine, by)), self._printed(value, top.decimals)
        words = message("{what} of {value} at {position}")
        what = Sentence(words, what=title, value=said, position=top.position)
        fits = parts_by_table(self.bench, self.table, value, top.standard_uncertainty or 0.0)
        return _Decided(what, fits)

    def _ratio(self, thickness: float) -> _Ratio | None:
        """The compression ratio with a gasket; None where it cannot be worked out, or the sheet has none."""
        name, sheet = next(iter(self.bench.engine.of_kind(RATIO).items()), ("", None))
        if sheet is None:
            return None
        kind = KINDS[RATIO]
        besides = decided_else(self.bench, name, "", None, gasket=False)
        change = Change(self.bench, besides=besides)
        inputs = self.bench.workings.inputs_on(name, lambda one: self.bench.now(one) or change.before(one))
        partners = {key: read for key, read in inputs.partners.items() if key != "gasket"}
        given = {key: number + besides.numbers.get(key, 0.0) for key, number in inputs.given.items()}
        given["gasket_thickness"] = thickness
        computed = kind.compute(replace(inputs, given=given, partners=partners))
        ratios = [c for c in computed if c.name == "ratio" and c.measured is not None]
        assumes = present([besides.assumes, self._crowns(sheet, change)])
        return self._judged(sheet, ratios, assumes) if ratios else None

    def _crowns(self, sheet: FeatureRecord, change: Change) -> Text:
        """Said where the crowns of the pistons were read of those that went out."""
        for crown in sheet.links(("bowl", "depth", "protrusion")).values():
            if change.before(crown) and not self.bench.now(crown):
                return OLD_CROWNS
        return NOTHING

    def _judged(self, sheet: FeatureRecord, ratios: Sequence[Computed], assumes: Text) -> _Ratio:
        trait = KINDS[RATIO].trait("ratio")
        limits = limits_for(self.bench.engine, sheet, trait, unit_of(sheet, trait), "")
        judged = {c.position: opinion(c, trait, limits, True, self.bench.shop) for c in ratios}
        worst = min((one.verdict for one in judged.values()), key=ORDER.index)
        values = [c.measured.value for c in ratios if c.measured]
        low, high = limits.new if limits else (None, None)
        off = 0.0
        if low is not None and high is not None:
            off = abs(sum(values) / len(values) - (low + high) / 2.0)
        places = [place for place, one in judged.items() if one.verdict == worst]
        note = Sentence("{side} at {places}", side=judged[places[0]].side, places=Several(places))
        out = worst in ("beyond limit", "too close to call")
        return _Ratio(min(values), max(values), worst, present([note if out else NOTHING, assumes]), off)

    def _taken(self, fits: Sequence[str], ratios: Mapping[str, _Ratio | None]) -> tuple[str, Status]:
        """The table of the maker decides; where it leaves more than one, the ratio nearest to its middle."""
        verdicts = {part: ratio.verdict if ratio else "" for part, ratio in ratios.items()}
        off = {part: ratio.off if ratio else 0.0 for part, ratio in ratios.items()}
        good = [part for part in fits if part in self.thick and verdicts[part] != "beyond limit"]
        if not good:
            return "", "none fits" if fits else "nothing known"
        chosen = min(good, key=lambda part: off[part])  # of two that are as near the likelier one
        sure = len(fits) == 1 and verdicts[chosen] != "too close to call"
        return chosen, "chosen" if sure else "provisional"

    # ------------------------------------------------------------ in words

    def _answer(self, chosen: str, by: _Decided) -> Text:
        if chosen:
            words = message("{part}, {thickness} pressed")
            return Sentence(words, part=chosen, thickness=self._printed(self.thick[chosen], 2))
        if by.text:
            return Sentence("No gasket of the sheet serves")
        what = amid(feature_title(self.bench.engine, self.table.by))
        return Sentence("which one: decided by {what}, on the finished parts", what=what)

    def _fit(self, part: str, by: _Decided) -> Text:
        if not by.fits:
            return Sentence("protrusion not known")
        if part not in by.fits:
            return Sentence("not for {what}", what=by.text)
        words = message("for {what}" if len(by.fits) == 1 else "may serve for {what}")
        return Sentence(words, what=by.text)

    def _why(self, by: _Decided, ratio: _Ratio | None) -> Text:
        said: list[Text] = [Sentence("The sheet's table takes it for {what}.", what=by.text)]
        if len(by.fits) > 1:
            words = message(
                "{what} is too near a border of the sheet's table: {parts} may serve; read it again "
                "before it is ordered."
            )
            said = [Sentence(words, what=by.text, parts=Several(by.fits, last="and"))]
        if ratio is not None:
            low, high = Figure(f"{ratio.low:.1f}"), Figure(f"{ratio.high:.1f}")
            words = message("Compression ratio with it: between {low} and {high} to 1.")
            alike = round(ratio.low, 1) == round(ratio.high, 1)
            with_it = Sentence(words, low=low, high=high)
            said.append(Sentence("Compression ratio with it: {ratio} to 1.", ratio=low) if alike else with_it)
        return present(said, " ")

    def _impossible(self, by: _Decided) -> Text:
        if not by.fits:
            return Sentence("gasket: none of the sheet's is for {what}", what=by.text)
        words = message("gasket: with each that is for {what} the compression ratio is beyond its limit")
        return Sentence(words, what=by.text)
