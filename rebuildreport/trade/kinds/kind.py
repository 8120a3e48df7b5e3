"""What a kind of feature is: what it takes, what it works out, and what it says about itself."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Several, Text, as_typed
from ..engine.bearings import Walls
from ..engine.cautions import ANY, Nature
from ..engine.crank import Wheel
from ..measuring.uncertainty import Measured
from ..measuring.verdict import Bound

Readings = Mapping[str, Mapping[str, Measured]]  # position: column: value


class KnownWalls(Struct, frozen=True):
    """Shell walls of one position, and how they are known."""

    walls: Walls
    basis: Text
    bound: Bound = "equal"


class Unread(Struct, frozen=True):
    """Columns of a position that nobody read: what the others give is then a bound and no value."""

    columns: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.columns)

    @property
    def note(self) -> Text:
        """What is missing, where anything is."""
        return Sentence("missing {what}", what=columns_of(self.columns)) if self.columns else NOTHING

    @property
    def least(self) -> Bound:
        """What the least of the others is worth: one that is missing may lie below it."""
        return "at most" if self.columns else "equal"

    @property
    def most(self) -> Bound:
        """What the greatest of the others is worth, or how far they lie apart."""
        return "at least" if self.columns else "equal"


def unread(wanted: Iterable[str], read: Collection[str]) -> Unread:
    """Those of the columns or positions that are wanted and were not read.

    Source: common practice: what was not read may be worse than all that was.

    >>> unread(("front_a", "front_b"), {"front_a": 1.0}).columns, unread(("a",), ("a",)).least
    (('front_b',), 'equal')
    """
    return Unread(tuple(name for name in wanted if name not in read))


class Inputs(Struct, frozen=True):
    """What stands for one feature when it is worked out, all in the feature's base unit."""

    positions: tuple[str, ...]
    columns: tuple[str, ...]  # wanted for a whole measurement
    readings: Readings
    repeats: Mapping[str, Mapping[str, list[Measured]]] = field(default_factory=dict)
    partners: Mapping[str, Readings] = field(default_factory=dict)
    partner_columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    partner_positions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # all, read or not
    walls: Mapping[str, KnownWalls] = field(default_factory=dict)
    direction: str = ""
    least: Mapping[str, float] = field(default_factory=dict)  # limit key: lower new limit
    most: Mapping[str, float] = field(default_factory=dict)  # limit key: upper new limit
    aim_above: float = 0.0
    guarded: bool = False  # by the shop's rule
    step: float = 0.0  # the smallest that the instrument shows; 0: not known
    given: Mapping[str, float] = field(default_factory=dict)  # the kind's numbers, and the engine's geometry
    limited: frozenset[str] = frozenset()  # limits that the sheet states
    stations: tuple[float, ...] = ()  # where the positions stand along an axis [mm]; (): not on the sheet
    corrected_at: tuple[float, ...] = ()  # where each is corrected, where not there [mm]
    steps: Mapping[str, float] = field(default_factory=dict)  # oversize of a position's bore in force [mm]
    housing: str = "aluminium"  # what a bearing is housed in; not known: the softest
    banks: tuple[tuple[str, ...], ...] = ()  # cylinder numbers of each row from the front; none: one row

    def each(self) -> Iterator[tuple[str, Mapping[str, Measured], Unread]]:
        """Every position that was read, its readings, and the columns of it that nobody read."""
        for position, columns in self.readings.items():
            yield position, columns, self.missing(position)

    def missing(self, position: str) -> Unread:
        """Columns of a position that nobody read."""
        return unread(self.columns, self.readings.get(position, {}))

    def partner_missing(self, partner: str, position: str) -> Unread:
        """Columns of a partner's position that nobody read."""
        return unread(self.partner_columns.get(partner, ()), self.partners.get(partner, {}).get(position, {}))


class Computed(Struct, frozen=True):
    """One characteristic at one position; ``measured`` None: too few readings to say."""

    position: str
    name: str
    measured: Measured | None
    bound: Bound = "equal"
    basis: Text = NOTHING
    note: Text = NOTHING
    planes: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    uses: tuple[str, ...] = ()  # positions it rests on, where not its own alone
    grid: tuple[tuple[float, float, float], ...] = ()  # x, y, height over the middle of its zone [mm]
    wheel: Wheel | None = None  # of what was turned under an indicator
    filing: float = 0.0  # what is to be filed off before it fits
    direct: bool = False  # read as it is, where others of the feature are worked out
    # each side of a limit is judged on the reading that is worst for it: these, where ``measured`` is not
    least: Measured | None = None
    most: Measured | None = None


class Trait(Struct, frozen=True):
    """A characteristic of a kind: how it is called, which limit judges it, words for the two sides."""

    title: str
    limit: str
    low: str = "too small"
    high: str = "too large"
    short: str | None = None  # in a summary line, where not its title; '' where the feature's title says it
    unit: str = ""  # where it is not the feature's: a share in percent, an angle in deg
    from_zero: bool = False  # a deviation, whose tolerance is its limit itself
    optional: bool = False  # nobody misses it where it was not measured ...
    column: str = ""  # ... unless the sheet lists this column
    at: str = ""  # where it stands, if not at each position: "engine", "line", "face", "set"
    small: bool = False  # spoken of in µm, whatever lengths are printed in
    falls: bool = False  # with wear, so that an upper limit alone passes whatever is worse


class Given(Struct, frozen=True):
    """A number that a kind needs beside its readings, such as the pitch of a chain."""

    says: str
    dimension: str = "length"  # '' for a mere number, 'feature' for one in the feature's own unit
    needed: bool = True
    needed_by: str = ""  # the key that names another feature, where that alone needs it
    many: bool = False  # a length for each position, with their unit after the last
    at_bench: bool = False  # yes: whoever takes the reading has to know it


# how a bench sheet shows where each reading goes
Drawing = Literal[
    "shaft", "bore", "shell", "bearing", "fit", "ring", "height", "deck", "guide", "valve", "spring", "lobe",
    "clearance",
    "wheel", "indicator", "line", "lines on a face", "grid on a face", "rod", "chain", "gear", "pump",
    "gauge", "part",
]  # fmt: skip


# the doubt of what feelers read
LEAVES = "the gap lies anywhere from the leaf that goes in to the next one, each with its permitted error"


class Kind(Struct, frozen=True):
    """One kind of feature: everything that the rest of the program has to know about it.

    ``readings``, ``formula``, ``source`` and ``doubt`` are sentences for people: how many
    readings make a measurement, what is worked out, where that comes from, and how its uncertainty forms.
    """

    name: str
    says: str
    compute: Callable[[Inputs], Iterable[Computed]]
    traits: Mapping[str, Trait]  # empty: every column is a characteristic of its own
    readings: str
    drawing: Drawing
    instruments: tuple[str, ...] = ()  # families of gauges.py that are fit for it; none: whatever reads it
    formula: str = "the reading itself"
    source: str = "common practice"
    doubt: str = "the instrument's permitted error, resolution and repeatability"
    partners: tuple[str, ...] = ()
    optional_partners: tuple[str, ...] = ()
    given: Mapping[str, Given] = field(default_factory=dict)
    needs_columns: bool = True
    keys: frozenset[str] = frozenset()
    knows: tuple[str, ...] = ()  # the only columns that it works anything out of; none: any
    extra_columns: tuple[str, ...] = ()  # allowed beside the sheet's own
    # words for a kind whose columns are the characteristics; with a limit: that one judges them all
    column_trait: Trait = Trait("", "")
    # how many readings make a measurement with these columns on such an engine, where it depends on them
    asked: Callable[[tuple[str, ...], Nature], Text] | None = None
    lone: str = ""  # all that is worked out of one column, where no limit asks for more
    again_by: tuple[str, ...] = ()  # partners that make it used when they are; none: every one of them
    named: Callable[[tuple[str, ...]], tuple[str, ...]] = tuple  # columns: characteristics, without traits
    judged: bool = True  # no: it is measured to choose by, and only what is beyond its limit is a verdict
    reads: str = ""  # the limit that each of its columns reads by itself, where that is no size and no wall
    alike: bool = True  # no: readings beside each other may differ by any share, so a slip does not stand out
    whole: bool = False  # yes: read on the assembled engine, so it lapses once the engine was apart
    one_setting: bool = False  # yes: heights from a zero of their own, which no other round's readings join
    together: bool = False  # yes: as found it is read before what it lies between comes apart
    fitted: bool = False  # yes: proved as the engine goes together, so every build sheet asks for it
    of_surface: bool = True  # no: a test or a trial fit, which leaves no gap in the plan of the engine

    @property
    def links(self) -> tuple[str, ...]:
        """Keys that name other features, needed or not."""
        return (*self.partners, *self.optional_partners)

    @property
    def limit_keys(self) -> frozenset[str] | None:
        """Limits that the sheet may state; None: one for each column."""
        return frozenset(trait.limit for trait in self.traits.values()) if self.traits else None

    @property
    def read_by_itself(self) -> bool:
        """Whether it has readings of its own, and others only lend it theirs."""
        return bool(self.optional_partners) and not self.partners

    def characteristics(self, columns: tuple[str, ...], limited: Collection[str] = ()) -> tuple[str, ...]:
        """What is worked out of a feature with these columns; ``limited``: limits that its sheet states.

        >>> from rebuildreport.trade.kinds import KINDS
        >>> KINDS["readings"].characteristics(("hot_idle", "hot_1800"))
        ('hot_idle', 'hot_1800')
        >>> KINDS["shells"].characteristics(("rod", "cap")), KINDS["journal"].characteristics(("skirt",))
        (('rod', 'cap'), ('size',))
        """
        if self.column_trait.limit and columns:
            return self.named(columns)
        if self.is_lone(columns, limited):
            return (self.lone,)
        return tuple(name for name in self.traits if name != self.lone) or self.named(columns)

    def asks(self, columns: tuple[str, ...], nature: Nature = ANY) -> Text:
        """How many readings make a measurement of a feature with these columns, in words for the bench.

        >>> from rebuildreport.quantities import english
        >>> from rebuildreport.trade.kinds import KINDS
        >>> english(KINDS["matched"].asks(("volume",))), english(KINDS["journal"].asks(("skirt_t",)))
        ('one for each of the set', 'one reading of each')
        """
        return self.asked(columns, nature) if self.asked and columns else Sentence(self.readings)

    def is_lone(self, columns: tuple[str, ...], limited: Collection[str]) -> bool:
        """Whether there is one value to a position, and no limit asks for another."""
        own = [column for column in columns if column not in self.extra_columns]
        limit = self.traits[self.lone].limit if self.lone else ""
        return bool(limit) and len(own) == 1 and {*limited} <= {limit}

    def trait(self, name: str) -> Trait:
        """The trait of a characteristic; a column's own where the kind has none.

        >>> from rebuildreport.trade.kinds import KINDS
        >>> KINDS["readings"].trait("hot_idle").title, KINDS["shells"].trait("rod").title
        ('hot idle', 'rod wall')
        """
        known = self.traits.get(name)
        if known:
            return known
        words, title = self.column_trait, name.replace("_", " ")
        if words.title and words.title not in title:
            title = f"{title} {words.title}"
        if words.limit:
            return replace(words, title=title)
        if name.endswith("_spread"):
            return Trait(title, name, from_zero=True, at="set")
        return Trait(title, name, words.low, words.high, from_zero=words.from_zero)

    def column_title(self, name: str) -> str:
        """What stands at the head of a column: a ring by its title, for 'top' alone is a place.

        >>> from rebuildreport.trade.kinds import KINDS
        >>> [KINDS[kind].column_title("top") for kind in ("ring_gap", "bore")]
        ['top ring', 'top']
        """
        words = self.column_trait
        is_title = words.title and not words.limit and self.named((name,)) == (name,)
        return self.trait(name).title if is_title else name


def columns_of(names: Iterable[str]) -> Text:
    """Columns one after the other, each as a word that another language may have its own for.

    Source: naming rule of this project.

    >>> from rebuildreport.quantities import english
    >>> english(columns_of(["top_t", "top_a"]))
    'top_t, top_a'
    """
    return Several(as_typed(name) for name in names)


def ends(
    position: str,
    names: Iterable[str],
    values: tuple[Measured, Measured],  # the least, the greatest
    missing: Unread,
) -> Iterator[Computed]:
    """The least and the greatest at one place, each worth what the readings that are missing leave of it.

    Source: common practice: size is largest and smallest, never the mean alone.
    """
    for name, value, bound in zip(names, values, (missing.least, missing.most), strict=True):
        yield Computed(position, name, value, bound, note=missing.note)


def each_column(inputs: Inputs) -> Iterator[Computed]:
    """Every reading as a characteristic of its own name (common practice)."""
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            yield Computed(position, column, value)
