"""``take``: a round from the file of a gauge's own software."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .start import write_new
from .terminal.options import EXISTING, date_option, known_jobs, shop_option
from .terminal.telling import PROBLEMS, count, done, say, tell

if TYPE_CHECKING:
    from ..records.checks.gaugefile import Filled


@click.command("take")
@click.argument("job")
@click.argument("round_name", metavar="ROUND")
@click.argument("file", type=EXISTING, metavar="FILE.csv")
@shop_option()
@click.option(
    "--column",
    "called",
    multiple=True,
    metavar="WHAT=NAME",
    help="what a column of the file is called: feature, position, column, reading, unit or instrument",
)
@click.option("--feature", default="", help="of every row, where no column says it")
@click.option("--instrument", default="", help="that it was read with, where no column says it")
@click.option(
    "--decimal", type=click.Choice(["point", "comma"]), help="of the file  [default: as shop.yaml says]"
)
@click.option("--of", default="", metavar="JOB/ROUND", help="the round, where FILE.csv comes from 'export'")
@click.option("--by", default="", help="who measured")
@click.option("--temperature", default="20 °C", show_default=True, help="of part and instrument")
@date_option("--date", "day", "day of the round")
def command(
    job: str,
    round_name: str,
    file: Path,
    shop: Path,
    called: tuple[str, ...],
    feature: str,
    instrument: str,
    decimal: str | None,
    of: str,
    by: str,
    temperature: str,
    day: date | None,
) -> int:
    """Lay readings from FILE.csv out as the new round ROUND of JOB.

    A row holds a feature, a position, a column and a reading, or the readings
    of a position under the names of the feature's columns. Digits stay as the
    gauge wrote them. A round of another shop's 'export' stands as it was typed
    there. Nothing is written where anything does not fit.
    """
    (name,) = known_jobs(shop, (job,)) or ("",)
    from ..records import load_shop
    from ..records.checks.gaugefile import Heads, taken
    from ..records.files.shop import GaugeFile
    from ..records.text.writing import UNKNOWN, round_text

    folder = load_shop(shop, [name])
    record = folder.jobs[name]
    sheet = folder.engines.get(record.job.engine) if record.job else None
    if not folder.shop or not sheet or not sheet.model:
        said = f"{name}: no readings before these are put right, and the engine has a sheet"
        return tell(folder.all_problems, shop, [said], PROBLEMS)
    path = record.path / "measurements" / f"{_round(round_name)}.yaml"
    if path.exists():
        raise click.UsageError(f"{path} is there already, and stays as it is: name another round")
    usual = folder.shop.gauge_file or GaugeFile()
    comma = (decimal or usual.decimal) == "comma"
    heads = Heads({**usual.called, **_called(called)}, comma, feature, instrument, of)
    with done("the round cannot be written"):
        tables, problems = taken(file.read_bytes(), file.as_posix(), heads, sheet.model, folder.shop)
        if problems:
            said = f"{count(len(problems), 'error')}: nothing was written"
            return tell(problems, Path(), [said], PROBLEMS)
        laid = [table.layout.lines(table.readings) for table in tables]
        write_new(path, round_text(_day(day, tables), by or UNKNOWN, temperature, laid))
    read = count(sum(len(table.readings) for table in tables), "place")
    say(f"{read} of {count(len(tables), 'feature')} read; 'check {name}' looks them through")
    return 0


def _day(day: date | None, tables: Iterable[Filled]) -> str:
    """The day of the round: as said, else as its readings have it, else today."""
    stated = next((dict(table.layout.further).get("date") for table in tables), None)
    return day.strftime("%Y-%m-%d") if day else stated or date.today().isoformat()


def _round(name: str) -> str:
    if not name or Path(name).name != name or name.startswith("."):
        raise click.UsageError(f"'{name}' cannot name a round: as in inspection or after-machining")
    return name.removesuffix(".yaml")


def _called(pairs: tuple[str, ...]) -> dict[str, str]:
    from ..records.checks.gaugefile import ROLES
    from ..records.text.validate import listed

    called = {}
    for pair in pairs:
        role, sign, head = pair.partition("=")
        if role not in ROLES or not sign or not head:
            raise click.UsageError(f"--column {pair}: WHAT=NAME, and WHAT is one of {listed(ROLES)}")
        called[role] = head
    return called
