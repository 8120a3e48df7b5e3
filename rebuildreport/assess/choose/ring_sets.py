"""Bores, pistons and rings as sets: which ring set in which cylinder, and what is filed off its rings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ...quantities import Sentence, Text, amid, as_typed, present
from ...records.files.sheet import FeatureRecord
from ..measure.judging import source_text
from ..measure.titles import feature_title
from ..model.assessment import Characteristic
from ..model.choice import Buy, Choice, Place, Status
from ..parts.shellsets import STANDARD, key_of, same_size
from ..telling.questions import span
from .workbench import Workbench


def ring_choices(bench: Workbench) -> list[Choice]:
    """One choice for each set of rings whose sizes the sheet tells apart, where rings are renewed."""
    if bench.on_paper:
        return []
    found = []
    for name, sheet in bench.engine.features.items():
        bores = sheet.further.get("bores", "")
        if sheet.kind == "ring_gap" and sheet.sets and bores in bench.engine.features:
            choice = _Rings(bench, name, sheet, bores).choice()
            if choice is not None:
                found.append(choice)
    return found


@dataclass
class _Rings:
    """Works out the rings of one engine, cylinder by cylinder."""

    bench: Workbench
    name: str
    sheet: FeatureRecord
    bores: str

    def choice(self) -> Choice | None:
        """The choice, or None where no ring is renewed."""
        bench = self.bench
        renewed = self._renewed()
        if not renewed:
            return None
        sizes = {position: self._size(position) for position in renewed}
        made = [self._place(position, size) for position, size in sizes.items()]
        title = feature_title(bench.engine, self.name)
        bores = amid(feature_title(bench.engine, self.bores))
        lacking = {size for size in sizes.values() if size and not self._part(self.sheet, size)}
        impossible = [
            Sentence(
                "{title}: no ring set for {size} on the sheet ({places})",
                title=title,
                size=size,
                places=span([p for p, s in sizes.items() if s == size]),
            )
            for size in sorted(lacking)
        ]
        open_ = [place.position for place in made if place.status == "provisional"]
        buys = self._buys(sizes)
        status: Status = "none fits" if impossible else "provisional" if open_ else "chosen"
        decision = bench.decision(self.name) or bench.decision(self.bores)
        if decision and status == "chosen":
            status = "decided"
        return Choice(
            name=self.name,
            kind="rings",
            title=Sentence("{title}: bores, pistons and rings as sets", title=title),
            status=status,
            answer=self._answer(sizes),
            why=Sentence(
                "Rings follow the size of the bore that they run in, cylinder by cylinder ({bores}).",
                bores=bores,
            ),
            places=tuple(made),
            buy=buys,
            cost=bench.spent(buys),
            outlay=bench.outlay(buys),
            impossible=tuple(impossible),
            decides=(
                Sentence("the size of the {what} after boring ({places})", what=bores, places=span(open_)),
            )
            if open_
            else (),
            follows=tuple(self._follows(sizes)),
            decision=decision,
            source=source_text(bench.engine, self.sheet.source),
        )

    # ------------------------------------------------------------ what is known

    def _renewed(self) -> list[str]:
        """Cylinders that get new rings: every rebuild's, decided, condemned, or with their bore."""
        bench, sheet = self.bench, self.sheet
        every = sheet.positions or []
        if set(sheet.sets.values()) & set(bench.engine.always):
            return every
        work, findings = bench.job.work, bench.job.findings
        names = {self.name, sheet.part or self.name, self.bores}
        wanted = {
            position
            for one in (work.decisions.values() if work else ())
            if one.about in names
            and (one.do == "replace" or (one.about, one.do) == (self.bores, "recondition"))
            for position in one.positions or every
        }
        wanted |= {
            position
            for one in (findings.findings.values() if findings else ())
            if one.component in names and one.disposition == "replace"
            for position in one.positions or every
        }
        wanted |= {
            c.position
            for c in bench.found
            if c.feature == self.name and c.stands and c.verdict == "beyond limit" and not self._filed(c)
        }
        return [position for position in every if position in wanted]

    def _size(self, position: str) -> str:
        """The size of a bore: as decided, else as found, else standard; '' where it cannot stay as it is."""
        bench = self.bench
        size = bench.timeline.size(self.bores, position, date.max)
        if not size and bench.decision(self.bores) == "" and self._condemned(position):
            return ""
        return key_of(size)

    def _condemned(self, position: str) -> bool:
        return any(
            c.feature == self.bores and c.position == position and c.stands and c.verdict == "beyond limit"
            for c in self.bench.found
        )

    def _part(self, sheet: FeatureRecord, size: str) -> str:
        return next((part for key, part in sheet.sets.items() if same_size(key_of(key), size)), "")

    # ------------------------------------------------------------ in words

    def _place(self, position: str, size: str) -> Place:
        if not size:
            note = Sentence("bore beyond its limit: its size after boring decides")
            return Place(position, "provisional", note=note)
        piston = self._part(self.bench.engine.features[self.bores], size) if size != STANDARD else ""
        return Place(
            position,
            "chosen",
            self._part(self.sheet, size),
            before=size,
            by_measurement=piston,
            note=present(self._filing(position)),
        )

    def _filed(self, one: Characteristic) -> bool:
        return one.filing > 0.0

    def _filing(self, position: str) -> list[str]:
        """What is to be filed off each ring of a cylinder, and what was."""
        ones = [c for c in self.bench.found if (c.feature, c.position) == (self.name, position)]
        said: list[str] = []
        for ring in dict.fromkeys(c.name for c in ones):
            mine = [c for c in ones if c.name == ring]
            told = next((c for c in mine if self._filed(c)), None)
            if told is None:
                continue
            words = Sentence("{ring} ring: {note}", ring=as_typed(ring.replace("_", " ")), note=told.note)
            said.append(words if told is mine[-1] else Sentence("{words}; since read again", words=words))
        return said

    def _answer(self, sizes: dict[str, str]) -> Text:
        groups: dict[str, list[str]] = {}
        for position, size in sizes.items():
            if size and self._part(self.sheet, size):
                groups.setdefault(size, []).append(position)
        said: list[str] = []
        for size, where in groups.items():
            many = (
                Sentence("{count} ring sets", count=len(where)) if len(where) > 1 else Sentence("1 ring set")
            )
            said.append(Sentence("{many} {size} for {places}", many=many, size=size, places=span(where)))
        return present(said) or Sentence("Nothing can be chosen yet")

    def _buys(self, sizes: dict[str, str]) -> tuple[Buy, ...]:
        """Ring sets, and pistons of the same size where the sheet lists them with the bores."""
        bores = self.bench.engine.features[self.bores]
        groups: dict[tuple[str, str], list[str]] = {}
        for position, size in sizes.items():
            if part := self._part(self.sheet, size):
                groups.setdefault((part, Sentence("rings {size}", size=Sentence(size))), []).append(position)
            piston = self._part(bores, size) if size and size != STANDARD else ""
            if piston and self.bench.timeline.decided_size(self.bores, position):
                groups.setdefault((piston, Sentence("piston {size}", size=Sentence(size))), []).append(
                    position
                )
        return tuple(
            Buy(
                part,
                what,
                1 if self._per_engine(part) else len(where),
                0,
                tuple(where),
                self.bench.pack(part),
            )
            for (part, what), where in groups.items()
        )

    def _per_engine(self, part: str) -> bool:
        sheet = self.bench.engine.parts.get(part)
        return sheet is not None and sheet.per == "engine"

    def _follows(self, sizes: dict[str, str]) -> list[str]:
        known = {size for size in sizes.values() if size}
        said: list[str] = []
        if len(known) > 1:
            counts = {size: [p for p, s in sizes.items() if s == size] for size in known}
            most = max(counts, key=lambda size: (len(counts[size]), size == STANDARD))
            odd = [p for p, size in sizes.items() if size and size != most]
            said.append(
                Sentence(
                    "{places} of another size than the rest: weigh its piston; it must stay within the set",
                    places=span(odd),
                )
            )
        said.append(Sentence("gaps are read with the rings in their own bores, finished, and filed there"))
        return said
