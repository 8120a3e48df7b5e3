"""A blank spec sheet of an engine as somebody described it: only what such an engine has, in bench order.

What nobody said stands as an example behind a ``#``; what the engine has not does not stand there at all.
Every limit of a kind is laid out from the register, behind ``#`` and with ``...`` for the maker's figure,
which is an error of the file until it is filled in: no figure of ours can pass for one of his.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib.resources import files

from msgspec import Struct
from msgspec.structs import replace

from ...trade.engine.cautions import Nature
from ...trade.engine.cylinders import rows_of
from ...trade.kinds import KINDS, Kind, Trait
from ...trade.measuring.gauges import WORDS

Known = bool | None  # None: nobody said


def _all(*parts: Known) -> Known:
    """Three-valued 'and': what is not known matters only where nothing is false."""
    if False in parts:
        return False
    return None if None in parts else True


class DescribedEngine(Struct, frozen=True):
    """What decides the sheet of an engine; '' and 0 where nobody said."""

    cylinders: int = 0
    arrangement: str = ""
    strokes: str = ""
    cooling: str = ""
    fuel: str = ""
    valves: str = ""  # side, pushrod, overhead, none
    valves_each: int = 2
    crank: str = ""  # one-piece, pressed
    bearings: str = ""  # shells, bush, poured, roller
    rod_bearings: str = ""
    mains_count: int = 0
    liners: str = ""  # none, dry, wet, barrels
    drive: str = ""  # gear, chain, belt
    unit: str = "mm"

    def matters(self, question: str) -> bool:
        """Whether a question is worth asking, after what was answered."""
        if question in ("valves_each", "drive"):
            return self.valved is not False
        return question != "valves" or self.own_crankcase is not True

    @property
    def refused(self) -> str:
        """Why there is no such engine; '' where there may be one."""
        if self.liners == "wet" and self.cooling == "air":
            return "wet liners stand in water, and an air-cooled engine has none: say --liners barrels or dry"
        if self.crank == "pressed" and self.rod_bearings in ("shells", "poured"):
            return (
                f"rods of a pressed crank are closed rings, without {self.rod_bearings}: "
                "say --rod-bearings roller or bush"
            )
        return ""

    @property
    def inch(self) -> bool:
        return self.unit == "in"

    def mm(self, typed: str) -> str:
        """A figure of an example, in the sheet's unit."""
        return f"{float(typed) / 25.4:.4f}" if self.inch else typed

    def given(self, what: str, *wanted: str) -> Known:
        """Whether something is one of these words."""
        value = str(getattr(self, what)).casefold()
        return value in wanted if value else None

    @property
    def count(self) -> int:
        return self.cylinders or 4

    @property
    def mains(self) -> str:
        rows = 2 if self.two_banks and self.count > 2 else 1
        return run("M", self.mains_count or self.count // rows + 1)

    @property
    def vs(self) -> str:
        """Valves by their names; of a two-stroke with valves, exhaust alone."""
        exhaust = self.valves_each // 2
        if self.strokes == "2":
            return run("E", self.valves_each * self.count)
        return f"{run('I', (self.valves_each - exhaust) * self.count)} {run('E', exhaust * self.count)}"

    @property
    def two_banks(self) -> Known:
        rows = rows_of(self.arrangement) if self.count > 1 else "inline"
        return rows in ("v", "flat") if rows else None

    @property
    def own_crankcase(self) -> Known:
        """Whether it breathes through its crankcase, and has no oil in it but what comes with the fuel."""
        if self.valves not in ("", "none"):
            return False
        return _all(self.given("strokes", "2"), _not(Nature(self.fuel).diesel if self.fuel else None))

    @property
    def valved(self) -> Known:
        if self.valves:
            return self.valves != "none"
        if self.own_crankcase:
            return False
        return self.given("strokes", "4") or None  # a two-stroke diesel may have exhaust valves

    @property
    def rods_run_in(self) -> str:
        return self.rod_bearings or ("roller" if self.crank == "pressed" else self.bearings)


def _not(known: Known) -> Known:
    return None if known is None else not known


def run(letter: str, count: int) -> str:
    """Positions as a sheet names them.

    >>> run("M", 5), run("R", 2), run("C", 1)
    ('M1 to M5', 'R1 R2', 'C1')
    """
    names = [f"{letter}{number + 1}" for number in range(count)]
    return " ".join(names) if count < 3 else f"{names[0]} to {names[-1]}"


class _Layout(Struct, frozen=True):
    """What the template calls to lay out entries of the sheet."""

    build: DescribedEngine

    def feature(
        self,
        name: str,
        kind: str,
        title: str,
        part: str,
        positions: str,
        columns: str,
        unit: str,
        has: Known = True,
        *,
        material: str = "",
        state: str = "",
        limits: bool = True,
        wear: bool = True,
        wear_size: str = "",
        only: str = "",
        remark: str = "",
        caller: Callable[[], str] | None = None,
    ) -> str:
        """A feature that is read: its first lines, the template's own, then its limits."""
        title = ALONE.get(title, title) if self.build.cylinders == 1 else title
        families = KINDS[kind].instruments[: 1 if unit == "g" else 2]
        lines = [f"    kind: {kind}" + _remark(", or ".join(WORDS[family] for family in families))]
        lines += [
            f"    {key}: {value}"
            for key, value in {"title": title, "part": part, "material": material}.items()
            if value
        ]
        lines += [f"    positions: {positions}{_remark(remark)}", f"    columns: {columns}"]
        lines += [f"    state: {state}"] if state else []
        lines += [f"    unit: {unit}"]
        known = _limits(kind, columns, wear, wear_size, only) if limits else []
        return self._entry(name, lines, known, caller, has)

    def fit(
        self,
        name: str,
        kind: str,
        title: str,
        partners: Mapping[str, str],
        has: Known = True,
        caller: Callable[[], str] | None = None,
    ) -> str:
        """A feature that is worked out of others."""
        lines = [f"    kind: {kind}", f"    title: {title}"]
        lines += [f"    {key}: {feature}" for key, feature in partners.items()]
        lines += [f"    unit: {self.build.unit}"]
        return self._entry(name, lines, _limits(kind, "", True, "", ""), caller, has)

    def _entry(
        self, name: str, lines: list[str], limits: list[str], caller: Callable[[], str] | None, has: Known
    ) -> str:
        if has is False:
            return _END
        further = caller().strip("\n").splitlines() if caller else []
        stands = [line for line in further if not line.startswith("#")]
        examples = [line for line in further if line.startswith("#")]
        source = ["#    source: manual page ..."] if limits else []
        text = [f"  {name}:", *lines, *stands, *limits, *examples, *source]
        if not (has and self.build.cylinders):
            text = [line if line.startswith("#") else f"#{line}" for line in text]
        return "\n".join(text) + f"\n{_END}"


# what an engine of one cylinder has one of
ALONE = {
    "Barrels": "Barrel",
    "Big ends, play along the rod": "Big end, play along the rod",
    "Big ends, side clearance": "Big end, side clearance",
    "Crankcases under pressure, lost in a minute": "Crankcase under pressure, lost in a minute",
    "Cylinder bores": "Cylinder bore",
    "Heads, cracks": "Head, cracks",
    "Liners": "Liner",
    "Piston pins": "Piston pin",
    "Piston skirts": "Piston skirt",
}
_END = "\x00"  # behind an entry, and in place of one that the engine has not: goes with its line's end


def sheet_text(name: str, build: DescribedEngine) -> str:
    """The blank sheet of such an engine.

    >>> "coolant" in sheet_text("twin", DescribedEngine(2, "flat", cooling="air"))
    False
    >>> saw = sheet_text("saw", DescribedEngine(1, strokes="2"))
    >>> [many for many in ALONE if f"title: {many}\\n" in saw]
    []
    """
    from jinja2 import Environment, StrictUndefined

    from ...records.text.writing import as_value

    build = replace(
        build,
        arrangement=build.arrangement and as_value(build.arrangement),
        fuel=build.fuel and as_value(build.fuel),
    )
    text = (files(__package__) / "engine.yaml.jinja").read_text(encoding="utf-8")
    layout = _Layout(build)
    # no page is made here, and nobody's markup comes in: a name is letters and digits
    inside = Environment(trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined, autoescape=False)
    tools = {"feature": layout.feature, "fit": layout.fit, "run": run, "all": _all, "not_": _not}
    made = inside.from_string(text).render(name=name, e=build, **tools)
    made = made.replace(f"{_END}\n", "").replace(_END, "")
    # the sign stands where the key will: an editor that takes it away takes a blank behind it, too, and a key
    # that then stood one to the left would be an error
    made = re.sub(r"(?m)^#(  +)(?:#(?= )|(?=[^\s#]))", r"\1#", made)
    return re.sub(r"\n{3,}", "\n\n", re.sub(r"[ ]+\n", "\n", made)).strip("\n") + "\n"


def _remark(text: str) -> str:
    return f"      # {text}" if text else ""


_WEARS_DOWN = ("size", "free", "margin", "height", "opening")


def _limits(kind: str, columns: str, wear: bool, wear_size: str, only: str) -> list[str]:
    """Every limit of a kind, behind '#', as it is to be filled in."""
    from ...records.checks.sheetcheck import lacking_form

    names, entry = columns.split(), KINDS[kind]
    traits = [entry.trait(name) for name in entry.characteristics(tuple(names))]
    keys = {trait.limit: trait for trait in traits if only in ("", trait.limit) and not trait.optional}
    keys = {key: trait for key, trait in keys.items() if key in names} or keys
    keys = {key: trait for key, trait in keys.items() if key not in lacking_form(names)}
    lines = []
    for side in ("new", "wear") if wear and not entry.whole else ("new",):
        lines.append(f"#    {side}:")
        for key, trait in keys.items():
            asked = _asked(entry, trait, side)
            if side == "wear" and key == "size":
                asked = wear_size or asked
            lines.append(f"#      {key}: {asked}")
    return lines


def _asked(kind: Kind, trait: Trait, side: str) -> str:
    """Which ends a limit has: a new one two, a worn one that which wear goes to."""
    if trait.from_zero or trait.limit == "loss":
        return "max ..."
    if kind.whole or (side == "wear" and trait.limit in _WEARS_DOWN and kind.name != "bore"):
        return "min ..."
    return "max ..." if side == "wear" else "... to ..."
