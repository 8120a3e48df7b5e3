"""Bores, pistons and rings as sets: which ring set in which cylinder, and what is filed off its rings.

In: the workbench.  Out: a choice for each set of rings whose sizes the sheet tells apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cached_property

from msgspec import Struct

from ...quantities import NOTHING, Figure, Sentence, Text, Typed, amid, as_typed, message, present
from ...records.files.sheet import FeatureRecord
from ...records.files.sizes import STANDARD, key_of, same_size
from ..measure.judging import source_text
from ..measure.titles import feature_title, span
from ..model.assessment import Characteristic
from ..model.choice import Buy, Choice, Place
from .workbench import Workbench, how_settled


def ring_choices(bench: Workbench) -> list[Choice]:
    """One choice for each set of rings whose sizes the sheet tells apart, where rings are renewed."""
    if bench.on_paper:
        return []
    made = []
    for name, sheet in bench.engine.of_kind("ring_gap").items():
        if sheet.sets and (bores := sheet.link("bores")):
            made.append(_Rings(bench, name, sheet, bores))
    return [rings.choice() for rings in made if rings.renewed]


class _Rings(Struct, dict=True):
    """The rings of one engine, cylinder by cylinder."""

    bench: Workbench
    name: str
    sheet: FeatureRecord
    bores: str

    def choice(self) -> Choice:
        """The choice for every cylinder that gets new rings."""
        bench = self.bench
        made = [self._place(position) for position in self.renewed]
        bores = amid(feature_title(bench.engine, self.bores))
        impossible = self._impossible()
        unsized = [place.position for place in made if place.status == "provisional"]
        decides = Sentence("the size of the {what} after boring ({places})", what=bores, places=span(unsized))
        buys = self._buys()
        status = how_settled(bool(impossible), bool(unsized))
        decision = bench.decision(self.name) or bench.decision(self.bores)
        if decision and status == "chosen":
            status = "decided"
        title = feature_title(bench.engine, self.name)
        return Choice(
            name=self.name,
            kind="rings",
            title=title,
            status=status,
            answer=self._answer(),
            why=Sentence("Rings follow the size of the bore that they run in."),
            places=tuple(made),
            buy=buys,
            lacking=tuple(place.position for place in made if not place.part),
            cost=bench.spent(buys),
            outlay=bench.outlay(buys),
            impossible=tuple(impossible),
            decides=(decides,) if unsized else (),
            follows=tuple(self._follows()),
            decision=decision,
            source=source_text(bench.engine, self.sheet.source),
        )

    # ------------------------------------------------------------ what is known

    @cached_property
    def renewed(self) -> list[str]:
        """Cylinders that get new rings: every rebuild's, decided, condemned, or with their bore."""
        bench, sheet = self.bench, self.sheet
        every = sheet.positions
        if set(sheet.sets.values()) & set(bench.engine.always):
            return every
        wanted = bench.replaced({self.name, sheet.part or self.name, self.bores}, every)
        wanted |= bench.decided_at({self.bores}, "recondition", every)
        # a gap that is only to be filed is no worn ring
        wanted |= {c.position for c in bench.beyond(self.name) if not c.filing}
        return [position for position in every if position in wanted]

    @cached_property
    def sizes(self) -> dict[str, str]:
        """The size of the bore of each as decided, else as found, else standard; '' where it cannot stay."""
        beyond = {c.position for c in self.bench.beyond(self.bores)}
        condemned = set() if self.bench.decision(self.bores) else beyond
        found = {}
        for position in self.renewed:
            size = self.bench.timeline.size(self.bores, position, date.max)
            found[position] = "" if not size and position in condemned else key_of(size)
        return found

    def _part(self, sheet: FeatureRecord, size: str) -> str:
        """The part that the sheet lists with a feature for a size, '' where it has none."""
        return next((part for key, part in sheet.sets.items() if size and same_size(key, size)), "")

    def _ring_set(self, position: str) -> str:
        return self._part(self.sheet, self.sizes[position])

    def _by_size(self, positions: Sequence[str]) -> dict[str, list[str]]:
        groups: dict[str, list[str]] = {}
        for position in positions:
            groups.setdefault(self.sizes[position], []).append(position)
        return groups

    def _buys(self) -> tuple[Buy, ...]:
        """Ring sets, and pistons of the same size where the sheet lists them with the bores."""
        found = []
        for size, places in self._by_size(self.renewed).items():
            said = _size(size)
            if rings := self._ring_set(places[0]):
                found.append(self._buy(rings, Sentence("ring set {size}", size=said), places))
            bored = [place for place in places if self.bench.timeline.decided_size(self.bores, place)]
            piston = self._part(self.bench.engine.features[self.bores], size)
            if bored and piston and size != STANDARD:  # a standard one needs no other
                found.append(self._buy(piston, Sentence("piston {size}", size=said), bored))
        return tuple(found)

    def _buy(self, part: str, what: Text, places: Sequence[str]) -> Buy:
        count = 1 if self.bench.engine.part(part).per == "engine" else len(places)
        return Buy(part, what, count, 0, tuple(places), self.bench.pack(part))

    # ------------------------------------------------------------ in words

    def _place(self, position: str) -> Place:
        size, part = self.sizes[position], self._ring_set(position)
        if not size:
            note = Sentence("bore beyond its limit: its size after boring decides")
            return Place(position, "provisional", note=note)
        return Place(
            position,
            "chosen",
            Typed(part) if part else NOTHING,
            part=part,
            size=size,
            note=present(self._filing(position)),
        )

    def _filing(self, position: str) -> list[Text]:
        """What is to be filed off each ring of a cylinder, and what was."""
        gaps: dict[str, list[Characteristic]] = {}
        for gap in self.bench.found:
            if (gap.feature, gap.position) == (self.name, position):
                gaps.setdefault(gap.name, []).append(gap)
        said: list[Text] = []
        for ring, mine in gaps.items():
            to_file = next((gap for gap in mine if gap.filing), None)
            if to_file is None:
                continue
            words = Sentence("{ring} ring: {note}", ring=as_typed(ring.replace("_", " ")), note=to_file.note)
            since = Sentence("{words}; since read again", words=words)
            said.append(words if to_file is mine[-1] else since)
        return said

    def _impossible(self) -> list[Text]:
        title = feature_title(self.bench.engine, self.name)
        words = message("{title}: no ring set for {size} on the sheet ({places})")
        groups = self._by_size([p for p in self.renewed if self.sizes[p] and not self._ring_set(p)])
        return [
            Sentence(words, title=title, size=size, places=span(places))
            for size, places in sorted(groups.items())
        ]

    def _answer(self) -> Text:
        groups = self._by_size([position for position in self.renewed if self._ring_set(position)])
        said = []
        for size, places in groups.items():
            several = Sentence("{count} ring sets", count=len(places))
            # sold for all cylinders
            whole = self.bench.engine.part(self._ring_set(places[0])).per == "engine"
            many = several if len(places) > 1 and not whole else Sentence("1 ring set")
            where = {"size": _size(size), "places": span(places)}
            said.append(Sentence("{many} {size} for {places}", many=many, **where))
        return present(said) or Sentence("Nothing can be chosen yet")

    def _follows(self) -> list[Text]:
        groups = self._by_size([position for position in self.renewed if self.sizes[position]])
        said: list[Text] = []
        if len(groups) > 1:
            most = max(groups, key=lambda size: (len(groups[size]), size == STANDARD))
            odd = [place for place in self.renewed if self.sizes[place] not in ("", most)]
            words = message(
                "{places} of another size than the rest: weigh its piston; it must stay within the set"
            )
            said.append(Sentence(words, places=span(odd)))
        said.append(Sentence("gaps are read with the rings in their own bores, finished, and filed there"))
        return said


def _size(size: str) -> Text:
    """A size with its figures, or the standard one by its word."""
    return Figure(size) if size[:1].isdigit() else Sentence(size)
