"""Orders to machine shops: which part, which surface, what to do, to what size, and what not to do.

Comes in: decisions, the sheet, what was chosen and measured.  Goes out: ``ShopOrder``s.  Nothing in them is
the customer's.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, amid, message
from ...quantities.show import decimals_in
from ...records import JobFolder
from ...records.files.choosing import Machining, MachiningOrder
from ...records.files.jobfile import DecisionRecord, Sublet, Work
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...records.text.fields import Interval
from ...trade.kinds import KINDS
from ...trade.measuring.verdict import OPEN, Ends
from ..measure.following_moves import FACES
from ..measure.judging import ends_in, moved, source_text
from ..measure.observations import base_unit
from ..measure.timeline import Timeline, sized, step_in_mm
from ..measure.titles import feature_title, span, titled
from ..model.assessment import Characteristic, Deviation
from ..model.choice import Choice, Effect, FormLimit, Operation, ShopOrder
from ..model.edition import copied
from .returned import returned

TYPED_DECIMALS = 3  # of a size whose limits say nothing finer: a micrometer's


def orders(
    shop: Shop,
    engine: Engine,
    job: JobFolder,
    timeline: Timeline,
    values: Sequence[Characteristic],
    deviations: Sequence[Deviation],
    chosen: Sequence[Choice] = (),
) -> tuple[ShopOrder, ...]:
    """Every order that work.yaml names, with its operations from the decisions and the sheet."""
    work = job.written_work
    return tuple(
        _Order(shop, engine, job, work, timeline, values, chosen, order).made(name, deviations)
        for name, order in work.machining.items()
    )


class _Asked(Struct):
    """What decisions ask of one surface: where, by which of them, and whether its parts are new ones."""

    feature: str
    renewed: bool
    decision: DecisionRecord
    decisions: list[str] = field(default_factory=list)
    positions: list[str] = field(default_factory=list)
    face: str = ""  # that is made flat by taking this off a height
    face_positions: list[str] = field(default_factory=list)


class _Order(Struct):
    """One order while it is put together."""

    shop: Shop
    engine: Engine
    job: JobFolder
    work: Work
    timeline: Timeline
    values: Sequence[Characteristic]
    chosen: Sequence[Choice]
    order: MachiningOrder

    def made(self, name: str, deviations: Sequence[Deviation]) -> ShopOrder:
        order = self.order
        operations = [self._operation(number, asked) for number, asked in enumerate(self._asked(), 1)]
        priced = [line for line in self.work.sublet if line.part in order.parts]
        machined = {self.engine.features[line.feature].part for line in operations}
        # work that no decision asks of a surface, such as washing or testing, in the words that price it
        for line in priced:
            if line.part not in machined:
                number, part = len(operations) + 1, titled(line.part)
                own = Operation(number, "", part, part, (), Typed(line.work), OPEN, "", TYPED_DECIMALS)
                operations.append(own)
        return copied(
            ShopOrder,
            order,
            name=name,
            parts=tuple(amid(titled(part)) for part in order.parts),
            currency=self.shop.currency,
            operations=tuple(operations),
            agreed=tuple((titled(line.part), line.work) for line in priced if line.part in machined),
            missing=() if order.sent else tuple(self._missing(operations)),
            returned=tuple(
                returned(
                    self.engine, self.values, deviations, operations, self.shop.decision_rule == "guarded"
                )
            ),
        )

    # ------------------------------------------------------------ what is asked for

    def _asked(self) -> list[_Asked]:
        """Every surface of the parts sent that a decision machines, or gives new parts that are fitted there.

        The newest decision about a position counts; a face and the height that its cut takes are one line.
        """
        newest: dict[tuple[str, str], str] = {}
        decisions = self.work.decisions
        for name in sorted(decisions, key=lambda name: decisions[name].date):
            decision = decisions[name]
            for feature, position in self.timeline.spots(decision.about, decision.positions):
                only = self.order.positions.get(feature)
                if self.engine.features[feature].part in self.order.parts and (
                    only is None or position in only
                ):
                    newest[feature, position] = name
        lines: dict[tuple[str, str], _Asked] = {}
        # in the order of the decisions as they are written: so whoever writes them orders the work
        for name, decision in decisions.items():
            for (feature, position), last in newest.items():
                if last != name or not self._is_machined(feature, name, decision):
                    continue
                renewed = decision.do == "replace"
                key = (feature, f"{decision.do} {decision.size or ''} {decision.remove or ''}")
                asked = lines.setdefault(key, _Asked(feature, renewed, decision))
                asked.decisions += [] if name in asked.decisions else [name]
                asked.positions.append(position)
        for asked in lines.values():  # decided about one by one, read along the engine
            asked.positions.sort(key=self.engine.features[asked.feature].positions.index)
        return self._faces_joined(list(lines.values()))

    def _is_machined(self, feature: str, name: str, decision: DecisionRecord) -> bool:
        """Whether the machine shop does it: a new part is its matter where work on it is priced."""
        if decision.do == "recondition":
            return True
        findings = self.job.seen
        about = {finding for finding, record in findings.items() if record.component == feature}
        return decision.do == "replace" and any(
            line.part in self.order.parts and {name, *about} & set(line.for_) for line in self.work.sublet
        )

    def _faces_joined(self, lines: list[_Asked]) -> list[_Asked]:
        """A cut is asked for at the height that it takes; that the face is flat afterwards belongs to it."""
        features = self.engine.features
        faces = {
            line.feature: line for line in lines if features[line.feature].kind in FACES and not line.renewed
        }
        heights = {line.feature: line for line in lines if line.decision.remove}
        for name, face in faces.items():
            height = heights.get(features[name].height)
            if height is not None:
                height.face, height.face_positions = name, face.positions
                height.decisions = list(dict.fromkeys([*height.decisions, *face.decisions]))
                lines.remove(face)
        return lines

    # ------------------------------------------------------------ one line of it

    def _operation(self, number: int, asked: _Asked) -> Operation:
        feature = asked.feature
        sheet = self.engine.features[feature]
        shown = asked.face or feature
        unit = base_unit(sheet.unit)
        effects = self._effects(asked)
        size, decimals = self._size(asked, effects)
        # what a cut must leave is its finished size: a new part's height beside it could not be kept
        form = tuple(one for one in _form(sheet) if not (asked.decision.remove and one.name == "height"))
        if asked.face:
            form += tuple(_form(self.engine.features[asked.face]))
        operation = Operation(
            number=number,
            feature=feature,
            surface=feature_title(self.engine, shown),
            part=titled(sheet.part),
            positions=tuple(asked.positions),
            work=self._work(asked),
            size=size,
            unit=unit,
            decimals=decimals,
            spots=(
                (feature, tuple(asked.positions)),
                *([(asked.face, tuple(asked.face_positions))] if asked.face else []),
            ),
            form=form,
            remove=asked.decision.remove.to(unit) if asked.decision.remove and unit else None,
            source=source_text(self.engine, sheet.source),
            decisions=tuple(asked.decisions),
            price_limit=self.order.price_limits.get(shown, self.order.price_limits.get(feature)),
            effects=effects,
            supplied=tuple(
                (position, _both(ends, size))
                for position, ends in self._to_pistons(feature, asked.positions, unit)
            ),
        )
        return _with_notes(operation, self.engine.features[shown])

    def _work(self, asked: _Asked) -> Text:
        """What to do, as a machinist calls it."""
        sheet, decision = self.engine.features[asked.feature], asked.decision
        if asked.renewed:
            parts = [part for part in sheet.replace_with if part in self.engine.parts]
            new = Several(Typed(self.engine.parts[part].name) for part in parts)
            return Sentence("fit new {parts}", parts=new) if parts else Sentence("fit new parts")
        if decision.remove:
            words = message("take off {amount}, as little more as cleans up")
            return Sentence(words, amount=Figure(decision.remove))
        step = sized(decision.size) if step_in_mm(decision.size) else NOTHING
        if sheet.kind == "journal":
            return Sentence("grind to {size}", size=step) if step else Sentence("polish")
        if sheet.kind == "bore":
            return Sentence("bore and hone to {size}", size=step) if step else Sentence("size to standard")
        return Sentence("rework to the limits below")

    def _size(self, asked: _Asked, effects: Sequence[Effect]) -> tuple[Ends, int]:
        """The finished size, and the decimals that its limits were written in."""
        sheet = self.engine.features[asked.feature]
        unit, typed = base_unit(sheet.unit), sheet.unit or base_unit(sheet.unit)
        if asked.decision.remove:
            least = sheet.wear.get("height") or sheet.new.get("height")
            low, high = ends_in(least, unit, typed)
            # at most what is left once so much is off what was read: less would not have been taken off
            left = next((effect.after[1] for effect in effects if effect.feature == asked.feature), None)
            return (low, high if left is None else round(left, 9)), _decimals(least, typed, unit)
        limit = sheet.new.get("size")
        if sheet.kind not in ("journal", "bore") or limit is None or limit.see:
            return OPEN, TYPED_DECIMALS
        step = step_in_mm(asked.decision.size)
        return moved(ends_in(limit, unit, typed), step), _decimals(limit, typed, unit)

    def _effects(self, asked: _Asked) -> tuple[Effect, ...]:
        """What a cut leaves of the part and moves with it, as far as it is known."""
        for choice in self.chosen:
            sheet = self.engine.features.get(choice.name)
            if sheet is None or choice.on_paper or choice.decision not in asked.decisions:
                continue
            if asked.feature in (choice.name, sheet.height):
                return tuple(effect for effect in choice.effects if effect.after != OPEN)
        return ()

    def _to_pistons(self, feature: str, positions: Sequence[str], unit: str) -> Iterator[tuple[str, Ends]]:
        """Finished size of each bore whose new piston is there and measured: its skirt and the clearance."""
        new = [one for one in self.values if one.stands and not one.again and one.unit == unit]
        for fit in self.engine.fits(kind="fit", outer=feature):
            low, high = ends_in(fit.new.get("clearance"), unit, fit.unit or unit)
            for position in positions:
                here = [one.value for one in new if (one.feature, one.position) == (fit.inner, position)]
                skirts = [value for value in here if value is not None]
                if skirts and low is not None and high is not None:
                    # the largest reading of the skirt must have room, the smallest not too much
                    yield position, (round(max(skirts) + low, 9), round(min(skirts) + high, 9))

    # ------------------------------------------------------------ why it should not go out yet

    def _missing(self, operations: Sequence[Operation]) -> Iterator[Text]:
        """Why an order should not go out yet: a part goes to the machine shop once."""
        if not operations:
            yield Sentence("no decision reconditions anything of these parts")
        features = self.engine.features
        sized = [name for name, sheet in features.items() if sheet.undersizes or sheet.oversizes]
        yield from self._unread([name for name in sized if features[name].part in self.order.parts])
        for operation in filter(lambda operation: operation.feature, operations):
            name = operation.feature
            lines, part = self.work.sublet, features[name].part
            if not any(_prices(line, part, operation.decisions, self.work) for line in lines):
                yield Sentence("{what}: no sublet line prices it", what=operation.surface)
            decided = any(self.timeline.decided_size(name, place) for place in operation.positions)
            if name in sized and features[name].kind == "bore" and not decided:
                yield Sentence("{what}: no size is decided", what=operation.surface)
            elif not operation.targeted:
                words = message("{what}: nothing on file says what new work must come to")
                yield Sentence(words, what=operation.surface)

    def _unread(self, names: Sequence[str]) -> Iterator[Text]:
        read = {(value.feature, value.position) for value in self.values if value.value is not None}
        words = message("{what} not measured: {places}; the part goes out once")
        for name in names:
            every = self.engine.features[name].positions
            unread = [place for place in every if (name, place) not in read]
            if unread:
                yield Sentence(words, what=feature_title(self.engine, name), places=span(unread))


def _both(piston: Ends, sheet: Ends) -> Ends:
    """Sizes that suit a piston and are inside the sheet's limits, by which the bore is judged.

    Where there are none the piston decides, and the report says what the sheet's limit is.

    >>> _both((72.497, 72.517), (72.5, 72.515)), _both((72.52, 72.54), (72.5, 72.515))
    ((72.5, 72.515), (72.52, 72.54))
    """
    (least, most), (low, high) = piston, sheet
    if least is None or most is None or low is None or high is None:
        return piston
    both = max(least, low), min(most, high)
    return both if both[0] < both[1] else piston


def _prices(line: Sublet, part: str | None, decisions: Collection[str], work: Work) -> bool:
    """Whether a sublet line is for it: one that names decisions is for those alone."""
    named = set(line.for_) & set(work.decisions)
    return line.part == part and (not named or not named.isdisjoint(decisions))


def not_priced(engine: Engine, job: JobFolder) -> Iterator[Text]:
    """Surfaces to be cut to a size that no line pays for: neither a machine shop's nor an hour of ours."""
    for name, decision in job.decisions.items():
        cut = decision.do == "recondition" and (decision.size or decision.remove)
        if cut and decision.about in engine.features and not _paid(engine, job, name, decision.about):
            yield Sentence("{what}: its machining", what=feature_title(engine, decision.about))


def _paid(engine: Engine, job: JobFolder, decision: str, feature: str) -> bool:
    """Whether a line is for this decision, for one about its face, or for a finding of the same part."""
    work, about = job.written_work, (feature, engine.features[feature].part)
    faces = [face for face, other in engine.features.items() if other.height == feature]
    same = [key for key, one in work.decisions.items() if key == decision or one.about in faces]
    reasons = {*same, *(key for key, one in job.seen.items() if one.component in about)}
    named = [task.for_ for task in work.labour] + [line.for_ for line in work.sublet]
    if not all(map(reasons.isdisjoint, named)):
        return True
    return any(_prices(line, part, same, work) for line in work.sublet for part in about)


def unordered(job: JobFolder) -> Iterator[Text]:
    """Sublet work that is priced and stands on no order: nobody will do it, and the customer pays for it."""
    work = job.written_work
    sent = {part for order in work.machining.values() for part in order.parts}
    words = message("{part}: {work} is priced as sublet work, and no order to a machine shop names the part")
    for line in work.sublet if sent else ():
        if line.part not in sent:
            yield Sentence(words, part=titled(line.part), work=line.work)


def _with_notes(operation: Operation, sheet: FeatureRecord) -> Operation:
    """The line with what the sheet says to whoever machines the surface, and what is to be sent back."""
    machining = sheet.machining or Machining()
    notes: Mapping[str, str | None] = {
        "finish": machining.finish,
        "fillets": machining.fillet or _radius(sheet),
        "oil holes": machining.oil_holes,
        "reference": machining.reference,
    }
    must = [(word, Typed(text)) for word, text in notes.items() if text]
    report: list[Text] = [Typed(text) for text in machining.report]
    if operation.size != OPEN:
        report.insert(0, Sentence("size of every place, in the planes of our sheet"))
    elif operation.targeted:
        report.insert(0, Sentence("each of these values, place by place"))
    return replace(
        operation,
        must=tuple(must),
        before=tuple(machining.before),
        after=tuple(machining.after),
        never=tuple(machining.never),
        report=tuple(report),
    )


def _form(sheet: FeatureRecord) -> Iterator[FormLimit]:
    """Limits for a machined surface beside its size; one that another feature gives is judged there."""
    unit = base_unit(sheet.unit)
    for name, limit in sheet.new.items():
        sized_here = name == "size" and sheet.kind in ("journal", "bore")
        if not limit.see and not sized_here:
            trait = KINDS[sheet.kind].trait(name)
            ends = ends_in(limit, unit, sheet.unit or unit)
            decimals = _decimals(limit, sheet.unit or unit, unit)
            yield FormLimit(name, Sentence(trait.title), ends, decimals, trait.from_zero)


def _decimals(limit: Interval | None, typed: str, unit: str) -> int:
    """Decimals in ``unit`` as fine as those that a limit was written in."""
    ends = [end for end in (limit.low, limit.high) if end] if limit else []
    if not unit:
        return max((end.decimals for end in ends), default=TYPED_DECIMALS)
    return max((decimals_in(end.unit or typed, end.decimals, unit) for end in ends), default=TYPED_DECIMALS)


def _radius(sheet: FeatureRecord) -> str:
    """The radius of the fillets as typed on the sheet."""
    if sheet.fillet is None:
        return ""
    ends = [end for end in (sheet.fillet.low, sheet.fillet.high) if end is not None]
    unit = "" if ends[-1].unit else f" {sheet.unit or ''}"
    return f"radius {' to '.join(end.text for end in ends)}{unit}"
