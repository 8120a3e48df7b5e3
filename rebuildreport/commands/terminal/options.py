"""Options and arguments that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])
FILE: click.ParamType[Any] = click.Path(dir_okay=False, path_type=Path)
EXISTING: click.ParamType[Any] = click.Path(dir_okay=False, path_type=Path, exists=True)


def shop_option(exists: bool = True) -> Callable[[F], F]:
    """``--shop DIR``, the shop's folder."""
    return dir_option("--shop", "jobs", "the shop's folder", exists)


def out_option() -> Callable[[F], F]:
    """``--out DIR``, where the site stands."""
    return dir_option("--out", "site", "where the pages go")


def dir_option(flag: str, usual: str, what: str, exists: bool = False) -> Callable[[F], F]:
    """An option that takes a folder; ``what`` that is, for its help."""
    kind = click.Path(exists=exists, file_okay=False, path_type=Path)
    return click.option(flag, type=kind, default=Path(usual), show_default=True, metavar="DIR", help=what)


def date_option(flag: str, name: str, what: str) -> Callable[[F], F]:
    """An option that takes a day; ``what`` that is, for its help."""
    kind, told = click.DateTime(["%Y-%m-%d"]), f"{what}, as in 2031-04-16  [default: today]"
    return click.option(flag, name, type=kind, metavar="DATE", help=told)


def on_option() -> Callable[[F], F]:
    """``--on DATE``, the day of the shop's day."""
    return date_option("--on", "on", "the shop's day is of this day, by the records as they stand now")


def day_of(on: datetime | None) -> date:
    """The day that was asked for; else today with its hour, since what is written now is true now."""
    return on.date() if on else datetime.now()


def known_jobs(shop: Path, jobs: tuple[str, ...]) -> list[str] | None:
    """The jobs asked for, by name or as a path into the shop's folder; None for all.

    A file stands for its job, as a hook names what was touched; one of no job, such as a sheet, for all.

    Raises click's UsageError for a job that is not there.
    """
    if not jobs:
        return None
    from ...records.load import is_job, job_names
    from ...records.text.validate import listed, near

    names = []
    for job in jobs:
        name = Path(job).name  # shells complete paths: jobs/2031-014-NAME/
        if Path(job).is_file() and Path(job).resolve().is_relative_to(shop.resolve()):
            name = Path(job).resolve().relative_to(shop.resolve()).parts[0]
            if not is_job(shop, name):
                return None
        if not name or not is_job(shop, name):
            known = job_names(shop)
            hint = near(name, known) or (f"there are {listed(known)}" if known else "there are none yet")
            raise click.UsageError(f"there is no job '{name}' in {shop}: {hint}")
        if name not in names:
            names.append(name)
    return names
