"""From a shop's folder to its site: two editions, each file replaced in whole or not at all.

In ``OUT/shop`` stands everything, in ``OUT/public`` only what has consent.
A job whose files have errors shows in the shop edition what does not rest on
them, and is marked so; the rest of its pages and PDFs, and all that is public, stay as they
were.  The others are published all the same.  A job that is as it
was at the last run is neither read nor assessed: what is to be told of it
stands in the manifest.  The pages of all jobs come first, then their PDFs, the
newest edit before the others; a run that was cut off goes on where it stopped.
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future
from datetime import date
from itertools import chain
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import asdict, replace

from ..documents.day.daypage import LIST
from ..documents.press import pdf as press
from ..documents.press import places
from ..documents.press.language import speaking
from ..documents.press.pdf import PdfUnavailable
from ..documents.report.view import Edition
from ..documents.showing import entries, specimen
from ..records import Alike, Problem, ShopFolder, load_job, load_shop
from . import looks, today
from .disk import folders, maker, marks, sources, unchanged
from .disk.commits import Checkout
from .disk.manifest import Manifest, Row
from .history import listpages, shoptexts
from .history.net import Leak, Looking
from .making import leaks, work
from .making.addresses import no_address
from .making.hands import FEW, LONG, Hands

PROBLEMS, USAGE, LACKING = 1, 2, 3
BATCH = 4  # jobs for each of the hands whose PDFs are got ready at a time: they are held meanwhile
EDITIONS: tuple[Edition, ...] = ("shop", "public")
# what shows that the site's own pages stand as they were left
LOOKED_AT = ("assets", "assets/fonts", "engines", "entries", "lists", "pages", "index.html", "jobs.js")
SAID_MISSING = (
    "PDFs are missing: this machine lacks Pango. On Debian or Ubuntu: "
    f"apt-get install {' '.join(press.DEBIAN)}"
)


class PublishResult(Struct, frozen=True):
    """How a run ended: 0 fine, 1 the input has problems, 3 the machine lacks something."""

    exit_status: int
    messages: tuple[str, ...] = ()
    written: tuple[str, ...] = ()  # jobs whose pages were made again
    problems: tuple[Problem, ...] = ()
    printed: tuple[str, ...] = ()  # PDFs that were made again, below OUT


class Told:
    """Whom a run tells what it does; this one keeps it to himself."""

    asked: Sequence[str] = ()  # in which words the run was asked for; () where nobody will ask again

    def worded(self, result: PublishResult) -> str:
        """What is told at the end: told again where nothing has changed."""
        return ""

    def said(self, line: str) -> None:
        """A job is done, or another run has to end first."""

    def counted(self, what: str, done: int, total: int) -> None:
        """How far it is with the pages, or with the PDFs."""

    def fronted(self) -> None:
        """The report of the one job that was edited stands, and the lists; the rest of its pages follow."""

    def paged(self, problems: Callable[[], Sequence[Problem]]) -> None:
        """All pages stand, the PDFs follow."""

    def hurried(self) -> bool:
        """Whether the PDFs have to wait: another edit was made."""
        return False


class _Run(Struct):
    order: work.Order
    folder: ShopFolder
    names: list[str]  # of all jobs
    jobs: list[str] | None  # whose PDFs are wanted; None: all
    manifest: Manifest
    git: Checkout
    sheets: dict[str, str]  # digests of the engine sheets
    ground: str  # what all pages are made by and from, the commit apart
    hands: Hands
    told: Told
    texts: tuple[shoptexts.ShopText, ...]  # the shop's own pages
    looking: Looking
    looks: dict[str, str] = field(default_factory=dict)
    placed: list[str] = field(default_factory=list)  # jobs whose public files were put in place
    front: str = ""  # the job whose report was put in place before the rest; whether it is another now
    another: bool = False
    begun: work.Sheet | None = None  # its PDF, and what becomes of it while the rest is made
    printing: Future[work.Printed] | None = None
    looks_due: str = ""  # what specimen and words are made from, and what becomes of them
    looked: Future[tuple[str, str] | Problem] | None = None
    messages: list[str] = field(default_factory=list)
    written: list[str] = field(default_factory=list)
    printed: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)  # of no job

    @property
    def out(self) -> Path:
        return self.order.out


def publish(
    shop_dir: Path,
    out_dir: Path,
    jobs: list[str] | None = None,
    pdf: bool = True,
    told: Told | None = None,
    hands: Hands | None = None,
    on: date | None = None,
) -> PublishResult:
    """Write the site of a shop's folder.

    ``jobs`` names those whose PDFs are wanted (None: all); what did not change
    is not made again.  ``pdf`` False leaves all PDFs out.  ``on`` is the day of the shop's day, with the hour
    where it is a datetime (None: the newest of the records).  Never raises for bad
    input: its problems come back.  Raises OSError where the disk fails; what
    was not done then is done by the next run.
    """
    shop_dir, out, told = Path(shop_dir), Path(out_dir), told or Told()
    inside = out.resolve().is_relative_to(shop_dir.resolve())
    if inside or shop_dir.resolve().is_relative_to(out.resolve()):
        return PublishResult(USAGE, (f"{out}: the site and the shop's folder must not lie in each other",))
    # before anything is read: what is changed meanwhile is another state, and looked at the next time
    sheets, git = maker.sheets(shop_dir), Checkout.of_folder(shop_dir)
    made_by = maker.makers(shop_dir, out, looked := maker.looks(shop_dir))
    shared = maker.of_all(made_by, shop_dir, sheets)
    rests = marks.marks(map(str, (*maker.paths(shop_dir), *git.paths(), shop_dir))) if told.asked else {}
    folder = load_shop(shop_dir, [])
    if folder.shop is None:
        return PublishResult(PROBLEMS, (f"{shop_dir}: shop.yaml cannot be used",), (), tuple(folder.problems))
    out.mkdir(parents=True, exist_ok=True)
    waiting = f"another run is writing {out}: waiting until it has ended"
    manifest = Manifest(out, lambda: told.said(waiting))
    try:
        folders.clear(out)
        # asking loads the renderer, which takes as long as a page: it was there when it last printed
        can = pdf and (manifest.fact("printing") == made_by.printing or press.available())
        ground = sources.digest(shared, can)
        by = sources.digest(ground, sheets, git.head)
        order = work.Order(shop_dir, out, by, made_by, can, bool(git.head))
        names = folder.siblings.names
        texts = shoptexts.shop_texts(shop_dir)
        said = " ".join(text.markdown for text in texts)
        looking = Looking(out / "public", manifest, folder.shop, said)
        hands = hands or Hands()
        run = _Run(order, folder, names, jobs, manifest, git, sheets, ground, hands, told, texts, looking)
        run.problems += [*folder.problems, *no_address(folder.shop.site)]
        manifest.put("told", None)  # until this run has come to its end
        _assets(run)
        if specimen.NAME not in names:
            run.looks_due = looks.due(order, manifest, work.site_language(folder))
        _pages(run)
        _take_down(run)
        _look(run)
        with speaking(work.site_language(folder)):
            _site_pages(run)
            day = today.write(run.order, folder.shop, manifest, on)
        if run.looks_due:
            found = run.looked.result() if run.looked else looks.pages(order)
            run.problems += looks.write(order, manifest, run.looks_due, found)
        told.paged(lambda: _problems(run))
        if can:
            can = _papers(run)
            manifest.put("printing", made_by.printing if can else None)
        folders.clear(out)
        result = _result(run, missing=pdf and not can)
        _remember(run, looked | rests, result, day)
    except sqlite3.DatabaseError as problem:
        manifest.forget()
        raise OSError(errno.EIO, f"{problem}; it is forgotten, run again", str(out)) from problem
    finally:
        manifest.close()
    return result


# ------------------------------------------------------------------------------- pages


def _pages(run: _Run) -> None:
    """Make the pages of every job that is not as it was, the newest edit first."""
    changed: list[tuple[int, str, str]] = []
    _look_beside(run)
    known = run.manifest.looks()
    ground = [run.ground, run.git.head, sorted(map(list, run.sheets.items()))]
    same = run.manifest.fact("ground") == ground
    if not same:
        run.manifest.unlook()
    looked_at = unchanged.same(run.told.asked) if same else ()
    for name in run.names:
        look, stood = known.get(name, ("", ""))
        if name in looked_at and look:
            continue
        run.looks[name] = marks.look(f"{run.order.shop}/{name}")
        if same and look and look == run.looks[name] and stood == marks.there(str(run.out), name):
            continue
        row = run.manifest.row(name)
        files = sources.states(run.order.shop / name, row.files)
        commit, row.files = row.commit, files
        row.commit = run.git.head
        if _as_it_was(run, name, row, commit):
            _keep(run, name, row)
            continue
        # taken back before any file changes: were the records put back, it would vouch for other files
        row.seen = row.papers = ""
        run.manifest.keep(name, row, due=run.order.pdf)
        changed.append((sources.edited(files), name, sources.digest(files)))
    if not same:
        run.manifest.put("ground", ground)
    siblings = run.folder.siblings
    tasks = [
        (run.order, name, content, siblings.of(name)) for _, name, content in sorted(changed, reverse=True)
    ]
    if changed:
        work.shop_of(run.order)
    if len(tasks) == 1:
        _front(run, *tasks[0])
    run.told.counted("pages", 0, len(changed))
    pages = ((*task, run.front == task[1]) for task in tasks)
    for done, made in enumerate(run.hands.each(work.make_pages, pages), 1):
        _take_in(run, made, run.manifest.row(made.name))
        run.told.counted("pages", done, len(changed))
        if run.looks_due and run.hands.begun and run.looked is None:  # beside the jobs, not after them
            run.looked = run.hands.ahead(looks.pages, run.order)


def _front(run: _Run, order: work.Order, name: str, content: str, alike: Alike) -> None:
    """The report of the one job that was edited, and the lists, before the rest: somebody waits for them."""
    standing = [file for edition, file in run.manifest.files(name) if edition == "shop"]
    row = run.manifest.row(name)
    if not row.stands or not row.usable:
        return
    listed = work.make_front(order, name, content, alike, standing)
    if listed is None:
        return
    run.front, run.another = name, folders.put_in_place(run.out, "shop", name)
    listpages.enter(run.manifest, "shop", listed)
    with speaking(work.site_language(run.folder)):
        _site_pages(run, EDITIONS[:1])  # nobody waits for the public ones
    run.told.fronted()
    _print_ahead(run, name, alike)


def _print_ahead(run: _Run, name: str, alike: Alike) -> None:
    """Hand out the report's PDF while the rest of its pages is made: another core has nothing to do yet."""
    if not run.order.pdf or (run.jobs is not None and name not in run.jobs):
        return
    files, report = run.manifest.row(name).files, ("shop", "report.pdf")
    known = {report: made} if (made := run.manifest.files(name).get(report)) is not None else {}
    run.begun = next(work.each_paper(work.Papers(name), run.order, name, alike, files, known), None)
    run.printing = run.hands.ahead(work.print_paper, run.order, run.begun) if run.begun else None


def _look_beside(run: _Run) -> None:
    """A job that is like another now, or no longer is, is looked at again: its pages tell of it."""
    siblings = run.folder.siblings
    found = {name: siblings.of(name) for name in run.names}
    now = {name: sources.digest(asdict(one)) for name, one in found.items() if one != Alike()}
    before = run.manifest.fact("alike") or {}
    for name in now.keys() | before.keys():
        if now.get(name) != before.get(name):
            run.manifest.unlook(name)
    if now != before:
        run.manifest.put("alike", now)


def _keep(run: _Run, name: str, row: Row) -> None:
    """Put a job's row down; where something is left to do, it is looked at again the next time."""
    due = run.order.pdf and row.stands and row.papers != row.seen
    sure = bool(row.seen) and not due
    stood = marks.there(str(run.out), name)
    run.manifest.keep(name, row, run.looks[name] if sure else "", stood, due)


def _seen(run: _Run, name: str, row: Row) -> str:
    """All that is looked at of a job, in one digest."""
    dirty = run.git.dirty(name, row.engine)
    alike = asdict(run.folder.siblings.of(name))
    return sources.digest(run.ground, run.sheets.get(row.engine), dirty, alike, sources.contents(row.files))


def _as_it_was(run: _Run, name: str, row: Row, commit: str) -> bool:
    if not row.seen or row.seen != _seen(run, name, row):
        return False
    if not run.git.same_since(commit, name, row.engine):
        return False
    files = run.manifest.files(name)
    lost = [(e, file) for e, file in files if not (run.out / e / name / file).is_file()]
    if any(not file.endswith(".pdf") for _, file in lost):
        return False
    if any(files[paper] for paper in lost):  # one that was made
        row.papers = ""
    return True


def _take_in(run: _Run, made: work.Pages, row: Row) -> None:
    """Put the pages of a job in their place and remember them."""
    name, problems = made.name, list(made.problems)
    row.engine, row.title, row.consent, row.usable = made.engine, made.title, made.consent, made.usable
    files = run.manifest.files(name)
    changed = run.front == name and run.another
    for edition in EDITIONS:
        if (new := made.made.get(edition)) is not None:
            known = any(ours == edition for ours, _ in files)
            if not known and folders.strange(run.out, edition, name):
                words = f"{run.out / edition / name} is in the way and none of mine: move it"
                problems.append(Problem(f"{name}/job.yaml", 1, 1, "error", words))
                made.sure = row.usable = False
                break
            changed |= _put_in_place(run, name, edition, new, whole=made.usable)
    row.partly = "shop" in made.made and not made.usable
    public = made.made.get("public")
    if made.private or made.usable:  # else what is known of a job that cannot be read stays
        run.looking.keep(name, made.private)
    if public is None and (made.usable or not made.consent):
        _withdraw(run, name, row)
    elif public is not None:
        run.placed.append(name)
    row.stands = (run.out / "shop" / name / "index.html").is_file()
    row.problems = problems
    # a file that was another one for a moment is in the pages, and not in what was looked at before
    sure = made.sure and sources.untouched(run.order.shop / name, row.files)
    row.seen = _seen(run, name, row) if sure else ""
    if made.waiting:
        run.manifest.wait(name, made.waiting)
    if not row.usable:
        _mark(run, name, row)
    elif changed:
        run.written.append(name)
        run.told.said(f"{name}: {made.stage}, report written")
    _keep(run, name, row)


def _put_in_place(run: _Run, name: str, edition: Edition, made: work.Made, whole: bool) -> bool:
    """One edition: its new files, then without those that it no longer has; whether any is another now.

    Of a job that is not ``whole`` nothing goes: what is missing waits until the errors are put right.
    """
    ours = {file for e, file in run.manifest.files(name) if e == edition}
    home = run.out / edition / name
    if not ours and home.exists():  # the memory of them is lost
        ours.update(folders.found(run.out, edition, name))
    ours.update(f"photos/{path.name}" for path in home.glob("photos/*"))  # a cut-off run may have left some
    wanted = {*made.files, *made.papers, *(() if whole else ours)}
    run.manifest.own(name, edition, wanted)
    changed = folders.put_in_place(run.out, edition, name)
    folders.remove(run.out, edition, name, ours - wanted)
    run.manifest.gone(name, edition, ours - wanted)
    listpages.enter(run.manifest, edition, made.listed)
    return changed or not ours <= wanted


def _mark(run: _Run, name: str, row: Row) -> None:
    """A job that cannot be published now keeps its place in the shop's list, with what is known of it."""
    errors = sum(problem.severity == "error" for problem in row.problems)
    known = next(run.manifest.entries("shop", job=name), None)
    with speaking(work.site_language(run.folder)):
        if known is None or not row.stands or known.opened == date.min.isoformat():
            one = entries.unlisted(name, row.title or name, errors, run.order.shop)
            listpages.enter(run.manifest, "shop", one)
            return
        of = date.fromisoformat(known.data["as_of"])
        word = entries.failing(errors, of, run.order.shop, partly=row.partly)
    run.manifest.enter("shop", name, replace(known, data={**known.data, "failing": word}))


def _withdraw(run: _Run, name: str, row: Row) -> None:
    """Take a job off the public edition."""
    ours = [file for edition, file in run.manifest.files(name) if edition == "public"]
    if not ours and (run.out / "public" / name / "index.html").is_file():
        ours = folders.found(run.out, "public", name)
    if ours:
        folders.remove(run.out, "public", name, ours)
        run.manifest.gone(name, "public", ours)
        if not row.consent:
            pictures = sum(file.startswith("photos/") for file in ours)
            gone = f"{len(ours)} files, {pictures} of them pictures, and its place in every list"
            run.told.said(f"{name}: taken off the public edition, no consent on file: {gone}")
    run.manifest.enter("public", name, None)
    run.manifest.mark(name, b"")


def _look(run: _Run) -> None:
    """Take off the public edition what a private value stands in, and tell where it was typed."""
    for name, leaked in run.looking.every(run.placed).items():
        if leaked:
            row = run.manifest.row(name)
            row.problems += _leaked(run, name, leaked)
            row.seen = row.papers = ""  # looked at again, until it is put right
            _withdraw(run, name, row)
            run.manifest.keep(name, row)
    run.looking.done()


def _leaked(run: _Run, name: str, leaked: Sequence[Leak]) -> list[Problem]:
    """Each leak at the lines of the job's files in which it was typed."""
    job = load_job(work.shop_of(run.order), name)
    found: dict[Problem, None] = {}
    for kind in dict.fromkeys((leak.value.what, leak.value.job) for leak in leaked):
        same = [leak for leak in leaked if (leak.value.what, leak.value.job) == kind]
        files = [*dict.fromkeys(leak.file for leak in same)]
        more = f" and {len(files) - 1} more" if len(files) > 1 else ""
        where = f"would become public in {files[0]}{more}: this job is not put on the public edition"
        values = [*dict.fromkeys(leak.value for leak in same)]
        found |= dict.fromkeys(leaks.problems(job, values, where))
    return list(found)


def _take_down(run: _Run) -> None:
    """What is gone from the shop's folder is not shown."""
    for name in run.manifest.names() - set(run.names):
        for edition in EDITIONS:
            folders.remove(run.out, edition, name, [f for e, f in run.manifest.files(name) if e == edition])
        run.manifest.drop(name)
        run.order.memory.forget(*(f"{what} {name}" for what in ("access", "curve", "films", "loads")))
    if run.manifest.fresh:  # of a job that went while the memory of it was lost, nobody knows that it is ours
        cards = listpages.carded(run.manifest, "public")
        known = {*run.names, *(old for card, _ in cards for old in card.was)}
        for page in sorted((run.out / "public").glob("*/index.html")):
            if page.parent.name not in known:
                lost = "is of no job, and what was known of it is lost: remove it where a job of yours stood"
                run.messages.append(f"{page.parent}: {lost}")


# ------------------------------------------------------------------------------- PDFs


def _papers(run: _Run) -> bool:
    """Make the PDFs that are due, as far as there is time; whether this machine can."""
    try:
        if _due_papers(run) and run.jobs is None:
            looks.print_out(run.order, run.manifest)
    except PdfUnavailable:
        return False
    finally:
        if run.printing:
            run.printing.cancel()
    return True


def _due_papers(run: _Run) -> bool:
    """Those of the newest edit first; what cannot be made now is due again.  Whether none had to wait."""
    due = [name for name in run.manifest.due() if run.jobs is None or name in run.jobs]
    size = BATCH * run.hands.many
    done = 0
    for at in range(0, len(due), size):
        rows = {name: run.manifest.row(name) for name in due[at : at + size]}
        ready: list[work.Papers] = []
        sheets = ((run.order, one) for one in _sheets(run, rows, ready))
        failed: set[str] = set()
        for printed in chain(run.hands.each(work.print_paper, sheets, few=LONG), _printed_ahead(run, ready)):
            done += 1
            if not _printed(run, printed):
                failed.add(printed.job)
            known, left = sum(len(papers.sheets) for papers in ready), max(0, len(due) - at - len(rows))
            run.told.counted("PDFs", done, known + left * done // (at + len(rows)))
            if run.told.hurried():
                return False
        run.problems += [_report_this(papers.job, "PDFs", papers.fault) for papers in ready if papers.fault]
        for name in sorted({papers.job for papers in ready if papers.sure} - failed):
            rows[name].papers = rows[name].seen
            _keep(run, name, rows[name])
    return True


def _sheets(run: _Run, rows: dict[str, Row], ready: list[work.Papers]) -> Iterable[work.Sheet]:
    """The PDFs to be made of some jobs, noted in ``ready``, too.

    Of few jobs each is got ready when its turn comes, so that printing begins at once; of many all hands get
    them ready, and the longest of a job comes first, so that none is left alone at the end.
    """
    tasks = [
        (run.order, name, run.folder.siblings.of(name), row.files, _not_begun(run, name))
        for name, row in rows.items()
    ]
    if len(tasks) < FEW:
        for task in tasks:
            ready.append(papers := work.Papers(task[1]))
            for sheet in work.each_paper(papers, *task):
                papers.sheets.append(sheet)
                yield sheet
        return
    ready += run.hands.each(work.make_papers, tasks)
    order = {name: at for at, name in enumerate(rows)}
    sheets = [sheet for papers in ready for sheet in papers.sheets]
    yield from sorted(sheets, key=lambda sheet: (order[sheet.job], -len(sheet.paper.html)))


def _not_begun(run: _Run, name: str) -> dict[tuple[str, str], str]:
    """The files of a job without the PDF that was begun with its page."""
    files = run.manifest.files(name)
    if run.printing and run.begun and run.begun.job == name:
        files.pop((run.begun.edition, run.begun.file), None)
    return files


def _printed_ahead(run: _Run, ready: Iterable[work.Papers]) -> Iterator[work.Printed]:
    """The PDF that was begun with its page, where the job is still what that was made from."""
    if run.printing and run.begun and any(run.begun.job == papers.job and papers.sure for papers in ready):
        yield run.printing.result()


def _printed(run: _Run, printed: work.Printed) -> bool:
    """Put one PDF in its place; whether it could be made."""
    name, edition, file = printed.job, printed.edition, printed.file
    if printed.fault:
        run.problems.append(_report_this(name, file, printed.fault))
        return False
    if edition == "public" and (leaked := run.looking.paper(name, file, printed.texts)):
        run.problems += _leaked(run, name, leaked)
        return False
    run.manifest.made(name, edition, file, "")  # were this cut off, it would be another than it was made from
    work.printed_aside(run.order, printed).replace(run.out / edition / name / file)
    run.manifest.made(name, edition, file, printed.of)
    run.printed.append(f"{edition}/{name}/{file}")
    return True


def _report_this(name: str, what: str, fault: str) -> Problem:
    words = f"{what} could not be made ({fault}); please report this"
    return Problem(f"{name}/job.yaml", 1, 1, "error", words)


# ------------------------------------------------------------------------------- the site's own pages


def _assets(run: _Run) -> None:
    for name, data in places.assets(run.order.shop).items():
        for edition in EDITIONS:
            folders.write_whole(run.out / edition / "assets" / name, [data], run.out)


def _site_pages(run: _Run, editions: Sequence[Edition] = EDITIONS) -> None:
    """Lists and engine pages, from what is kept of all jobs; those of the same that this run wrote stand."""
    assert run.folder.shop is not None
    shop, texts = run.folder.shop, run.texts
    for edition in editions:
        ground = listpages.Ground(run.out, run.order.shop, shop, edition, run.ground, texts)
        for leak in listpages.write(ground, run.manifest, run.looking):
            run.problems.append(shoptexts.problem(texts, leak))


# ------------------------------------------------------------------------------- how it ended


def _result(run: _Run, missing: bool) -> PublishResult:
    """How the run ended; ``missing``: PDFs were wanted and cannot be made here."""
    problems = _problems(run)
    if missing:
        run.messages.append(SAID_MISSING)
    for name, row in run.manifest.telling():
        if not row.usable:
            kept = "its last good pages stay" if row.stands else "it has no pages yet"
            if row.partly:
                kept = "what does not rest on them is shown in the shop edition, marked"
            run.messages.append(f"{name}: not published, its files have errors; {kept}")
    status = LACKING if missing else 0
    if any(problem.severity == "error" for problem in problems):
        status = PROBLEMS
    found = (tuple(run.messages), tuple(run.written), tuple(problems), tuple(run.printed))
    return PublishResult(status, *found)


def _problems(run: _Run) -> list[Problem]:
    """Of this run, and what stands of each job."""
    known = (problem for _, row in run.manifest.telling() for problem in row.problems)
    return sorted(dict.fromkeys((*run.problems, *known)))  # a set would undo the order that is there


def _remember(run: _Run, rests: dict[str, marks.Mark], result: PublishResult, day: date) -> None:
    """What the next run needs to know that it has nothing to do, and what it has to tell then."""
    words, done = run.told.asked, set(run.manifest.looks()) == set(run.names)
    if not words or not done or result.exit_status == LACKING or run.problems or not marks.settled(rests):
        return
    homes = [run.out / edition for edition in EDITIONS]
    outputs = [home / name for home in homes for name in LOOKED_AT]
    outputs += [run.out / "shop" / name for name in (LIST, *today.FILES)]
    kept = {**rests, **marks.marks(map(str, (*outputs, run.out / "shop" / specimen.NAME)))}
    text, status = run.told.worded(result), result.exit_status
    asked = {"asked": words, "on": day.isoformat(), "rests": kept}
    run.manifest.put("told", {**asked, "text": text, "status": status})
