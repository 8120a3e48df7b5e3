"""``bench-sheet``: paper to measure on, a page to type on, and the round's file in the same order."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click
from msgspec.structs import replace

from .start import write_new
from .terminal.options import date_option, known_jobs, out_option, shop_option
from .terminal.telling import PROBLEMS, Lacking, done, say, tell


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
    from ..site.disk.folders import write_whole

    folder = load_shop(shop, names)
    record = folder.jobs[names[0]]
    sheet = record.job.engine if record.job else ""
    if folder.shop is None or not record.usable or sheet not in folder.engines:
        said = f"{record.name}: no sheet before these are put right, and the engine has one"
        return tell(folder.all_problems, shop, [said], PROBLEMS)
    one = assess_job(folder, record)
    found = due(folder, record, one)
    name = round_name or next_round(record)
    if not found:
        say(f"{record.name}: nothing is due, every reading that can be taken now stands")
        return 0
    with done("the files cannot be written"):
        path = record.path / "measurements" / f"{name}.yaml"
        write_new(path, round_file(found, (day or date.today()).strftime("%Y-%m-%d"), one.system))
        paper = register.named("bench-sheet")
        one = replace(one, due=DueRound(name, found))
        screen = register.named("bench-page")
        try:
            view, page = paper.view(one, shop), screen.view(one, shop)
            pages = {f"{screen.file(page)}.html": screen.html(page, shop=shop).encode()}
            pages[f"{paper.file(view)}.pdf"] = paper.pdf(view, one, shop)
        except (PdfUnavailable, UnknownLanguage) as problem:
            raise Lacking(str(problem)) from None
        for file, data in pages.items():
            target = out / "shop" / record.name / file
            write_whole(target, data)
            say(f"new: {target}")
    return 0
