"""``export``: jobs, values and readings as open tables for other programs."""

from __future__ import annotations

import json
from pathlib import Path

import click

from .terminal.options import dir_option, known_jobs, shop_option
from .terminal.telling import PROBLEMS, count, done, say, tell


@click.command("export")
@click.argument("jobs", nargs=-1, metavar="[JOB]...")
@shop_option()
@dir_option("--to", "export", "the folder that they go into")
@click.option(
    "--public", "open_", is_flag=True, help="only what the public edition may say, of jobs with consent"
)
def command(jobs: tuple[str, ...], shop: Path, to: Path, open_: bool) -> int:
    """Write what is known of all jobs (of each JOB) for other programs.

    jobs.csv, values.csv and readings.csv, described in csv-metadata.json (W3C,
    CSV on the Web), and the same as data.json, whose JSON Schema 'schema'
    writes. It is the shop's own, with prices and complaints; --public leaves
    out all that the public edition leaves out. 'take' reads readings.csv back.
    """
    names = known_jobs(shop, jobs)
    from ..assess import assess_for_documents
    from ..assess.publishing import opendata
    from ..assess.publishing.public import public
    from ..records import load_shop
    from ..site.disk.folders import write_whole

    folder = load_shop(shop, names)
    if folder.shop is None:
        return tell(folder.problems, shop)
    sound = [job for job in folder.jobs.values() if job.usable]
    assessed = (assess_for_documents(folder, job) for job in sound)
    if open_:
        assessed = (public(one) for one in assessed if one.publish)
    data = opendata.data_of(assessed, "public" if open_ else "shop")
    files = {f"{name}.csv": opendata.csv_of(data, name) for name in opendata.TABLES}
    files[opendata.METADATA] = json.dumps(opendata.metadata(data), ensure_ascii=False, indent=1) + "\n"
    files["data.json"] = data.model_dump_json(indent=1) + "\n"
    with done("the tables cannot be written"):
        for name, text in files.items():
            write_whole(to / name, text.encode())
    values, readings = count(len(data.values), "value"), count(len(data.readings), "reading")
    say(f"{to}: {count(len(data.jobs), 'job')}, {values}, {readings}")
    left = [name for name, job in folder.jobs.items() if job not in sound]
    if left:
        say(f"without these, whose files have errors (check): {', '.join(left)}", err=True)
    return PROBLEMS if left else 0
