"""How often readings are doubted: honest jobs, true bad readings, and slips, by a seeded simulation.

    .venv/bin/python .ci/doubts.py [--honest 300] [--each 400] [--seed 1]

An invented engine is worn at random and read with instruments that err as theirs do.
An *honest* job holds what was read.  A *bad* job holds one reading that is true and
far out, as a flat spot or a dead cylinder: it must stay in its verdict.  A *slip* is
one reading typed wrong.  Printed, for each: how many were asked about, and how many
had a reading taken out of every value.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path

from rebuildreport.records import ShopFolder, load_job, load_shop

SHOP = """\
name: Test bench
contact: nobody
currency: EUR
first_unit: mm
rates:
  - from: 2026-01-01
    labour: 50.00
    tax: 20 %
instruments:
  mic_0:
    kind: micrometer
    range: 0 to 25 mm
    resolution: 0.001 mm
    permitted_error: 0.003 mm
    repeatability: 0.001 mm
  small_gauge:
    kind: bore gauge
    range: 18 to 35 mm
    resolution: 0.001 mm
    permitted_error: 0.004 mm
    repeatability: 0.001 mm
  mic:
    kind: micrometer
    range: 50 to 75 mm
    resolution: 0.001 mm
    permitted_error: 0.003 mm
    repeatability: 0.001 mm
  mic_75:
    kind: micrometer
    range: 75 to 100 mm
    resolution: 0.001 mm
    permitted_error: 0.003 mm
    repeatability: 0.001 mm
  mic_inch:
    kind: micrometer
    range: 2 to 3 in
    resolution: 0.0001 in
    permitted_error: 0.0001 in
    repeatability: 0.00005 in
  gauge:
    kind: bore gauge
    range: 50 to 150 mm
    resolution: 0.001 mm
    permitted_error: 0.004 mm
    repeatability: 0.001 mm
  dial:
    kind: dial indicator
    range: 0 to 10 mm
    resolution: 0.01 mm
    permitted_error: 0.01 mm
    repeatability: 0.003 mm
  feelers:
    kind: feeler gauges
    range: 0.02 to 1 mm
    resolution: 0.01 mm
    permitted_error: 0.004 mm
  pressure:
    kind: pressure gauge
    range: 0 to 25 bar
    resolution: 0.1 bar
    permitted_error: 0.2 bar
    repeatability: 0.1 bar
  tester:
    kind: leak-down tester
    range: 0 to 100 percent
    resolution: 1 percent
    permitted_error: 2 percent
    repeatability: 1 percent
"""

SHEET = """\
maker: Nobody
model: N-4
documents:
  manual: an invented manual
layout:
  cylinders: 4
  arrangement: inline
features:
  journals:
    kind: journal
    positions: M1 to M5
    columns: front_a front_b rear_a rear_b
    unit: mm
    new: {size: 54.980 to 55.000, out_of_round: max 0.005, taper: max 0.005}
    wear: {size: min 54.950, out_of_round: max 0.020, taper: max 0.020}
    undersizes: 0.25 0.50 mm
    source: manual
  journals_inch:
    kind: journal
    positions: N1 to N5
    columns: front_a front_b rear_a rear_b
    unit: in
    new: {size: 2.2437 to 2.2445, out_of_round: max 0.0003, taper: max 0.0003}
    wear: {size: min 2.2425, out_of_round: max 0.0008, taper: max 0.0008}
    undersizes: 0.010 0.020 in
    source: manual
  bores:
    kind: bore
    positions: C1 to C4
    columns: top_t top_a middle_t middle_a bottom_t bottom_a
    unit: mm
    new: {size: 86.000 to 86.020, out_of_round: max 0.010, taper: max 0.010}
    wear: {size: max 86.150, out_of_round: max 0.050, taper: max 0.100}
    oversizes: 0.50 1.00 mm
    source: manual
  skirts:
    kind: journal
    positions: C1 to C4
    columns: skirt
    unit: mm
    new: {size: 85.950 to 85.970}
    wear: {size: min 85.880}
    source: manual
  pins:
    kind: journal
    positions: C1 to C4
    columns: left right
    unit: mm
    new: {size: 21.995 to 22.000}
    source: manual
  bosses:
    kind: bore
    positions: C1 to C4
    columns: left right
    unit: mm
    new: {size: 22.002 to 22.008}
    source: manual
  pins_in_bosses:
    kind: running_fit
    outer: bosses
    inner: pins
    unit: mm
    new: {clearance: 0.002 to 0.012}
    source: manual
  float:
    kind: end_float
    positions: crank
    columns: end_float
    unit: mm
    new: {end_float: 0.08 to 0.25}
    wear: {end_float: max 0.40}
    source: manual
  ring_gaps:
    kind: ring_gap
    positions: C1 to C4
    columns: top second oil
    unit: mm
    new: {top: 0.30 to 0.45, second: 0.30 to 0.50, oil: 0.20 to 0.50}
    wear: {top: max 1.00, second: max 1.00, oil: max 1.00}
    source: manual
  lash:
    kind: valve_clearance
    positions: I1 to I4, E1 to E4
    columns: lash
    unit: mm
    new: {lash: 0.20 to 0.30}
    source: manual
  compression:
    kind: compression
    whole_engine: yes
    positions: C1 to C4
    columns: pressure
    unit: bar
    new: {pressure: min 11.0}
    wear: {pressure: min 9.0}
    source: manual
  leak_down:
    kind: leak_down
    whole_engine: yes
    positions: C1 to C4
    columns: loss
    unit: percent
    new: {loss: max 10}
    wear: {loss: max 20}
    source: manual
"""
JOB = "title: A test engine\nengine: n-4\nopened: 2026-03-01\narrival:\n  complaint: knocks\n"

Rows = dict[str, list[str]]
PLACES = {"mm": 3, "in": 4}


@dataclass
class Table:
    """One measuring table: its columns, rows as typed, unit and instrument."""

    unit: str
    instrument: str
    columns: str
    rows: Rows = field(default_factory=dict)

    def text(self, name: str) -> str:
        """The table as a file has it."""
        rows = "".join(f"      {position}: {'  '.join(cells)}\n" for position, cells in self.rows.items())
        head = f"    unit: {self.unit}\n    instrument: {self.instrument}\n    columns: {self.columns}\n"
        return f"  {name}:\n{head}    rows:\n{rows}"


Tables = dict[str, Table]


def worn(chance: random.Random) -> Tables:
    """An engine worn at random, as an honest hand with good instruments reads it."""

    def typed(value: float, places: int, noise: float) -> str:
        return f"{value + chance.gauss(0.0, noise):.{places}f}"

    tables = {
        "journals": Table("mm", "mic", "front_a front_b rear_a rear_b"),
        "journals_inch": Table("in", "mic_inch", "front_a front_b rear_a rear_b"),
        "bores": Table("mm", "gauge", "top_t top_a middle_t middle_a bottom_t bottom_a"),
        "skirts": Table("mm", "mic_75", "skirt"),
        "float": Table("mm", "dial", "end_float"),
        "ring_gaps": Table("mm", "feelers", "top second oil"),
        "lash": Table("mm", "feelers", "lash"),
        "compression": Table("bar", "pressure", "pressure"),
        "leak_down": Table("percent", "tester", "loss"),
    }
    for number in range(1, 6):
        for name, prefix, scale, places in (("journals", "M", 1.0, 3), ("journals_inch", "N", 1 / 25.4, 4)):
            new = (54.980 if prefix == "M" else 2.2437 * 25.4) + chance.uniform(0.0, 0.02)
            wear, oval, cone = (
                chance.uniform(0, 0.03),
                chance.uniform(0, 0.015),
                chance.uniform(-0.008, 0.008),
            )
            sizes = [new - wear + step for step in (0.0, -oval, cone, cone - oval)]
            tables[name].rows[f"{prefix}{number}"] = [typed(v * scale, places, 0.001 * scale) for v in sizes]
    for number in range(1, 5):
        place = f"C{number}"
        new, wear = 86.0 + chance.uniform(0.0, 0.02), chance.uniform(0.0, 0.12)
        shares = (1.0, 0.5, 0.35, 0.2, 0.15, 0.1)  # most below the top ring, across the crank
        tables["bores"].rows[place] = [typed(new + wear * share, 3, 0.0015) for share in shares]
        tables["skirts"].rows[place] = [typed(85.96 - chance.uniform(0.0, 0.06), 3, 0.001)]
        gaps = [chance.uniform(0.3, 0.7), chance.uniform(0.3, 0.7), chance.uniform(0.25, 0.7)]
        tables["ring_gaps"].rows[place] = [typed(gap, 2, 0.004) for gap in gaps]
        tables["compression"].rows[place] = [typed(chance.uniform(10.5, 13.0), 1, 0.1)]
        tables["leak_down"].rows[place] = [f"{chance.uniform(3.0, 15.0):.0f}"]
    lift = chance.uniform(0.1, 0.35)
    tables["float"].rows["crank"] = ["/".join(typed(lift, 2, 0.003) for _ in range(3))]
    for valve in [f"{side}{number}" for side in "IE" for number in range(1, 5)]:
        tables["lash"].rows[valve] = [typed(chance.uniform(0.15, 0.32), 2, 0.004)]
    return tables


Change = Callable[[Tables, random.Random], None]


def spot(tables: Tables, name: str, chance: random.Random) -> tuple[list[str], int]:
    """A row of a table and the number of one cell in it, at random."""
    row = tables[name].rows[chance.choice(list(tables[name].rows))]
    return row, chance.randrange(len(row))


def moved(name: str, by: Callable[[random.Random], float]) -> Change:
    """One reading is otherwise by an amount in the table's unit."""

    def change(tables: Tables, chance: random.Random) -> None:
        row, k = spot(tables, name, chance)
        row[k] = shifted(row[k], by(chance))

    return change


def shifted(text: str, by: float) -> str:
    """A number typed with as many decimals as before."""
    return f"{float(text) + by:.{len(text.partition('.')[2])}f}"


def set_to(name: str, value: Callable[[random.Random], str]) -> Change:
    """One reading is another altogether."""

    def change(tables: Tables, chance: random.Random) -> None:
        row, k = spot(tables, name, chance)
        row[k] = value(chance)

    return change


def dead_cylinder(tables: Tables, chance: random.Random) -> None:
    """A valve or a piston gone: both tests of the cylinder say so."""
    place = chance.choice(list(tables["compression"].rows))
    tables["compression"].rows[place] = [f"{chance.uniform(0.0, 3.0):.1f}"]
    tables["leak_down"].rows[place] = [f"{chance.uniform(60, 100):.0f}"]


def float_worn(tables: Tables, chance: random.Random) -> None:
    """A thrust washer gone: all three levers agree."""
    lift = chance.uniform(0.45, 1.6)
    tables["float"].rows["crank"] = ["/".join(f"{lift + chance.gauss(0, 0.012):.2f}" for _ in range(3))]


def levered(tables: Tables, chance: random.Random) -> None:
    """Levering both ways never ends at quite the same place: common practice says some hundredths."""
    lift = chance.uniform(0.1, 0.35)
    tables["float"].rows["crank"] = ["/".join(f"{lift + chance.gauss(0, 0.012):.2f}" for _ in range(3))]


def pins(tables: Tables, chance: random.Random) -> None:
    """Pins that slide in their bosses with a few micrometres, read by a gauge and a micrometer that err."""
    tables["pins"] = Table("mm", "mic_0", "left right")
    tables["bosses"] = Table("mm", "small_gauge", "left right")
    off = {"pins": chance.uniform(-0.003, 0.003), "bosses": chance.uniform(-0.004, 0.004)}
    for number in range(1, 5):
        pin = chance.uniform(21.995, 22.000)
        for name, size in (("pins", pin), ("bosses", pin + chance.uniform(0.002, 0.010))):
            read = [f"{size + off[name] + chance.gauss(0.0, 0.001):.3f}" for _ in range(2)]
            tables[name].rows[f"C{number}"] = read


def point(name: str) -> Change:
    """The point one place too far left or right."""

    def change(tables: Tables, chance: random.Random) -> None:
        row, k = spot(tables, name, chance)
        parts = row[k].split("/")
        places = len(parts[0].partition(".")[2])
        times, more = chance.choice(((10.0, -1), (0.1, 1)))
        parts[0] = f"{float(parts[0]) * times:.{max(places + more, 0)}f}"
        row[k] = "/".join(parts)

    return change


def inches(name: str) -> Change:
    """One reading in inches under a heading of millimetres."""

    def change(tables: Tables, chance: random.Random) -> None:
        row, k = spot(tables, name, chance)
        row[k] = f"{float(row[k]) / 25.4:.4f}"

    return change


def swapped(name: str, least: float) -> Change:
    """Two neighbouring digits exchanged, so that the size is wrong by ``least`` or more."""

    def change(tables: Tables, chance: random.Random) -> None:
        for _ in range(1000):
            row, k = spot(tables, name, chance)
            text = row[k]
            places = [n for n in range(len(text) - 1) if text[n].isdigit() and text[n + 1].isdigit()]
            n = chance.choice(places)
            other = text[:n] + text[n + 1] + text[n] + text[n + 2 :]
            if abs(float(other) - float(text)) >= least:
                row[k] = other
                return
        raise ValueError(f"no digits to exchange in {name}")

    return change


def either(amount: float) -> Callable[[random.Random], float]:
    """Up or down by an amount."""
    return lambda chance: chance.choice((amount, -amount))


# True readings, however bad: none may leave its verdict.
BAD: dict[str, Change] = {
    "flat spot of a journal": moved("journals", lambda chance: -chance.uniform(0.03, 0.25)),
    "flat spot of a journal, inches": moved("journals_inch", lambda chance: -chance.uniform(0.0012, 0.01)),
    "bore scored at one place": moved("bores", lambda chance: chance.uniform(0.15, 0.6)),
    "skirt collapsed": moved("skirts", lambda chance: -chance.uniform(0.05, 0.4)),
    "end float of a lost washer": float_worn,
    "ring gap of a worn ring": set_to("ring_gaps", lambda chance: f"{chance.uniform(1.0, 3.0):.2f}"),
    "valve clearance far open": set_to("lash", lambda chance: f"{chance.uniform(0.5, 1.5):.2f}"),
    "valve clearance nearly gone": set_to("lash", lambda chance: f"{chance.uniform(0.02, 0.08):.2f}"),
    "dead cylinder, both tests": dead_cylinder,
    "dead cylinder, compression alone": set_to("compression", lambda c: f"{c.uniform(0.0, 3.0):.1f}"),
    "dead cylinder, leak-down alone": set_to("leak_down", lambda c: f"{c.uniform(60, 100):.0f}"),
}
SLIPS: dict[str, Change] = {
    "point of a size": point("journals"),
    "point of a size, inches": point("journals_inch"),
    "point of a bore": point("bores"),
    "point of a ring gap": point("ring_gaps"),
    "point of a valve clearance": point("lash"),
    "point of a compression": point("compression"),
    "point of one end float of three": point("float"),
    "inches for millimetres, journal": inches("journals"),
    "inches for millimetres, bore": inches("bores"),
    "half a turn more, 0.5 mm": moved("journals", lambda _: 0.5),
    "half a turn less, 0.5 mm": moved("journals", lambda _: -0.5),
    "half a turn more, 0.025 in": moved("journals_inch", lambda _: 0.025),
    "half a turn less, 0.025 in": moved("journals_inch", lambda _: -0.025),
    "a tenth of a millimetre": moved("journals", either(0.1)),
    "half a tenth": moved("journals", either(0.05)),
    "digits of a journal, 0.02 mm or more": swapped("journals", 0.02),
    "digits of a journal, 0.0008 in or more": swapped("journals_inch", 0.0008),
    "digits of a bore, 0.02 mm or more": swapped("bores", 0.02),
    "digits of a journal, below 0.02 mm": swapped("journals", 0.002),
}


class Bench:
    """One shop folder in which a job is written anew and loaded, time after time."""

    def __init__(self, folder: Path) -> None:
        (folder / "engines").mkdir(parents=True)
        (folder / "job-1" / "measurements").mkdir(parents=True)
        (folder / "shop.yaml").write_text(SHOP, encoding="utf-8")
        (folder / "engines" / "n-4.yaml").write_text(SHEET, encoding="utf-8")
        (folder / "job-1" / "job.yaml").write_text(JOB, encoding="utf-8")
        self.round = folder / "job-1" / "measurements" / "arrival.yaml"
        self.shop: ShopFolder = load_shop(folder)

    def asked(self, tables: Tables) -> tuple[bool, bool]:
        """Whether a person is asked about anything, and whether a reading is taken out of every value."""
        text = "".join(table.text(name) for name, table in tables.items())
        self.round.write_text(f"date: 2026-03-02\nby: me\ntemperature: 20 °C\ntables:\n{text}", "utf-8")
        job = load_job(self.shop, "job-1")
        wrong = [problem for problem in job.problems if problem.severity == "error"]
        if wrong:
            return True, True  # refused at its line: it is in no value
        return bool(job.doubts), bool(job.suspects)


def cases(honest: int, each: int) -> Iterator[tuple[str, str, Change | None, int]]:
    """What is simulated: its sort, its name, the change, how many jobs."""
    yield "honest", "nothing wrong", None, honest
    yield "honest", "end float as levering scatters", levered, each
    yield "honest", "pins that just slide in their bosses", pins, honest
    for name, change in BAD.items():
        yield "true and bad", name, change, each
    for name, change in SLIPS.items():
        yield "slip", name, change, each


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--honest", type=int, default=300)
    words.add_argument("--each", type=int, default=400)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", default="", help="names that contain this")
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder) / "jobs")
        print("| reading | jobs | asked about | out of every value |\n| --- | --- | --- | --- |")
        for sort, name, change, count in cases(given.honest, given.each):
            if given.only not in name:
                continue
            chance = random.Random(f"{given.seed} {name}")
            asked = out = 0
            for _ in range(count):
                tables = deepcopy(worn(chance))
                if change is not None:
                    change(tables, chance)
                doubted, left = bench.asked(tables)
                asked, out = asked + doubted, out + left
            print(f"| {sort}: {name} | {count} | {100 * asked / count:.1f} % | {100 * out / count:.1f} % |")


if __name__ == "__main__":
    main()
