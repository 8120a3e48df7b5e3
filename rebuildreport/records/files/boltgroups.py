"""The sheet's groups of fasteners as bolts of the trade, and what of their stages looks like a slip."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from ... import quantities
from ...quantities import NOTHING, Figure, Quantity, Sentence, Several, Text, message
from ...trade.tightening import preload
from ...trade.tightening import preload as trade
from ...trade.tightening.threads import ThreadError, strength, thread
from .buildplan import Fastener, Stage

UNIT: dict[trade.Kind, str] = {"torque": "N·m", "angle": "deg", "stretch": "mm"}
_LENGTHS = ("clamped", "shank", "shank_diameter")


def settled(stage: Stage) -> Quantity | None:
    """The torque that counts where two stand, by 'use:' with a 'source:' of its own; else None."""
    if not stage.use or not stage.source:
        return None
    try:
        unit = quantities.canonical(stage.use)
    except quantities.UnknownUnit:
        return None
    return next((one for one in (stage.torque, stage.also) if one and one.unit == unit), None)


def disagreement(stage: Stage) -> str:
    """How the two torques of a stage differ, in both units; '' where they agree, or it is settled.

    >>> from ...quantities import parse
    >>> disagreement(Stage(torque=parse("43 N·m"), also=parse("25 lbf·ft")))
    '43 N·m (31.7 lbf·ft) and 25 lbf·ft (33.9 N·m) differ by 21 %'
    """
    if stage.torque is None or stage.also is None or settled(stage) is not None:
        return ""
    try:
        one, other = stage.torque.to("N·m"), stage.also.to("N·m")
    except (quantities.UnknownUnit, quantities.WrongDimension):
        return ""
    first, second = stage.torque, stage.also
    steps = [torque.resolution * quantities.factor(torque.unit, "N·m") for torque in (first, second)]
    differ = trade.two_torques(one, other, *steps)
    if not differ:
        return ""
    return (
        f"{first} ({first.to(second.unit):.1f} {second.unit}) and {second} "
        f"({second.to(first.unit):.1f} {first.unit}) differ by {100.0 * differ:.0f} %"
    )


def typed(stage: Stage) -> tuple[trade.Kind, Quantity] | None:
    """What a stage asks for, as typed; None where it asks for nothing, or in another dimension's unit."""
    for kind, unit in UNIT.items():
        if (one := getattr(stage, kind)) is not None:
            one = (settled(stage) or one) if kind == "torque" else one
            return (kind, one) if quantities.dimension(one.unit) == quantities.dimension(unit) else None
    return None


def _steps(group: Fastener) -> list[trade.TighteningStep]:
    here = [one for stage in group.stages if (one := typed(stage))]
    return [trade.TighteningStep(kind, value.to(UNIT[kind])) for kind, value in here]


def likely_factor(factor: Quantity) -> bool:
    """Whether a typed torque factor can be one: a bare number, mostly 0.1 to 0.3."""
    return not factor.unit and 0.04 <= factor.value <= 0.6


def bolt_of(group: Fastener) -> tuple[trade.Bolt | None, list[Text]]:
    """The bolt of a group for the trade's functions; None, and why, where the sheet says too little."""
    turned, stretched, angled = (_asked(group, key) for key in ("torque", "stretch", "angle"))
    missing: list[Text] = [] if group.thread else [Sentence("thread")]
    missing += [] if group.class_ else [Sentence("class")]
    no_factor = _lacking_factor(group)
    if no_factor and (missing or not stretched):  # a stretch needs no friction
        missing.append(no_factor)
    if missing:
        lacks = Sentence(
            "Preload not worked out: the sheet lacks {what}.", what=Several(missing, last=message("and"))
        )
        return None, [lacks] if turned or stretched else []
    bolt = _bolt(group)
    if bolt is None:
        return None, []  # what is wrong with thread, class or factor is reported at the sheet
    if bolt.clamped is None and (angled or stretched):
        words = message(
            "Preload after a stretch not worked out: the sheet lacks the clamped length."
            if stretched
            else "Preload after an angle not worked out: the sheet lacks the clamped length."
        )
        return bolt, [Sentence(words)]
    if no_factor and turned:
        lacks = Sentence("Preload after a torque not worked out: the sheet lacks {what}.", what=no_factor)
        return bolt, [lacks]
    return bolt, []


def _factor(group: Fastener) -> float | None:
    if group.nut_factor:
        return group.nut_factor.value
    return trade.NUT_FACTOR.get(" ".join(group.lubricant.lower().split()))


def _lacking_factor(group: Fastener) -> Text:
    """What the sheet has to say for a torque factor; nothing where it is known."""
    if _factor(group) is not None:
        return NOTHING
    if group.lubricant:
        return Sentence("a torque factor for '{lubricant}'", lubricant=group.lubricant)
    return Sentence("the lubricant")


def _asked(group: Fastener, key: str) -> bool:
    return any(getattr(stage, key) for stage in group.stages)


def _bolt(group: Fastener) -> trade.Bolt | None:
    """A bolt of a thread and a class that are known, with a likely torque factor; else None."""
    try:
        screw = thread(group.thread)
        stands = strength(group.class_, screw)
    except ThreadError:
        return None
    if group.nut_factor and not likely_factor(group.nut_factor):
        return None
    mm = {key: length.to("mm") if (length := getattr(group, key)) else None for key in _LENGTHS}
    return trade.Bolt(
        screw,
        stands,
        _factor(group),
        clamped=mm["clamped"] or None,
        shank=mm["shank"] or 0.0,
        shank_diameter=mm["shank_diameter"],
        material=group.clamps or "steel",
        nut=group.nut,
        dry=(group.lubricant).lower() in trade.DRY,
    )


class StageDoubt(Struct, frozen=True):
    """One stage to look at again: where it stands, what is odd, and what was probably meant ('' unknown)."""

    index: int
    key: str  # torque, stretch
    what: Sentence
    meant: str = ""

    @property
    def says(self) -> Sentence:
        """The doubt with its question, without a full stop."""
        if self.meant:
            return Sentence("{what}: typed right, or {meant}?", what=self.what, meant=self.meant)
        return Sentence("{what}: typed right?", what=self.what)


def stage_doubts(group: Fastener) -> list[StageDoubt]:
    """Torques and stretches that would pull the bolt past what its class stands, or that fall.

    A lower torque with a note (loosen first) is no slip.
    """
    bolt, _ = bolt_of(group)
    here = [(index, *one) for index, stage in enumerate(group.stages) if (one := typed(stage))]
    steps = _steps(group)
    found: list[StageDoubt] = []
    for odd in preload.oddities(bolt, steps):
        index, kind, value = here[odd.index]
        if odd.wrong == "lower" and (group.stages[index].note or any(one.index == index for one in found)):
            continue
        least = max((step.value for step in steps[: odd.index] if step.kind == kind), default=0.0)
        size = ", ".join(text for text in (group.thread, group.class_) if text)
        said = Sentence(WRONG[odd.wrong], value=Figure(value), size=size, share=f"{100.0 * odd.share:.0f}")
        found.append(StageDoubt(index, kind, said, _meant(bolt, kind, value, least) if bolt else ""))
    return found


WRONG = message(
    {
        "to yield": "{value} alone takes a bolt {size} to yield",
        "past proof load": "{value} alone is {share} % of the proof load of a bolt {size}",
        "stretched past yield": "{value} longer stretches a bolt {size} past yield",
        "turned too far": "{value} leaves a bolt {size} longer for good by {share} % of what it clamps",
        "lower": "{value} is less than the torque before it, and no note says why",
    }
)


def _meant(bolt: trade.Bolt, kind: trade.Kind, value: Quantity, least: float) -> str:
    """The nearest slip that suits the class: a point or nought astray, then another unit."""
    for one in _slips(kind, value):
        step = trade.TighteningStep(kind, one.to(UNIT[kind]))
        if step.value > least and preload.sensible(bolt, step):
            return str(one)
    return ""


def _slips(kind: trade.Kind, value: Quantity) -> Iterator[Quantity]:
    for places in (-1, 1):
        number = quantities.to_decimals(value.value * 10.0**places, max(0, value.decimals - places))
        text = f"{number:f}"
        yield quantities.parse(text.rstrip("0").rstrip(".") if "." in text else text, unit=value.unit)
    units = {"torque": ("N·m", "lbf·ft", "lbf·in"), "stretch": ("mm", "in")}.get(kind, ())
    for unit in units:
        if unit != value.unit:
            yield Quantity(value.text, value.value, unit, value.decimals)


# measured stretch that differs by more asks for a second look: what torque and angle scatter, on what is
# worked out (NASA NSTS 08307); off the maker's own stretch, three times what measuring it scatters
APART, APART_DRY, APART_STRETCH = 0.25, 0.35, 0.15


def expected_stretch(group: Fastener) -> tuple[float, float] | None:
    """What the stages stretch a bolt by [mm], and the share that a reading may differ by; None if unknown."""
    here = [one for stage in group.stages if (one := typed(stage))]
    if not here or any(disagreement(stage) for stage in group.stages):
        return None
    kind, value = here[-1]
    if kind == "stretch":
        return value.to("mm"), APART_STRETCH
    bolt, _ = bolt_of(group)
    if bolt is None:
        return None
    last = trade.tighten(bolt, _steps(group))[-1]
    if last is None or not last.stretch:
        return None
    return last.stretch, APART_DRY if bolt.dry and last.method == "torque" else APART


def reused_at_yield(group: Fastener) -> bool:
    """Whether the sheet has bolts used again always that an angle or a stretch takes to yield."""
    bolt, _ = bolt_of(group)
    if bolt is None or group.reuse != "always":
        return False
    steps = _steps(group)
    return any(step.kind != "torque" for step in steps) and preload.yields(bolt, steps)


REUSED = Sentence(
    "tightened to yield and used again always: each time leaves the bolts longer; by the maker's word?"
)
