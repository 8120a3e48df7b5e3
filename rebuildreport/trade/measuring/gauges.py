"""What instruments measure, and whether one is fit for a tolerance."""

from __future__ import annotations

from functools import cache

from .verdict import DUST, Ends

# instruments that can take each other's place measure the same sort of thing:
# how a person asks for one of the family, and words of the trade that name one
_GAUGES = {
    "bore": (
        "a bore gauge",
        "bore gauge | bore micrometer | bore comparator | inside | internal | telescop | hole gauge",
    ),
    "wall": ("a micrometer with a ball anvil", "ball"),
    "gap": ("feelers", "feeler"),
    "depth": ("a depth gauge", "depth"),
    "alignment": ("an alignment fixture", "alignment fixture"),
    "outside": (
        "a micrometer or caliper",
        "micrometer | comparator | caliper | indicating",
    ),  # before the dial of a dial caliper
    "travel": ("a dial indicator", "dial | indicator on"),
    "thread": ("plastic thread", "plastic thread"),
    "loss": ("a leak-down tester", "leak"),
    "pressure": ("a pressure gauge", "pressure"),
    "load": ("a spring tester", "spring tester | load cell | spring scale"),
    "mass": ("scales", "scale | balance"),
    "volume": ("a burette", "burette"),
    "hardness": ("a hardness tester", "hardness"),
    "radius": ("radius gauges", "radius"),
    "angle": ("a degree wheel", "degree wheel"),
    "roughness": ("a roughness tester", "roughness"),
    "thickness": ("an ultrasonic thickness gauge", "ultrasonic"),
}
FAMILIES = {name: tuple(words.split(" | ")) for name, (_, words) in _GAUGES.items()}
WORDS = {name: said for name, (said, _) in _GAUGES.items()}

# shows no size of its own: it is set in something, or is read in a micrometer itself
_SET, _TRANSFER = ("bore gauge", "bore comparator"), ("telescop", "hole gauge", "transfer")
# Common practice, where nobody has tried it: how well a telescopic or small-hole gauge repeats in one hand.
TRANSFER = 0.005  # mm


def is_set(kind: str) -> bool:
    """Whether an instrument of this kind shows how far a size is from the one that it was set to.

    Source: words of the trade.

    >>> is_set("bore gauge"), is_set("bore micrometer"), is_set("telescoping gauge")
    (True, False, False)
    """
    return any(word in kind.lower() for word in _SET)


def transfers(kind: str) -> bool:
    """Whether an instrument of this kind carries a size to a micrometer, which then reads it.

    Source: words of the trade.

    >>> transfers("telescoping gauge"), transfers("small-hole gauge"), transfers("bore gauge")
    (True, True, False)
    """
    return any(word in kind.lower() for word in _TRANSFER)


def by_dial(kind: str) -> bool:
    """Whether an instrument of this kind shows the travel of its dial alone, whatever size it goes into.

    Source: words of the trade.

    >>> by_dial("bore gauge"), by_dial("bore micrometer"), by_dial("depth gauge")
    (True, False, False)
    """
    return family(kind) == "bore" and "gauge" in kind.lower()


def by_thimble(kind: str) -> bool:
    """Whether an instrument of this kind is read at a thimble, a turn of which is easily missed.

    Source: words of the trade.

    >>> by_thimble("Outside micrometer"), by_thimble("caliper")
    (True, False)
    """
    return "micrometer" in kind.lower()


def is_caliper(kind: str) -> bool:
    """Whether it has jaws that go into a hole, too.

    Source: words of the trade.

    >>> is_caliper("Digital caliper"), is_caliper("micrometer")
    (True, False)
    """
    return "caliper" in kind.lower()


# common practice: an instrument shows steps of at most a tenth of the tolerance that it judges
SHARE = 0.1


@cache  # a shop has a dozen, each is asked of every reading
def family(kind: str) -> str:
    """What an instrument of this kind measures; its own kind where it is like no other.

    Source: words of the trade.

    >>> family("digital outside micrometer"), family("bore gauge"), family("crack detector")
    ('outside', 'bore', 'crack detector')
    """
    for name, words in FAMILIES.items():
        if any(word in kind.lower() for word in words):
            return name
    return kind


def tolerance(decides: Ends, new: Ends, from_zero: bool = False) -> float | None:
    """The width of the tolerance that a value is judged by; None where a lone limit gives none.

    Both ends of the limits that decide; for a deviation counted from nothing
    the limit itself; for a lone wear limit the way from the far end of the
    new limits to it.

    Source: common practice.

    >>> round(tolerance((75.970, 75.990), (75.970, 75.990)), 6)
    0.02
    >>> round(tolerance((None, 98.150), (98.000, 98.022)), 6), tolerance((None, 0.03), (None, 0.008), True)
    (0.15, 0.03)
    >>> tolerance((92.0, None), (None, None)) is None
    True
    """
    low, high = decides
    if low is None:
        low = 0.0 if from_zero else new[0]
    if high is None:
        high = new[1]
    if low is None or high is None or high - low <= DUST:
        return None
    return high - low


def too_coarse(resolution: float, width: float | None) -> bool:
    """Whether an instrument shows steps larger than a tenth of the tolerance.

    Source: common practice (one tenth).

    >>> too_coarse(0.01, 0.013), too_coarse(0.001, 0.020), too_coarse(0.01, None)
    (True, False, False)
    """
    return width is not None and resolution > SHARE * width * (1.0 + 1e-6)
