"""Page one: what is wanted, what was found and done, the readings of the complaint, the sum and what we ask.

In: an Assessment.  Out: its text, finished.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from msgspec import Struct

from ...assess.build.bench_record import gone_past
from ...assess.model.assessment import (
    Assessment,
    Characteristic,
    Cost,
    Decision,
    Deviation,
    Feature,
    Stage,
    SummaryLine,
)
from ...assess.model.prices import ASKING, FINISHED, PAYABLE
from ...assess.work.decisions import covered_by
from ...quantities import Typed, amid, as_typed, message
from ...trade.kinds import KINDS
from ..drawings.scales import lone
from ..drawings.verdict_marks import Verdict, judged, verdict
from ..press.enginewords import done_to
from ..press.language import opening, say, spoken, told
from ..press.letterhead import asks_of
from ..press.templating import anchor
from ..press.words import (
    OUT_OF_ORDER,
    SIGNS,
    capital,
    day,
    first_unit,
    interval,
    joined,
    money,
    place,
    places,
    plain,
    stop,
    unit_text,
    value,
)
from .money_tables import lacking


class Reading(Struct, frozen=True):
    """One value with its limit and verdict: half a line of the table, or all of it."""

    text: str
    limit: str
    verdict: Verdict


class ComplaintRow(Struct, frozen=True):
    """One line of the readings of the complaint."""

    title: str
    record: str  # anchor of its entry in the measurement record
    first: Reading
    now: Reading | None  # None in every line until anything was read again
    finding: tuple[str, str]  # anchor and words of what speaks of it; ("", "") where nothing does


class Foot(Struct, frozen=True):
    """The one sum, and what is asked of the customer; how the answer is given."""

    sum_title: str
    sum: str
    notes: str
    ask_title: str
    asks: tuple[str, ...]
    boxes: tuple[str, ...]  # ways to answer, each to be ticked
    signs: tuple[str, ...]  # what stands below each line to sign on


class PageOne(Struct, frozen=True):
    title: str
    facts: tuple[tuple[str, str], ...]
    found: str
    did_title: str
    did: str
    warnings: tuple[str, ...]
    unit: str
    now_title: str
    rows: tuple[ComplaintRow, ...]
    others: str  # of every other reading that has a limit
    foot: Foot | None  # nothing is asked of everybody

    @property
    def both(self) -> bool:
        """Whether the table shows what was read again."""
        return any(row.now for row in self.rows)


def page_one(job: Assessment, public: bool) -> PageOne:
    """What a customer wants to know first; what is not known yet is said, not left out."""
    rows = tuple(_rows(job))
    return PageOne(
        title=headline(job),
        facts=tuple(_facts(job)),
        found=_found(job),
        did_title=_did_title(job),
        did=stop(opening(job.did)) or say("Nothing is decided yet."),
        warnings=tuple(_warnings(job)),
        unit=unit_text(first_unit("mm", job.system)),
        now_title=say("now"),
        rows=rows,
        others=_others(job) if rows else "",
        foot=None if public else _foot(job),
    )


def _did_title(job: Assessment) -> str:
    """A typed summary is what was done or is advised; decisions in its place are advice until approved."""
    if job.did and isinstance(job.did, Typed):
        return say("What we did") if job.did_is_done else say("What we advise")
    advised = job.decisions and not job.did_is_done and job.cost.approval(job.stage) in ASKING
    return say("What we advise") if advised else say("What was decided")


# ---------------------------------------------------------------- what is wanted, and what it is about


def headline(job: Assessment) -> str:
    """What is wanted of the reader; of a finished job how it left.

    >>> from ..showing.specimen import sample
    >>> headline(sample())
    'A sample of every part'
    """
    engine = job.engine.full_name
    if job.stage in ("delivery", "follow-up"):
        ran = job.bench.start.date is not None
        return say("{engine}: delivered, running" if ran else "{engine}: delivered", engine=engine)
    ends = {
        "ready to collect": message("{engine} is ready to collect"),
        "declined": message("{engine}: goes back as it came, in boxes"),
        "re-opened": message("{engine}: back in the shop"),
    }
    if job.stage in ends:
        return say(ends[job.stage], engine=engine)
    if _decidable(job.cost, job.stage):
        return say("Please decide: {what}", what=job.title)
    return job.title


def _facts(job: Assessment) -> Iterator[tuple[str, str]]:
    yield say("Complaint"), job.complaint or say("none was given")
    if job.stage == "re-opened" and told(job.spells[-1].symptom):
        yield say("Came back for"), told(job.spells[-1].symptom)
    yield say("Dates"), capital(", ".join(_dates(job)))
    if job.not_with:
        yield say("Not with the engine"), say("{what}: not looked at", what=joined(map(told, job.not_with)))


def _dates(job: Assessment) -> list[str]:
    """Opened, ready, delivered, came back; a year is said once where it is the same."""
    milestones = (
        (say("opened"), job.opened),
        (say("ready"), job.ready),
        (say("delivered"), job.delivered),
    )
    known = [(word, when) for word, when in milestones if when]
    for stay in job.spells[1:]:
        known.append((say("came back"), stay.start))
        if stay.end:
            known.append((say("delivered again"), stay.end))
    if not (job.ready or job.delivered):
        known.append((say("{stage} as of", stage=say(job.stage)), job.as_of))
    several = len({when.year for _, when in known}) > 1
    last = len(known) - 1
    return [f"{word} {day(when, several or i == last)}" for i, (word, when) in enumerate(known)]


def _found(job: Assessment) -> str:
    """What was found, as written; else the headings of the findings, or that there is none yet."""
    found = stop(told(job.found))
    summed_up = job.findings or isinstance(job.found, Typed)  # what is made of nothing says so itself
    if not summed_up or any(c.value is not None for c in job.characteristics):
        return found
    return f"{found} {say('Nothing is measured yet, so nothing is said here about wear.')}"


def _warnings(job: Assessment) -> Iterator[str]:
    """What was put together, started or handed over otherwise than it should be."""
    if job.bench.build.departures:
        named = "; ".join(f"{d.id}, {told(amid(d.about))}: {d.what}" for d in job.bench.build.departures)
        yield say("Put together otherwise than the sheet says, and signed: {what}", what=stop(named))
    for text in gone_past(job):
        yield stop(opening(text))


# ---------------------------------------------------------------- the readings of the complaint


def read_again(job: Assessment) -> bool:
    """Whether anything that answers the complaint was read again: only then 'now' is told beside it."""
    return any(line.now not in (None, line.first) for line in job.complaint_lines)


def _rows(job: Assessment) -> Iterator[ComplaintRow]:
    lines = [line for line in job.complaint_lines if line.first or line.now]
    again = read_again(job)
    for line in lines:
        first, now = job.find(line.first), job.find(line.now)
        some = first or now
        if some is not None:
            yield ComplaintRow(
                _titled(job, line, some.unit),
                anchor(line.feature),
                _reading(job, first),
                _now(job, line, now) if again else None,
                _speaking(job, line),
            )


def _titled(job: Assessment, line: SummaryLine, unit: str) -> str:
    """'Main bearing clearance, M4', with its unit where that is no length: a bare 9 is read as 9 mm."""
    words = [told(line.title)]
    if not lone(line.place, job.feature(line.feature)):
        words.append(place(line.place))
    printed = unit_text(first_unit(unit, job.system))
    if printed != unit_text(first_unit("mm", job.system)):
        words.append(printed)
    return ", ".join(filter(None, words))


def _reading(job: Assessment, measured: Characteristic | None) -> Reading:
    printed = value(measured, job.system)
    if measured is None or printed is None:
        return Reading("", "", verdict("not measured"))
    clearance = measured.note and measured.limits and measured.limits.by_fit
    return Reading(
        f"{SIGNS[measured.bound]}{printed.text}",
        say("by clearance")
        if clearance
        else interval(measured.limits, measured.unit, job.system, places=printed.places),
        verdict(judged(measured)),
    )


def _now(job: Assessment, line: SummaryLine, measured: Characteristic | None) -> Reading:
    """A part that was renewed is new, also where nobody has read it since: the last word about it stands."""
    read = _reading(job, measured)
    about = [decision for decision in job.decisions if decision.about == line.feature]
    here = [decision for decision in about if line.place in (decision.positions or (line.place,))]
    last = max(here, key=lambda decision: decision.date, default=None)
    renewed = job.did_is_done and last is not None and last.do == "replace"
    return read if read.text or not renewed else Reading(say("new"), "", read.verdict)


def _speaking(job: Assessment, line: SummaryLine) -> tuple[str, str]:
    """The finding that a line is of, else what was decided about it, and what comes of it."""
    for finding in job.findings:
        shown = (job.find(key) for key in finding.shows)
        features = {finding.component, *(measured.feature for measured in shown if measured)}
        if line.feature in features:
            done = done_to(job, finding.disposition, finding.component)
            words = say("finding {number}: {done}", number=finding.number, done=done)
            return anchor(f"finding-{finding.id}"), words
    here = [one for one in job.decisions if line.place in (one.positions or (line.place,))]
    for decision in here:
        if decision.about == line.feature:
            return _decided(job, decision)
    for deviation in job.deviations:
        if {line.first, line.now} & {*deviation.covers}:
            return "deviations", say("{deviation}: accepted", deviation=deviation.id)
    for bought in job.cost.lines:
        if {line.first, line.now} & {*bought.values}:
            return anchor(f"line-{bought.line}"), say("line {number}: new", number=bought.line)
    settling = next((one for one in here if line.feature in one.settles), None)
    return _decided(job, settling) if settling else ("", "")


def _decided(job: Assessment, decision: Decision) -> tuple[str, str]:
    """Where a decision is told, and what it does."""
    return anchor(f"decision-{decision.id}"), f"{decision.id}: {done_to(job, decision.do, decision.about)}"


def _others(job: Assessment) -> str:
    """What stands out of its limits beside the lines above, by name; else that nothing does."""
    above = {(line.feature, line.characteristic, line.place) for line in job.complaint_lines}
    # a surface that stands above as out of its limits is not told of once more for its taper
    bad = {(line.feature, line.place) for line in job.complaint_lines if _out(job, line)}
    covered = covered_by(job.deviations)
    out: dict[str, list[str]] = {}
    told_of = _by_line(job)
    for line in job.summary:
        for measured in told_of.get((line.feature, line.characteristic), ()):
            spot = (line.feature, line.characteristic, measured.position)
            told_above = spot in above or (line.feature, measured.position) in bad
            if measured.verdict in OUT_OF_ORDER and not told_above:
                feature = job.feature(line.feature)
                where, named = _where(measured, feature), _feature(job, line.feature)
                if where and lone(measured.position, feature):  # no place, but what it is of them all
                    where, named = "", f"{named}, {where}"
                accepted = covered.get(measured.key, "")
                out.setdefault(named, []).append(f"{where} ({accepted})".strip() if accepted else where)
    if not out:
        return say("Every other reading that has a limit is inside it.")
    spots = ((named, list(filter(None, dict.fromkeys(where)))) for named, where in out.items())
    what = "; ".join(f"{named} {places(where)}".strip() for named, where in spots)
    return say("Every other reading that has a limit is surely inside it, but for: {what}.", what=what)


def _where(measured: Characteristic, feature: Feature | None) -> str:
    """The place of a value; of one of all places together what it is, of the only one nothing."""
    if not lone(measured.position, feature):
        return place(measured.position)
    alone = feature is None or feature.positions in ((), (measured.position,))
    return (
        ""
        if feature is None or alone
        else told(feature.characteristics.get(measured.name, as_typed(measured.name)))
    )


def _out(job: Assessment, line: SummaryLine) -> bool:
    """Whether the last reading of a line is out of its limits, or may be."""
    last = job.find(line.now) or job.find(line.first)
    return last is not None and last.verdict in OUT_OF_ORDER


def _feature(job: Assessment, name: str) -> str:
    feature = job.feature(name)
    return told(feature.title) if feature else name


def _by_line(job: Assessment) -> dict[tuple[str, str], list[Characteristic]]:
    """What is told of each line of the summary: what stands; until the work is done, what it came with."""
    kinds = {feature.name: KINDS.get(feature.kind) for feature in job.features}
    standing = (one for one in job.characteristics if one.stands and one.value is not None)
    now = {(one.feature, one.name, one.position) for one in standing}
    found: dict[tuple[str, str], list[Characteristic]] = {}
    for measured in job.characteristics:
        came = not job.did_is_done and measured.round in job.as_found
        if measured.stands or (came and (measured.feature, measured.name, measured.position) not in now):
            kind = kinds.get(measured.feature)
            limit = kind.trait(measured.name).limit if kind else measured.name
            found.setdefault((measured.feature, limit), []).append(measured)
    return found


# ---------------------------------------------------------------- the sum, and what we ask


# what it is signed for: an engine that came back was signed for when it left
HANDED_OVER: tuple[Stage, ...] = ("ready to collect", "delivery", "follow-up")


def _foot(job: Assessment) -> Foot:
    cost, asks = job.cost, list(asks_of(job))
    asking = cost.approval(job.stage) in ASKING
    if job.stage in HANDED_OVER and job.deviations:
        accepted = "; ".join(_accepted(job, deviation) for deviation in job.deviations)
        words = message("Read and sign what was used although not surely inside a limit: {what}.")
        asks.append(say(words, what=accepted))
    title, amount = _sum(cost, job.stage)
    return Foot(
        sum_title=title,
        sum=amount,
        notes=" ".join(map(stop, _about_the_sum(cost, job.stage))),
        ask_title=say("Please decide" if _decidable(cost, job.stage) else "What we need from you"),
        asks=tuple(asks) or (say("Nothing at present."),),
        boxes=tuple(_boxes(cost)) if asking and cost.lines and job.stage not in FINISHED else (),
        signs=tuple(_signs(job, asking)),
    )


def _decidable(cost: Cost, stage: str) -> bool:
    """Whether there is something to decide: of a sum that nobody knows yet there is only a limit to set."""
    return cost.approval(stage) in ASKING and not (
        cost.approval(stage) == "wanted" and cost.minimum and not cost.options
    )


def _accepted(job: Assessment, deviation: Deviation) -> str:
    """'V1 main journals M6, 75.492 (max 75.490)': what the customer signs for."""
    measured = [one for key in deviation.covers if (one := job.find(key))]
    # of each place the first: it is the one that lies nearest to its limit
    nearest = {one.position: one for one in reversed(measured)}
    there = [nearest[spot] for spot in deviation.positions if spot in nearest] or list(nearest.values())
    figures = [
        f"{place(one.position)} {printed.said} {printed.unit}"
        f" ({interval(one.limits, one.unit, job.system, places=printed.places)})"
        for one in there
        if (printed := value(one, job.system))
    ]
    return f"{deviation.id} {told(deviation.feature_title)} {joined(figures) or told(deviation.what)}"


def _sum(cost: Cost, stage: str) -> tuple[str, str]:
    """The one sum of page one, and what it is."""
    if not cost.lines:
        return say("Cost"), ""
    if stage in PAYABLE and not cost.minimum:
        words = message({1: "To pay", 0: "Paid in full", -1: "To be paid back"})
        owed = (cost.due > 0) - (cost.due < 0)
        amount = abs(cost.due) if owed else cost.total
        return say(words[owed]), spoken().money(amount, cost.currency, cost.digits)
    total = spoken().money(cost.total, cost.currency, cost.digits)
    title = say("Proposed total") if cost.approval(stage) in ASKING else say("Total")
    return title, say("at least {total}", total=total) if cost.minimum else total


def _about_the_sum(cost: Cost, stage: str) -> Iterator[str]:
    if not cost.lines:
        yield say("No estimate yet.")
        return
    rate = "" if cost.tax_rate is None else plain(cost.tax_rate)
    total = money(cost.total, cost.digits)
    if stage in PAYABLE and not cost.minimum and cost.due:
        with_tax = message("Total {total}, with {rate}\u00a0% tax" if rate else "Total {total}")
        yield say(with_tax, total=total, rate=rate)
    elif rate:
        yield say("With {rate}\u00a0% tax", rate=rate)
    if cost.minimum:
        yield say("Not in it yet: {what}", what=lacking(cost))
    if stage != "declined" or cost.approvals:
        yield from _approved(cost)
    if cost.core_deposit:
        words = message("Deposit on old parts {amount}, back when they are accepted")
        yield say(words, amount=money(cost.core_deposit, cost.digits))
    if cost.paid:
        paid = sum((payment.amount for payment in cost.paid), Decimal(0))
        yield say("Paid {amount}", amount=money(paid, cost.digits))


def _approved(cost: Cost) -> Iterator[str]:
    if not cost.approvals:
        yield say("Not approved yet")
        return
    last = cost.approvals[-1]
    limit = money(last.limit, cost.digits)
    if cost.over_by is not None and cost.over_by > 0:
        words = message("You approved up to {limit} on {day}: this is {over} more")
        yield say(words, limit=limit, day=day(last.date), over=money(cost.over_by, cost.digits))
    else:
        yield say("Approved up to {limit} on {day}", limit=limit, day=day(last.date))


def _boxes(cost: Cost) -> Iterator[str]:
    """The ways to answer: those on offer with their sums, else yes or no."""
    for option in cost.options:
        total = spoken().money(option.total, cost.currency, cost.digits)
        words = message("{way}: at least {total}" if option.minimum else "{way}: {total}")
        yield say(words, way=option.title, total=total)
    if not cost.options:
        total = spoken().money(cost.total, cost.currency, cost.digits)
        if cost.minimum:
            words = message("Go on up to ______________ {currency}, and ask me before it comes to more")
            yield say(words, currency=cost.currency)
        else:
            yield say("Do all of it, up to {total}", total=total)
        yield say("Do not go on: please call me")


def _signs(job: Assessment, asking: bool) -> Iterable[str]:
    if asking:
        return (say("customer"), say("date"))
    if job.stage not in HANDED_OVER:
        return ()
    if not job.deviations:
        return (say("received as described: customer"), say("for the shop"), say("date"))
    words = message("received as described, {which} understood: customer")
    which = joined(deviation.id for deviation in job.deviations)
    return (say(words, which=which), say("for the shop"), say("date"))
