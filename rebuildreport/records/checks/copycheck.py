"""Jobs beside each other: a folder copied with its readings and its register, two jobs of one number.

In: a loaded job and what of the others it is like.  Out: problems.  Reads no other job's records.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..files.folder import Alike, JobFolder
from ..files.issued import FOLDER, REGISTER
from ..text.problems import Problem


def check_copies(job: JobFolder, alike: Alike) -> Iterator[Problem]:
    """Rounds and register that are another job's, byte for byte; another job of the same number."""
    rounds = [f"measurements/{name}.yaml" for name, file in job.rounds.items() if file.begun]
    copied = dict(alike.files)
    for place in (*rounds, *([f"{FOLDER}/{REGISTER}"] if job.issued.issues else [])):
        if place in copied:
            message = f"this is {copied[place]}/{place}, letter by letter: a copied folder?"
            what = "readings" if place in rounds else "issued documents"
            hint = f"these {what} are of one of the two jobs: take them out of the other"
            yield Problem(f"{job.name}/{place}", 1, 1, "error", message, suggestion=hint)
    if odd := re.search(r"[^\w.() +,-]", job.name):
        message = f"a link to the folder '{job.name}' ends at its {odd[0]}"
        hint = "rename the folder: letters, digits, - _ and ."
        yield Problem(f"{job.name}/job.yaml", 1, 1, "error", message, suggestion=hint)
    for old in job.job.was if job.job else ():
        if (job.path.parent / old / "job.yaml").is_file():
            message = f"'{old}' is a job of its own: nobody who looks there would be led here"
            yield job.sources["job"].problem(("was",), message, "a name that no folder has now", "warning")
    if alike.number:
        message = f"{alike.numbered} has the number {alike.number}, too"
        hint = "a number of its own for one of the two, before anything is sent by it"
        yield Problem(f"{job.name}/job.yaml", 1, 1, "warning", message, suggestion=hint)
