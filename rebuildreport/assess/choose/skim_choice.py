"""How much to skim off a face: the least that cleans it up, what the part allows, and what follows.

In: the workbench.  Out: a choice for each face that is beyond its limit, or that somebody decided to skim.
"""

from __future__ import annotations

from datetime import date
from functools import cached_property

from msgspec import Struct

from ... import quantities
from ...quantities import NOTHING, Figure, Name, Sentence, Text, message, present
from ...records.files.sheet import FeatureRecord
from ...trade.choosing import steps
from ...trade.kinds import KINDS
from ...trade.measuring.form import largest, smallest
from ...trade.measuring.uncertainty import Measured
from ..measure.following_moves import FACES
from ..measure.judging import source_text
from ..measure.titles import feature_title, span
from ..model.choice import Candidate, Choice, Fitness
from .consequences import of_cut
from .workbench import Workbench, at_least, at_most, how_settled, length, with_partner

# whether the worst line has a name, and whether something is taken off to clean it up
HOLLOW = message(
    {
        (False, False): "It is hollow by {gap}; with what the reading may be off, {least} is the least that "
        "surely takes it all.",
        (
            True,
            False,
        ): "It is hollow by {gap} ({place}); with what the reading may be off, {least} is the least "
        "that surely takes it all.",
        (
            False,
            True,
        ): "It is hollow by {gap}; with what the reading may be off and {allowance} to clean it up, "
        "{least} is the least that surely takes it all.",
        (True, True): "It is hollow by {gap} ({place}); with what the reading may be off and {allowance} to "
        "clean it up, {least} is the least that surely takes it all.",
    }
)
CLEANS: dict[str, Fitness] = {"yes": "cleans up", "no": "leaves part of it", "too close": "too close to call"}


def skim_choices(bench: Workbench) -> list[Choice]:
    """One choice for each face that is beyond its limit, or that somebody decided to skim."""
    if bench.on_paper:
        return []
    made: dict[str, Choice] = {}
    for name, sheet in bench.engine.of_kind(*FACES).items():
        choice = _Face(bench, name, sheet).choice()
        if choice is not None:  # one cut for a face, however many looks at it over one height the sheet has
            made.setdefault(sheet.height or name, choice)
    return list(made.values())


class _Face(Struct, dict=True):
    """One face, with all that is known of it; lengths in mm."""

    bench: Workbench
    name: str
    sheet: FeatureRecord

    def choice(self) -> Choice | None:
        """The choice, or None where nobody asks for one."""
        bench = self.bench
        decision, taken, until = self.decided
        # a face that was read again since, and is flat now, wants nothing
        wanted = bool(decision) or bool(bench.beyond(self.name))
        asked = self.least if taken is None else taken
        if not wanted or asked is None or bench.decision(self.name, do=("replace",)):
            return None
        decides = self._decides()
        status = how_settled(self.barred, bool(decides))
        if taken is not None:
            enough = self.least is None or taken >= self.least - 1e-9
            status = "decided" if enough else "decided otherwise"
        remove = bench.job.decisions[decision].remove if taken is not None else None
        # as it was decided: 0.20 mm beside a least of 0.203 mm would both be printed as 0.008 in
        typed = Figure(str(remove).replace(" ", "\u00a0")) if remove is not None else at_least(bench, asked)
        answer = Sentence("{asked} off the face", asked=typed)
        if self.barred:
            answer = Sentence("No skim cleans it up and leaves enough: another part")
        return Choice(
            name=self.name,
            kind="skim",
            title=feature_title(bench.engine, self.name),
            status=status,
            answer=answer,
            why=self._why(),
            alternative=self._alternative(taken),
            steps=tuple(self._candidates(asked, taken)),
            impossible=self._impossible(),
            decides=tuple(decides),
            effects=tuple(of_cut(bench, self.name, asked, until)),
            work=bench.work_on(self.sheet.part, decision, self.name),
            decision=decision,
            source=source_text(bench.engine, self.sheet.source),
        )

    # ------------------------------------------------------------ what is known

    @cached_property
    def decided(self) -> tuple[str, float | None, date | None]:
        """The decision about the face or the height under it, what it takes off, and its day."""
        first: tuple[str, float | None, date | None] = ("", None, None)
        for about in filter(None, (self.name, self.sheet.height)):
            name = self.bench.decision(about, do=("recondition",))
            if not name:
                continue
            decision = self.bench.job.decisions[name]
            if decision.remove is not None:
                return name, round(decision.remove.to("mm"), 9), decision.date
            first = first if first[0] else (name, None, decision.date)
        return first

    @cached_property
    def gap(self) -> tuple[Measured, str] | None:
        """The worst gap as it came, and where it lies."""
        readings = self.bench.as_found(self.name, self.decided[2])
        inputs = self.bench.workings.inputs_on(self.name, lambda _: readings)
        gaps = [(c.measured, c.position) for c in KINDS[self.sheet.kind].compute(inputs) if c.measured]
        if not gaps:
            return None
        worst = largest([measured for measured, _ in gaps])
        return worst, next(position for measured, position in gaps if measured.value == worst.value)

    @cached_property
    def height(self) -> Measured | None:
        """The height of the part where it is least."""
        if self.sheet.height not in self.bench.engine.features:
            return None
        readings = self.bench.as_found(self.sheet.height, self.decided[2])
        heights = [height for columns in readings.values() for height in columns.values()]
        return smallest(heights) if heights else None

    @cached_property
    def least_height(self) -> float | None:
        """The least height that the part may have: the wear limit goes before that of a new one."""
        sheet = self.bench.engine.features.get(self.sheet.height)
        limits = [*sheet.wear.values(), *sheet.new.values()] if sheet else []
        lows = [self.bench.ends(limit, sheet)[0] for limit in limits if sheet]
        return next((low for low in lows if low is not None), None)

    @property
    def allowance(self) -> float:
        return self.bench.mm(self.sheet.cleanup_stock, self.sheet) or 0.0

    @cached_property
    def least(self) -> float | None:
        """The least cut that surely cleans it up."""
        if self.gap is None:
            return None
        return steps.least_cut(self.gap[0], self.allowance, self.bench.guarded, self.step)

    @cached_property
    def most(self) -> float | None:
        """The most that the part allows."""
        if self.height is None or self.least_height is None:
            return None
        return steps.most_cut(self.height, self.least_height, self.bench.guarded, self.step)

    @property
    def step(self) -> float:
        """What cuts are set by: a shop of inches cuts by halves of a thousandth (common practice)."""
        metric = self.bench.shop.first_unit == "mm"
        return steps.CUT_STEP if metric else quantities.convert(0.0005, "in", "mm")

    @property
    def barred(self) -> bool:
        """Whether more would have to come off than may."""
        return self.least is not None and self.most is not None and self.least > self.most + 1e-9

    # ------------------------------------------------------------ in words

    def _decides(self) -> list[Text]:
        said: list[Text] = []
        read = self.bench.as_found(self.name, self.decided[2])
        unread = [place for place in self.sheet.positions if place not in read] if read else []
        if unread:
            said.append(Sentence("{places} not read: may ask for more", places=span(unread)))
        if self.sheet.height and self.height is None:
            title = feature_title(self.bench.engine, self.sheet.height)
            words = message("{title} not measured: how much may come off is not known")
            said.append(Sentence(words, title=title))
        return said

    def _impossible(self) -> tuple[Text, ...]:
        if not self.barred or self.least is None or self.most is None:
            return ()
        words = message("{name}: {least} would have to come off, and {most} may: another part")
        least, most = at_least(self.bench, self.least), at_most(self.bench, self.most)
        return (Sentence(words, name=feature_title(self.bench.engine, self.name), least=least, most=most),)

    def _why(self) -> Text:
        bench = self.bench
        said: list[Text] = []
        if self.gap is not None and self.least is not None:
            gap, where = self.gap
            said.append(
                Sentence(
                    HOLLOW[where != "face", bool(self.allowance)],
                    gap=with_partner(bench, gap.value, 2),
                    place=Name(where.replace("_", " ")),
                    allowance=length(bench, self.allowance, 2),
                    least=at_least(bench, self.least),
                )
            )
        if self.height is not None and self.least_height is not None:
            words = message("{value} of height is there, and {least_height} must stay.")
            value, least = length(bench, self.height.value, 2), at_least(bench, self.least_height)
            said.append(Sentence(words, value=value, least_height=least))
        return present(said, " ")

    def _alternative(self, taken: float | None) -> Text:
        said: list[Text] = []
        if self.least is not None and taken is not None and taken > self.least + 1e-9:
            said.append(Sentence("{least} would have cleaned it up", least=at_least(self.bench, self.least)))
        if self.most is not None and (self.least is None or self.most >= self.least):
            words = message(
                "{most} is the most that may come off; what is not taken now is left for another time"
            )
            said.append(Sentence(words, most=at_most(self.bench, self.most)))
        return present(said)

    def _candidates(self, asked: float, taken: float | None) -> list[Candidate]:
        gap = self.gap[0] if self.gap else None
        found = []
        for size in sorted({round(size, 6) for size in (self.least, taken, self.most) if size}):
            cut = steps.cut(size, gap, self.allowance, self.height, self.least_height, self.bench.guarded)
            is_most = self.most is not None and abs(size - self.most) < 1e-6
            left = None if cut.height is None else round(cut.height.value, 9)
            found.append(
                Candidate(
                    at_most(self.bench, size) if is_most else at_least(self.bench, size),
                    left,
                    left,
                    size,
                    CLEANS[cut.cleans_up],
                    _height_note(cut, is_most),
                    abs(size - asked) < 1e-6,
                )
            )
        return found


def _height_note(cut: steps.Cut, is_most: bool) -> Text:
    if cut.high_enough == "no":
        return Sentence("leaves the part too low")
    if is_most:
        return Sentence("the most that the part allows")
    return Sentence("too near the least height to be sure") if cut.high_enough == "too close" else NOTHING
