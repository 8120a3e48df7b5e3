"""The last commit that touched a job, its engine or the shop file; nothing where there is no git."""

from __future__ import annotations

import os
import subprocess
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Commit:
    """A commit by its short hash and its day; ``dirty`` where the files have changed since."""

    hash: str = ""
    day: str = ""  # 2026-03-06
    dirty: bool = False

    def __str__(self) -> str:
        if not self.hash:
            return ""
        return f"{self.hash} of {self.day}" + (", with changes since" if self.dirty else "")


def last_commit(shop_dir: Path, job: str, engine: str) -> Commit:
    """The newest commit that touched the job's files, its engine's sheet or shop.yaml.

    What the job has issued does not count: issuing twice would else differ by
    itself.  An empty Commit where git is missing, the folder is in no
    repository, or nothing was committed yet.
    """
    names = [job, f"engines/{engine}.yaml", "shop.yaml"]
    paths = [f":(literal){name}" for name in names] + [f":(exclude,literal){job}/issued"]
    said = _git(shop_dir, "log", "-1", "--format=%h %cs", "--", *paths)
    if not said:
        return Commit()
    short, _, day = said.strip().partition(" ")
    changed = _git(shop_dir, "status", "--porcelain", "--", *paths)
    return Commit(short, day, bool(changed and changed.strip()))


def _git(folder: Path, *words: str) -> str | None:
    # git started from a hook or an editor inherits its repository from these: ours is the folder's own
    env = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    env |= {"GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C", "GIT_PAGER": "cat"}
    try:
        done = subprocess.run(
            ["git", "-C", str(folder), *words],
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
            timeout=20,
            env=env,
            stdin=subprocess.DEVNULL,
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return done.stdout if done.returncode == 0 else None
