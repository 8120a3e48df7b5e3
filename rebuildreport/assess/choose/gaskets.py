"""Every gasket on offer held against the piston's protrusion and the compression ratio that it would give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...quantities import Figure, Measure, Sentence, Several, Text, amid, as_printed, present
from ...records.files.sheet import ChoiceRule as Table
from ...records.files.sheet import FeatureRecord
from ...trade.kinds import KINDS, Computed
from ...trade.measuring.verdict import GUARD_FACTOR, ORDER
from ..measure.judging import limits_for, opinion, source_text, unit_of
from ..measure.observations import base_unit
from ..measure.titles import feature_title
from ..model.choice import Candidate, Choice, Status
from ..parts.lookup import by_table
from .consequences import Change
from .decided_else import OLD_CROWNS, decided_else
from .workbench import Workbench

RATIO = "compression_ratio"


def gasket_choices(bench: Workbench) -> list[Choice]:
    """One for each table of gaskets of which the sheet gives two thicknesses or more."""
    if bench.on_paper:
        return []  # a crank or rods tried on paper have no head
    found = []
    for name, table in bench.engine.choices.items():
        thick = {
            part: thickness
            for part in table.table
            if (sheet := bench.engine.parts.get(part))
            and (thickness := bench.mm(sheet.thickness)) is not None
        }
        if len(thick) > 1:
            found.append(_Gaskets(bench, name, table, thick).choice())
    return [choice for choice in found if choice is not None]


@dataclass(frozen=True)
class _Ratio:
    """What one gasket would make of the compression ratio."""

    low: float
    high: float
    verdict: str
    note: Text
    off: float  # how far the mean is from the middle of its limits


@dataclass(frozen=True)
class _Gaskets:
    bench: Workbench
    name: str
    table: Table
    thick: dict[str, float]  # part: thickness pressed [mm]

    def choice(self) -> Choice | None:
        """The choice, or None where neither protrusion nor volumes were read."""
        fits, what = self._by_protrusion()
        ratios = {part: self._ratio(thickness) for part, thickness in self.thick.items()}
        if not fits and not any(ratios.values()):
            return None
        chosen, status = self._taken(fits, ratios)
        steps = tuple(
            self._candidate(part, thickness, ratios[part], self._fit(part, fits, what), part == chosen)
            for part, thickness in sorted(self.thick.items(), key=lambda pair: pair[1])
        )
        price = self.bench.price(chosen) if chosen else None
        known = self.table.by in self.bench.engine.features
        by = amid(feature_title(self.bench.engine, self.table.by)) if known else self.table.by
        return Choice(
            name=self.name,
            kind="gasket",
            title=self.name.replace("_", " ").capitalize(),
            status=status,
            answer=Sentence(
                "{part}, {thickness} pressed", part=chosen, thickness=self._printed(self.thick[chosen], 2)
            )
            if chosen
            else Sentence("No gasket of the sheet serves")
            if what
            else Sentence("which one: decided by {what}, on the finished parts", what=by),
            decimals=2,
            why=self._why(chosen, fits, what, ratios),
            steps=steps,
            impossible=() if chosen or not what else (self._impossible(fits, what),),
            cost=price,
            decides=()
            if any(ratios.values())
            else (
                Sentence("volumes of chambers and bowls: the compression ratio is not known without them"),
            ),
            source=source_text(self.bench.engine, self.table.source),
        )

    def _printed(self, value: float, decimals: int) -> Text:
        return as_printed(Measure(value, "mm", decimals), self.bench.shop.first_unit)

    def _candidate(
        self, part: str, thickness: float, ratio: _Ratio | None, fit: Text, chosen: bool
    ) -> Candidate:
        if ratio is None:
            return Candidate(part, middle=thickness, note=fit, chosen=chosen)
        note = present([fit, ratio.note])
        return Candidate(part, ratio.low, ratio.high, thickness, ratio.verdict, note, chosen)

    # ------------------------------------------------------------ what is known

    def _by_protrusion(self) -> tuple[list[Text], Text]:
        """The gaskets that the sheet's table allows, likeliest first, and the value that decides."""
        sheet = self.bench.engine.features.get(self.table.by)
        standing = [
            c for c in self.bench.found if c.feature == self.table.by and c.stands and c.value is not None
        ]
        if sheet is None or not standing:
            return [], ""
        top = max(standing, key=lambda c: c.value or 0.0)
        unit = self.table.unit or sheet.unit or "mm"
        guard = GUARD_FACTOR * (top.standard_uncertainty or 0.0) if self.bench.guarded else 0.0
        value = self._printed(top.value or 0.0, top.decimals)
        what = Sentence(
            "{what} of {value} at {position}",
            what=amid(feature_title(self.bench.engine, self.table.by)),
            value=value,
            position=top.position,
        )
        return by_table(self.table, top.value or 0.0, guard, base_unit(unit), unit), what

    def _ratio(self, thickness: float) -> _Ratio | None:
        """The compression ratio with a gasket; None where it cannot be worked out, or the sheet has none."""
        name = next((n for n, f in self.bench.engine.features.items() if f.kind == RATIO), "")
        if not name:
            return None
        sheet = self.bench.engine.features[name]
        besides = decided_else(self.bench, name, "", None, gasket=False)
        plan = Change(self.bench, besides=besides)
        inputs = self.bench.workings.inputs_on(name, lambda one: self.bench.now(one) or plan.before(one))
        partners = {key: read for key, read in inputs.partners.items() if key != "gasket"}
        given = {key: number + besides.numbers.get(key, 0.0) for key, number in inputs.given.items()}
        given["gasket_thickness"] = thickness
        kind = KINDS[RATIO]
        made = [
            c
            for c in kind.compute(replace(inputs, given=given, partners=partners))
            if c.name == "ratio" and c.measured is not None
        ]
        links = sheet.links(kind.links)
        crowns = [links[key] for key in ("bowl", "depth", "protrusion") if key in links]
        old = any(plan.before(one) and not self.bench.now(one) for one in crowns)
        assumes = present(filter(None, [besides.assumes, OLD_CROWNS if old else ""]))
        return self._judged(sheet, made, assumes) if made else None

    def _judged(self, sheet: FeatureRecord, made: Sequence[Computed], assumes: Text) -> _Ratio:
        trait = KINDS[RATIO].trait("ratio")
        limits = limits_for(self.bench.engine, sheet, trait, unit_of(sheet, trait), "")
        said = {c.position: opinion(c, trait, limits, True, self.bench.shop) for c in made}
        worst = min((one.verdict for one in said.values()), key=ORDER.index)
        values = [c.measured.value for c in made if c.measured]
        low, high = limits.new if limits else (None, None)
        middle = (low + high) / 2.0 if low is not None and high is not None else None
        off = abs(sum(values) / len(values) - middle) if middle is not None else 0.0
        note: str = ""
        if worst in ("beyond limit", "too close to call"):
            places = [place for place, one in said.items() if one.verdict == worst]
            side = said[places[0]].side
            note = Sentence("{side} at {places}", side=side, places=Several(places))
        return _Ratio(min(values), max(values), worst, present(filter(None, [note, assumes])), off)

    def _taken(self, fits: list[Text], ratios: dict[str, _Ratio | None]) -> tuple[Text, Status]:
        """The table of the maker decides; where it leaves more than one, the ratio nearest to its middle."""
        verdicts = {part: one.verdict if one else "" for part, one in ratios.items()}
        off = {part: one.off if one else 0.0 for part, one in ratios.items()}
        good = [part for part in fits if part in self.thick and verdicts[part] != "beyond limit"]
        if not good:
            return "", "none fits" if fits else "nothing known"
        chosen = min(good, key=lambda part: (off[part], good.index(part)))
        sure = len(fits) == 1 and verdicts[chosen] != "too close to call"
        return chosen, "chosen" if sure else "provisional"

    # ------------------------------------------------------------ in words

    def _fit(self, part: str, fits: list[Text], what: Text) -> Text:
        if not fits:
            return Sentence("protrusion not known")
        if part not in fits:
            return Sentence("not for {what}", what=what)
        return (
            Sentence("for {what}", what=what)
            if len(fits) == 1
            else Sentence("may serve for {what}", what=what)
        )

    def _why(self, chosen: Text, fits: list[Text], what: Text, ratios: dict[str, _Ratio | None]) -> Text:
        if not chosen:
            return ""
        said: list[str] = [Sentence("The sheet's table takes it for {what}.", what=what)]
        if len(fits) > 1:
            said = [
                Sentence(
                    "{what} is too near a border of the sheet's table: {parts} may serve; read it again "
                    "before it is ordered.",
                    what=what,
                    parts=Several(fits, last="and"),
                )
            ]
        one = ratios[chosen]
        if one is not None:
            low, high = Figure(f"{one.low:.1f}"), Figure(f"{one.high:.1f}")
            said.append(
                Sentence("Compression ratio with it: {ratio} to 1.", ratio=low)
                if str(low) == str(high)
                else Sentence("Compression ratio with it: between {low} and {high} to 1.", low=low, high=high)
            )
        return present(said, " ")

    def _impossible(self, fits: list[Text], what: Text) -> Text:
        if not fits:
            return Sentence(
                "gasket: none of the sheet's is for {what}", what=what or Sentence("what was read")
            )
        return Sentence(
            "gasket: with each that is for {what} the compression ratio is beyond its limit", what=what
        )
