"""``bench-sheet``: paper to measure on, a page to type on, and the round's file in the same order."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import click

from .terminal.options import date_option, known_jobs, out_option, shop_option
from .terminal.telling import problem_lines, say

HAS_PROBLEMS, LACKING = 1, 3


@click.command("bench-sheet")
@click.argument("job")
@click.argument("round_name", metavar="[ROUND]", required=False)
@shop_option()
@out_option()
@date_option("--date", "day", "day of the round")
def command(job: str, round_name: str | None, shop: Path, out: Path, day: date | None) -> int:
    """Paper for what is due to be measured on JOB, a page to type it on, and the file of its ROUND.

    The file measurements/ROUND.yaml is laid out box by box like the sheet;
    one that is there already stays as it is.
    """
    names = known_jobs(shop, (job,)) or []
    from ..assess import assess_job
    from ..assess.measure.due import due, next_round
    from ..assess.model.assessment import DueRound
    from ..documents.bench.roundfile import round_file
    from ..documents.press.language import UnknownLanguage
    from ..documents.press.pdf import PdfUnavailable
    from ..documents.sheets import register
    from ..records import load_shop

    folder = load_shop(shop, names)
    record = folder.jobs[names[0]]
    sheet = record.job.engine if record.job else ""
    if folder.shop is None or not record.usable or sheet not in folder.engines:
        for problem in folder.all_problems:
            say("\n".join(problem_lines(problem, shop)), err=True)
        say(f"{record.name}: no sheet before these are put right, and the engine has one", err=True)
        return HAS_PROBLEMS
    one = assess_job(folder, record)
    found = due(folder, record, one)
    name = round_name or next_round(record)
    if not found:
        say(f"{record.name}: nothing is due, every reading that the sheet asks for stands")
        return 0
    try:
        path = record.path / "measurements" / f"{name}.yaml"
        path.parent.mkdir(exist_ok=True)
        try:
            with path.open("x", encoding="utf-8", newline="\n") as file:
                file.write(round_file(found, (day or date.today()).strftime("%Y-%m-%d")))
            say(f"new: {path}")
        except FileExistsError:
            say(f"kept as it is: {path}")
        paper = register.named("bench-sheet")
        one = replace(one, due=DueRound(name, found))
        screen = register.named("bench-page")
        view, page = paper.view(one, shop), screen.view(one, shop)
        home = out / "shop" / record.name
        _write(home / f"{screen.file(page)}.html", screen.html(page, shop=shop).encode())
        _write(home / f"{paper.file(view)}.pdf", paper.pdf(view, one, shop))
    except (PdfUnavailable, UnknownLanguage) as problem:
        say(str(problem), err=True)
        return LACKING
    except OSError as problem:
        say(f"the files cannot be written: {problem}", err=True)
        return LACKING
    return 0


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_bytes(data)
    part.replace(path)
    say(f"new: {path}")
