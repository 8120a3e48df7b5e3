"""From a shop's folder to its site: two editions, each job replaced in whole or not at all.

In ``OUT/shop`` stands everything, in ``OUT/public`` only what has consent.
A job whose files have errors keeps its last good pages and is marked so in
the shop edition; the others are published all the same.
"""

from __future__ import annotations

import hashlib
import html
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path

from ..assess import Assessment, assess_job
from ..assess.measure.due import due_round
from ..assess.publishing.public import public
from ..assess.publishing.results import extract, results_json
from ..documents.press import pdf, places
from ..documents.press.language import PLAIN, Language, UnknownLanguage, language, speaking
from ..documents.press.photos import Prepared, prepare
from ..documents.press.standing_texts import TextProblem
from ..documents.report.findings import Album, on_paper
from ..documents.report.rendering import report_html, report_pdf
from ..documents.report.view import Edition
from ..documents.sheets import register
from ..documents.showing import pages, specimen
from ..quantities import Text, english
from ..records import JobFolder, Problem, ShopFolder, load_shop
from . import entries, folders, issuing, leaks, maker
from .folders import Memory

PROBLEMS, USAGE, LACKING = 1, 2, 3
EDITIONS: tuple[Edition, ...] = ("shop", "public")
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
        return PublishResult(USAGE, (f"{out}: the site and the shop's folder must not lie in each other",))
    folder = load_shop(shop_dir)
    if folder.shop is None:
        return PublishResult(PROBLEMS, (f"{shop_dir}: shop.yaml cannot be used",), (), tuple(folder.problems))
    out.mkdir(parents=True, exist_ok=True)
    folders.recover(out)
    can = pdf and _can_make_pdfs()
    run = _Run(shop_dir, out, folder, Memory.read(out), can, report)
    run.problems += folder.problems
    assessed = _assessed(run)
    _assets(run)
    if jobs is None and specimen.NAME not in folder.jobs:
        _specimen(run)
    for name, job in assessed.items():
        if jobs is None or name in jobs or name not in run.memory.jobs:
            with _kept_apart(run, folder.jobs[name]):
                _job(run, folder.jobs[name], job)
            run.memory.write(out)
    _take_down(run)
    with speaking(_site_language(run)):
        _site_pages(run, assessed)
    run.memory.write(out)
    return _result(run, assessed, missing=pdf and not can)


def _assessed(run: _Run) -> dict[str, Assessment]:
    """Every job whose files can be used."""
    assessed: dict[str, Assessment] = {}
    for name, job in run.folder.jobs.items():
        run.problems += [*job.problems, *job.engine_problems]
        if job.usable:
            with _kept_apart(run, job):
                assessed[name] = issuing.noted(run.folder, job, assess_job(run.folder, job), "report")
    return assessed


def _result(run: _Run, assessed: Collection[str], missing: bool) -> PublishResult:
    """How the run ended; ``missing``: PDFs were wanted and cannot be made here."""
    if missing:
        run.messages.append(SAID_MISSING)
    for name in run.folder.jobs:
        if name not in assessed:
            kept = "its last good pages stay" if name in run.memory.jobs else "it has no pages yet"
            run.messages.append(f"{name}: not published, its files have errors; {kept}")
    status = LACKING if missing else 0
    if any(problem.severity == "error" for problem in run.problems):
        status = PROBLEMS
    return PublishResult(status, tuple(run.messages), tuple(run.written), tuple(sorted(set(run.problems))))


@contextmanager
def _kept_apart(run: _Run, job: JobFolder) -> Iterator[None]:
    """Let a fault in one job stop that job alone: it keeps its pages and is named, the others go on."""
    try:
        yield
    except OSError:
        raise  # a full disk is nobody's input
    except Exception as fault:
        run.memory.jobs.get(job.name, {})["fingerprint"] = ""
        message = f"could not be worked out ({type(fault).__name__}: {fault}); please report this"
        run.problems.append(Problem(f"{job.name}/job.yaml", 1, 1, "error", message))


def _can_make_pdfs() -> bool:
    return pdf.available()


def _fingerprint(run: _Run, job: JobFolder, one: Assessment) -> str:
    """Everything that a job's pages are made from."""
    digest = hashlib.sha256(
        f"{maker.program()} {run.make_pdf} {maker.templates(run.shop_dir)} {one.issue}".encode()
    )
    engine = run.shop_dir / "engines" / f"{one.engine.name}.yaml"
    for path in [
        run.shop_dir / "shop.yaml",
        run.shop_dir / "stock.yaml",
        engine,
        *sorted(job.path.rglob("*")),
    ]:
        if path.is_file():
            digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def _assets(run: _Run) -> None:
    for name, data in places.assets(run.shop_dir).items():
        for edition in EDITIONS:
            folders.write_whole(run.out / edition / "assets" / name, data)


def _specimen(run: _Run) -> None:
    """The style specimen, in the shop edition only; a template of the shop's that fails is told."""
    from jinja2 import TemplateError

    try:
        _made_specimen(run)
    except TemplateError as fault:
        where = f"templates/{getattr(fault, 'filename', '') or getattr(fault, 'name', '') or ''}"
        message = f"the specimen of the documents cannot be made: {fault}"
        run.problems.append(Problem(where, getattr(fault, "lineno", 1) or 1, 1, "warning", message))


def _made_specimen(run: _Run) -> None:
    """Made again when a template changed."""
    made = hashlib.sha256(
        f"{maker.program()} {run.make_pdf} {maker.templates(run.shop_dir)}".encode()
    ).hexdigest()
    folder = run.out / "shop" / specimen.NAME
    if run.memory.specimen == made and (folder / "index.html").is_file():
        return
    built = folders.fresh(run.out, "shop", specimen.NAME)
    if run.make_pdf:
        (built / specimen.PDF).write_bytes(specimen.specimen_pdf(run.shop_dir))
    page = specimen.specimen_html(pdf=specimen.PDF if run.make_pdf else "", shop=run.shop_dir)
    (built / "index.html").write_text(page, encoding="utf-8")
    specimen.copy_photos(built)
    folders.swap_in(run.out, "shop", specimen.NAME, built)
    run.memory.specimen = made


def _job(run: _Run, job: JobFolder, one: Assessment) -> None:
    """Both editions of one job, where anything that they are made from has changed."""
    one = _spoken(run, job, one)
    fingerprint = _fingerprint(run, job, one)
    for edition in EDITIONS:
        if folders.strange(run.out, edition, job.name):
            message = f"{run.out / edition / job.name} is in the way and none of mine: move it"
            run.problems.append(Problem(f"{job.name}/job.yaml", 1, 1, "error", message))
            return
    if run.memory.jobs.get(job.name, {}).get("fingerprint") == fingerprint and _stands(run, job.name):
        return
    told = len(run.problems)
    entry = _edition(run, job, one, "shop")
    fingerprint = fingerprint if len(run.problems) == told else ""  # what went wrong is told next time, too
    run.memory.jobs[job.name] = {"fingerprint": fingerprint, "entry": entries.to_data(entry)}
    if run.make_pdf:  # a bench sheet of ours goes when its round is done; one that a person printed stays
        pages_of = (run.out / "shop" / job.name).glob("bench-sheet-*.html")
        run.memory.jobs[job.name]["bench_sheets"] = sorted(f"{page.stem}.pdf" for page in pages_of)
    run.written.append(job.name)
    run.say(f"{job.name}: {one.stage}, report written")
    if one.publish:
        _publicly(run, job, one)


def _stands(run: _Run, name: str) -> bool:
    """Whether the pages of a job that an earlier run made are all there."""
    editions = ["shop", "public"] if name in run.memory.public else ["shop"]
    return all((run.out / edition / name / "index.html").is_file() for edition in editions)


def _publicly(run: _Run, job: JobFolder, one: Assessment) -> None:
    """The public edition; taken down where something private stands in it, wherever that was typed."""
    seen = public(one)
    words = _public_words(seen)
    leaked = leaks.leaks(words, leaks.private_texts(job, _amounts(one)))
    leaked += leaks.prices(words, one.cost.currency)
    if leaked:
        run.problems += leaks.problems(job, leaked)
        run.memory.jobs[job.name]["fingerprint"] = ""  # look again next time
        _withdraw(run, job.name)
        return
    run.memory.jobs[job.name]["public"] = entries.to_data(_edition(run, job, seen, "public"))
    if job.name not in run.memory.public:
        run.memory.public.append(job.name)


def _spoken(run: _Run, job: JobFolder, one: Assessment) -> Assessment:
    """The job in its language; in English, and that said, where there is no catalogue of it."""
    try:
        language(one.language, run.shop_dir)
    except UnknownLanguage as slip:
        message = f"its documents are in English: {slip}"
        own = job.sources.get("job") if job.job and job.job.language else None
        problem = own.problem(("language",), message) if own else Problem("shop.yaml", 1, 1, "error", message)
        run.problems.append(problem)
        return replace(one, language="en")
    return one


def _site_language(run: _Run) -> Language:
    """What index and engine pages are in: the shop's language, or English where it has no catalogue."""
    shop = run.folder.shop
    try:
        return language(shop.language, run.shop_dir) if shop else PLAIN
    except UnknownLanguage:
        return PLAIN  # said once, at the jobs


def _amounts(one: Assessment) -> list[Decimal]:
    cost = one.cost
    found = [cost.net, cost.total, cost.to_pay, *(line.amount for line in cost.lines)]
    found += [approval.limit for approval in cost.approvals]
    return [amount for amount in found if amount is not None]


def _public_words(one: Assessment) -> str:
    """The words of a public page, without its tags, and of what its PDF carries."""
    page = report_html(one, {}, "public")
    return " ".join((_words_of(page), extract(one).decode(), results_json(one).decode()))


def _words_of(page: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", page))


def _edition(run: _Run, job: JobFolder, one: Assessment, edition: Edition) -> pages.IndexEntry:
    """One edition of one job, built aside and swapped in; returns its entry for the index."""
    built = folders.fresh(run.out, edition, job.name)
    # both editions use the same prepared photos, and the shop's is made first: none is scaled twice
    earlier = run.out / "shop" / job.name / "photos"
    photos: dict[str, Prepared] = {}
    for photo in one.photos:
        if photo.file:
            made = prepare(job.path / photo.file, built / "photos", earlier if earlier.is_dir() else None)
            if made.problem:
                run.problems.append(_photo_problem(job, photo.name, made.problem))
            else:
                photos[photo.name] = made
    if edition == "shop":
        (built / "results.json").write_bytes(results_json(one))
    made_pdf = ""
    if run.make_pdf:
        made_pdf = "report.pdf"
        data = report_pdf(one, photos, edition, photo_folder=built / "photos", shop=run.shop_dir)
        (built / made_pdf).write_bytes(data)
    beside = tuple(_further(run, job, one, built, photos)) if edition == "shop" else ()
    page = report_html(one, photos, edition, pdf=made_pdf, further=beside, shop=run.shop_dir)
    (built / "index.html").write_text(page, encoding="utf-8")
    if edition == "shop":
        made_before = run.memory.jobs.get(job.name, {}).get("bench_sheets", ())
        folders.carry_over(run.out, job.name, built, made_before)
    folders.swap_in(run.out, edition, job.name, built)
    first = next((photo for photo in one.photos if photo.name in photos), None)
    with speaking(_site_language(run)):
        if first is None:
            return pages.entry(one)
        return pages.entry(one, photos[first.name], first.caption)


def _told_outside(job: JobFolder, sheet: register.Document, page: str) -> list[Problem]:
    """What of the customer's a paper for a machine shop would tell: then it is not written."""
    if sheet.reader != "machine shop":
        return []
    leaked = leaks.leaks(_words_of(page), leaks.private_texts(job))
    why = f"would go to a machine shop: the {english(sheet.title).lower()} is not written"
    return leaks.problems(job, leaked, why)


def _further(
    run: _Run, job: JobFolder, one: Assessment, built: Path, photos: Mapping[str, Prepared]
) -> Iterator[tuple[Text, str]]:
    """Write every further document that the job has; title and address of each.

    A slip in the shop's own texts is told, not fatal: the others stand.
    """
    one = replace(one, due=due_round(run.folder, job, one))
    for sheet in register.further(one):
        one = issuing.noted(run.folder, job, one, sheet.name)
        try:
            view = sheet.view(one, run.shop_dir, Album(photos, "photos/"))
        except TextProblem as slip:
            message = f"the {english(sheet.title).lower()} is not written: {slip}"
            run.problems.append(Problem(f"{job.name}/job.yaml", 1, 1, "error", message))
            continue
        name = sheet.file(view)
        made = f"{name}.pdf" if run.make_pdf else ""
        page = sheet.html(view, pdf=made, shop=run.shop_dir)
        if told := _told_outside(job, sheet, page):
            run.problems += told
            continue
        if made:
            printed = sheet.view(one, run.shop_dir, on_paper(photos))
            (built / made).write_bytes(sheet.pdf(printed, one, run.shop_dir, built / "photos"))
        (built / f"{name}.html").write_text(page, encoding="utf-8")
        yield sheet.title, f"{name}.html"


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


def _take_down(run: _Run) -> None:
    """What is gone from the shop's folder, and what has no consent (any more), is not shown."""
    for name in list(run.memory.jobs):
        if name not in run.folder.jobs:
            _withdraw(run, name)
            folders.remove(run.out, "shop", name)
            del run.memory.jobs[name]
    # a lost memory must not keep public what has no consent
    found = [path.name for path in (run.out / "public").iterdir() if path.name in run.folder.jobs]
    run.memory.public = list(dict.fromkeys([*run.memory.public, *found]))
    for name in list(run.memory.public):
        record = run.folder.jobs[name].job if name in run.folder.jobs else None
        # a job file that cannot be read proves no consent: private by default
        if record is None or not record.publish or record.consent is None:
            _withdraw(run, name)
            run.say(f"{name}: taken off the public edition, no consent on file")


def _site_pages(run: _Run, assessed: dict[str, Assessment]) -> None:
    """Index and engine pages of both editions, from the entries of all jobs."""
    shop = run.folder.shop
    assert shop is not None
    heads = (shop.name, shop.contact, shop.notice or "")
    for edition in EDITIONS:
        shown = _entries(run, assessed, edition)
        page = pages.index_html(*heads, shown, edition, shop=run.shop_dir)
        folders.write_whole(run.out / edition / "index.html", page.encode())
        names = sorted({entry.engine for entry in shown if entry.engine})
        for name in names:
            ones = [entry for entry in shown if entry.engine == name]
            page = pages.engine_html(*heads, name, ones, edition, shop=run.shop_dir)
            folders.write_whole(run.out / edition / "engines" / f"{name}.html", page.encode())
        for gone in set(run.memory.engines.get(edition, [])) - set(names):
            (run.out / edition / "engines" / f"{gone}.html").unlink(missing_ok=True)
        run.memory.engines[edition] = names


def _entries(run: _Run, assessed: dict[str, Assessment], edition: Edition) -> list[pages.IndexEntry]:
    """Entries as made now or by an earlier run; in the shop edition failing jobs are marked."""
    if edition == "public":
        made = [_remembered(run, name, "public") for name in sorted(run.memory.public)]
        return [entry for entry in made if entry is not None]
    shown = []
    for name, job in run.folder.jobs.items():
        entry = _remembered(run, name, "entry")
        shown.append(entry if entry is not None and name in assessed else _failing(job, entry))
    return shown


def _remembered(run: _Run, name: str, which: str) -> pages.IndexEntry | None:
    data = run.memory.jobs.get(name, {}).get(which)
    return None if data is None else entries.from_data(data)


def _failing(job: JobFolder, entry: pages.IndexEntry | None) -> pages.IndexEntry:
    """A job that could not be published now, with what an earlier run knew of it."""
    errors = sum(problem.severity == "error" for problem in [*job.problems, *job.engine_problems])
    title = entry.title if entry else job.name
    title = job.job.title if job.job else title
    return pages.failing(entry, job.name, title, errors, entry.as_of if entry else None)
