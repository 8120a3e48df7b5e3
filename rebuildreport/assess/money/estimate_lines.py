"""The lines of an estimate: parts, work by others, the shop's own work, small material."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Literal

from msgspec.structs import replace

from ...quantities import Amount, Figure, Sentence, Text, Typed, amid, message
from ...records import JobFolder
from ...records.files.commerce import LINE_CLASSES, OptionRecord, Share
from ...records.files.sheet import Engine
from ...records.files.shop import Rate
from ...trade.estimating import sums
from ...trade.estimating.approval import folded
from ..measure.titles import titled
from ..model.accessplan import AccessPlan
from ..model.keys import ValueKey
from ..model.prices import PriceLine
from ..parts.needed import Ground, Need

Group = Literal["part", "sublet", "labour", "consumable", "discount"]
SMALL = Sentence("small material")
NOT_COVERED = Sentence("supplied by the customer: not covered by our warranty")


class Lines:
    """Gathers the lines of one estimate in the order in which they are printed."""

    def __init__(self, code: str, rate: Rate | None) -> None:
        self.code, self.rate = code, rate
        self.lines: list[PriceLine] = []

    def add(
        self,
        group: Group,
        name: Text,
        quantity: Decimal = Decimal(1),
        each: Decimal | None = None,
        *,
        number: str = "",
        because: Iterable[Text] = (),
        words: str = "",
        findings: Iterable[str] = (),
        decisions: Iterable[str] = (),
        core: Decimal | None = None,
        unit: str = "",
        tax: Decimal | None = None,
        diagnosis: bool = False,
        own: bool = False,
        price_on: date | None = None,
        values: Iterable[ValueKey] = (),
        steps: Iterable[Text] = (),
    ) -> None:
        """Add a line; ``words`` are what a person typed for it: without a number it is known by them.

        Its tax in per cent is its own, else that of its class, else the shop's.
        """
        amount = Decimal(0) if own else sums.amount(quantity, each, self.code)
        if tax is None and self.rate is not None:
            by_class = [self.rate.tax_on.get(name) for name, one in LINE_CLASSES.items() if one == group]
            tax = next((percent for percent in by_class if percent is not None), self.rate.tax)
        self.lines.append(
            PriceLine(
                line=len(self.lines) + 1,
                group=group,
                number=number,
                name=name,
                quantity=quantity,
                each=each,
                amount=amount,
                because=tuple(because),
                findings=tuple(findings),
                core=core,
                unit=unit,
                tax=tax,
                decisions=tuple(decisions),
                diagnosis=diagnosis,
                own=own,
                price_on=price_on,
                ident=folded(words),
                values=tuple(values),
                steps=tuple(steps),
            )
        )

    def sum(self, group: str) -> Decimal:
        """What the priced lines of one class come to."""
        found = (one.amount for one in self.lines if one.group == group and one.amount is not None)
        return sum(found, Decimal(0))


def gather(
    code: str,
    engine: Engine,
    job: JobFolder,
    needs: list[Need],
    rate: Rate | None,
    access: AccessPlan | None = None,
) -> Lines:
    """Every line but the discounts; of work that was declined without an approval, finding out alone."""
    lines = Lines(code, rate)
    alone = bool(job.record.declined and not job.record.approvals)
    _parts(lines, engine, job, needs)
    _work(lines, job, access, alone)
    if rate and rate.consumables and lines.lines:
        _consumables(lines, rate, rate.consumables)
    return lines


def _work(lines: Lines, job: JobFolder, access: AccessPlan | None, alone: bool) -> None:
    """Work by others, and the shop's own; ``alone``: only what finding out takes."""
    work = job.written_work
    for sublet in (one for one in work.sublet if one.diagnosis or not alone):
        part = sublet.part.replace("_", " ")
        lines.add(
            "sublet",
            Sentence("{part}: {work}", part=amid(titled(sublet.part)), work=sublet.work),
            each=sublet.price,
            words=f"{part}: {sublet.work}",
            because=_typed(sublet.why),
            findings=_named(sublet.for_, job.seen),
            decisions=_named(sublet.for_, job.decisions),
            tax=sublet.tax,
            diagnosis=sublet.diagnosis,
        )
    finding_out = (Sentence("finding out"),)
    for task in (one for one in work.labour if one.diagnosis or not alone):
        hours, steps = _by_the_plan(task.access, access) if task.access else (task.hours, ())
        hourly = lines.rate.labour if lines.rate else None
        lines.add(
            "labour",
            Typed(task.task),
            Decimal(1) if hours is None else hours,
            task.price if hours is None else hourly,
            words=task.task,
            because=_typed(task.why) or (finding_out if task.diagnosis else ()),
            steps=steps,
            findings=_named(task.for_, job.seen),
            decisions=_named(task.for_, job.decisions),
            unit="" if hours is None else "h",
            tax=task.tax,
            diagnosis=task.diagnosis,
        )


def _by_the_plan(which: str, access: AccessPlan | None) -> tuple[Decimal | None, tuple[Text, ...]]:
    """Hours of the access plan, and the step that each of them is for."""
    steps = [
        (step, sum((time for time in step.times(which) if time), Decimal(0)))
        for step in (access.steps if access else ())
    ]
    said = tuple(
        Sentence("{what} {hours} h", what=amid(step.short), hours=Figure(f"{hours.normalize():f}"))
        for step, hours in sorted(steps, key=lambda pair: -pair[1])
        if hours
    )
    total = sum((hours for _, hours in steps), Decimal(0))
    return (Decimal(f"{total.normalize():f}") if steps else None), said


def _typed(why: str | None) -> tuple[Text, ...]:
    return (Typed(why),) if why else ()


def _named(wanted: Iterable[Ground], records: Collection[str]) -> list[str]:
    """Those of some names that are names of these records, each once."""
    return [name for name in dict.fromkeys(wanted) if isinstance(name, str) and name in records]


def _parts(lines: Lines, engine: Engine, job: JobFolder, needs: list[Need]) -> None:
    work = job.written_work
    extra = {one.part: one.for_ for one in work.parts}
    for need, quantity, inside in after_sets(engine, needs):
        known, part = need.part in engine.parts, engine.part(need.part)
        own = need.part in work.customer_brings
        price = part.price if known else need.price
        grounds = [*need.grounds, *extra.get(need.part, [])]
        lines.add(
            "part",
            Typed(part.name) if known else need.name or Typed(need.part),
            quantity,
            None if own else price,
            number=need.part if known else "",
            words=part.name,
            because=(*need.because, *inside, *((NOT_COVERED,) if own else ())),
            findings=_named(grounds, job.seen),
            decisions=_named(grounds, job.decisions),
            values=[ground for ground in need.grounds if isinstance(ground, ValueKey)],
            core=None if part.core is None or own else part.core * quantity,
            tax=part.tax,
            own=own,
            price_on=part.price_on,
        )


def after_sets(engine: Engine, needs: list[Need]) -> list[tuple[Need, Decimal, tuple[Text, ...]]]:
    """What is bought once the sets on the list have given what is inside them: nothing is bought twice.

    A set gives its pieces, and what is inside the sets inside it; what is
    needed beyond that stays a line.  Each set says what it saves, and carries
    what the lines that it took in rest on.
    """
    left = {need.part: Decimal(need.quantity(engine.part(need.part).per == "engine")) for need in needs}
    inside: dict[str, dict[str, Decimal]] = {part: {} for part in left}
    grounds = {need.part: list(need.grounds) for need in needs}
    own = {need.part: need.grounds for need in needs}
    held = {part: everything_in(engine, part) for part in left}
    # the outermost first
    for outer in sorted(left, key=lambda part: sum(part in inner for inner in held.values())):
        for part, count in held[outer].items() if left[outer] > 0 else ():
            spare = min(left.get(part, Decimal(0)), count * left[outer])
            if part != outer and spare > 0:
                left[part] -= spare
                inside[outer][part] = spare
                grounds[outer] += [one for one in own[part] if one not in grounds[outer]]
    return [
        (replace(need, grounds=grounds[need.part]), left[need.part], _saves(engine, inside[need.part]))
        for need in needs
        if left[need.part] > 0
    ]


def _saves(engine: Engine, inside: Mapping[str, Decimal]) -> tuple[Text, ...]:
    """What a set takes off the list."""
    said: list[Text] = []
    for part, count in inside.items():
        what, many = engine.parts[part].name, Figure(f"{count:f}")
        words = message("holds {count} {what}: not bought again")
        one = Sentence("holds the {what}: not bought again", what=what)
        said.append(one if count == 1 else Sentence(words, count=many, what=what))
    return tuple(said)


def everything_in(engine: Engine, part: str, depth: int = 0) -> dict[str, int]:
    """All that a set holds, the contents of inner sets too; a circle is cut off (sheetcheck names it)."""
    found: dict[str, int] = {}
    for inner, count in engine.part(part).contains.items() if depth < 8 else ():
        found[inner] = found.get(inner, 0) + count
        for deep, many in everything_in(engine, inner, depth + 1).items():
            found[deep] = found.get(deep, 0) + many * count
    return found


def _consumables(lines: Lines, rate: Rate, share: Share) -> None:
    """Small material by the shop's stated rule."""
    if share.amount is not None:
        lines.add("consumable", SMALL, each=share.amount, because=(Sentence("a fixed amount for a job"),))
        return
    group = LINE_CLASSES.get(share.of, "")
    on = [one for one in lines.lines if group in ("", one.group) and not one.own]
    base = sum((one.amount for one in on if one.amount is not None), Decimal(0))
    if not base:
        return  # of nothing there is no share, and no line
    found = sums.share(share.percent or Decimal(0), base, lines.code)
    percent, what = Figure(f"{share.percent:f}"), Sentence(share.of or "everything else")
    rule = Sentence("{rate} % of {what}", rate=percent, what=what)
    if rate.consumables_most is not None and found > rate.consumables_most:
        found = rate.consumables_most
        rule = Sentence("at most {most} for a job", most=Amount(found, sums.digits(lines.code)))
    lines.add("consumable", SMALL, each=found, because=(rule,))


def option_lines(
    code: str, rate: Rate | None, option: OptionRecord, diagnosis: Iterable[PriceLine]
) -> tuple[PriceLine, ...]:
    """The lines of another way to go on."""
    lines = Lines(code, rate)
    if option.diagnosis_only:
        lines.lines += [replace(one, line=i) for i, one in enumerate(diagnosis, 1)]
    for one in option.lines:
        if one.hours is not None:
            hourly = rate.labour if rate else None
            lines.add("labour", Typed(one.what), one.hours, hourly, words=one.what, unit="h", tax=one.tax)
        else:
            count = Decimal(one.quantity)
            core = None if one.core is None else one.core * count
            lines.add("part", Typed(one.what), count, one.price, words=one.what, core=core, tax=one.tax)
    return tuple(lines.lines)
