"""Files that nobody would type: mutations of the demo, read and assessed as ``check`` does.

    .venv/bin/python .ci/fuzz.py [--seconds 60] [--inputs 2000] [--seed 1] [--hands 1]
    .venv/bin/python .ci/fuzz.py --inputs 2000 --every 20

Each input is one file of a copy of the demo, changed by bytes, lines, words, keys, values or whole blocks.
It is read and validated.  Where that gives a record it is held against the other files, and the job is
assessed; of those with errors one in eight goes the same way, as far as it is sound; with ``--every`` N only
each Nth of both.  Some of the assessed are written as results, as the text of ``check`` and as the report's
page.  What may not happen: an exception, more than two seconds of processor time in one step, or memory that
grows by 300 MB.  Printed: how many inputs were tried, how far they got, and each thing found with the
difference that causes it; the inputs themselves are kept in ``--keep``.
"""

from __future__ import annotations

import argparse
import difflib
import io
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from rebuildreport.assess import assess_job
from rebuildreport.assess.publishing.results import results_json
from rebuildreport.commands import check
from rebuildreport.records import load, load_shop
from rebuildreport.records.files.issued import read_register

DEMO = Path(__file__).resolve().parents[1] / "jobs"
JOBS = tuple(sorted(path.parent.name for path in DEMO.glob("*/job.yaml")))
SLOW = 2.0  # seconds of processor time
ENDLESS = 30  # the same: nothing comes back from there
GROWTH = 300  # MB
IN_PART = 8  # of so many files with errors one is assessed as far as it is sound
WRITTEN = 6  # of so many assessed jobs one is told in words and as results
PAGED = 60  # of so many its pages are made

# ------------------------------------------------------------------------------- mutations

# one value between two blanks or line ends
_NASTY = r"""
0  -0  -1  1e400  1e-400  1e308  nan  inf  -inf  1/0  3 1/2  1/3  1_000  1,000.5  1.2.3  --5  5-  +  .  ..
٣٫٥  １２  ½  ²  -  ~  null  yes  no  ''  ""  []  {}  [1, 2  {a: b}  &a b  *a  !!python/object:os.system x
!!int 3  |  >  %YAML  @  `  ? x  - x  :  #  <<: *x  =  ...  ---
0001-01-01  9999-12-31  2026-02-30  2026-13-01  0000-00-00  2026-1-1  12:30  2026-04-13T00:00
"\0"  "\x07a"  "\e[2J"  "\u202e"  "\ud800"  "a\nb"  "\r"  "\u2028"  "\uFEFF"
../../etc/passwd  /etc/passwd  //host/x  file:///etc/passwd  a/b  con
<script>alert(1)</script>  {{7*7}}  {% for %}  {a}  {0.__class__}  %s%n  $(id)  ![x](http://x)
日本語  Ωμέγα  שלום  مرحبا  Ж  ﬁ  🔧  ß  İ  ı
0 mm  1 furlong  5 mm mm  5 mm to 3 mm  to  0 to 0 mm  1e200 mm  -5 mm  100 %  1e99 %
5 N·m + 90°  ± 0  ±  75.97 +0.02 -0.01  max  min 5 max 3  M1  M1 to M7  C99  all  none
"""
NASTY = (
    *filter(None, re.split(r"  |\n", _NASTY)),
    *("9" * 400, "0." + "0" * 400 + "1", "x" * 300, "x" * 11_000, "e\u0301" * 50, "\u200d", "\u00a0"),
)
UNITS = re.split(
    r"\s+",
    "mm in um µm thou cm m N·m lb·ft N kg g lb oz bar psi kPa °C °F K degrees rad % percent cc cm3 l in³"
    " h min s EUR USD rpm teeth 1/K mm/mm",
)
_WORD = re.compile(r"[\w.+-]+", re.UNICODE)
_KEY = re.compile(r"^(\s*(?:- )?)([^\s:#][^:#]*)(:)(?=\s|$)")
_VALUE = re.compile(r"^(\s*(?:- )?[^\s:#][^:#]*: +)(\S.*)$")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_UNIT = re.compile(r"(?<=\d )(mm|in|N·m|bar|psi|g|kg|h|cc|%|degrees|rpm|°C|EUR)\b")


@dataclass
class Corpus:
    """What mutations are made of: the texts of the demo, their lines, words, keys and values."""

    texts: list[str]
    lines: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    values: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.lines = sorted({line for text in self.texts for line in text.splitlines()})
        self.words = sorted({word for text in self.texts for word in _WORD.findall(text)})
        self.keys = sorted({match[2] for line in self.lines if (match := _KEY.match(line))})
        self.values = sorted({match[2] for line in self.lines if (match := _VALUE.match(line))})


Mutation = Callable[[random.Random, str, Corpus], str]


def _at(
    chance: random.Random, text: str, pattern: re.Pattern[str], new: Callable[[re.Match[str]], str]
) -> str:
    """One match of a pattern written otherwise."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    match = chance.choice(found)
    return text[: match.start()] + new(match) + text[match.end() :]


def _lines(chance: random.Random, text: str, change: Callable[[list[str], int], None]) -> str:
    lines = text.split("\n")
    change(lines, chance.randrange(len(lines)))
    return "\n".join(lines)


def letters(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A few letters gone, doubled, exchanged or strange."""
    found = list(text)
    for _ in range(chance.choice((1, 1, 2, 8))):
        at = chance.randrange(len(found)) if found else 0
        strange = (
            chance.choice(":-#\"'{}[]|>&*!%@`,?\t\n \x00\x07\x1b\u200b\u2028\u202eé٣×") if found else "x"
        )
        found[at : at + 1] = chance.choice(
            ([], found[at : at + 1] * 2, [strange], [strange, *found[at : at + 1]])
        )
    return "".join(found)


def line(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A line gone, doubled, elsewhere, further in, or another file's."""

    def change(lines: list[str], at: int) -> None:
        to = chance.randrange(len(lines))
        what = chance.randrange(6)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(to, lines[at])
        elif what == 2:
            lines[at], lines[to] = lines[to], lines[at]
        elif what == 3:
            lines[at] = " " * chance.choice((1, 2, 4)) + lines[at]
        elif what == 4:
            lines[at] = lines[at][chance.choice((1, 2, 4)) :]
        else:
            lines.insert(at, chance.choice(corpus.lines))

    return _lines(chance, text, change)


def block(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A line with all that stands further in below it: gone, doubled, renamed, elsewhere."""

    def change(lines: list[str], at: int) -> None:
        depth = len(lines[at]) - len(lines[at].lstrip())
        end = at + 1
        while end < len(lines) and (
            not lines[end].strip() or len(lines[end]) - len(lines[end].lstrip()) > depth
        ):
            end += 1
        part = lines[at:end]
        what = chance.randrange(5)
        if what in (0, 3):
            del lines[at:end]
        if what == 1:
            lines[at:at] = part
        if what == 2:
            lines[at:at] = [_KEY.sub(lambda match: f"{match[1]}{match[2]}_2{match[3]}", part[0]), *part[1:]]
        if what == 3:
            to = chance.randrange(len(lines) + 1)
            lines[to:to] = part
        if what == 4:
            lines[at + 1 : end] = []

    return _lines(chance, text, change)


def word(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A word that is another one of the demo."""
    return _at(chance, text, _WORD, lambda match: chance.choice(corpus.words))


def key(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A key that is another one of the demo, or a strange one."""

    def change(lines: list[str], at: int) -> None:
        keys = [number for number, one in enumerate(lines) if _KEY.match(one)] or [at]
        at = chance.choice(keys)
        new = chance.choice(corpus.keys) if chance.random() < 0.7 else chance.choice(NASTY)
        lines[at] = _KEY.sub(lambda match: match[1] + new + match[3], lines[at])

    return _lines(chance, text, change)


def value(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A value that is another one of the demo, a nasty one, or none."""

    def change(lines: list[str], at: int) -> None:
        values = [number for number, one in enumerate(lines) if _VALUE.match(one)] or [at]
        at = chance.choice(values)
        new = chance.choice((chance.choice(corpus.values), chance.choice(NASTY), chance.choice(NASTY), ""))
        lines[at] = _VALUE.sub(lambda match: match[1] + new, lines[at])

    return _lines(chance, text, change)


def nasty_word(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A nasty value where one word of a row stood."""
    return _at(chance, text, _WORD, lambda match: chance.choice(NASTY))


def number(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A number that is larger, smaller, negative, none, or has its point or digits elsewhere."""

    def new(match: re.Match[str]) -> str:
        old = match.group()
        swapped = list(old)
        chance.shuffle(swapped)
        ways = ("0", f"-{old}", f"{old}000", f"0.000{old}", old.replace(".", ""), old.replace(".", ","), "")
        return chance.choice(
            (*ways, "".join(swapped), str(float(old) * chance.choice((25.4, 1e9, 1e-9, 0.5))))
        )

    return _at(chance, text, _NUMBER, new)


def unit(chance: random.Random, text: str, corpus: Corpus) -> str:
    """A unit exchanged for another."""
    return _at(chance, text, _UNIT, lambda match: chance.choice(UNITS))


def merged(chance: random.Random, text: str, corpus: Corpus) -> str:
    """The head of one file and the tail of another."""
    other = chance.choice(corpus.texts).split("\n")
    lines = text.split("\n")
    return "\n".join([*lines[: chance.randrange(len(lines))], *other[chance.randrange(len(other)) :]])


def cut(chance: random.Random, text: str, corpus: Corpus) -> str:
    """The file ends early, or begins late."""
    at = chance.randrange(len(text) + 1)
    return text[:at] if chance.random() < 0.7 else text[at:]


def deep(chance: random.Random, text: str, corpus: Corpus) -> str:
    """Blocks inside blocks, in one of the ways that there are, or very many entries."""
    many = chance.choice((5, 29, 31, 400, 5_000, 100_000))
    ways = (
        "[" * many,
        "{a: " * many,
        "- " * many + "x",
        "\n".join(" " * level + "a:" for level in range(min(many, 400))),
        "\n".join(f"  k{entry}: 1" for entry in range(min(many, 5_000))),
        "x " * min(many, 20_000),
    )

    def change(lines: list[str], at: int) -> None:
        new = chance.choice(ways)
        lines[at] = _VALUE.sub(lambda match: match[1] + new, lines[at]) if chance.random() < 0.5 else new

    return _lines(chance, text, change)


MUTATIONS: tuple[Mutation, ...] = (
    *(letters, merged, cut, deep),
    *(line, block, word, key, nasty_word, unit) * 2,
    *(value, number) * 3,
)


def mutated(chance: random.Random, text: str, corpus: Corpus) -> bytes:
    """One input: mostly one mutation, sometimes several, seldom broken bytes on top."""
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        text = chance.choice(MUTATIONS)(chance, text, corpus)
    data = text.encode("utf-8", "surrogatepass")
    if chance.random() < 0.03 and data:
        at = chance.randrange(len(data))
        data = data[:at] + chance.randbytes(chance.choice((1, 2, 8))) + data[at + chance.choice((0, 1)) :]
    if chance.random() < 0.005:
        data = chance.choice(
            (b"", b"\xef\xbb\xbf" + data, text.encode("utf-16", "surrogatepass"), b"\0" * 100)
        )
    return data


# ------------------------------------------------------------------------------- trying


class Endless(BaseException):
    """No Exception, so that nothing catches it on the way."""


@contextmanager
def watched(seconds: float) -> Iterator[None]:
    """Ends what does not come back."""

    def end(*_: object) -> None:
        raise Endless

    before = signal.signal(signal.SIGPROF, end)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


@dataclass
class Found:
    """What may not happen, by where it happened: one place is told once."""

    what: str
    place: str
    file: str
    data: bytes
    times: int = 1


@dataclass
class Tally:
    """What was tried and what came of it."""

    counts: Counter[str] = field(default_factory=Counter)
    found: dict[tuple[str, str], Found] = field(default_factory=dict)
    slowest: float = 0.0
    growth: float = 0.0

    def add(self, other: Tally) -> None:
        self.counts += other.counts
        self.slowest, self.growth = max(self.slowest, other.slowest), max(self.growth, other.growth)
        for at, found in other.found.items():
            if at in self.found:
                self.found[at].times += found.times
            else:
                self.found[at] = found


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


class Bench:
    """A copy of the demo in which one file at a time is another."""

    def __init__(self, folder: Path) -> None:
        self.shop = folder / "shop"
        shutil.copytree(DEMO, self.shop, ignore=shutil.ignore_patterns(".schemas", "*.pdf", "photos"))
        for name in JOBS:  # their heads are looked at each time, and say nothing here
            (self.shop / name / "photos").mkdir()
        found = [*self.shop.rglob("*.yaml"), *self.shop.rglob("*.jsonl"), *self.shop.rglob("issued/*.json")]
        self.files = {str(path.relative_to(self.shop)): path.read_text("utf-8") for path in sorted(found)}
        self.corpus = Corpus([text for name, text in self.files.items() if name.endswith(".yaml")])
        self.tally = Tally()
        self.models: dict[str, Any] = {}
        self.known: dict[Any, Any] = {}
        self.changed = ""
        self.read = load._record

    def _record(self, model: Any, path: Path, file: str, without: Any) -> Any:
        """What was read of a file that is not the changed one is read once."""
        self.models.setdefault(file, model)
        if file == self.changed or without.get(file):
            return self.read(model, path, file, without)
        if file not in self.known:
            self.known[file] = self.read(model, path, file, without)
        record, source, problems = self.known[file]
        return record, source, list(problems)

    def sheets_of(self, file: str) -> str:
        """The job that a file is looked at with: its own, or one that uses it."""
        first = file.split("/")[0]
        if first in JOBS:
            return first
        named = f"engine: {Path(file).stem}\n"
        return next((job for job in JOBS if named in self.files[f"{job}/job.yaml"]), JOBS[0])

    def attempt(self, file: str, data: bytes, chance: random.Random, every: float) -> None:
        """One input, from file to words."""
        self.changed = file
        path = self.shop / file
        path.write_bytes(data)
        load._record = self._record  # type: ignore[assignment]
        job = self.sheets_of(file)
        before, stage = _memory(), "read"
        self.tally.counts["inputs"] += 1
        begun = time.process_time()
        try:
            with watched(ENDLESS), redirect_stdout(io.StringIO()):
                for stage in self._stages(job, file, chance, every):
                    took, begun = time.process_time() - begun, time.process_time()
                    self.tally.counts[stage] += 1
                    self.tally.slowest = max(self.tally.slowest, took)
                    if took > SLOW:
                        self._note(f"{took:.1f} s", f"until {stage}", file, data)
        except Endless as problem:
            self._note("did not end", _place(problem), file, data)
        except Exception as problem:
            text = " ".join(str(problem).split())[:200]
            self._note(f"{type(problem).__name__}: {text}", _place(problem), file, data)
        finally:
            load._record = self.read
            path.write_text(self.files[file], "utf-8")
        grown = _memory() - before
        self.tally.growth = max(self.tally.growth, grown)
        if grown > GROWTH:
            self._note(f"{grown:.0f} MB more", stage, file, data)

    def _stages(self, name: str, file: str, chance: random.Random, every: float) -> Iterator[str]:
        model, record = self.models.get(file), None
        if model is not None:
            record, _, _ = self.read(model, self.shop / file, file, load.Faults())
        else:
            read_register(self.shop / name)
        yield "read"
        if chance.random() * every * (IN_PART if model and record is None else 1) > 1:
            return
        folder = load_shop(self.shop, [name])
        job = folder.jobs[name]
        yield "held against the others"
        if job.usable and folder.shop is not None:
            one = assess_job(folder, job)
            yield "assessed"
        elif chance.random() * (1 if model and record is None else IN_PART) <= 1:
            load.errors_behind(self.shop, name, folder.siblings)
            sound = load.load_sound(self.shop, name)
            yield "read in part"
            if sound is None:
                return
            # what check forgives here is looked at all the same: nothing says that errors caused it
            one = assess_job(*sound)
            yield "assessed in part"
        else:
            return
        if chance.randrange(WRITTEN) == 0:
            problems = sorted({*folder.all_problems, *one.problems})
            "\n".join(check._text(folder, problems, {name: one})).encode()
            results_json(one)
            yield "told"
        if chance.randrange(PAGED) == 0:
            from rebuildreport.documents.report.rendering import report_html

            report_html(one, {}, "shop", pdf="", further=[], shop=self.shop)
            yield "paged"

    def _note(self, what: str, place: str, file: str, data: bytes) -> None:
        at = (what.split(":")[0] if place.startswith("rebuildreport") else "", place)
        if at in self.tally.found:
            self.tally.found[at].times += 1
        else:
            self.tally.found[at] = Found(what, place, file, data)


def _place(problem: BaseException) -> str:
    """The last line of ours that an exception came through."""
    frames = traceback.extract_tb(problem.__traceback__)
    ours = [
        one for one in frames if "rebuildreport/" in one.filename and "/site-packages/" not in one.filename
    ]
    if not ours:
        return "fuzz"
    return (
        f"{ours[-1].filename[ours[-1].filename.rindex('rebuildreport/') :]}:{ours[-1].lineno} {ours[-1].name}"
    )


def fuzz(seed: int, inputs: int, seconds: float, every: float = 1) -> Tally:
    """Try so many inputs, or for so long."""
    chance = random.Random(seed)
    end = time.monotonic() + seconds
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        for file in (f"{job}/job.yaml" for job in JOBS):  # what is loaded once is no growth
            bench.attempt(file, bench.files[file].encode(), random.Random(1), 0)
        bench.tally = Tally(found=bench.tally.found)
        names = list(bench.files)
        while bench.tally.counts["inputs"] < inputs and time.monotonic() < end:
            file = chance.choice(names)
            bench.attempt(file, mutated(chance, bench.files[file], bench.corpus), chance, every)
        return bench.tally


def difference(found: Found) -> Iterator[str]:
    """The lines by which an input differs from the demo's file."""
    old = (DEMO / found.file).read_text("utf-8").split("\n")
    new = found.data.decode("utf-8", "backslashreplace").split("\n")
    for text in list(difflib.unified_diff(old, new, lineterm="", n=0))[2:14]:
        yield f"    {text[:200]!r}"


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--seconds", type=float, default=60)
    ask.add_argument("--inputs", type=int, default=1_000_000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--hands", type=int, default=1)
    ask.add_argument("--every", type=float, default=1)
    ask.add_argument("--keep", type=Path)
    asked = ask.parse_args()
    total = Tally()
    share = -(-asked.inputs // asked.hands)
    one = partial(fuzz, inputs=share, seconds=asked.seconds, every=asked.every)
    with ProcessPoolExecutor(asked.hands) as hands:
        for tally in hands.map(one, range(asked.seed, asked.seed + asked.hands)):
            total.add(tally)
    counts = ", ".join(f"{number:,} {what}" for what, number in total.counts.items())
    print(f"{counts}; slowest step {total.slowest:.2f} s, largest growth {total.growth:.0f} MB")
    for number, found in enumerate(sorted(total.found.values(), key=lambda each: -each.times)):
        print(f"\n{found.times} x {found.what}\n  {found.place}\n  {found.file}")
        print("\n".join(difference(found)))
        if asked.keep:
            asked.keep.mkdir(parents=True, exist_ok=True)
            (asked.keep / f"{number:03}-{found.file.replace('/', '+')}").write_bytes(found.data)
    print(f"\n{len(total.found)} found" if total.found else "nothing found")
    return 1 if total.found else 0


if __name__ == "__main__":
    sys.exit(main())
