"""From a shop's folder to its site: two editions, each job replaced in whole or not at all.

In ``OUT/shop`` stands everything, in ``OUT/public`` only what has consent.
A job whose files have errors keeps its last good pages and is marked so in
the shop edition; the others are published all the same.
"""

from __future__ import annotations

import hashlib
import html
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from .. import __version__
from ..assess import Assessment, assess_job
from ..assess.public import public
from ..assess.results import results_json
from ..documents import pages, pdf, places
from ..documents.photos import Prepared, prepare
from ..documents.report import extract, report_html, report_pdf
from ..records import JobFolder, Problem, ShopFolder, load_shop
from . import folders, leaks
from .folders import Memory

PROBLEMS, LACKING = 1, 3
SAID_MISSING = (
    "PDFs are missing: this machine lacks Pango. On Debian or Ubuntu: "
    "apt-get install libpangoft2-1.0-0 libharfbuzz-subset0"
)


@dataclass(frozen=True, slots=True)
class PublishResult:
    """How a run ended: 0 fine, 1 the input has problems, 3 the machine lacks something."""

    exit_status: int
    messages: tuple[str, ...] = ()
    written: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


@dataclass(slots=True)
class _Run:
    shop_dir: Path
    out: Path
    folder: ShopFolder
    memory: Memory
    make_pdf: bool
    say: Callable[[str], object]
    messages: list[str] = field(default_factory=list)
    written: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def publish(
    shop_dir: Path,
    out_dir: Path,
    jobs: list[str] | None = None,
    pdf: bool = True,
    report: Callable[[str], object] = lambda line: None,
) -> PublishResult:
    """Write the site of a shop's folder.

    ``jobs`` names those to look at (None: all); what did not change is not
    made again.  ``pdf`` False leaves the PDFs out.  ``report`` is told of each
    job as it is done.  Never raises for bad input: its problems come back.
    """
    shop_dir, out = Path(shop_dir), Path(out_dir)
    inside = out.resolve().is_relative_to(shop_dir.resolve())
    if inside or shop_dir.resolve().is_relative_to(out.resolve()):
        return PublishResult(2, (f"{out}: the site and the shop's folder must not lie in each other",))
    folder = load_shop(shop_dir)
    if folder.shop is None:
        return PublishResult(PROBLEMS, (f"{shop_dir}: shop.yaml cannot be used",), (), tuple(folder.problems))
    out.mkdir(parents=True, exist_ok=True)
    folders.recover(out)
    can = pdf and _can_make_pdfs()
    run = _Run(shop_dir, out, folder, Memory.read(out), can, report)
    run.problems += folder.problems
    assessed: dict[str, Assessment] = {}
    for name, job in folder.jobs.items():
        run.problems += [*job.problems, *job.engine_problems]
        if job.usable:
            assessed[name] = assess_job(folder, job)
    _assets(run)
    for name, one in assessed.items():
        if jobs is None or name in jobs or name not in run.memory.jobs:
            _job(run, folder.jobs[name], one)
    _take_down(run, assessed)
    _site_pages(run, assessed)
    run.memory.write(out)
    failed = any(problem.severity == "error" for problem in run.problems)
    if pdf and not can:
        run.messages.append(SAID_MISSING)
    for name in folder.jobs:
        if name not in assessed:
            kept = "its last good pages stay" if name in run.memory.jobs else "it has no pages yet"
            run.messages.append(f"{name}: not published, its files have errors; {kept}")
    status = PROBLEMS if failed else LACKING if pdf and not can else 0
    unique = tuple(sorted(set(run.problems)))
    return PublishResult(status, tuple(run.messages), tuple(run.written), unique)


def _can_make_pdfs() -> bool:
    return pdf.available()


def _fingerprint(run: _Run, job: JobFolder, one: Assessment) -> str:
    """Everything that a job's pages are made from."""
    digest = hashlib.sha256(f"{__version__} {run.make_pdf} {_templates(run.shop_dir)}".encode())
    engine = run.shop_dir / "engines" / f"{one.engine.name}.yaml"
    for path in [run.shop_dir / "shop.yaml", engine, *sorted(job.path.rglob("*"))]:
        if path.is_file():
            digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def _templates(shop_dir: Path) -> str:
    digest = hashlib.sha256()
    for folder in places.folders(shop_dir):
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def _assets(run: _Run) -> None:
    for name, path in places.assets(run.shop_dir).items():
        data = path.read_bytes()
        for edition in ("shop", "public"):
            folders.write_whole(run.out / edition / "assets" / name, data)


def _job(run: _Run, job: JobFolder, one: Assessment) -> None:
    """Both editions of one job."""
    print_ = _fingerprint(run, job, one)
    known = run.memory.jobs.get(job.name, {})
    there = (run.out / "shop" / job.name / "index.html").is_file()
    if known.get("fingerprint") == print_ and there:
        return
    thumb = _edition(run, job, one, "shop")
    entry = pages.entry(one, thumb)
    run.memory.jobs[job.name] = {
        "fingerprint": print_,
        "entry": pages.entry_data(entry),
        "as_of": str(one.as_of),
    }
    run.written.append(job.name)
    run.say(f"{job.name}: {one.stage}, report written")
    if not one.publish:
        return
    open_one = public(one)
    private = leaks.private_texts(job, _amounts(one))
    leaked = leaks.leaks(_public_text(open_one, one.cost.currency), private)
    if leaked or _prices(_public_text(open_one, one.cost.currency), one.cost.currency):
        run.problems += leaks.problems(job, leaked or [leaks.Private("a price", one.cost.currency)])
        run.memory.jobs[job.name]["fingerprint"] = ""  # look again next time
        _withdraw(run, job.name)
        return
    thumb = _edition(run, job, open_one, "public")
    run.memory.jobs[job.name]["public"] = pages.entry_data(pages.entry(open_one, thumb))
    if job.name not in run.memory.public:
        run.memory.public.append(job.name)


def _amounts(one: Assessment) -> list:  # type: ignore[type-arg]
    cost = one.cost
    found = [cost.net, cost.total, cost.to_pay, *(line.amount for line in cost.lines)]
    found += [approval.limit for approval in cost.approvals]
    return [amount for amount in found if amount is not None]


def _public_text(one: Assessment, currency: str) -> str:
    """The words of a public page, without its tags, and of what its PDF carries."""
    page = report_html(one, {}, "public")
    words = html.unescape(re.sub(r"<[^>]+>", " ", page))
    return words + " " + extract(one).decode() + " " + results_json(one).decode()


def _prices(text: str, currency: str) -> bool:
    return bool(re.search(rf"\d[.,]\d\d[\s\u00a0]*{re.escape(currency)}\b", text))


def _edition(run: _Run, job: JobFolder, one: Assessment, edition: pages.Edition) -> str:
    """One edition of one job, built aside and swapped in; returns the address of its thumbnail."""
    built = folders.fresh(run.out, edition, job.name)
    earlier = run.out / edition / job.name / "photos"
    photos: dict[str, Prepared] = {}
    for photo in one.photos:
        if photo.file:
            made = prepare(job.path / photo.file, built / "photos", earlier if earlier.is_dir() else None)
            if made.problem:
                run.problems.append(_photo_problem(job, photo.name, made.problem))
            else:
                photos[photo.name] = made
    results = results_json(one)
    if edition == "shop":
        (built / "results.json").write_bytes(results)
    made_pdf = ""
    if run.make_pdf:
        made_pdf = "report.pdf"
        data = report_pdf(
            one, photos, edition, photo_folder=built / "photos", results=results, shop=run.shop_dir
        )
        (built / made_pdf).write_bytes(data)
    page = report_html(one, photos, edition, pdf=made_pdf, shop=run.shop_dir)
    (built / "index.html").write_text(page, encoding="utf-8")
    folders.swap_in(run.out, edition, job.name, built)
    first = next((photos[p.name] for p in one.photos if p.name in photos), None)
    return f"{job.name}/photos/{first.small}" if first else ""


def _photo_problem(job: JobFolder, name: str, message: str) -> Problem:
    source = job.sources.get("findings")
    if source is not None:
        return source.problem(("photos", name), message, severity="warning", at="key")
    return Problem(f"{job.name}/photos", 1, 1, "warning", message)


def _withdraw(run: _Run, name: str) -> None:
    """Take a job off the public edition."""
    if name in run.memory.public:
        run.memory.public.remove(name)
        folders.remove(run.out, "public", name)
    run.memory.jobs.get(name, {}).pop("public", None)


def _take_down(run: _Run, assessed: dict[str, Assessment]) -> None:
    """What is gone from the shop's folder, and what has no consent (any more), is not shown."""
    for name in list(run.memory.jobs):
        if name not in run.folder.jobs:
            _withdraw(run, name)
            folders.remove(run.out, "shop", name)
            del run.memory.jobs[name]
    for name in list(run.memory.public):
        record = run.folder.jobs[name].job if name in run.folder.jobs else None
        # a job file that cannot be read proves no consent: private by default
        if record is None or not record.publish or record.consent is None:
            _withdraw(run, name)
            run.say(f"{name}: taken off the public edition, no consent on file")


def _site_pages(run: _Run, assessed: dict[str, Assessment]) -> None:
    shop = run.folder.shop
    assert shop is not None
    for edition in ("shop", "public"):
        entries = []
        for name, made in run.memory.jobs.items():
            data = made.get("entry") if edition == "shop" else made.get("public")
            if data is None or (edition == "public" and name not in run.memory.public):
                continue
            entries.append(pages.entry_from(data))
        failing = _failing(run, assessed) if edition == "shop" else {}
        page = pages.index_html(
            shop.name, shop.contact, shop.notice or "", entries, edition, failing=failing, shop=run.shop_dir
        )
        folders.write_whole(run.out / edition / "index.html", page.encode())
        _engine_pages(run, edition, entries, assessed)


def _failing(run: _Run, assessed: dict[str, Assessment]) -> dict[str, tuple[int, str]]:
    """Jobs whose files have errors: how many, and the date of the pages that still stand."""
    found = {}
    for name, job in run.folder.jobs.items():
        if name in assessed:
            continue
        count = sum(p.severity == "error" for p in [*job.problems, *job.engine_problems])
        found[name] = (count, str(run.memory.jobs.get(name, {}).get("as_of", "")))
    return found


def _engine_pages(
    run: _Run, edition: pages.Edition, entries: list[pages.Entry], assessed: dict[str, Assessment]
) -> None:
    made = []
    for name in sorted({entry.engine for entry in entries}):
        ones = [
            public(one) if edition == "public" else one
            for one in assessed.values()
            if one.engine.name == name and (edition == "shop" or one.job in run.memory.public)
        ]
        if not ones:
            made.append(name)  # all its jobs fail just now: the page that stands stays
            continue
        page = pages.engine_html(
            run.folder.shop.name if run.folder.shop else "",
            run.folder.shop.notice or "" if run.folder.shop else "",
            ones,
            [entry for entry in entries if entry.engine == name],
            edition,
            shop=run.shop_dir,
        )
        folders.write_whole(run.out / edition / "engines" / f"{name}.html", page.encode())
        made.append(name)
    for gone in set(run.memory.engines.get(edition, [])) - set(made):
        (run.out / edition / "engines" / f"{gone}.html").unlink(missing_ok=True)
    run.memory.engines[edition] = made
