"""How much to skim off a face: the least that cleans it up, what the part allows, and what follows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ... import quantities
from ...quantities import Sentence, Text, present
from ...records.files.sheet import FeatureRecord
from ...trade.choosing import skims
from ...trade.kinds import KINDS
from ...trade.measuring.form import largest, smallest
from ...trade.measuring.uncertainty import Measured
from ..measure.judging import source_text
from ..measure.titles import feature_title
from ..model.choice import Candidate, Choice, Status
from ..telling.questions import span
from .consequences import of_cut
from .workbench import Workbench, at_least, at_most, both, one

FACES = ("straightedge", "flatness_grid")
# whether the worst line has a name, and whether something is taken off to clean it up
HOLLOW = {
    (False, False): "It is hollow by {gap}; with what the reading may be off, {least} is the least that "
    "surely takes it all.",
    (True, False): "It is hollow by {gap} ({place}); with what the reading may be off, {least} is the least "
    "that surely takes it all.",
    (False, True): "It is hollow by {gap}; with what the reading may be off and {allowance} to clean it up, "
    "{least} is the least that surely takes it all.",
    (True, True): "It is hollow by {gap} ({place}); with what the reading may be off and {allowance} to "
    "clean it up, {least} is the least that surely takes it all.",
}
CLEANS = {"yes": "cleans up", "no": "leaves part of it", "too close": "too close to call"}


def skim_choices(bench: Workbench) -> list[Choice]:
    """One choice for each face that is beyond its limit, or that somebody decided to skim."""
    if bench.on_paper:
        return []
    found = []
    for name, sheet in bench.engine.features.items():
        if sheet.kind in FACES and (choice := _Skim(bench, name, sheet).choice()) is not None:
            found.append(choice)
    return found


@dataclass
class _Skim:
    """Works out one face."""

    bench: Workbench
    name: str
    sheet: FeatureRecord

    def choice(self) -> Choice | None:
        """The choice, or None where nobody asks for one."""
        bench = self.bench
        decision, taken, until = self._decided()
        # a face that was read again since, and is flat now, wants nothing
        wanted = any(c.feature == self.name and c.verdict == "beyond limit" and c.stands for c in bench.found)
        if not (wanted or decision) or bench.decision(self.name, do=("replace",)):
            return None
        gap, where, unread = self._gap(until)
        height, least_height = self._height(until)
        allowance = bench.mm(self.sheet.cleanup_stock, self.sheet) or 0.0
        step = skims.CUT_STEP if bench.shop.first_unit == "mm" else quantities.convert(0.0005, "in", "mm")
        least = skims.least_cut(gap, allowance, bench.guarded, step) if gap else None
        most = (
            skims.most_cut(height, least_height, bench.guarded, step)
            if height is not None and least_height is not None
            else None
        )
        sizes = sorted({round(size, 6) for size in (least, taken, most) if size})
        tried = {size: skims.cut(size, gap, allowance, height, least_height, bench.guarded) for size in sizes}
        asked = taken if taken is not None else least
        if asked is None:
            return None
        barred = least is not None and most is not None and least > most + 1e-9
        decides = [Sentence("{places} not read: may ask for more", places=span(unread))] if unread else []
        if self.sheet.height and height is None:
            title = feature_title(bench.engine, self.sheet.height)
            decides.append(Sentence("{title} not measured: how much may come off is not known", title=title))
        status: Status = "none fits" if barred else "provisional" if decides else "chosen"
        if taken is not None:
            status = "decided" if least is None or taken >= least - 1e-9 else "decided otherwise"
        return Choice(
            name=self.name,
            kind="skim",
            title=feature_title(bench.engine, self.name),
            status=status,
            answer=self._answer(asked, barred),
            why=self._why(gap, where, allowance, least, height, least_height),
            alternative=self._alternative(least, most, taken),
            steps=tuple(self._candidate(size, cut, asked, most) for size, cut in tried.items()),
            impossible=(
                Sentence(
                    "{name}: {least} would have to come off, and {most} may: another part",
                    name=feature_title(bench.engine, self.name),
                    least=at_least(bench, least or 0.0),
                    most=at_most(bench, most or 0.0),
                ),
            )
            if barred
            else (),
            decides=tuple(decides),
            effects=tuple(of_cut(bench, self.name, asked, until)),
            work=bench.work_on(self.sheet.part, decision, self.name) if decision else (),
            decision=decision,
            source=source_text(bench.engine, self.sheet.source),
        )

    def _decided(self) -> tuple[str, float | None, date | None]:
        """The decision about the face or the height under it, what it takes off, and its day."""
        work = self.bench.job.work
        found: tuple[str, float | None, date | None] = ("", None, None)
        for about in (self.name, self.sheet.height or ""):
            name = self.bench.decision(about, do=("recondition",)) if about else ""
            if not name or work is None:
                continue
            decision = work.decisions[name]
            if decision.remove is not None:
                return name, round(decision.remove.to("mm"), 9), decision.date
            found = found if found[0] else (name, None, decision.date)
        return found

    def _gap(self, until: date | None) -> tuple[Measured | None, str, list[str]]:
        """The worst gap as it came, where it lies, and lines that nobody read."""
        readings = self.bench.as_found(self.name, until)
        unread = [p for p in self.sheet.positions or [] if p not in readings] if readings else []
        inputs = self.bench.workings.inputs_on(self.name, lambda _: readings)
        found = [(c.measured, c.position) for c in KINDS[self.sheet.kind].compute(inputs) if c.measured]
        if not found:
            return None, "", unread
        worst = largest([measured for measured, _ in found])
        return worst, next(position for measured, position in found if measured is worst), unread

    def _height(self, until: date | None) -> tuple[Measured | None, float | None]:
        """The height of the part where it is least, and the least that it may have."""
        name = self.sheet.height or ""
        sheet = self.bench.engine.features.get(name)
        if sheet is None:
            return None, None
        values = [v for columns in self.bench.as_found(name, until).values() for v in columns.values()]
        lows = [
            low
            for limits in (sheet.wear, sheet.new)
            for low in (self.bench.ends(limit, sheet)[0] for limit in limits.values())
            if low is not None
        ]
        return (smallest(values) if values else None), (lows[0] if lows else None)

    # ------------------------------------------------------------ in words

    def _answer(self, asked: float, barred: bool) -> Text:
        if barred:
            return Sentence("No skim cleans it up and leaves enough: another part")
        return Sentence("{asked} off the face", asked=at_least(self.bench, asked))

    def _why(
        self,
        gap: Measured | None,
        where: str,
        allowance: float,
        least: float | None,
        height: Measured | None,
        least_height: float | None,
    ) -> Text:
        bench = self.bench
        said: list[str] = []
        if gap is not None and least is not None:
            said.append(
                Sentence(
                    HOLLOW[where != "face", bool(allowance)],
                    gap=both(bench, gap.value, 2),
                    place=Sentence(where.replace("_", " ")),
                    allowance=one(bench, allowance, 2),
                    least=at_least(bench, least),
                )
            )
        if height is not None and least_height is not None:
            said.append(
                Sentence(
                    "{value} of height is there, and {least_height} must stay.",
                    value=one(bench, height.value, 2),
                    least_height=at_least(bench, least_height),
                )
            )
        return present(said, " ")

    def _alternative(self, least: float | None, most: float | None, taken: float | None) -> Text:
        said: list[str] = []
        if least is not None and taken is not None and abs(taken - least) > 1e-9:
            said.append(
                Sentence("{least} would have cleaned it up", least=at_least(self.bench, least))
                if taken > least
                else ""
            )
        if most is not None and (least is None or most >= least):
            said.append(
                Sentence(
                    "{most} is the most that may come off; what is not taken now is left for another time",
                    most=at_most(self.bench, most),
                )
            )
        return present(filter(None, said))

    def _candidate(self, size: float, cut: skims.Cut, asked: float, most: float | None) -> Candidate:
        note = (
            Sentence("the most that the part allows") if most is not None and abs(size - most) < 1e-6 else ""
        )
        if cut.high_enough == "no":
            note = Sentence("leaves the part too low")
        elif cut.high_enough == "too close" and not note:
            note = Sentence("too near the least height to be sure")
        left = None if cut.height is None else round(cut.height.value, 9)
        return Candidate(
            at_most(self.bench, size) if size == most else at_least(self.bench, size),
            left,
            left,
            size,
            CLEANS[cut.cleans_up],
            note,
            abs(size - asked) < 1e-6,
        )
