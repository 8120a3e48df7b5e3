"""What one look at a part tells of its life, and what several looks at the same engine tell together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from math import inf
from typing import Literal

from msgspec import Struct

PartState = Literal["failed", "worn out", "good"]


class Lifetime(Struct, frozen=True):
    """One part: good at the age ``after``, failed at ``until`` at the latest; all in one unit of use.

    ``after == until``: it failed at that age.  ``until`` inf: it had not failed yet (right-censored).
    ``entered``: the age at which it came under observation; it would not have been seen had it failed
    before (left-truncated).

    >>> Lifetime(120.0, inf).failed, Lifetime(90.0, 90.0).exact
    (False, True)
    """

    after: float
    until: float
    entered: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.entered <= self.after <= self.until or self.until <= 0:
            raise ValueError("a life runs from its entry over the last age known good to the age failed by")

    @property
    def failed(self) -> bool:
        return self.until < inf

    @property
    def exact(self) -> bool:
        return self.after == self.until


class Look(Struct, frozen=True):
    """What was found of one part of one engine at one reading of its meter.

    ``state`` failed: it stopped doing its work then.  Worn out: found beyond its limit, so it failed at
    some age before.  Good: found good, or replaced as a precaution.  ``renewed``: a new or machined one
    went on from there.  ``new_at``: the reading at which the part was new, where it is not the engine's
    first; ``known_from``: the reading from which on the engine was looked after by whoever tells, where
    nothing is known of the parts that failed before.
    """

    engine: str  # the same for one engine over all its jobs
    meter: float
    state: PartState
    renewed: bool = False
    new_at: float = 0.0
    known_from: float = 0.0


def lifetimes(looks: Sequence[Look]) -> list[Lifetime]:
    """The lives that looks at one kind of part tell, oldest engine by name first [unit of the meter].

    Engines without a name (``""``) are one each.  What was good at one visit and had failed at the next
    did so in between; a part renewed at one visit is of age 0 from there on.

    Source: what a product of conditional likelihoods comes to; common practice.

    >>> first, again = Look("a", 90e3, "good"), Look("a", 140e3, "worn out")
    >>> lifetimes([again, first])
    [Lifetime(after=90000.0, until=140000.0, entered=0.0)]
    """
    named = sorted((look for look in looks if look.engine), key=lambda look: (look.engine, look.meter))
    engines = [list(group) for _, group in groupby(named, key=lambda look: look.engine)]
    engines += [[look] for look in looks if not look.engine]
    return [life for engine in engines for life in _of_one(engine)]


class LookedAt(Struct, frozen=True):
    """A look at one component in one job; ``component`` "" is the engine itself, at each visit."""

    component: str
    look: Look
    by_sight: bool = False  # nobody measures it: had it failed, somebody would have said so


def of_family(jobs: Iterable[Sequence[LookedAt]]) -> dict[str, list[Lifetime]]:
    """The lives of each component over all jobs of a family (common practice).

    What is only judged by sight and not named in a job was sound there: the engine came for something
    else.  What is measured and was not in a job tells nothing.

    >>> came = LookedAt("", Look("", 90e3, "good"))
    >>> leaked = LookedAt("water_pump", Look("", 70e3, "failed"), by_sight=True)
    >>> [life.until for life in of_family([[came], [leaked]])["water_pump"]]
    [inf, 70000.0]
    """
    known = list(jobs)
    names = {one.component: one.by_sight for job in known for one in job if one.component}
    lives = {}
    for component, by_sight in names.items():
        looks = []
        for job in known:
            here = [one.look for one in job if one.component == component]
            looks += here or [one.look for one in job if by_sight and not one.component]
        lives[component] = lifetimes(looks)
    return lives


def _of_one(looks: list[Look]) -> Iterator[Lifetime]:
    new_at = good = 0.0  # the part's first reading, and the newest at which it was good
    for look in looks:
        if look.new_at > new_at:
            new_at = good = look.new_at
        age = look.meter - new_at
        entered = min(max(look.known_from - new_at, 0.0), age)
        if age > 0 and look.state == "failed":
            yield Lifetime(age, age, entered)
        elif age > 0 and look.state == "worn out":
            yield Lifetime(max(good - new_at, entered), age, entered)
        elif age > 0 and (look.renewed or look is looks[-1]):
            yield Lifetime(age, inf, entered)
        good = look.meter
        if look.renewed or look.state != "good":
            new_at = look.meter
