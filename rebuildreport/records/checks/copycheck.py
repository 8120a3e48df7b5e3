"""Jobs beside each other: a folder copied with its readings and its register, two jobs of one number.

In: a loaded job and the names of the others' files.  Out: problems.  Reads no other job's records.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from ..files.issued import FOLDER, REGISTER
from ..text.problems import Problem

if TYPE_CHECKING:
    from ..files.folder import JobFolder

Sizes = dict[tuple[str, int], list[str]]  # file below a job, its size: jobs that have one
# what a folder begins with to be told from others: 2026-003, 0412; a year alone is no number
_NUMBER = re.compile(r"(\d+(?:[-_.]\d+)+|(?!(?:19|20)\d\d\D)\d{3,})(?=\D|$)")


def sizes_of_jobs(folder: Path, names: list[str]) -> Sizes:
    """Which job has a round or a register of which size, so that equal ones are found without reading all."""
    found: Sizes = {}
    for name in names:
        files = [*(folder / name / "measurements").glob("*.yaml"), folder / name / FOLDER / REGISTER]
        for file in files:
            try:
                place = (file.relative_to(folder / name).as_posix(), file.stat().st_size)
            except OSError:
                continue
            found.setdefault(place, []).append(name)
    return found


def check_copies(job: JobFolder, names: list[str], sizes: Sizes) -> Iterator[Problem]:
    """Rounds and register that are another job's, byte for byte; another job of the same number."""
    rounds = [f"measurements/{name}.yaml" for name, file in job.rounds.items() if file.begun]
    for place in (*rounds, *([f"{FOLDER}/{REGISTER}"] if job.issued.issues else [])):
        for other in _alike(job, place, sizes):
            message = f"this is {other}/{place}, letter by letter: a copied folder?"
            what = "readings" if place in rounds else "issued documents"
            hint = f"these {what} are of one of the two jobs: take them out of the other"
            yield Problem(f"{job.name}/{place}", 1, 1, "error", message, suggestion=hint)
            break
    if odd := re.search(r"[^\w.() +,-]", job.name):
        message = f"a link to the folder '{job.name}' ends at its {odd[0]}"
        hint = "rename the folder: letters, digits, - _ and ."
        yield Problem(f"{job.name}/job.yaml", 1, 1, "error", message, suggestion=hint)
    if number := _NUMBER.match(job.name):
        for other in names:
            known = _NUMBER.match(other)
            if other != job.name and known and known[1] == number[1]:
                message = f"{other} has the number {number[1]}, too"
                hint = "a number of its own for one of the two, before anything is sent by it"
                yield Problem(f"{job.name}/job.yaml", 1, 1, "warning", message, suggestion=hint)
                break


def _alike(job: JobFolder, place: str, sizes: Sizes) -> Iterator[str]:
    """Other jobs with the same bytes at the same place."""
    try:
        own = (job.path / place).read_bytes()
        for other in sizes.get((place, len(own)), ()):
            if other != job.name and (job.path.parent / other / place).read_bytes() == own:
                yield other
    except OSError:
        return
