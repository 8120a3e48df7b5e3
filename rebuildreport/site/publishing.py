"""From a shop's folder to its site: two editions, each job replaced in whole or not at all.

In ``OUT/shop`` stands everything, in ``OUT/public`` only what has consent.
A job whose files have errors keeps its last good pages and is marked so in
the shop edition; the others are published all the same.  A job that is as it
was at the last run is neither read nor assessed: what is to be told of it
stands in the manifest.  One job at a time is held in memory.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
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
from ..records import JobFolder, Problem, ShopFolder, job_names, load_job, load_shop
from . import entries, folders, issuing, leaks, maker, sources
from .history import Checkout
from .manifest import Manifest, Row

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
    names: list[str]  # of all jobs
    manifest: Manifest
    git: Checkout
    sheets: dict[str, str]  # digests of the engine sheets
    maker: str  # what all pages are made by and from: program, templates, the shop's own files
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
    # before anything is read: what is changed meanwhile is another state, and looked at the next time
    sheets, git = maker.sheets(shop_dir), Checkout.of_folder(shop_dir)
    can = pdf and _can_make_pdfs()
    by = maker.of_all(shop_dir, sheets, can)
    folder = load_shop(shop_dir, [])
    if folder.shop is None:
        return PublishResult(PROBLEMS, (f"{shop_dir}: shop.yaml cannot be used",), (), tuple(folder.problems))
    out.mkdir(parents=True, exist_ok=True)
    folders.recover(out)
    names = job_names(shop_dir)
    run = _Run(shop_dir, out, folder, names, Manifest(out), git, sheets, by, can, report)
    run.problems += folder.problems
    _assets(run)
    if jobs is None and specimen.NAME not in names:
        _specimen(run)
    for name in names:
        _look(run, name, jobs is None or name in jobs or run.manifest.rows.get(name, Row()).entry is None)
    _take_down(run)
    with speaking(_site_language(run)):
        _site_pages(run)
    run.manifest.close()
    return _result(run, missing=pdf and not can)


def _look(run: _Run, name: str, wanted: bool) -> None:
    """One job: told of from the manifest where it is as it was, else read, assessed and, if wanted, made."""
    row = run.manifest.rows.setdefault(name, Row())
    files = sources.states(run.shop_dir / name, row.files)
    known = files == row.files and row.commit == run.git.head
    row.files = files
    if _as_it_was(run, name, row):
        run.problems += [Problem(**data) for data in row.problems]
        if known:
            return
    else:
        run.manifest.begin(name)
        _read(run, name, row, wanted)
    row.commit = run.git.head
    run.manifest.keep(name)


def _seen(run: _Run, name: str, row: Row) -> str:
    """All that is looked at of a job, in one digest."""
    dirty = run.git.dirty(name, row.engine)
    return sources.digest(run.maker, run.sheets.get(row.engine), dirty, sources.contents(row.files))


def _as_it_was(run: _Run, name: str, row: Row) -> bool:
    if not row.seen or row.seen != _seen(run, name, row):
        return False
    return run.git.same_since(row.commit, name, row.engine) and (row.entry is None or _stands(run, name, row))


def _read(run: _Run, name: str, row: Row, wanted: bool) -> None:
    """Read and assess a job; make its pages if they are wanted and it can be used."""
    job = load_job(run.folder, name)
    told = len(run.problems)
    run.problems += [*job.problems, *job.engine_problems]
    row.errors = sum(problem.severity == "error" for problem in run.problems[told:])
    _own_words(row, job)
    if not row.consent:
        _withdraw(run, name, row)
    row.usable = False
    done = not job.usable  # nothing can be made of it
    if job.usable:
        with _kept_apart(run, job, row):
            one = issuing.noted(run.folder, job, assess_job(run.folder, job), "report")
            row.usable = True
            done = wanted and _job(run, job, one, row)
    row.problems = [asdict(problem) for problem in run.problems[told:]]
    row.seen = _seen(run, name, row) if done else ""


def _own_words(row: Row, job: JobFolder) -> None:
    """What a job says of itself; one that cannot be read proves no consent: private by default."""
    row.engine, row.title, row.consent = "", "", False
    if record := job.job:
        row.engine, row.title = Path(record.engine).name, record.title
        row.consent = record.publish and record.consent is not None


def _result(run: _Run, missing: bool) -> PublishResult:
    """How the run ended; ``missing``: PDFs were wanted and cannot be made here."""
    if missing:
        run.messages.append(SAID_MISSING)
    for name in run.names:
        row = run.manifest.rows[name]
        if not row.usable:
            kept = "its last good pages stay" if row.entry is not None else "it has no pages yet"
            run.messages.append(f"{name}: not published, its files have errors; {kept}")
    status = LACKING if missing else 0
    if any(problem.severity == "error" for problem in run.problems):
        status = PROBLEMS
    return PublishResult(status, tuple(run.messages), tuple(run.written), tuple(sorted(set(run.problems))))


@contextmanager
def _kept_apart(run: _Run, job: JobFolder, row: Row) -> Iterator[None]:
    """Let a fault in one job stop that job alone: it keeps its pages and is named, the others go on."""
    try:
        yield
    except OSError:
        raise  # a full disk is nobody's input
    except Exception as fault:
        row.fingerprint = ""
        message = f"could not be worked out ({type(fault).__name__}: {fault}); please report this"
        run.problems.append(Problem(f"{job.name}/job.yaml", 1, 1, "error", message))


def _can_make_pdfs() -> bool:
    return pdf.available()


def _fingerprint(run: _Run, one: Assessment, row: Row) -> str:
    """Everything that a job's pages are made from."""
    made_from = sources.contents(row.files)
    return sources.digest(run.maker, str(one.issue), run.sheets.get(row.engine), made_from)


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
    made = sources.digest(maker.program(), run.make_pdf, maker.templates(run.shop_dir))
    folder = run.out / "shop" / specimen.NAME
    if run.manifest.site.specimen == made and (folder / "index.html").is_file():
        return
    built = folders.fresh(run.out, "shop", specimen.NAME)
    if run.make_pdf:
        (built / specimen.PDF).write_bytes(specimen.specimen_pdf(run.shop_dir))
    page = specimen.specimen_html(pdf=specimen.PDF if run.make_pdf else "", shop=run.shop_dir)
    (built / "index.html").write_text(page, encoding="utf-8")
    specimen.copy_photos(built)
    folders.swap_in(run.out, "shop", specimen.NAME, built)
    run.manifest.site.specimen = made


def _job(run: _Run, job: JobFolder, one: Assessment, row: Row) -> bool:
    """Both editions of one job, where anything that they are made from has changed; whether they stand."""
    one = _spoken(run, job, one)
    for edition in EDITIONS:
        if folders.strange(run.out, edition, job.name):
            message = f"{run.out / edition / job.name} is in the way and none of mine: move it"
            run.problems.append(Problem(f"{job.name}/job.yaml", 1, 1, "error", message))
            return False
    fingerprint = _fingerprint(run, one, row)
    if row.fingerprint == fingerprint and _stands(run, job.name, row):
        return True
    told = len(run.problems)
    row.entry = entries.to_data(_edition(run, job, one, "shop", row))
    # until the public edition stands, too, and where something went wrong: nothing to go by
    row.fingerprint = ""
    if run.make_pdf:  # a bench sheet of ours goes when its round is done; one that a person printed stays
        pages_of = (run.out / "shop" / job.name).glob("bench-sheet-*.html")
        row.bench_sheets = sorted(f"{page.stem}.pdf" for page in pages_of)
    run.written.append(job.name)
    run.say(f"{job.name}: {one.stage}, report written")
    if one.publish:
        _publicly(run, job, one, row)
    if len(run.problems) == told:
        row.fingerprint = fingerprint
    return True


def _stands(run: _Run, name: str, row: Row) -> bool:
    """Whether the pages of a job that an earlier run made are all there."""
    editions = ["shop", "public"] if row.public is not None else ["shop"]
    return all((run.out / edition / name / "index.html").is_file() for edition in editions)


def _publicly(run: _Run, job: JobFolder, one: Assessment, row: Row) -> None:
    """The public edition; taken down where something private stands in it, wherever that was typed."""
    seen = public(one)
    words = _public_words(seen)
    leaked = leaks.leaks(words, leaks.private_texts(job, _amounts(one)))
    leaked += leaks.prices(words, one.cost.currency)
    if leaked:
        run.problems += leaks.problems(job, leaked)
        _withdraw(run, job.name, row)
        return
    row.public = entries.to_data(_edition(run, job, seen, "public", row))


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


def _edition(run: _Run, job: JobFolder, one: Assessment, edition: Edition, row: Row) -> pages.IndexEntry:
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
        folders.carry_over(run.out, job.name, built, row.bench_sheets)
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


def _withdraw(run: _Run, name: str, row: Row) -> None:
    """Take a job off the public edition; with consent again, it is made again."""
    if row.public is not None or (run.out / "public" / name).exists():
        folders.remove(run.out, "public", name)
        row.public, row.fingerprint = None, ""
        if not row.consent:
            run.say(f"{name}: taken off the public edition, no consent on file")


def _take_down(run: _Run) -> None:
    """What is gone from the shop's folder is not shown."""
    for name in set(run.manifest.rows) - set(run.names):
        if run.manifest.rows[name].entry is not None:  # else what stands there is somebody else's
            for edition in EDITIONS:
                folders.remove(run.out, edition, name)
        run.manifest.drop(name)


def _site_pages(run: _Run) -> None:
    """Index and engine pages of both editions, from the entries of all jobs, where any of them changed."""
    for edition in EDITIONS:
        rows = run.manifest.rows
        key = "public" if edition == "public" else "entry"
        shown = [(name, getattr(rows[name], key), *_mark(rows[name], edition)) for name in run.names]
        made = sources.digest(run.maker, shown)
        names = run.manifest.site.engines.get(edition, [])
        wanted = ["index.html", *(f"engines/{name}.html" for name in names)]
        there = all((run.out / edition / name).is_file() for name in wanted)
        if not there or made != run.manifest.site.indexes.get(edition):
            _edition_pages(run, edition)
            run.manifest.site.indexes[edition] = made


def _mark(row: Row, edition: Edition) -> tuple[object, ...]:
    """What the index of an edition says of a job beside its entry."""
    return () if edition == "public" or row.usable else (row.errors, row.title)


def _edition_pages(run: _Run, edition: Edition) -> None:
    shop = run.folder.shop
    assert shop is not None
    heads = (shop.name, shop.contact, shop.notice or "")
    site = run.manifest.site
    shown = _entries(run, edition)
    page = pages.index_html(*heads, shown, edition, shop=run.shop_dir)
    folders.write_whole(run.out / edition / "index.html", page.encode())
    by_engine: dict[str, list[pages.IndexEntry]] = {}
    for entry in shown:
        if entry.engine:
            by_engine.setdefault(entry.engine, []).append(entry)
    for name, listed in sorted(by_engine.items()):
        page = pages.engine_html(*heads, name, listed, edition, shop=run.shop_dir)
        folders.write_whole(run.out / edition / "engines" / f"{name}.html", page.encode())
    for gone in set(site.engines.get(edition, [])) - set(by_engine):
        (run.out / edition / "engines" / f"{gone}.html").unlink(missing_ok=True)
    site.engines[edition] = sorted(by_engine)


def _entries(run: _Run, edition: Edition) -> list[pages.IndexEntry]:
    """Entries as made now or by an earlier run; in the shop edition failing jobs are marked."""
    rows = [(name, run.manifest.rows[name]) for name in run.names]
    if edition == "public":
        made = [entries.from_data(row.public) for _, row in rows]
        return [entry for entry in made if entry is not None]
    return [_listed(name, row, entries.from_data(row.entry)) for name, row in rows]


def _listed(name: str, row: Row, entry: pages.IndexEntry | None) -> pages.IndexEntry:
    """A job on the shop's index; one that could not be published now is marked, with what is known of it."""
    if entry is not None and row.usable:
        return entry
    title = row.title or (entry.title if entry else name)
    return pages.failing(entry, name, title, row.errors, entry.as_of if entry else None)
