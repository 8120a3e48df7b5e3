"""Files of an earlier format, brought to today's by edits of the lines that it takes, and no other.

In: a shop's folder.  Out: each file that an upgrade changes with its new text, and what nobody can decide but
a person.  Writes nothing.  Every remark, blank and order stays as it was typed; no YAML is written anew.

``format:`` in shop.yaml states the number of the format.  To make a new one: raise FORMAT, and add to STEPS
what finds the old form wherever it stands; a kept job of the format before it goes into the tests.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct, field

from .files.shop import FORMAT
from .load import job_names
from .text.problems import Problem
from .text.reader import Source, Where, read, read_bytes, yaml_files


class Draft(Struct):
    """One file with the lines that are to stand in place of its own, counted from 1 as they stand now."""

    path: Path
    source: Source
    raw: bytes
    instead: dict[int, list[str]] = field(default_factory=dict)
    after: list[str] = field(default_factory=list)  # at its end
    made: dict[str, str] = field(default_factory=dict)  # title of a candidate that is added: its name

    @property
    def data(self) -> dict[str, Any]:
        return self.source.data if isinstance(self.source.data, dict) else {}

    @property
    def changed(self) -> bool:
        return bool(self.instead or self.after)

    def text(self) -> str:
        """What it is to be, with the line ends that it has."""
        end = "\r\n" if b"\r\n" in self.raw else "\n"
        lines = self.raw.decode("utf-8").split("\n")
        found = []
        for number, line in enumerate(lines, 1):
            found += (
                [f"{new}{end}" for new in self.instead[number]] if number in self.instead else [f"{line}\n"]
            )
        whole = "".join(found)[:-1] if len(lines) not in self.instead else "".join(found)
        if self.after and whole and not whole.endswith("\n"):
            whole += end
        return whole + "".join(f"{line}{end}" for line in self.after)

    def line(self, number: int) -> str:
        return self.source.line(number)

    def block(self, where: Where) -> list[int]:
        """The numbers of the lines of a key and all that stands below it; ByHand where they hold more."""
        mark = self.source.mark(where)
        if not self.line(mark.key_line)[mark.key_column - 1 :].startswith(f"{where[-1]}:"):
            raise ByHand(self.source, where, f"'{where[-1]}' does not begin a line of its own")
        last = mark.key_line
        for number in range(mark.key_line + 1, len(self.source.lines) + 1):
            text = self.line(number)
            if text and len(text) - len(text.lstrip()) < mark.key_column:
                break
            last = number if text else last
        return [*range(mark.key_line, last + 1)]

    def value(self, where: Where) -> tuple[str, str]:
        """What is typed behind a key, with its quotes, and what stands behind that: its remark."""
        (number, *more), line = self.block(where), self.line(self.source.mark(where).key_line)
        words = line.lstrip()
        try:
            found = [token for token in yaml.scan(words) if isinstance(token, yaml.ScalarToken)][1]
        except (yaml.YAMLError, IndexError):
            more = [number]
        if more:
            raise ByHand(self.source, where, f"'{where[-1]}' goes over several lines")
        return words[found.start_mark.column : found.end_mark.column], words[found.end_mark.column :].rstrip()


class ByHand(Exception):
    """What only a person can change, with its place."""

    def __init__(self, source: Source, where: Where, message: str) -> None:
        super().__init__(message)
        self.problem = source.problem(where, f"{message}: change it by hand", at="key")


Files = dict[str, Draft]  # by their names in the shop's folder


def upgraded(shop: Path) -> tuple[list[Draft], list[Problem]]:
    """The files that change, each with what it is to be, and what has to be done by hand."""
    files, problems = _files(shop)
    house = files.get("shop.yaml")
    if house and (stated := str(house.data.get("format", ""))).isdigit() and int(stated) > FORMAT:
        message = f"these files are of format {stated}, and this program knows formats up to {FORMAT}"
        return [], [house.source.problem(("format",), message, "a newer rebuildreport")]
    for step in STEPS:
        for change in step(files):
            try:
                change()
            except ByHand as refused:
                problems.append(refused.problem)
    changed = []
    for draft in filter(lambda draft: draft.changed, files.values()):
        _, faults = read_bytes(draft.text().encode(), draft.source.file)
        errors = [one for one in faults if one.severity == "error"]
        lines = draft.raw.decode("utf-8").split("\n")
        if errors or any(lines[number - 1].rstrip() != draft.line(number) for number in draft.instead):
            message = "its lines cannot be changed one by one: it is left as it is"
            problems.append(draft.source.problem((), message))
        else:
            changed.append(draft)
    return changed, problems


def _files(shop: Path) -> tuple[Files, list[Problem]]:
    """All that can be read; what cannot is to be put right first."""
    files: Files = {}
    problems: list[Problem] = []
    jobs = [shop / name for name in job_names(shop)]
    paths = [shop / "shop.yaml", *yaml_files(shop / "engines")]
    for job in jobs:
        paths += [job / "work.yaml", *yaml_files(job / "measurements")]
    for path in paths:
        name = path.relative_to(shop).as_posix()
        raw = path.read_bytes() if path.is_file() else b""
        source, faults = read(path, name) if path.is_file() else (Source(name), [])
        errors = [one for one in faults if one.severity == "error" and source.begun]
        problems += errors
        if not errors:
            files[name] = Draft(path, source, raw)
    return files, problems


Step = Callable[[Files], Iterator[Callable[[], None]]]


def _candidates(files: Files) -> Iterator[Callable[[], None]]:
    """Format 2: a round 'on_paper:' is 'of:' a candidate of work.yaml, with its price, size and codes."""
    for name, draft in list(files.items()):
        if "/measurements/" in name and "on_paper" in draft.data:
            yield partial(_candidate, files, name, draft)


def _candidate(files: Files, name: str, draft: Draft) -> None:
    work = files.get(f"{name.partition('/')[0]}/work.yaml")
    if work is None:
        raise ByHand(draft.source, ("on_paper",), "work.yaml has errors")
    title, remark = draft.value(("on_paper",))
    known = work.data.get("candidates") or {}
    key = work.made.get(title) or _new_key(draft.data["on_paper"], {*known, *work.made.values()})
    features = _features(files, name)
    tables = draft.data.get("tables") or {}
    read_of = [table.get("feature") or called for called, table in tables.items() if isinstance(table, dict)]
    parts = [features[one].get("part") or one for one in read_of if one in features]
    if not parts:
        raise ByHand(draft.source, ("on_paper",), "which part it is stands on no sheet")
    entry = [f"  {key}:", f"    title: {title}", f"    part: {max(parts, key=parts.count)}"]
    mark = draft.source.mark(("on_paper",))
    draft.instead[mark.key_line] = [f"of: {key}{remark}"]
    sized = [one for one in read_of if {"undersizes", "oversizes"} & features.get(one, {}).keys()]
    entry += _moved(draft, sized)
    if title in work.made:  # read in two rounds
        return
    work.made[title] = key
    if known:
        last = work.block(("candidates",))[-1]
        work.instead[last] = [*work.instead.get(last, [work.line(last)]), *entry]
    else:
        head = [] if work.after else ["", "candidates:"] if work.raw else ["candidates:"]
        work.after += [*head, *entry]


def _new_key(title: str, taken: set[str]) -> str:
    plain = re.sub(r"\W+", "_", title.partition(",")[0].lower()).strip("_") or "candidate"
    return next(one for one in (plain, *(f"{plain}_{n}" for n in range(2, 99))) if one not in taken)


def _moved(draft: Draft, sized: list[str]) -> list[str]:
    """The lines of a round that belong to the candidate, taken out of it; the size by feature."""
    entry: list[str] = []
    for moved in ("price", "size", "codes"):
        if moved not in draft.data:
            continue
        lines = draft.block((moved,))
        draft.instead |= {number: [] for number in lines}
        if moved == "size":
            typed, behind = draft.value((moved,))
            entry += ["    sizes:", *(f"      {one}: {typed}{behind}" for one in sized)]
        else:
            entry += [f"    {draft.line(number)}" for number in lines]
    return entry


def _features(files: Files, name: str) -> dict[str, dict[str, Any]]:
    """The features of the sheet that the job of a round names."""
    job, _ = read(files[name].path.parents[1] / "job.yaml")
    engine = job.data.get("engine") if isinstance(job.data, dict) else None
    sheet = files.get(f"engines/{engine}.yaml")
    found = sheet.data.get("features") if sheet else None
    return {one: about for one, about in (found or {}).items() if isinstance(about, dict)}


def _lists(files: Files) -> Iterator[Callable[[], None]]:
    """Format 3: conditions that hold are a list, each with a reason of its own."""
    for name, draft in files.items():
        access = draft.data.get("access")
        if name.endswith("/work.yaml") and isinstance(access, dict) and isinstance(access.get("holds"), str):
            yield partial(_list, draft, ("access", "holds"))


def _list(draft: Draft, where: Where) -> None:
    typed, remark = draft.value(where)
    mark = draft.source.mark(where)
    indent = " " * (mark.key_column - 1)
    draft.instead[mark.key_line] = [f"{indent}{where[-1]}:", f"{indent}  - {typed}{remark}"]


def _stated(files: Files) -> Iterator[Callable[[], None]]:
    """The number of today's format, once all that it takes is done."""
    draft = files.get("shop.yaml")
    if draft is not None and draft.data and draft.data.get("format") != str(FORMAT):
        yield partial(_state, draft)


def _state(draft: Draft) -> None:
    if "format" in draft.data:
        _, remark = draft.value(("format",))
        draft.instead[draft.source.mark(("format",)).key_line] = [f"format: {FORMAT}{remark}"]
        return
    first = min(draft.source.mark((key,)).key_line for key in draft.data)
    draft.instead[first] = [f"format: {FORMAT}", draft.line(first)]


STEPS: tuple[Step, ...] = (_candidates, _lists, _stated)
