"""How quick it is, as ratios taken in one run on one machine.

    .venv/bin/python .ci/benchmark.py            print the table
    .venv/bin/python .ci/benchmark.py --readme   and put it into README.md

1. `rebuildreport --help` against a bare interpreter start,
2. `rebuildreport check` of the demo's largest job as a whole process,
3. `publish` of that job (from nothing, in a process that has rendered before) against plain WeasyPrint,
   as warm, for the same HTML with the same stylesheets: what the renderer alone costs,
4. `publish --no-pdf` of 20 copies of a job where nothing changed, and where one did, against the first time.

Leaves with 1 when a target is missed.  Best of several rounds: on a shared machine the best round is
the one least disturbed by others.
"""

from __future__ import annotations

import gc
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
SHOP = ROOT / "jobs"
JOB = "2026-003-orchard-six"
COPIED = "2026-004-twin-cam"
TOOL = Path(sys.executable).parent / "rebuildreport"
BEGIN, END = "<!-- benchmark -->", "<!-- /benchmark -->"


def seconds(work: Callable[[], object]) -> float:
    gc.collect()
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def process(*command: str | Path) -> Callable[[], object]:
    words = [str(word) for word in command]

    def run() -> None:
        done = subprocess.run(words, cwd=ROOT, capture_output=True, check=False)
        if done.returncode not in (0, 1):  # 1: the demo job has problems to tell
            raise SystemExit(f"{' '.join(words)} left with {done.returncode}:\n{done.stderr.decode()}")

    return run


def best(rounds: int, *works: Callable[[], object]) -> list[float]:
    """The best time of each, the rounds interleaved so that all meet the same disturbances."""
    times: list[list[float]] = [[] for _ in works]
    for work in works:
        work()  # once for the caches of the disk
    for _ in range(rounds):
        for taken, work in zip(times, works, strict=True):
            taken.append(seconds(work))
    return [min(taken) for taken in times]


def publish_against_plain(rounds: int) -> tuple[float, float, int]:
    """Seconds of our publish and of the plain renderer; documents rendered."""
    import weasyprint

    from rebuildreport.documents.report import rendering
    from rebuildreport.documents.sheets import further
    from rebuildreport.documents.showing import specimen
    from rebuildreport.site.publishing import publish

    asked: list[tuple[str, str, Path]] = []
    ours = rendering.render
    modules = (rendering, further, specimen)

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shop = folder / "jobs"
        others = [path.name for path in SHOP.iterdir() if (path / "job.yaml").exists() and path.name != JOB]
        shutil.copytree(SHOP, shop, ignore=shutil.ignore_patterns(*others))
        count = 0

        def whole() -> None:
            nonlocal count
            count += 1
            publish(shop, folder / str(count))

        def listening(html: str, **options: Any) -> bytes:
            # the pages are built aside and moved: keep the pictures that the HTML refers to
            if (photos := options.get("photos")) is not None and photos.is_dir():
                kept = folder / "pictures" / str(len(asked))
                shutil.copytree(photos, kept)
                address = kept.resolve().as_uri()
                asked.append(
                    (html.replace('"photo:', f'"{address}/'), options["stylesheet"], options["base"])
                )
            else:
                asked.append((html, options["stylesheet"], options["base"]))
            return ours(html, **options)

        for module in modules:
            module.render = listening
        whole()
        for module in modules:
            module.render = ours
        if not asked:
            raise SystemExit("publish rendered no PDF through render of documents")

        def plain() -> None:
            for html, text, base in asked:
                style = weasyprint.CSS(string=text, base_url=base.resolve().as_uri() + "/")
                weasyprint.HTML(string=html).write_pdf(stylesheets=[style])

        ours_best, plain_best = best(rounds, whole, plain)
    return ours_best, plain_best, len(asked)


def copies_again(count: int) -> tuple[float, float, float]:
    """Seconds of `publish --no-pdf` of copies of a job: from nothing, unchanged, one file changed."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shop = folder / "jobs"
        others = [path.name for path in SHOP.iterdir() if (path / "job.yaml").exists()]
        shutil.copytree(SHOP, shop, ignore=shutil.ignore_patterns(*others))
        for number in range(count):
            copy = Path(shutil.copytree(SHOP / COPIED, shop / f"copy-{number:04}"))
            for file in (copy / "measurements").iterdir():  # a copied round is an error
                file.write_text(f"{file.read_text(encoding='utf-8')}# {number}\n", encoding="utf-8")
        run = process(TOOL, "publish", "--no-pdf", "--shop", shop, "--out", folder / "out")
        first, same = seconds(run), seconds(run)
        with (shop / "copy-0007" / "measurements" / "arrival.yaml").open("a") as file:
            file.write("# changed\n")
        return first, same, seconds(run)


def main() -> int:
    bare, helped, checked = best(
        7, process(sys.executable, "-c", "pass"), process(TOOL, "--help"), process(TOOL, "check", JOB)
    )
    whole, plain, documents = publish_against_plain(2)
    first, same, one = copies_again(20)
    rows = [
        ("`--help` / bare interpreter start", f"{helped / bare:.1f}", "≤ 5", helped / bare <= 5),
        ("`check` of the orchard six, whole process", f"{checked:.2f} s", "< 0.8 s", checked < 0.8),
        (
            f"`publish` of the orchard six / plain warm WeasyPrint on the same HTML ({documents} PDF)",
            f"{whole / plain:.2f} ({whole:.1f} s / {plain:.1f} s)",
            "≤ 1.15",
            whole / plain <= 1.15,
        ),
        (
            "`publish --no-pdf`, 20 jobs, nothing changed / the first time",
            f"{same / first:.2f} ({same:.1f} s / {first:.1f} s)",
            "≤ 0.10",
            same / first <= 0.10,
        ),
        (
            "the same, one of them changed / the first time",
            f"{one / first:.2f} ({one:.1f} s / {first:.1f} s)",
            "≤ 0.20",
            one / first <= 0.20,
        ),
    ]
    lines = ["| what | measured | target |", "| --- | --- | --- |"]
    lines += [f"| {what} | {found} | {target} |" for what, found, target, _ in rows]
    table = "\n".join(lines)
    print(table)
    if "--readme" in sys.argv[1:]:
        readme = ROOT / "README.md"
        text = readme.read_text("utf-8")
        new, places = re.subn(f"{BEGIN}.*?{END}", f"{BEGIN}\n{table}\n{END}", text, flags=re.S)
        if places != 1:
            raise SystemExit(f"README.md needs one {BEGIN} ... {END}")
        readme.write_text(new, "utf-8")
    return 0 if all(met for *_, met in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
