"""What must come off for what is wanted, as plain data: the shop's own matter, none of it is public."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from ...quantities import Text
from ...trade.engine.cautions import Caution


class UsedUp(Struct, frozen=True):
    """A part that a step uses up."""

    part: str
    name: Text
    quantity: int
    amount: Decimal | None  # None: not priced; 0 where another step or every rebuild takes it anyway


class AccessStep(Struct, frozen=True):
    """One step: a part that comes off, or a state that is brought about."""

    number: int
    name: str
    title: Text
    short: Text  # where there is little room: of a state its name
    is_state: bool = False
    wanted: bool = False  # what it is all for
    how: str = ""
    hours: Decimal | None = None  # by the sheet
    back: Decimal | None = None
    after: tuple[int, ...] = ()  # numbers of the steps that it directly waits for
    opens: bool = False  # a joint
    bolts: tuple[Text, ...] = ()
    used_up: tuple[UsedUp, ...] = ()
    tools: tuple[str, ...] = ()
    loses: tuple[str, ...] = ()
    risk: str = ""
    cautions: tuple[Caution, ...] = ()
    done: bool = False
    took: Decimal | None = None  # hours that were noted

    def times(self, which: str) -> tuple[Decimal | None, ...]:
        """Hours off, back, or both."""
        return {"off": (self.hours,), "back": (self.back,)}.get(which, (self.hours, self.back))


class PlanDifference(Struct, frozen=True):
    """What another plan takes more than this one; less where it is below nothing."""

    hours: Decimal
    money: Decimal | None
    what: tuple[Text, ...] = ()  # what is done otherwise


class OtherWay(Struct, frozen=True):
    """A way to a part of the plan that the plan does not go."""

    title: Text
    how: Text
    takes: PlanDifference
    condition: str = ""
    known: bool = True  # whether its condition is known to hold
    risk: str = ""
    saves: str = ""


class LeftAlone(Struct, frozen=True):
    """A part that stays on because the job asks for it, and what that takes more."""

    title: Text
    takes: PlanDifference


class StaysOn(Struct, frozen=True):
    """A part that is not taken off, so not looked at."""

    title: Text
    left_alone: bool  # because the job asks for it
    after: tuple[int, ...] = ()  # numbers of the steps that it would directly wait for
    bars: tuple[int, ...] = ()  # else of those to which another way would go past it


class AccessPlan(Struct, frozen=True):
    """The cheapest order in which what is wanted comes off."""

    wanted: tuple[Text, ...]
    leave: tuple[LeftAlone, ...] = ()
    holds: tuple[str, ...] = ()
    steps: tuple[AccessStep, ...] = ()
    labour: Decimal | None = None
    parts: Decimal | None = None
    second: PlanDifference | None = None
    others: tuple[OtherWay, ...] = ()
    stays: tuple[StaysOn, ...] = ()

    @property
    def hours(self) -> Decimal:
        """To take everything off, by the sheet."""
        return sum((step.hours for step in self.steps if step.hours), Decimal(0))

    @property
    def back(self) -> Decimal:
        """To put it back."""
        return sum((step.back for step in self.steps if step.back), Decimal(0))

    @property
    def total(self) -> Decimal | None:
        return None if self.labour is None else self.labour + (self.parts or Decimal(0))

    @property
    def untimed(self) -> tuple[Text, ...]:
        """Steps of which the sheet does not say what they take."""
        return tuple(step.title for step in self.steps if step.hours is None)

    @property
    def unpriced(self) -> tuple[Text, ...]:
        """Parts used up without a price."""
        every = (used for step in self.steps for used in step.used_up)
        return tuple(dict.fromkeys(used.name for used in every if used.amount is None))

    @property
    def names(self) -> tuple[str, ...]:
        """What comes off, in order."""
        return tuple(step.name for step in self.steps if not step.is_state)
