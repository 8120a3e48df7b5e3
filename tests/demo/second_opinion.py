"""A second opinion: every characteristic of a demo job, from the YAML, with numpy and nothing of the product.

In: the shop's folder and the name of a job.  Out: ``opinions``, each with value, standard uncertainty,
verdict and side.  It knows no module of the product, and shares no formula with it: where the product follows
every source of error by itself, this one weighs readings by a matrix of their covariances (JCGM 100:2008,
5.2.2), and where the product fits a zone, this one goes through all sets of places that could hold it.

It reads what the demo's files need: bare numbers in the unit of their sheet, all at 20 °C. Anything else
stops it, so that no reading is left out in silence. Conventions of the house, which no book fixes, are
marked "Convention", with the place that states them.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

# Linear expansion, 1/K: steel and aluminium NIST J. Res. 99 (1994) 31, grey iron as in handbook tables.
EXPANDS = {"iron": 10.5e-6, "steel": 11.5e-6, "aluminium": 23.0e-6}
SCALE = EXPANDS["steel"]  # of every scale, and of a part whose material nobody names
# Convention (trade/measuring/uncertainty.py): a workshop's temperature is known to 1 °C; part and instrument
# that soaked together are alike to 0.5 °C, ten times what JCGM 100:2008, H.1 has for a laboratory.
KNOWN_TO, ALIKE_TO = 1.0, 0.5
# Convention (kinds' register): over a tenth of its range an instrument errs as much as over all of it, over
# less as the root of the span; a bore gauge's range is its dial's travel, taken as 1 mm.
REACH, TRAVEL = 0.1, 1.0
CARRIED = (
    0.005  # mm; common practice: how a small-hole gauge repeats that takes a hole's size to a micrometer
)
GUARD = 1.645  # ISO 14253-1, 95 % one-sided
EVEN = 1e-9  # numbers nearer than this stand for the same decimal
AS_NEW, SERVICEABLE, BEYOND = "as new", "serviceable", "beyond limit"
CLOSE, UNMEASURED, UNLIMITED = "too close to call", "not measured", "no limit on file"
WORST_FIRST = (BEYOND, CLOSE, UNMEASURED, SERVICEABLE, AS_NEW, UNLIMITED)

Ends = tuple[float | None, float | None]
OPEN: Ends = (None, None)


# ---------------------------------------------------------------- plain reading of the files


def load(path: Path) -> Any:
    """A file with every scalar as the text that stands there; nothing where there is no file."""
    return yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader) if path.exists() else {}


def day_of(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def number(text: str) -> float:
    """The number that a quantity begins with: ``0.002 mm``."""
    return float(text.split()[0])


def words(text: str | None) -> list[str]:
    """Names of a list: ``M1 to M3, R1`` is M1 M2 M3 R1."""
    names: list[str] = []
    for part in re.split(r",", text or ""):
        spelled = re.fullmatch(r"\s*([A-Za-z]+)(\d+) to \1(\d+)\s*", part)
        if spelled:
            letter, first, last = spelled.groups()
            names += [f"{letter}{n}" for n in range(int(first), int(last) + 1)]
        else:
            names += part.split()
    return names


def ends(text: str | None) -> Ends:
    """``a to b``, ``min a`` or ``max b``; a limit that only says where it is judged is open."""
    low_high = re.fullmatch(r"(-?[\d.]+) to (-?[\d.]+)(?: \S+)?", text or "")
    if low_high:
        return float(low_high[1]), float(low_high[2])
    one = re.fullmatch(r"(min|max) (-?[\d.]+)(?: \S+)?", text or "")
    if one:
        return (float(one[2]), None) if one[1] == "min" else (None, float(one[2]))
    assert not text or text.startswith("see "), text
    return OPEN


def moved(limits: Ends, by: float) -> Ends:
    low, high = limits
    return None if low is None else low + by, None if high is None else high + by


# ---------------------------------------------------------------- what a reading is worth


@dataclass(frozen=True)
class Tool:
    """An instrument of the shop."""

    name: str
    step: float
    error: float
    scatter: float
    span: float
    leaves: bool = False  # one of its steps goes in, and the next one does not

    def shared(self, here: float, there: float) -> float:
        """Covariance of its error at two places: nothing of it is left in a difference taken at one place,
        all of it over a tenth of the range, and the root of the span in between (ISO 3611:2010, 5.1)."""
        apart = min(1.0, abs(here - there) / (REACH * self.span)) if self.span else 0.0
        return self.error**2 / 3.0 * (1.0 - apart / 2.0)

    def by_chance(self, step: float = 0.0, repeats: int = 1) -> float:
        """Variance of what differs from one reading to the next; a resolution does not average out."""
        return max(self.step, step) ** 2 / 12.0 + self.scatter**2 / repeats


@dataclass(frozen=True, eq=False)
class Reading:
    """One spot as read; another reading of the same spot is another object."""

    value: float
    tool: Tool | None  # None: counted, so without a doubt
    round: str
    table: str
    feature: str
    expands: float | None = SCALE  # of a length
    step: float = 0.0  # of the last digit typed
    repeats: int = 1
    setter: Tool | None = None  # the instrument that its gauge was set in
    set_at: float = 0.0
    band: float = 0.0  # of what nobody read, how wide the band is that it lies in
    high: float = 0.0  # by how much chance may have made it too large
    each: tuple[Reading, ...] = ()

    def scales(self) -> Iterator[tuple[Tool, float]]:
        if self.tool:
            yield self.tool, self.value
        if self.setter:
            # Convention (assess/measure/observations.py): a gauge is set once for its table, at the size of
            # the first reading.
            yield self.setter, self.set_at


def covariance(a: Reading, b: Reading) -> float:
    """What two readings have in common [square of their unit]; of a reading with itself its variance."""
    if a is b and a.band:
        return a.band**2 / 12.0
    if a.round != b.round or a.tool is None or b.tool is None:
        return 0.0  # Convention (design, 6): an instrument shares its error within a round and not beyond
    common = a.tool.by_chance(a.step, a.repeats) + a.high**2 / 12.0 if a is b else 0.0
    for mine, here in a.scales():
        common += sum(mine.shared(here, there) for its, there in b.scales() if its.name == mine.name)
    if a.setter and b.setter and (a.tool, a.table) == (b.tool, b.table):
        common += a.setter.by_chance()  # the setting was read once
    if a.expands and b.expands:
        known, alike = KNOWN_TO**2 / 3.0, ALIKE_TO**2 / 3.0
        common += (SCALE - a.expands) * (SCALE - b.expands) * a.value * b.value * known
        if a.feature == b.feature:
            common += a.expands * b.expands * a.value * b.value * alike
    return common


@dataclass(frozen=True)
class Value:
    """A number, and by how much it follows each reading that it was made of."""

    number: float
    weights: Mapping[Reading, float] = field(default_factory=dict)

    @cached_property
    def u(self) -> float:
        """Standard uncertainty: the root of w C w (JCGM 100:2008, 5.2.2)."""
        readings, weights = list(self.weights), np.array(list(self.weights.values()))
        if not readings:
            return 0.0
        matrix = np.array([[covariance(a, b) for b in readings] for a in readings])
        return float(np.sqrt(max(0.0, weights @ matrix @ weights)))

    @cached_property
    def reach(self) -> Ends:
        """What 5 % of the chance lie below, and above: a gap is anywhere between two leaves."""
        steps = [w * max(r.tool.step, r.step) for r, w in self.weights.items() if r.tool and r.tool.leaves]
        least, most = sum(w for w in steps if w < 0.0), sum(w for w in steps if w > 0.0)
        least -= sum(w * r.high for r, w in self.weights.items())
        width = most - least
        if not width:
            return self.number - GUARD * self.u, self.number + GUARD * self.u
        inward = tail(round(float(np.sqrt(self.u**2 - width**2 / 12.0)), 9), round(width, 9))
        return self.number + least + inward, self.number + most - inward


@lru_cache
def tail(sigma: float, width: float) -> float:
    """Where 5 % of a rectangle from 0 to ``width`` lie below, each place of it blurred by ``sigma``."""
    places = [width * (i + 0.5) / 500.0 for i in range(500)]
    low, high = -4.0 * sigma, width
    for _ in range(30):
        middle = (low + high) / 2.0
        share = sum(math.erfc((at - middle) / sigma / math.sqrt(2.0)) for at in places) / 1000.0
        low, high = (middle, high) if share < 0.05 else (low, middle)
    return low


def weighed(readings: Iterable[Reading], weights: Iterable[float], more: float = 0.0) -> Value:
    """A weighted sum, and a number that is known."""
    total, follows = more, {}
    for reading, weight in zip(readings, weights, strict=True):
        total += weight * reading.value
        follows[reading] = follows.get(reading, 0.0) + weight
    return Value(total, {reading: weight for reading, weight in follows.items() if weight})


def less(a: Reading, *others: Reading, more: float = 0.0) -> Value:
    return weighed((a, *others), (1.0, *[-1.0] * len(others)), more)


def plain(reading: Reading) -> Value:
    return weighed([reading], [1.0])


def mean(readings: Sequence[Reading]) -> Value:
    return weighed(readings, [1.0 / len(readings)] * len(readings))


def worked(function: Callable[..., float], *readings: Reading) -> Value:
    """A smooth function of readings, its slopes by central differences."""
    at = np.array([reading.value for reading in readings])
    steps = 1e-4 * np.eye(len(at))
    slopes = [(function(*(at + step)) - function(*(at - step))) / 2e-4 for step in steps]
    return Value(function(*at), dict(zip(readings, slopes, strict=True)))


def average(values: Sequence[Value]) -> Value:
    weights: dict[Reading, float] = {}
    for value in values:
        for reading, weight in value.weights.items():
            weights[reading] = weights.get(reading, 0.0) + weight / len(values)
    return Value(float(np.mean([value.number for value in values])), weights)


def size_of(value: Value) -> Value:
    if value.number >= 0.0:
        return value
    return Value(-value.number, {reading: -weight for reading, weight in value.weights.items()})


def largest(readings: Iterable[Reading]) -> Reading:
    return max(readings, key=lambda reading: reading.value)


def smallest(readings: Iterable[Reading]) -> Reading:
    return min(readings, key=lambda reading: reading.value)


def spread(readings: Iterable[Reading]) -> Value:
    """Largest less smallest; two that are equal are still two readings."""
    ranked = sorted(readings, key=lambda reading: reading.value)
    return less(ranked[-1], ranked[0])


def widest(value: Value) -> tuple[float, float]:
    """An order of widths: of two that are alike the one that is known less is the worse."""
    return round(value.number, 9), value.u


def swing(reading: Reading) -> Value:
    """A way that a hand swung, read as one: it has two ends, each read."""
    return less(reading, replace(reading, value=0.0))


# ---------------------------------------------------------------- lines and planes


def narrowest(places: np.ndarray, readings: Sequence[Reading]) -> tuple[Value, tuple[int, ...]]:
    """The minimum zone of heights over places, and the places that hold it.

    Two parallel lines (planes) are held by three (four) places; the zone of all is the widest of the zones of
    every three (four), which is the theorem of Helly for it. Of those the zone is the height of one over the
    line (plane) of the others, or of one pair's line over the other's: their affine dependence.
    """
    heights = np.array([reading.value for reading in readings])
    equations = np.column_stack([np.ones(len(places)), places])
    zone: tuple[tuple[float, float], Value, tuple[int, ...]] | None = None
    for held in itertools.combinations(range(len(places)), equations.shape[1] + 1):
        _, sizes, rows = np.linalg.svd(equations[list(held)].T)
        if sizes[-1] < 1e-9 * sizes[0]:
            continue  # all in one line: that line's own zone is among the others
        dependence = rows[-1] * 2.0 / np.abs(rows[-1]).sum()
        width = float(dependence @ heights[list(held)])
        dependence *= np.sign(width) or 1.0
        if zone is None or abs(width) > zone[0][0] - EVEN:
            value = weighed([readings[i] for i in held], dependence)
            if zone is None or widest(value) > zone[0]:
                zone = widest(value), value, held
    assert zone
    return zone[1], zone[2]


def slope_of(places: np.ndarray, readings: Sequence[Reading], held: tuple[int, ...]) -> float:
    """The slope of the zone's lines: of three places that hold it, the outer two lie on one of them."""
    first, *_, last = sorted(held, key=lambda i: places[i])
    return (readings[last].value - readings[first].value) / (places[last] - places[first])


def circle(columns: Mapping[str, Reading]) -> tuple[list[Reading], np.ndarray, np.ndarray]:
    """Readings round a turned journal, the weights of its centre (x, y), and of what its circle leaves."""
    readings = list(columns.values())
    angles = np.radians([float(name.removeprefix("at_")) for name in columns])
    shape = np.column_stack([np.ones(len(angles)), np.cos(angles), np.sin(angles)])
    fitted = np.linalg.pinv(shape)
    return readings, fitted[1:], np.eye(len(angles)) - shape @ fitted


# ---------------------------------------------------------------- the job's records


@dataclass(frozen=True)
class Change:
    """What was read of a position up to this day says nothing of it afterwards."""

    day: dt.date
    how: str  # "new", "machined"; "apart", "moved": the same surface, which reads otherwise
    size: float = 0.0  # step on the diameter


@dataclass
class Sitting:
    """What was read of one feature in one round, by all tables that read other columns of it."""

    feature: str
    round: str
    again: str
    day: dt.date
    rows: dict[str, dict[str, Reading]]
    none: dict[tuple[str, str], Reading]  # where no clearance was left

    @property
    def occasion(self) -> str:
        return f"{self.round}/{self.again}" if self.again else self.round


@dataclass(frozen=True)
class Found:
    """A value of a kind, before anybody has judged it."""

    position: str
    name: str
    value: Value | None
    bound: str = ""  # "at least", "at most"
    rests_on: tuple[str, ...] = ()  # positions, where it is not its own alone
    least: Value | None = None  # what decides at the lower limit, and at the upper one, if not the value
    most: Value | None = None


@dataclass(frozen=True)
class Opinion:
    """A characteristic as this second opinion has it."""

    kind: str
    feature: str
    name: str
    position: str
    occasion: str
    value: float | None
    u: float | None
    verdict: str
    side: str = ""
    day: dt.date = dt.date.min
    round: str = ""
    again: bool = True
    bound: str = ""

    @property
    def key(self) -> tuple[str, str, str, str]:
        return self.feature, self.name, self.position, self.occasion


# which limit judges a characteristic, where it is not the limit of its own name
LIMIT_OF = {
    "largest": "size",
    "smallest": "size",
    "smallest_clearance": "clearance",
    "largest_clearance": "clearance",
    "mean_clearance": "clearance",
    "lowest": "protrusion",
    "highest": "protrusion",
    "upper_spread": "spread",
    "lower_spread": "spread",
}
# the partners that a kind is worked out from
PARTNERS = {
    "bearing_clearance": ("housing", "shells", "journal"),
    "running_fit": ("outer", "inner"),
    "fit": ("outer", "inner"),
    "spring_load": ("installed",),
    "compression_ratio": ("bowl", "protrusion"),
}
# Convention (kinds' register): the housing holds the shells and nothing runs in it, so that it is the shells
# and the journal that make a bearing one that is used again
RUNNING = PARTNERS | {"bearing_clearance": ("shells", "journal")}
FITS = ("bearing_clearance", "running_fit", "fit")


class SecondOpinion:
    """One job of the demo, read and judged."""

    def __init__(
        self,
        jobs: Path,
        name: str,
        left_out: Collection[tuple[str, str, str, str]] = (),
        without: Collection[str] = (),
    ) -> None:
        """``left_out``: round, table, position and column of what somebody has doubted; ``without``: kinds
        of which it says nothing, as of those that it does not know."""
        folder, self.left_out = jobs / name, left_out
        self.shop = load(jobs / "shop.yaml")
        assert self.shop["decision_rule"] == "guarded"
        self.job = load(folder / "job.yaml")
        self.sheet = load(jobs / "engines" / f"{self.job['engine']}.yaml")
        self.known = {*SINGLES, *SEVERAL} - {*without}
        self.features: dict[str, dict[str, Any]] = self.sheet["features"]
        self.work, self.seen = load(folder / "work.yaml"), load(folder / "findings.yaml")
        self.teardown, self.built = load(folder / "teardown.yaml"), load(folder / "assembly.yaml")
        self.rounds = self._rounds(folder)
        self.changes: dict[tuple[str, str], list[Change]] = {}
        self._note_changes()
        self.stands: dict[str, dict[str, tuple[dt.date, dict[str, Reading]]]] = {n: {} for n in self.features}

    # ------------------------------------------------------------ readings

    def _rounds(self, folder: Path) -> list[tuple[str, dt.date, dict[str, Any]]]:
        """Rounds in the order of their days; what was tried on paper is not of this engine."""
        rounds = [(path.stem, load(path)) for path in sorted((folder / "measurements").glob("*.yaml"))]
        running = load(folder / "running.yaml")
        if "first_start" in running:
            rounds.append(("first start", running | {"date": running["first_start"]["date"]}))
        for _, record in rounds:
            assert record["temperature"] == "20 °C"
        dated = [(name, day_of(record["date"]), record) for name, record in rounds if "of" not in record]
        return sorted(dated, key=lambda one: one[1])

    def _tool(self, name: str | None, unit: str) -> Tool | None:
        if name is None:
            assert unit == "count"
            return None
        record = self.shop["instruments"][name]
        assert record["resolution"].split()[1] == unit, (name, unit)
        low, high = ends(record["range"])
        span = TRAVEL if "bore gauge" in record["kind"] else (high or 0.0) - (low or 0.0)
        scatter = number(record.get("repeatability", "0"))
        step, error = number(record["resolution"]), number(record["permitted_error"])
        return Tool(name, step, error, scatter, span, "feeler" in record["kind"])

    def _row(self, table: dict[str, Any], name: str, of_round: str, feature: str) -> Iterator[Any]:
        """Position, column and cell of a table, each cell a reading, or nothing where none was taken."""
        sheet, unit = self.features[feature], table["unit"]
        assert unit == sheet["unit"], name
        tool, setter = self._tool(table.get("instrument"), unit), None
        if "set_from" in table:
            setter = self._tool(table["set_from"], unit)
        expands = EXPANDS.get(sheet.get("material", ""), SCALE) if unit == "mm" else None
        common = {"tool": tool, "round": of_round, "table": name, "feature": feature, "expands": expands}
        set_at: float | None = None
        for position, line in table["rows"].items():
            cells = line.split()
            for column, cell in zip(words(table["columns"]), cells, strict=True):
                # a clearance of 0 is none
                hangs = column == "lash" and cell.strip("0.") == ""
                if cell == "none" or hangs:
                    yield position, column, Reading(0.0, tool, of_round, name, feature, None)
                    continue
                if cell == "--" or (of_round, name, position, column) in self.left_out:
                    yield position, column, None
                    continue
                repeats = cell.split("/")
                step = 10.0 ** -max(len(text.partition(".")[2]) for text in repeats) if tool else 0.0
                value = float(np.mean([float(text) for text in repeats]))
                set_at = value if set_at is None else set_at
                about = common | {
                    "tool": self._used(tool, feature, column),
                    "step": step,
                    "setter": setter,
                    "set_at": set_at,
                }
                each = tuple(Reading(float(text), **about) for text in repeats)
                yield position, column, Reading(value, **about, repeats=len(each), each=each)

    def _used(self, tool: Tool | None, feature: str, column: str) -> Tool | None:
        """What a reading was taken with: no micrometer goes into a hole, something carried its size there."""
        sheet = self.features[feature]
        hole = sheet["kind"] == "bore" or column.startswith("guide")
        hole |= any(feature in (one.get("outer"), one.get("housing")) for one in self.features.values())
        if tool is None or not hole or self.shop["instruments"][tool.name]["kind"] != "micrometer":
            return tool
        return replace(tool, scatter=float(np.hypot(tool.scatter, CARRIED)))

    def _sittings(self, of_round: str, day: dt.date, record: dict[str, Any]) -> list[Sitting]:
        """The tables of a round; one that reads other columns of the same rows joins the one before."""
        sittings: list[Sitting] = []
        spots: set[tuple[str, str, str]] = set()
        for name, table in record["tables"].items():
            feature = table.get("feature", name)
            cells = list(self._row(table, name, of_round, feature))
            here = {(feature, position, column) for position, column, _ in cells}
            again = name if here & spots else ""
            spots |= here
            rows: dict[str, dict[str, Reading]] = {}
            none: dict[tuple[str, str], Reading] = {}
            for position, column, reading in cells:
                if reading and reading.value == 0.0 and column == "lash":
                    none[position, column] = reading
                elif reading:
                    rows.setdefault(position, {})[column] = reading
            read_on = day_of(table["date"]) if "date" in table else day
            sitting = Sitting(feature, of_round, again, read_on, rows, none)
            beside = [one for one in sittings if (one.feature, one.again) == (feature, again)]
            beside = [one for one in beside if one.rows.keys() & rows.keys()]
            if beside:
                for position, columns in rows.items():
                    beside[0].rows.setdefault(position, {}).update(columns)
                beside[0].none.update(none)
            else:
                sittings.append(sitting)
        return sittings

    # ------------------------------------------------------------ what is new, and since when

    def positions_of(self, name: str) -> list[str]:
        sheet = self.features[name]
        if "positions" in sheet:
            return words(sheet["positions"])
        partners = (sheet[key] for key in PARTNERS.get(sheet["kind"], ()) if key in sheet)
        return next((places for partner in partners if (places := self.positions_of(partner))), [])

    def _change(self, name: str, positions: Iterable[str], change: Change) -> None:
        for position in positions:
            self.changes.setdefault((name, position), []).append(change)

    def _note_changes(self) -> None:
        """Decisions, findings, sizes, parts of every rebuild, opened joints, fitted parts."""
        decided = self.work.get("decisions", {}).values()
        decided = [one | {"day": day_of(one["date"])} for one in decided if one["do"] != "reuse"]
        # what says nothing of its day tells of the engine as it came, which ended with the first decision
        first = min((one["day"] for one in decided), default=dt.date.max)
        for one in decided:
            how = "new" if one["do"] == "replace" else "machined"
            size = re.fullmatch(r"([\d.]+) mm (under|over)size", one.get("size", ""))
            step = (-1.0 if size[2] == "under" else 1.0) * float(size[1]) if size else 0.0
            change = Change(one["day"], how, step)
            for name, sheet in self.features.items():
                if one["about"] in (name, sheet.get("part")):
                    self._change(name, words(one.get("positions")) or self.positions_of(name), change)
                if how == "machined" and one["about"] in (name, sheet.get("height")):
                    # what is measured from a face reads otherwise after a skim, and is no other surface
                    for other in words(
                        " ".join(sheet.get(key, "") for key in ("height", "raises", "lowers"))
                    ):
                        self._change(other, self.positions_of(other), Change(one["day"], "moved"))
                    for other, its in self.features.items():
                        if "height" in its and its["height"] == sheet.get("height") and other != one["about"]:
                            # another look at the same face
                            self._change(other, self.positions_of(other), Change(one["day"], "moved"))
            if size:  # no old shell runs on a ground journal, and a set is a set
                for fit in self.features.values():
                    if fit.get("journal") == one["about"]:
                        self._change(
                            fit["shells"], self.positions_of(fit["shells"]), Change(one["day"], "new")
                        )
        for one in self.seen.get("findings", {}).values():
            name = one["component"]
            if name in self.features and one.get("disposition") in ("replace", "recondition"):
                how = "new" if one["disposition"] == "replace" else "machined"
                self._change(name, words(one.get("positions")) or self.positions_of(name), Change(first, how))
        self._note_parts(first)
        for name, sheet in self.features.items():
            if sheet.get("whole_engine") == "yes":
                apart = Change(day_of(self.teardown["date"]), "apart")
                self._change(name, self.positions_of(name), apart)

    def _note_parts(self, day: dt.date) -> None:
        """Parts that the sheet names for a feature, where they go in new."""
        bought: list[tuple[str, list[str]]] = [(part, []) for part in self.sheet.get("always", {})]
        for step in self.teardown.get("steps", []):
            joint = self.sheet["joints"].get(step["removed"], {})
            bought += [(part, []) for part in words(joint.get("needs"))]
        bought += [(one["part"], words(one.get("positions"))) for one in self.built.get("fitted", [])]
        for name, sheet in self.features.items():
            together = set(words(sheet.get("replace_with")))
            alone = {part for key in ("sets", "halves", "pieces") for part in sheet.get(key, {}).values()}
            for position in self.positions_of(name):
                here = {part for part, places in bought if not places or position in places}
                if here & alone or (together and together <= here):
                    self._change(name, [position], Change(day, "new"))

    def _ended(self, name: str, position: str, read: dt.date, day: dt.date) -> bool:
        """Whether a reading of one day says nothing any more on another."""
        return any(read <= one.day < day for one in self.changes.get((name, position), ()))

    def used(self, name: str, position: str, day: dt.date) -> bool:
        changes = self.changes.get((name, position), ())
        return not any(one.day < day and one.how in ("new", "machined") for one in changes)

    def step_of(self, name: str, position: str, day: dt.date) -> float:
        """By how much the diameter is off the standard one, as decided."""
        return sum(one.size for one in self.changes.get((name, position), ()) if one.day < day)

    def holding(self, name: str, day: dt.date) -> dict[str, dict[str, Reading]]:
        """The readings of a feature that hold on a day."""
        stands = self.stands[name].items()
        return {place: row for place, (read, row) in stands if not self._ended(name, place, read, day)}

    def whole(self, name: str, read: Iterable[str], across: str = "") -> bool:
        """Whether all diameters of a surface were read (in one direction) that the sheet asks for."""
        return {column for column in words(self.features[name]["columns"]) if column.endswith(across)} <= {
            *read
        }

    def bounds(self, name: str, read: Iterable[str]) -> tuple[str, str]:
        """What the least and the greatest of the readings are worth."""
        return ("", "") if self.whole(name, read) else ("at most", "at least")

    # ------------------------------------------------------------ all of it

    def opinions(self) -> list[Opinion]:
        said: list[Opinion] = []
        for of_round, day, record in self.rounds:
            sittings = self._sittings(of_round, day, record)
            for number, sitting in enumerate(sittings, 1):
                gone = self._gone(sitting)
                rows = [other.rows for other in sittings[number:] if other.feature == sitting.feature]
                shut = {s for s in gone if not any(s[1] in row.get(s[0], {}) for row in rows)}
                # a clearance of none is less than any least, said before or not
                before = {(one.position, one.name) for one in said if one.feature == sitting.feature}
                shut &= before | {*sitting.none}
                said += self._of_sitting(sitting, shut)
            last = max(sitting.day for sitting in sittings)
            said += self._of_fits(of_round, last)
        said = [self._by_its_fit(one, said) for one in said]
        return said + list(self._gaps(said))

    def _gone(self, sitting: Sitting) -> set[tuple[str, str]]:
        """Clearances that were left none, or that were read with another shim than is in now."""
        gone, stands = {*sitting.none}, self.stands[sitting.feature]
        for position, row in sitting.rows.items():
            _, before = stands.get(position, (sitting.day, {}))
            if "shim" in row and "lash" not in row and "shim" in before:
                gone |= {(position, "lash")} if row["shim"].value != before["shim"].value else set()
        # what was worked out of a clearance goes with it
        gone |= {(position, "zero_shim") for position, column in gone if column == "lash"}
        for position, column in gone:
            stands.get(position, (sitting.day, {}))[1].pop(column, None)
        return gone

    def _of_sitting(self, sitting: Sitting, shut: Iterable[tuple[str, str]]) -> Iterator[Opinion]:
        name, stands = sitting.feature, self.stands[sitting.feature]
        settings = {reading.round for _, row in stands.values() for reading in row.values()}
        if self.features[name]["kind"] in ONE_SETTING and settings - {sitting.round}:
            stands.clear()  # heights have the zero of their setting
        for position, row in sitting.rows.items():
            read, before = stands.get(position, (sitting.day, {}))
            kept = {} if self._ended(name, position, read, sitting.day) else before
            stands[position] = (sitting.day, {**kept, **row})
        kind = self.features[name]["kind"]
        if kind in PARTNERS or kind not in self.known:
            return
        for found in SINGLES[kind](self, name, self.holding(name, sitting.day)):
            if {*(found.rests_on or (found.position,))} & sitting.rows.keys():
                yield self._judged(name, found, sitting.occasion, sitting.round, sitting.day)
        for position, column in shut:
            none = sitting.none.get((position, column))
            found = Found(position, column, plain(none) if none else None)
            yield self._judged(name, found, sitting.occasion, sitting.round, sitting.day)

    def _of_fits(self, of_round: str, day: dt.date) -> Iterator[Opinion]:
        """What rests on several features, where this round has read something that it rests on."""
        for name, sheet in self.features.items():
            if sheet["kind"] not in self.known & {*PARTNERS}:
                continue
            for found in SEVERAL[sheet["kind"]](self, name, day):
                rests_on = {*(found.value.weights if found.value else ())}
                if sheet["kind"] in FITS:  # said anew when a row of a partner is
                    partners = (sheet[key] for key in PARTNERS[sheet["kind"]])
                    rows = [self.holding(partner, day).get(found.position, {}) for partner in partners]
                    rests_on |= {reading for row in rows for reading in row.values()}
                if any(reading.round == of_round for reading in rests_on):
                    yield self._judged(name, found, of_round, of_round, day)

    # ------------------------------------------------------------ verdicts

    def _limits(self, name: str, found: Found, day: dt.date) -> tuple[Ends, Ends]:
        sheet, limit = self.features[name], LIMIT_OF.get(found.name, found.name)
        new, wear = ends(sheet.get("new", {}).get(limit)), ends(sheet.get("wear", {}).get(limit))
        if sheet["kind"] == "shells":
            # two walls make up for the step on the journal
            journals = [fit["journal"] for fit in self.features.values() if fit.get("shells") == name]
            decided = [
                one
                for one in self.work.get("decisions", {}).values()
                if one["about"] == name and "fit" in one
            ]
            if decided and not self.used(name, found.position, day):
                grades = decided[-1]["fit"][found.position].split()
                return ends(sheet["grades"][grades[words(sheet["columns"]).index(found.name)]]), OPEN
            return moved(ends(sheet.get("wall")), -self.step_of(journals[0], found.position, day) / 2.0), OPEN
        if limit == "size":
            step = self.step_of(name, found.position, day)
            return moved(new, step), moved(wear, step)
        return new, wear

    def _judged(self, name: str, found: Found, occasion: str, of_round: str, day: dt.date) -> Opinion:
        kind = self.features[name]["kind"]
        again = self._used_again(name, found, day)
        new, wear = self._limits(name, found, day)
        about = (kind, name, found.name, found.position, occasion)
        after = {"day": day, "round": of_round, "again": again, "bound": found.bound}
        if found.value is None:
            return Opinion(*about, None, None, UNMEASURED, **after)
        verdict, side = verdict_on(found.value, new, wear, again, found.bound)
        for other, limit in ((found.least, 0), (found.most, 1)):
            if other is None:
                continue
            ends_of = [tuple(end if i == limit else None for i, end in enumerate(e)) for e in (new, wear)]
            worse, end = verdict_on(other, ends_of[0], ends_of[1], again, found.bound)
            if WORST_FIRST.index(worse) < WORST_FIRST.index(verdict):
                verdict, side = worse, end
        if kind == "shells" and (again or verdict not in (AS_NEW, BEYOND)):
            # Convention (assess/measure/valuing.py): the clearance is what judges a wall; only a new one that
            # is surely of its band, or surely of another, is said to be so
            verdict, side = UNLIMITED, ""
        return Opinion(*about, found.value.number, found.value.u, verdict, side, **after)

    def _used_again(self, name: str, found: Found, day: dt.date) -> bool:
        """A fit is used again where one of its partners is (design, 6).

        So is what rests on several positions, of which one is: a step between neighbours.
        """
        sheet = self.features[name]
        surfaces = [sheet[key] for key in RUNNING.get(sheet["kind"], ()) if key in sheet] or [name]
        positions = found.rests_on or (found.position,)
        return any(self.used(surface, place, day) for surface in surfaces for place in positions)

    def _by_its_fit(self, one: Opinion, said: Sequence[Opinion]) -> Opinion:
        """Where a size has the wear limit ``see FIT`` the newest fit known since judges it."""
        limit = self.features[one.feature].get("wear", {}).get(LIMIT_OF.get(one.name, one.name), "")
        if not limit.startswith("see ") or not one.again or one.value is None or one.verdict == AS_NEW:
            return one
        fits = [other for other in said if (other.feature, other.position) == (limit[4:], one.position)]
        order = [name for name, _, _ in self.rounds]
        later = [
            other
            for other in fits
            if order.index(other.round) >= order.index(one.round)
            and not self._ended(one.feature, one.position, one.day, other.day)
        ]
        known = [other for other in later if other.verdict != UNMEASURED] or later
        newest = max((order.index(other.round) for other in known), default=0)
        verdicts = [other.verdict for other in later if order.index(other.round) == newest]
        return replace(one, verdict=min(verdicts or [UNMEASURED], key=WORST_FIRST.index), side="")

    # ------------------------------------------------------------ what nobody has measured

    def _gaps(self, said: Sequence[Opinion]) -> Iterator[Opinion]:
        """A 'not measured' wherever the sheet has a limit and nothing that was read holds any more."""
        newest = {(one.feature, one.name, one.position): one for one in said}
        changed = (one for one in self.work.get("decisions", {}).values() if one["do"] != "reuse")
        decided = max((day_of(one["date"]) for one in changed), default=dt.date.min)
        for name, sheet in self.features.items():
            limits = {**sheet.get("new", {}), **sheet.get("wear", {})}
            partners = [sheet[key] for key in PARTNERS.get(sheet["kind"], ()) if key in sheet]
            surfaces = [*partners, *([] if sheet["kind"] in FITS else [name])]
            face = newest.get((name, "flatness", "face"))
            if face and any(
                self._ended(name, line, face.day, dt.date.max) for line in self.positions_of(name)
            ):
                yield Opinion(sheet["kind"], name, "flatness", "face", "", None, None, UNMEASURED)
            for limit, position in itertools.product(limits, self.positions_of(name)):
                for characteristic in self._asked(name, limit):
                    one = newest.get((name, characteristic, position))
                    if one is None or self._lapsed(one, surfaces, decided):
                        about = (name, characteristic, position, "")
                        yield Opinion(sheet["kind"], *about, None, None, UNMEASURED)

    def _lapsed(self, one: Opinion, surfaces: Sequence[str], decided: dt.date) -> bool:
        """Whether what it was read on is not there any more."""
        if any(self._ended(surface, one.position, one.day, dt.date.max) for surface in surfaces):
            return True
        # the part that a verdict rules out is bought, and with the work done it is not in the engine any more
        bought = "replace_with" in self.features[one.feature] and self.used(
            one.feature, one.position, one.day
        )
        return one.verdict == BEYOND and bought and one.day <= decided

    def _asked(self, name: str, limit: str) -> list[str]:
        """The characteristics that a limit asks for at each position, those of the whole set left out."""
        kind = self.features[name]["kind"]
        if limit in SET_WIDE.get(kind, ()):
            return []
        if kind == "shell_spread":
            return [f"{half}_spread" for half in words(self.features[name]["columns"])]
        return {
            "size": ["largest", "smallest"] if kind in ("journal", "bore") else ["size"],
            "clearance": ["clearance"] if kind == "guide" else ["smallest_clearance", "largest_clearance"],
            "protrusion": ["lowest", "highest"] if kind == "liner_protrusion" else ["protrusion"],
        }.get(limit, [limit])


# heights that one indicator read in one setting
ONE_SETTING = ("runout", "main_line", "flatness_grid")
# what is asked of a set as a whole, and not of each position
SET_WIDE = {
    "compression": ("spread",),
    "liner_protrusion": ("neighbours",),
    "main_line": ("straightness", "neighbours"),
    "matched": ("total_spread", "bowl_spread"),
    "flatness_grid": ("flatness",),
    "spring_load": ("seated", "reserve"),  # of the head as well
}


def verdict_on(value: Value, new: Ends, wear: Ends, again: bool, bound: str = "") -> tuple[str, str]:
    """One of six verdicts, and the side on which it fell (design, 6; guard band of ISO 14253-1).

    A surface used again is judged by its wear limits, another by the new ones; on a side that has only one
    limit, that one is final.
    """
    first, second = (wear, new) if again else (new, wear)
    low, high = (one if one is not None else other for one, other in zip(first, second, strict=True))
    if low is None and high is None:
        return UNLIMITED, ""
    least, most = value.reach
    if high is not None and least > high + EVEN and bound != "at most":
        return BEYOND, "high"
    if low is not None and most < low - EVEN and bound != "at least":
        return BEYOND, "low"
    if bound:
        return UNMEASURED, ""  # what may be more, or less, passes nothing
    if high is not None and most > high + EVEN:
        return CLOSE, "high"
    if low is not None and least < low - EVEN:
        return CLOSE, "low"
    low, high = new
    inside = (low is None or least >= low - EVEN) and (high is None or most <= high + EVEN)
    return (AS_NEW if new != OPEN and inside else SERVICEABLE), ""


# ---------------------------------------------------------------- kinds that are read by themselves

Rows = dict[str, dict[str, Reading]]


def each_reading(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Each reading against its own limit."""
    for position, row in rows.items():
        for column, reading in row.items():
            yield Found(position, column, plain(reading))


def directions(columns: Iterable[str], part: int) -> dict[str, list[str]]:
    """Columns ``plane_direction`` by plane (0) or by direction (1)."""
    groups: dict[str, list[str]] = {}
    for column in columns:
        groups.setdefault(column.rpartition("_")[2 * part], []).append(column)
    return groups


def round_surface(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Largest and smallest; out-of-round within a plane, taper along a direction, each at its widest."""
    wanted = words(job.features[name]["columns"])  # scores and fillets stand in tables of their own
    for position, row in rows.items():
        read = {column: row[column] for column in wanted if column in row}
        if not read:
            continue
        more, fewer = ("", "") if len(read) == len(wanted) else ("at least", "at most")
        yield Found(position, "largest", plain(largest(read.values())), more)
        yield Found(position, "smallest", plain(smallest(read.values())), fewer)
        for part, form in enumerate(("out_of_round", "taper")):
            groups = [group for group in directions(read, part).values() if len(group) > 1]
            widths = [spread(read[column] for column in group) for group in groups]
            width = max(widths, key=widest) if widths else None
            yield Found(position, form, width, more)


def end_float(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """The largest of the repeats, which chance has made too large by half of d2 (ISO 7870-2)."""
    half_d2 = {1: 0.0, 2: 1.128 / 2.0, 3: 1.693 / 2.0, 4: 2.059 / 2.0, 5: 2.326 / 2.0}
    for position, row in rows.items():
        most = largest(row["end_float"].each)
        assert most.tool
        high = half_d2[row["end_float"].repeats] * float(np.sqrt(most.tool.by_chance(most.step)))
        yield Found(position, "end_float", plain(replace(most, high=high)))


def turned(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """A shaft under an indicator: total, what is no circle, and how far each centre lies off the supports."""
    positions = job.positions_of(name)
    assert [*rows] == positions
    stations = [number(text) for text in words(job.features[name].get("stations", "").replace("mm", ""))]
    along = np.array(stations or range(len(positions)), dtype=float)
    share = (along - along[0]) / (along[-1] - along[0])
    wheels = [circle(rows[position]) for position in positions]
    (first, first_centre, _), (last, last_centre, _) = wheels[0], wheels[-1]
    for position, (readings, centre, left), part in zip(positions, wheels, share, strict=True):
        more = job.bounds(name, rows[position])[1]
        yield Found(position, "runout", spread(readings), more)
        leaves = left @ np.array([reading.value for reading in readings])
        tops = np.flatnonzero(leaves > leaves.max() - EVEN)
        bottoms = np.flatnonzero(leaves < leaves.min() + EVEN)
        widths = [weighed(readings, left[i] - left[j]) for i in tops for j in bottoms]
        yield Found(position, "out_of_round", max(widths, key=widest), more)
        together = [*readings, *first, *last]
        off = np.hstack([centre, -(1.0 - part) * first_centre, -part * last_centre])
        bend = float(np.hypot(*(off @ np.array([reading.value for reading in together]))))
        if position in (positions[0], positions[-1]):
            # a support lies on the line as surely as its own centre is known
            off = np.hstack([centre, np.zeros((2, len(first) + len(last)))])
        x, y = off @ np.array([reading.value for reading in together])
        size = float(np.hypot(x, y))
        weights = (x * off[0] + y * off[1]) / size if size > EVEN else off[0]
        of_bend = Value(bend, weighed(together, weights).weights)
        part = any(job.bounds(name, rows[place])[1] for place in (position, positions[0], positions[-1]))
        yield Found(position, "bend", of_bend, "at least" if part else "", rests_on=(*positions,))


def line_of_bores(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Minimum zone of the heights, and steps off its line; of several columns the worst."""
    sheet = job.features[name]
    along = np.array([number(text) for text in words(sheet["stations"].replace("mm", ""))])
    zones: list[Found] = []
    steps: dict[tuple[str, str], list[Value]] = {}
    for column in words(sheet["columns"]):
        read = {
            place: rows[place][column] for place in job.positions_of(name) if column in rows.get(place, {})
        }
        if len(read) < 3:
            continue
        at = np.array([along[job.positions_of(name).index(place)] for place in read])
        zone, held = narrowest(at[:, None], [*read.values()])
        more = (
            ""
            if all(job.whole(name, rows.get(place, ())) for place in job.positions_of(name))
            else "at least"
        )
        zones.append(Found("line", "straightness", zone, more, rests_on=(*job.positions_of(name),)))
        tilt = slope_of(at, [*read.values()], held)
        for (one, other), way in zip(itertools.pairwise(read), np.diff(at), strict=True):
            step = size_of(less(read[other], read[one], more=-tilt * way))
            steps.setdefault((one, other), []).append(step)
    for (one, other), of_columns in steps.items():
        # the line that a step is taken off would be another one with another height
        more = "" if all(job.whole(name, rows.get(p, ())) for p in job.positions_of(name)) else "at least"
        yield Found(f"{one}-{other}", "neighbours", max(of_columns, key=widest), more, rests_on=(one, other))
    if zones:
        yield max(zones, key=lambda found: widest(found.value) if found.value else (0.0, 0.0))


def face(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Minimum zone of a grid of heights; rows and columns are named by their place."""
    spots = [(float(c[1:]), float(r[1:]), reading) for r, row in rows.items() for c, reading in row.items()]
    if not spots:
        return
    places = np.array([(x, y) for x, y, _ in spots]) / 100.0
    value, _ = narrowest(places, [reading for *_, reading in spots])
    more = "" if all(job.whole(name, rows.get(place, ())) for place in job.positions_of(name)) else "at least"
    yield Found("face", "flatness", value, more, rests_on=(*rows,))


def shell_spread(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Free width less seat."""
    for position, row in rows.items():
        for half, reading in row.items():
            yield Found(position, f"{half}_spread", less(reading, more=-number(job.features[name]["seat"])))


def matched(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Each of a set; big and small end together; how far the set lies apart, where there is a limit."""
    limits = job.features[name].get("new", {})
    for position, row in rows.items():
        for column, reading in row.items():
            yield Found(position, column, plain(reading))
        if {*row} == {"big", "small"}:
            yield Found(position, "total", weighed(row.values(), (1.0, 1.0)))
    ranked = {
        column: [row[column] for row in rows.values() if column in row]
        for column in words(job.features[name]["columns"])
    }
    for column, readings in ranked.items():
        if f"{column}_spread" in limits:
            more = "" if len(readings) == len(job.positions_of(name)) else "at least"
            yield Found("set", f"{column}_spread", spread(readings), more, rests_on=(*rows,))
    if "total_spread" in limits:
        whole = [row for row in rows.values() if {*row} == {"big", "small"}]
        ends_of = sorted(whole, key=lambda row: row["big"].value + row["small"].value)
        more = "" if len(whole) == len(job.positions_of(name)) else "at least"
        pairs = [*ends_of[-1].values(), *ends_of[0].values()]
        total = weighed(pairs, (1.0, 1.0, -1.0, -1.0))
        yield Found("set", "total_spread", total, more, rests_on=(*rows,))


def liner_protrusion(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Lowest, highest and spread of each; the step between the means of neighbours."""
    means = {position: mean([*row.values()]) for position, row in rows.items() if job.whole(name, row)}
    for position, row in rows.items():
        low, high = job.bounds(name, row)
        yield Found(position, "lowest", plain(smallest(row.values())), low)
        yield Found(position, "highest", plain(largest(row.values())), high)
        yield Found(position, "spread", spread(row.values()) if len(row) > 1 else None, high)
    for one, other in itertools.pairwise(job.positions_of(name)):
        if one in means and other in means:
            weights = {reading: -weight for reading, weight in means[other].weights.items()}
            step = Value(means[one].number - means[other].number, {**means[one].weights, **weights})
            yield Found(f"{one}-{other}", "neighbours", size_of(step), rests_on=(one, other))


def piston_protrusion(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """The mean of the readings on one piston; each limit holds for the reading that is worst for it."""
    for position, row in rows.items():
        low, high = plain(smallest(row.values())), plain(largest(row.values()))
        middle = mean([*row.values()]) if job.whole(name, row) else None
        yield Found(position, "protrusion", middle, least=low, most=high)


def hardness(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """The mean of at least three; the softest and the hardest are what a limit is for."""
    for position, row in rows.items():
        if len(row) < 3:
            yield Found(position, "hardness", None)
            continue
        low, high = plain(smallest(row.values())), plain(largest(row.values()))
        yield Found(position, "hardness", mean([*row.values()]), least=low, most=high)


def compression(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Pressures, and how far the cylinders lie apart."""
    for position, row in rows.items():
        yield from (Found(position, column, plain(reading)) for column, reading in row.items())
    pressures = [row["pressure"] for row in rows.values() if "pressure" in row]
    more = "" if len(pressures) == len(job.positions_of(name)) else "at least"
    yield Found("engine", "spread", spread(pressures), more, rests_on=(*rows,))


def leak_down(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """The loss, and how much more than the tightest cylinder's it is."""
    tightest = smallest(row["loss"] for row in rows.values())
    for position, row in rows.items():
        yield Found(position, "loss", plain(row["loss"]))
        others = [other["loss"] for other in rows.values() if other is not row]
        above = weighed((row["loss"], smallest(others)), (1.0, -1.0))
        if row["loss"] is tightest:  # it is the tightest as surely as the next one is not
            above = Value(0.0, above.weights)
        more = "" if len(rows) == len(job.positions_of(name)) else "at least"
        yield Found(position, "above_best", above, more, rests_on=(*rows,))


def guide(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Guide at its widest less stem at its thinnest; how tight it is, the other way round."""
    for position, row in rows.items():
        bores = [reading for column, reading in row.items() if column.startswith("guide")]
        stems = [reading for column, reading in row.items() if column.startswith("stem")]
        if bores and stems:
            tight = less(smallest(bores), largest(stems))
            loose, more = less(largest(bores), smallest(stems)), job.bounds(name, row)[1]
            yield Found(position, "clearance", loose, more, least=tight)


def valve_seat(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Width, margin and recession as read; a runout is the way between two ends."""
    for position, row in rows.items():
        for column, reading in row.items():
            yield Found(position, column, swing(reading) if column == "runout" else plain(reading))


def valve_clearance(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """The clearance, and the shim that would leave none."""
    for position, row in rows.items():
        if "lash" in row:
            yield Found(position, "lash", plain(row["lash"]))
            if "shim" in row:
                yield Found(position, "zero_shim", weighed((row["lash"], row["shim"]), (1.0, 1.0)))


def lobe(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Over the nose, and what that is more than the base circle."""
    for position, row in rows.items():
        if "height" in row:
            yield Found(position, "height", plain(row["height"]))
        if {"height", "base"} <= {*row}:
            yield Found(position, "lift", less(row["height"], row["base"]))


def chain(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """Growth in percent; that of the tight run on the pitch circle p/sin(180°/z), twice that at the crank."""
    sheet = job.features[name]
    pitch, run, teeth = (number(sheet[key]) for key in ("pitch", "tight_run", "cam_teeth"))
    for position, row in rows.items():
        ((column, reading),) = row.items()
        new = int(column.removeprefix("length_")) * pitch
        radius = pitch / np.sin(np.pi / teeth) / 2.0
        yield Found(
            position, "elongation", worked(lambda length, new=new: 100.0 * (length / new - 1.0), reading)
        )

        def error(length: float, new: float = new, radius: float = radius) -> float:
            return 2.0 * float(np.degrees((length / new - 1.0) * run / radius))

        yield Found(position, "timing_error", worked(error, reading))


def backlash(job: SecondOpinion, name: str, rows: Rows) -> Iterator[Found]:
    """The largest of several places; a least backlash is for the smallest."""
    for position, row in rows.items():
        low = plain(smallest(row.values()))
        more = job.bounds(name, row)[1]
        yield Found(position, "backlash", plain(largest(row.values())), more, least=low)


SINGLES: dict[str, Callable[[SecondOpinion, str, Rows], Iterator[Found]]] = {
    **dict.fromkeys(
        (
            *(
                "readings",
                "shells",
                "shell_crush",
                "ring_gap",
                "ring_side",
                "straightedge",
                "installed_height",
            ),
            *("spring_length", "oil_pump", "oil_pressure", "crack_test", "tensioner", "rod_alignment"),
        ),
        each_reading,
    ),
    "journal": round_surface,
    "bore": round_surface,
    "end_float": end_float,
    "runout": turned,
    "main_line": line_of_bores,
    "flatness_grid": face,
    "shell_spread": shell_spread,
    "matched": matched,
    "liner_protrusion": liner_protrusion,
    "piston_protrusion": piston_protrusion,
    "hardness": hardness,
    "compression": compression,
    "leak_down": leak_down,
    "guide": guide,
    "valve_seat": valve_seat,
    "valve_clearance": valve_clearance,
    "lobe": lobe,
    "chain": chain,
    "backlash": backlash,
}


# ---------------------------------------------------------------- kinds that rest on several features


def bearing(job: SecondOpinion, name: str, day: dt.date) -> Iterator[Found]:
    """Housing in the direction of the load less both walls less the journal, plane by plane."""
    sheet = job.features[name]
    housings, journals = job.holding(sheet["housing"], day), job.holding(sheet["journal"], day)
    shells = job.holding(sheet["shells"], day)
    for position in job.positions_of(name):
        bore, pin = housings.get(position, {}), journals.get(position, {})
        pin = {
            column: reading for column, reading in pin.items() if "_" in column and column != "score_depth"
        }
        if not bore or not pin:
            continue
        walls, worn = walls_at(job, sheet, position, shells.get(position, {}), day)
        if not walls:
            continue
        along = {column[:-2]: reading for column, reading in bore.items() if column.endswith("_v")}
        planes = directions(pin, 0)
        if len(planes) == 1:
            # Convention (trade/engine/bearings.py): a journal read in one plane is taken to be so all along
            planes = dict.fromkeys(along, *planes.values())
        if len(along) == 1:
            along = dict.fromkeys(planes, *along.values())  # and so is a bore
        rooms = {
            plane: [less(along[plane], *walls, pin[column]) for column in columns]
            for plane, columns in planes.items()
            if plane in along
        }
        ranked = sorted(itertools.chain(*rooms.values()), key=lambda one: one.number)
        if not ranked:
            continue
        if worn:
            yield Found(position, "smallest_clearance", ranked[0], "at least")
            continue
        whole = job.whole(sheet["journal"], pin) and job.whole(sheet["housing"], bore, "_v")
        low, high = ("", "") if whole else ("at most", "at least")
        yield Found(position, "smallest_clearance", ranked[0], low)
        yield Found(position, "largest_clearance", ranked[-1], high)
        if whole:  # of a journal half read the mean may lie on either side
            mean = average([average(plane) for plane in rooms.values()])
            yield Found(position, "mean_clearance", mean, high)


def walls_at(
    job: SecondOpinion, fit: dict[str, Any], position: str, read: Mapping[str, Reading], day: dt.date
) -> tuple[list[Reading], bool]:
    """Both walls, and whether one of them is a worn one that nobody measured.

    A new one is anywhere in its band (rectangular); a worn one no thicker than the thickest new one, so that
    the clearance is at least so much.
    """
    name, sheet, journal = fit["shells"], job.features[fit["shells"]], fit["journal"]
    halves = words(sheet["columns"])
    new = not job.used(name, position, day)
    fits = [one["fit"][position].split() for one in job.work["decisions"].values() if one["about"] == name]
    step = job.step_of(journal, position, day)
    if "wall" in sheet:
        bands = [moved(ends(sheet["wall"]), -step / 2.0)] * 2
    elif new:
        bands = [ends(sheet["grades"][grade]) for grade in (fits[-1] if fits else ())]
    else:
        bands = [ends(sheet["grades"][grade_by_codes(job, fit, position)])] * 2
    walls, worn = [], False
    for half, (low, high) in zip(halves, bands, strict=False):
        if half in read:
            walls.append(read[half])
            continue
        assert low is not None and high is not None
        middle, width = ((low + high) / 2.0, high - low) if new else (high, 0.0)
        walls.append(Reading(middle, None, "", "", name, None, band=width))
        worn |= not new
    return ([read[half] for half in halves] if {*halves} <= {*read} else walls), worn


def grade_by_codes(job: SecondOpinion, fit: dict[str, Any], position: str) -> str:
    """What was fitted once by the codes stamped on block and crank."""
    sheet, codes = job.features[fit["shells"]], job.teardown["codes"]
    at = words(sheet["positions"]).index(position)
    housing, journal = (codes[fit[key]].split()[at] for key in ("housing", "journal"))
    table = sheet["codes"]
    return str(table["rows"][housing].split()[table["columns"].split().index(journal)])


def running_fit(job: SecondOpinion, name: str, day: dt.date) -> Iterator[Found]:
    """Least bore less greatest shaft, greatest bore less least shaft; a piston in its thrust direction."""
    sheet = job.features[name]
    outer, inner = job.holding(sheet["outer"], day), job.holding(sheet["inner"], day)
    across = ("_t",) if sheet["kind"] == "fit" else ("",)
    for position in job.positions_of(name):
        bores, shafts = outer.get(position, {}), inner.get(position, {})
        bores = {column: reading for column, reading in bores.items() if column.endswith(across)}
        if bores and shafts:
            # what is read in planes of the same names meets there, and nothing else
            names = [{column.rpartition("_")[0] or column for column in row} for row in (bores, shafts)]
            planes = sorted(names[0]) if names[0] == names[1] and sheet["kind"] != "fit" else [""]
            meets = [
                [[row[column] for column in row if column.startswith(plane)] for row in (bores, shafts)]
                for plane in planes
            ]
            tight = min((less(smallest(at), largest(of)) for at, of in meets), key=lambda one: one.number)
            loose = max((less(largest(at), smallest(of)) for at, of in meets), key=lambda one: one.number)
            whole = job.whole(sheet["outer"], bores, *across) and job.whole(sheet["inner"], shafts)
            low, high = ("", "") if whole else ("at most", "at least")
            yield Found(position, "smallest_clearance", tight, low)
            yield Found(position, "largest_clearance", loose, high)


def spring_load(job: SecondOpinion, name: str, day: dt.date) -> Iterator[Found]:
    """Loads and rate (EN 13906-1); the load, and the room left, at the height where the spring is fitted."""
    sheet = job.features[name]
    keys = ("closed_length", "open_length", "lift", "bind_length")
    closed_at, open_at, lift, bound = (number(sheet[key]) for key in keys)
    heights = job.holding(sheet["installed"], day)

    def rate(closed: float, opened: float) -> float:
        return (opened - closed) / (closed_at - open_at)

    for position, row in job.holding(name, day).items():
        for column, reading in row.items():
            yield Found(position, column, plain(reading))
        if {*row} != {"closed", "open"}:
            continue
        closed, opened = row["closed"], row["open"]
        yield Found(position, "rate", worked(rate, closed, opened))
        if position in heights:
            height = heights[position]["height"]
            fitted = worked(lambda c, o, h: c + rate(c, o) * (closed_at - h), closed, opened, height)
            yield Found(position, "seated", fitted)
            yield Found(position, "reserve", less(height, more=-lift - bound))


def compression_ratio(job: SecondOpinion, name: str, day: dt.date) -> Iterator[Found]:
    """(swept + clearance)/clearance: of bowl, gasket and valve recesses, less what stands proud [cm³]."""
    sheet, layout = job.features[name], job.sheet["layout"]
    bowls, proud = job.holding(sheet["bowl"], day), job.holding(sheet["protrusion"], day)

    def cylinder(across: float, length: float) -> float:
        return float(np.pi) / 4.0 * across**2 * length / 1000.0

    bore, stroke = number(layout["bore"]), number(layout["stroke"])
    gasket = cylinder(number(sheet["gasket_hole"]), number(sheet["gasket_thickness"]))
    over_valves = number(sheet["recess_volume"])

    def clearance(bowl: float, *heights: float) -> float:
        return bowl + gasket + over_valves - cylinder(bore, float(np.mean(heights)))

    def ratio(bowl: float, *heights: float) -> float:
        left = clearance(bowl, *heights)
        return (cylinder(bore, stroke) + left) / left

    for position in job.positions_of(name):
        if position in bowls and position in proud:
            readings = (bowls[position]["bowl"], *proud[position].values())
            yield Found(position, "ratio", worked(ratio, *readings))
            yield Found(position, "clearance", worked(clearance, *readings))


SEVERAL: dict[str, Callable[[SecondOpinion, str, dt.date], Iterator[Found]]] = {
    "bearing_clearance": bearing,
    "running_fit": running_fit,
    "fit": running_fit,
    "spring_load": spring_load,
    "compression_ratio": compression_ratio,
}
