"""What one job waits for, what is next for it, and which days of it are still to come or past.

In: its records and its Assessment.  Out: a ``Waiting``.  Knows no today: a day is held against it in day.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from itertools import groupby

from ...quantities import NOTHING, Several, Text, Typed, amid
from ...records import JobFolder
from ..model.assessment import Assessment, Stage
from ..model.choice import ShopOrder
from ..model.edition import copied
from ..model.enginefacts import engine_name
from ..model.prices import Purchase
from ..work.stage import WORK_DONE, cured_since, newest_day
from .matters import Hours, Matter, OpenLine, Waiting

CLOSED: tuple[Stage, ...] = ("delivery", "follow-up", "declined")
ON_ARRIVAL: tuple[Stage, ...] = ("arrival", "teardown", "inspection")
NAMED = 3  # parts that are named one by one; more are counted


def waiting(job: JobFolder, one: Assessment) -> Waiting:
    """All of one job that the shop's day needs."""
    return _Waiting(job, one).made()


def unread(job: JobFolder, errors: int) -> Waiting:
    """The same of a job of which too little can be read to be assessed."""
    record = job.job
    moved = record.opened if record else None
    return Waiting(
        job.name,
        record.title if record else job.name,
        opened=moved,
        as_of=moved,
        here=not (record and (record.delivered or record.declined)),
        waits=(Matter("us", since=moved),),
        next=Matter("files", count=errors),
    )


class _Waiting:
    def __init__(self, job: JobFolder, one: Assessment) -> None:
        self.job, self.one, self.cost = job, one, one.cost
        self.record = job.record
        self.authority = self.record.authority
        self.customer = self.authority.ordered_by if self.authority else ""
        self.approval = self.cost.approval(one.stage)
        # before a part has come that carries a deposit, nobody has paid any
        had = {line.part for line in self.cost.purchases if line.received}
        self.deposits = [core for core in self.cost.cores if core.part in had and not core.credited]

    def made(self) -> Waiting:
        one, cost = self.one, self.cost
        here = one.stage not in CLOSED
        ready = one.stage == "ready to collect"
        allowed = cost.approvals[-1].limit if cost.approvals else None
        if allowed is None and self.authority:
            allowed = self.authority.diagnosis_limit
        due = {tool for box in one.due.features for tool in box.instruments[:1]} if one.due else set()
        waits = tuple(self._waits()) if here else ()
        return Waiting(
            job=one.job,
            title=one.title,
            engine=engine_name(one.engine.maker, one.engine.model) or one.engine.name,
            family=one.engine.name,
            stage=one.stage,
            opened=one.opened,
            as_of=one.as_of,
            here=here,
            promised=self._promised(),
            waits=waits,
            next=self._next(waits) if here else Matter("nothing"),
            dates=tuple(self._dates()),
            allowed=allowed if here else None,
            asked=self._asked_amount() if here else None,
            to_pay=cost.due if ready and not cost.minimum and cost.due > 0 else None,
            currency=cost.currency,
            digits=cost.digits,
            deposits=tuple(core.amount for core in self.deposits),
            hours=tuple(self._hours()),
            buying=tuple(self._buying()) if here else (),
            instruments=tuple(sorted(due)) if here else (),
        )

    # ------------------------------------------------------------ who has to move

    def _waits(self) -> Iterator[Matter]:
        """Everything that it waits for; others first, since what is ours is told by what is next, too."""
        if self.one.stage == "ready to collect":
            yield Matter("fetch", "fetch", self.record.ready, whom=self.customer)
            return
        others = [*self._customer(), *self._machine_shops(), *self._parts()]
        yield from others or [Matter("us", since=newest_day(self.job))]

    def _customer(self) -> Iterator[Matter]:
        """An approval that was asked for, and questions without an answer, the oldest first."""
        since = self._estimate_out()
        if since and self.approval in ("wanted", "over", "stopped"):
            code = {"wanted": "approval", "over": "more approval", "stopped": "stopped"}[self.approval]
            about = self.cost.stops[0] if self.approval == "stopped" else NOTHING
            amount = self.cost.over_by if self.approval == "over" else None
            yield Matter(code, "customer", since, about=about, whom=self.customer, amount=amount)  # type: ignore[arg-type]
        for asked in sorted(self.record.asked, key=lambda asked: asked.date):
            if asked.answered is None:
                about = Typed(asked.what)
                yield Matter("answer", "customer", asked.date, asked.by, about, self.customer)

    def _estimate_out(self) -> date | None:
        """The day on which what wants an approval left the shop; None where it has not."""
        last = max((approval.date for approval in self.cost.approvals), default=date.min)
        issued = [(one.date, one.document) for one in self.record.issued]
        issued += [(one.date, one.document) for one in self.job.issued.issues]
        days = [day for day, document in issued if document in ("estimate", "report") and day >= last]
        newest = max(days, default=None)
        # what was approved that day is what left that day, where nothing left since
        return newest if newest and newest > last else None

    def _machine_shops(self) -> Iterator[Matter]:
        """One for each machine shop and day."""
        away = sorted(self._away(), key=lambda order: (_due_back(order) or date.max, order.to))
        for (by, whom), found in groupby(away, key=lambda order: (_due_back(order), order.to)):
            orders = list(found)
            parts = Several([part for order in orders for part in order.parts])
            since = min(order.sent for order in orders if order.sent)
            yield Matter("back", "machine shop", since, by, parts, whom)

    def _away(self) -> list[ShopOrder]:
        """Orders that are not back: as written down, else what was measured since, or put together, is."""
        out = [order for order in self.one.orders if order.sent and not order.back]
        out = [one for one in out if all(line.outcome == "not measured" for line in one.returned)]
        return [] if self.one.stage in WORK_DONE else out

    def _parts(self) -> Iterator[Matter]:
        """What is ordered and has not come; the last day that was named counts, where one was for all."""
        lines = self._coming()
        named = [line.promised for line in lines]
        if lines:
            yield _of_suppliers(lines, max(day for day in named if day) if all(named) else None)

    def _coming(self) -> list[Purchase]:
        bought = self.cost.purchases
        return [line for line in bought if line.ordered and not line.received and not line.returned]

    def _to_order(self) -> list[Purchase]:
        """What may be ordered now: approved, settled, and on nobody's order."""
        going_on = self.one.stage in ("decision", "machining", "assembly")
        if not going_on or self.approval not in ("given", "none"):
            return []
        return [
            line
            for line in self.cost.purchases
            if line.packs > 0 and not (line.ordered or line.received or line.returned or line.note)
        ]

    # ------------------------------------------------------------ what is next

    def _next(self, waits: Sequence[Matter]) -> Matter:
        """The one thing that we can do now; nothing where all that is left is to wait."""
        if self.one.without:
            return Matter("files", count=len(self.one.without))
        if self.one.stage == "ready to collect":
            return Matter("fetch", "fetch")
        return next(self._ours(), None) or self._until(waits)

    def _until(self, waits: Sequence[Matter]) -> Matter:
        first = waits[0]
        if first.who == "ours":
            return Matter("hand over") if self.one.stage in WORK_DONE else Matter("decide")
        if first.who == "customer":
            return Matter("ask again", "customer", first.since, first.by)
        return Matter("nothing", first.who, by=first.by)

    def _ours(self) -> Iterator[Matter]:
        """What may be done, in its order."""
        stage = self.one.stage
        if stage == "re-opened":
            back = self.record.reopened[-1]
            yield Matter("hand over") if back.done else Matter("claim", about=Typed(back.symptom))
        elif stage in ON_ARRIVAL:
            yield from self._finding_out()
        elif stage in ("decision", "machining"):
            yield from self._getting()
        elif stage == "assembly":
            yield from self._ordering()
            for line in self.one.bench.build.not_done:
                yield Matter("sign" if line.hold else "put together", about=amid(line.title), at=line.number)
            yield Matter("start")
        else:
            yield from (Matter("put right", about=wrong) for wrong in self.one.bench.start.open[:1])
            yield Matter("hand over")

    def _finding_out(self) -> Iterator[Matter]:
        # of a part that came alone there may be nothing to take off
        whole = not self.record.arrival.only or bool(self.one.apart.lines)
        if whole and (not self.job.teardown or not self.job.teardown.steps):
            yield Matter("take apart")
            return
        yield from self._measuring()
        yield Matter("decide", count=len(self.one.to_decide))

    def _measuring(self) -> Iterator[Matter]:
        due = [box for box in self.one.due.features if box.when == "apart"] if self.one.due else []
        if due:
            readings = sum(len(box.positions) * len(box.columns) for box in due)
            yield Matter("measure", about=amid(due[0].title), count=readings)

    def _getting(self) -> Iterator[Matter]:
        """From the decision to all that the engine goes together with."""
        if self.approval in ("wanted", "over", "stopped"):
            if not self._estimate_out():
                if unpriced := self.cost.not_priced:
                    yield Matter("price", about=unpriced[0], count=len(unpriced))
                yield Matter("estimate")
            return
        yield from self._ordering()
        for order in self.one.orders:
            if not order.sent and not order.back:
                yield Matter("send", about=Several(order.parts), whom=order.to)
        if not self._away():
            yield from self._measuring()
        if not (self._away() or self._coming()):
            yield Matter("put together")

    def _ordering(self) -> Iterator[Matter]:
        if lines := self._to_order():
            yield Matter("order", about=_named([line.name for line in lines]), count=len(lines))

    # ------------------------------------------------------------ days

    def _promised(self) -> date | None:
        """The day that the customer was told, until the engine is ready."""
        if self.one.stage in (*CLOSED, "ready to collect", "re-opened"):
            return None
        told = [approval.ready for approval in self.cost.approvals if approval.ready]
        return told[-1] if told else self.record.promised

    def _dates(self) -> Iterator[Matter]:
        if day := self._promised():
            yield Matter("promised", by=day)
        if self.one.stage not in CLOSED:
            yield from (wait for wait in (*self._customer(), *self._machine_shops()) if wait.by)
            # parts by the day that was named for them
            named = [line for line in self._coming() if line.promised]
            for day in sorted({line.promised for line in named if line.promised}):
                yield _of_suppliers([line for line in named if line.promised == day], day)
        yield from self._deposits()
        yield from self._afterwards()
        if self.record.consent_asked and not self.record.consent:
            yield Matter("consent", "customer", self.record.consent_asked, whom=self.customer)

    def _deposits(self) -> Iterator[Matter]:
        for core in self.deposits:
            if core.returned:
                yield Matter("deposit", "parts", core.returned, about=core.name, amount=core.amount)
            else:
                yield Matter("old part", by=core.return_by, about=core.name, amount=core.amount)

    def _afterwards(self) -> Iterator[Matter]:
        running = self.job.written_running
        for due in running.due:
            if not due.done and due.by:
                yield Matter("service", "customer", by=due.by, about=Typed(due.what), at=due.at)
        for seen in running.follow_up:
            if seen.good is False and not cured_since(self.job, seen.date):
                yield Matter("put right", since=seen.date, about=Typed(seen.seen.rstrip(".")))
        if running.warranty and running.warranty.until:
            until, meter = running.warranty.until, running.warranty.meter_until
            yield Matter("warranty", "customer", by=until, at=meter)

    # ------------------------------------------------------------ money, hours, goods

    def _asked_amount(self) -> Decimal | None:
        """What an answer is awaited about; before it was asked for, nothing."""
        if not self._estimate_out():
            return None
        return {"wanted": self.cost.total, "over": self.cost.over_by}.get(self.approval)

    def _hours(self) -> Iterator[Hours]:
        """What a task took against what the estimate has for it, be it typed or by the access plan."""
        priced = {
            line.name: line.quantity for line in self.cost.lines if line.group == "labour" and line.unit
        }
        for line in self.job.written_work.labour:
            if line.spent is not None:
                yield Hours(line.task, priced.get(Typed(line.task), line.hours), line.spent)

    def _buying(self) -> Iterator[OpenLine]:
        for line in (*self._coming(), *self._to_order()):
            name, bought = line.name, line.quantity - line.shelf
            yield copied(OpenLine, line, number=line.order_number, name=name, quantity=bought)


def _due_back(order: ShopOrder) -> date | None:
    """The day that the machine shop named counts before the one that we asked for."""
    return order.promised or order.wanted


def _of_suppliers(lines: Sequence[Purchase], by: date | None) -> Matter:
    """Parts that are on their way, in one; who sends them, where that is one."""
    since = min(line.ordered for line in lines if line.ordered)
    suppliers = {line.supplier for line in lines}
    whom = suppliers.pop() if len(suppliers) == 1 else ""
    return Matter("parts", "parts", since, by, _named([line.name for line in lines]), whom, len(lines))


def _named(names: Sequence[Text]) -> Text:
    """The first few by their names; how many there are stands beside."""
    return Several(names[:NAMED], "; ")  # in their names stand commas
