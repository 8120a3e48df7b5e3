"""The last commit that touched a job, its engine or the shop file; nothing where there is no git."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterable
from pathlib import Path

from msgspec import Struct, field


class Commit(Struct, frozen=True):
    """A commit by its short hash and its day; ``dirty`` where the files have changed since."""

    hash: str = ""
    day: str = ""  # 2026-03-06
    dirty: bool = False

    def __str__(self) -> str:
        if not self.hash:
            return ""
        return f"{self.hash}, {self.day}" + (", with changes since" if self.dirty else "")


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


class Checkout(Struct):
    """Where the repository of a shop stands, asked once for all jobs."""

    shop_dir: Path
    head: str = ""  # "" where there is no repository, or nothing was committed yet
    _prefix: str = ""
    _dirty: frozenset[str] = frozenset()
    _touched: dict[str, frozenset[str] | None] = field(default_factory=dict)

    @classmethod
    def of_folder(cls, shop_dir: Path) -> Checkout:
        """The newest commit, and what of the shop has changed since."""
        said = _git(shop_dir, "rev-parse", "HEAD", "--show-prefix")
        if not said:
            return cls(shop_dir)
        head, prefix, *_ = [*said.split("\n"), ""]
        status = _git(shop_dir, "status", "--porcelain", "-z", "--no-renames", "-uall", "--", ".")
        changed = (line[3:] for line in (status or "").split("\0"))
        return cls(shop_dir, head, prefix, _units(changed, prefix))

    def paths(self) -> list[Path]:
        """Files of the repository that change whenever the newest commit, or what is put beside it, does.

        Where there is none, the places at which one would appear.
        """
        found = [folder / ".git" for folder in (self.shop_dir.resolve(), *self.shop_dir.resolve().parents)]
        said = _git(self.shop_dir, "rev-parse", *(word for name in _MOVED for word in ("--git-path", name)))
        return found if said is None else [(self.shop_dir / line).resolve() for line in said.splitlines()]

    def dirty(self, job: str, engine: str) -> bool:
        """Whether files that a job is made from have changed since the newest commit."""
        return not self._dirty.isdisjoint(_made_from(job, engine))

    def same_since(self, head: str, job: str, engine: str) -> bool:
        """Whether the last commit that touched the job is the one that it was when ``head`` was the newest.

        False too where that cannot be known: the branch was switched, or rewritten.
        """
        if head == self.head:
            return True
        if not head or not self.head:
            return False
        if head not in self._touched:
            self._touched[head] = self._since(head)
        touched = self._touched[head]
        return touched is not None and touched.isdisjoint(_made_from(job, engine))

    def _since(self, head: str) -> frozenset[str] | None:
        if _git(self.shop_dir, "merge-base", "--is-ancestor", head, self.head) is None:
            return None
        words = ("log", "--full-history", "-m", "--no-renames", "--name-only", "--format=", "-z")
        said = _git(self.shop_dir, *words, f"{head}..{self.head}", "--", ".")
        return None if said is None else _units(said.split("\0"), self._prefix)


_MOVED = ("HEAD", "logs/HEAD", "index", "packed-refs", "info/exclude")


def _made_from(job: str, engine: str) -> set[str]:
    return {job, f"engines/{engine}.yaml", "shop.yaml"}


def _units(paths: Iterable[str], prefix: str) -> frozenset[str]:
    """What the paths of a repository belong to: a job's folder, or a file of the shop."""
    units = set()
    for path in paths:
        first, _, rest = path.strip("\n").removeprefix(prefix).partition("/")
        if first == "engines":
            units.add(f"engines/{rest}")
        elif not rest.startswith("issued/"):  # as in last_commit
            units.add(first)
    return frozenset(units)


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
