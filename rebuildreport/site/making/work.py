"""One job's share of a run: its pages, then its PDFs, with nothing shared but the disk.

In comes an Order and the name of a job, as plain data; out goes what was made of it.  So any executor can
do it, in this process, in others or on other machines that see the same folders.  Pages are written aside,
in a folder of the job alone; putting them in their place, and remembering, is left to whoever gave the order.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from msgspec.structs import astuple, replace

from ...assess import Assessment, assess_for_documents, assess_sound
from ...assess.measure.due import due_round
from ...assess.publishing.extract import extract
from ...assess.publishing.outcomes import past
from ...assess.publishing.public import public
from ...assess.publishing.results import results_json
from ...assess.waiting.matters import to_row
from ...documents.press import templating
from ...documents.press.frame import Framed
from ...documents.press.language import PLAIN, Language, UnknownLanguage, language, speaking
from ...documents.press.pdf import Paper, PdfUnavailable
from ...documents.press.photos import Prepared, prepare
from ...documents.press.standing_texts import TextProblem
from ...documents.report.findings import Album, on_paper
from ...documents.report.rendering import printed_report, report_html
from ...documents.report.view import Edition
from ...documents.sheets import register
from ...documents.showing import entries
from ...quantities import Text, english
from ...records import Alike, JobFolder, Problem, ShopFolder, Siblings, load_job, load_shop
from ...records.text.memory import Memory
from ..disk import folders, sources
from ..disk.commits import Commit, last_commit
from ..disk.maker import Makers, memory
from ..sending import issuing
from . import leaks, waits
from .addresses import PREVIEW, permanent, site_base
from .readable import in_page, texts_of


class Order(Struct, frozen=True):
    """What every job of a run is made by and from."""

    shop: Path
    out: Path
    by: str  # digest of all that the jobs share: program, templates, the shop's own files, its sheets
    made_by: Makers
    pdf: bool
    committed: bool  # there is a repository

    @property
    def memory(self) -> Memory:
        """What was worked out before and rests on less than a job."""
        return memory(self.out, self.made_by.program)


class Made(Struct, frozen=True):
    """The pages of one edition of a job."""

    files: tuple[str, ...]  # all of its files but PDFs; those that differ from what stands are aside
    papers: tuple[str, ...]  # the PDFs that belong to it
    listed: entries.Listed


class Pages(Struct):
    """What became of a job."""

    name: str
    problems: list[Problem] = field(default_factory=list)
    engine: str = ""
    title: str = ""
    consent: bool = False
    usable: bool = False
    stage: str = ""
    waiting: str = ""  # what it waits for, as the manifest keeps it; "" where that is not known anew
    made: dict[Edition, Made] = field(default_factory=dict)
    private: list[tuple[str, str, str, str]] = field(default_factory=list)  # values that nobody may read
    sure: bool = True  # False where something of the program went wrong: nothing to rest on


class Sheet(Struct, frozen=True):
    """A PDF of a job that is to be made."""

    job: str
    edition: Edition
    file: str
    of: str  # what it is made from
    paper: Paper


class Papers(Struct):
    """The PDFs of a job that are to be made; not ``sure`` where that could not be found out."""

    job: str
    sheets: list[Sheet] = field(default_factory=list)
    sure: bool = False
    fault: str = ""  # of the program


class Printed(Struct, frozen=True):
    """What became of a PDF; ``fault`` where it could not be made."""

    job: str
    edition: Edition
    file: str
    of: str
    fault: str = ""
    texts: list[str] = field(default_factory=list)  # of a public one: all that can be read in it


class _Desk(Struct, frozen=True):
    """A job that is being worked on."""

    order: Order
    shop: ShopFolder
    job: JobFolder
    one: Assessment | None  # in a language that there is; None where its files cannot be used
    problems: tuple[Problem, ...]
    commit: Commit
    seen: list[tuple[Assessment, Assessment]] = field(default_factory=list)
    linked: list[list[tuple[Text, str]]] = field(default_factory=list)  # by the report that stands already
    told: dict[Edition, list[tuple[register.Document, Assessment]]] = field(default_factory=dict)
    views: dict[tuple[str, Edition], Framed] = field(default_factory=dict)  # for its page and its paper

    def noted(self, one: Assessment, document: str) -> Assessment:
        if one.without:
            return one  # no issue can be of it
        return issuing.noted(self.shop, self.job, one, document, self.commit)

    def sheets(self, one: Assessment, edition: Edition) -> list[tuple[register.Document, Assessment]]:
        """Every further document that the job has in an edition by now, and what it is made from.

        Of a job whose files have errors only what stays in the shop.
        """
        if edition not in self.told:
            self.told[edition] = [*self._sheets(one, edition)]
        return self.told[edition]

    def view(
        self, sheet: register.Document, told: Assessment, album: Album, edition: Edition = "shop"
    ) -> Framed:
        """A document's view: one for all that is made of it, but where it shows photos."""
        if sheet.pictured:
            return sheet.view(told, self.order.shop, album, edition)
        if (sheet.name, edition) not in self.views:
            self.views[sheet.name, edition] = sheet.view(told, self.order.shop, album, edition)
        return self.views[sheet.name, edition]

    def _sheets(self, one: Assessment, edition: Edition) -> Iterator[tuple[register.Document, Assessment]]:
        one = replace(one, due=due_round(self.shop, self.job, one))
        for sheet in register.further(one, edition):
            if one.without and sheet.reader != "shop":
                continue
            one = self.noted(one, sheet.name)
            yield sheet, self.public(one) if edition == "public" else one

    def public(self, one: Assessment) -> Assessment:
        """Its public side: for all of a job's documents nearly the same."""
        if not self.seen:
            self.seen.append((one, public(one)))
        return public(one, self.seen[0])


def shop_of(order: Order) -> ShopFolder:
    """The shop without its jobs, and templates as they are now: read anew when either has changed."""
    return _shop(order.shop, order.by, order.memory)


@lru_cache(maxsize=1)
def _shop(shop: Path, by: str, memory: Memory) -> ShopFolder:
    templating.environment.cache_clear()
    language.cache_clear()
    # each job comes with its own siblings
    return load_shop(shop, [], siblings=Siblings(shop), memory=memory)


@lru_cache(maxsize=1)  # the PDFs follow the pages, and where one process makes both it reads the job once
def _desk(order: Order, name: str, content: str, alike: Alike) -> _Desk:
    shop = replace(shop_of(order), siblings=Siblings(order.shop, known={name: alike}))
    job = load_job(shop, name)
    problems = [*job.problems, *job.engine_problems]
    if not job.usable:
        return _Desk(order, shop, job, None, tuple(problems), Commit())
    one = replace(assess_for_documents(shop, job), shop_language=site_language(shop).tag)
    try:
        language(one.language, order.shop)
    except UnknownLanguage as slip:  # in English, and that said
        problems.append(_language_problem(job, f"its documents are in English: {slip}"))
        one = replace(one, language="en")
    commit = last_commit(order.shop, name, one.engine.name) if order.committed else Commit()
    return _Desk(order, shop, job, one, tuple(problems), commit)


def _language_problem(job: JobFolder, message: str) -> Problem:
    own = job.sources.get("job") if job.job and job.job.language else None
    return own.problem(("language",), message) if own else Problem("shop.yaml", 1, 1, "error", message)


# ------------------------------------------------------------------------------- pages


def make_pages(order: Order, name: str, content: str, alike: Alike, fronted: bool = False) -> Pages:
    """Read and assess a job and write its pages aside; a fault of the program stops this job alone.

    ``content`` is a digest of its files, by which what was read for its pages is found for its PDFs, and of
    what the disk says of them: one that was another for a moment is read again.
    ``fronted``: its report stands as ``make_front`` made it.
    """
    done = Pages(name)
    try:
        desk = _desk(order, name, content, alike)
        if not fronted:
            desk.linked.clear()
        _make_pages(desk, done)
        if desk.shop.shop is None:  # the run began with a shop: its file went since, and may be back
            done.sure = False
            _shop.cache_clear()
    except Exception as fault:
        if _of_the_machine(fault):
            raise
        done.sure, done.usable, done.made = False, False, {}
        message = f"could not be worked out ({type(fault).__name__}: {fault}); please report this"
        problem = templating.fault_of_the_shops(fault, order.shop)
        done.problems.append(problem or Problem(f"{name}/job.yaml", 1, 1, "error", message))
    return done


def make_front(
    order: Order, name: str, content: str, alike: Alike, standing: Iterable[str]
) -> entries.Listed | None:
    """The report in the shop edition before all else, aside, with links to its papers that are ``standing``.

    None where its files have errors, or something goes wrong: that is told with the rest.
    """
    try:
        desk = _desk(order, name, content, alike)
        if desk.one is None:
            return None
        photos = _photos(desk, desk.one, [])
        beside = [
            (sheet.title, file)
            for sheet, _ in desk.sheets(desk.one, "shop")
            for file in sorted(standing)
            if file.endswith(".html") and f"{file[:-5]}-".startswith(f"{sheet.name}-")
        ]
        made = _edition(desk, desk.noted(desk.one, "report"), "shop", photos, beside, alone=True)
        desk.linked[:] = [beside]
        return made.listed
    except Exception as fault:
        if _of_the_machine(fault):
            raise
        return None


def _of_the_machine(fault: Exception) -> bool:
    """A full disk is nobody's input; a template not found is the shop's, and Jinja's class is both."""
    return isinstance(fault, OSError) and not isinstance(fault, LookupError)


def _make_pages(desk: _Desk, done: Pages) -> None:
    job, one = desk.job, desk.one
    done.problems += desk.problems
    if record := job.job:  # one that cannot be read proves no consent: private by default
        done.engine, done.title = Path(record.engine).name, record.title
        done.consent = record.publish and record.consent is not None
    private = leaks.private_texts(job, one, _amounts(one) if one else ())
    done.private = [astuple(value) for value in private]
    if one is None:
        done.waiting = to_row(waits.without(job))
        with suppress(TextProblem):
            _make_partly(desk, done)
        return
    done.usable, done.stage = True, one.stage
    done.waiting = to_row(waits.waiting_of(desk.shop, job, one))
    photos = _photos(desk, one, done.problems)
    reported = desk.noted(one, "report")
    beside = tuple(_further(desk, one, "shop", photos, done.problems))
    done.made["shop"] = _edition(desk, reported, "shop", photos, beside)
    if not reported.publish:
        return
    seen = desk.public(reported)
    beside = tuple(_further(desk, one, "public", photos, done.problems))
    made = _edition(desk, seen, "public", photos, beside)
    if leaked := _leaked(desk, one, seen, beside, private):
        done.problems += leaked
    else:
        done.made["public"] = made


def _make_partly(desk: _Desk, done: Pages) -> None:
    """Pages of what does not rest on entries with errors, for the shop's eyes: no PDF, nothing public."""
    sound = assess_sound(desk.order.shop, desk.job.name, desk.shop.siblings)
    if sound is None:
        return
    shop, job, one = sound
    done.waiting = to_row(waits.waiting_of(shop, job, one))
    rest = _Desk(replace(desk.order, pdf=False), shop, job, one, (), Commit())
    photos = _photos(rest, one, [])
    beside = tuple(_further(rest, one, "shop", photos, []))
    done.made["shop"] = _edition(rest, one, "shop", photos, beside)


def _edition(
    desk: _Desk,
    one: Assessment,
    edition: Edition,
    photos: Mapping[str, Prepared],
    beside: Iterable[tuple[Text, str]],
    alone: bool = False,
) -> Made:
    """The report of an edition, and the list of all that belongs to it; ``alone`` without its results."""
    order, name = desk.order, desk.job.name
    shown = {photo.name: photos[photo.name] for photo in one.photos if photo.name in photos}
    further = list(beside)
    written: dict[str, bytes | None] = {"index.html": None}
    if alone or edition == "public" or further not in desk.linked:
        written["index.html"] = _report(desk, one, edition, shown, further).encode()
    if edition == "shop" and not one.without and not alone:
        written["results.json"] = results_json(one)
    for file, data in written.items():
        if data is not None:
            folders.aside(order.out, edition, name, file, data)
    kept = shown if edition == "public" else photos
    pictures = sorted({file for photo in kept.values() for file in (photo.full, photo.small)})
    if edition == "public":
        for file in pictures:
            folders.also(order.out, name, f"photos/{file}")
    pages = [*written, *(address for _, address in further)]
    return Made(
        (*pages, *(f"photos/{file}" for file in pictures)),
        tuple(_papers_of(pages)) if order.pdf else (),
        _listed(desk, one, edition, shown),
    )


def _report(
    desk: _Desk,
    one: Assessment,
    edition: Edition,
    shown: Mapping[str, Prepared],
    further: Sequence[tuple[Text, str]],
) -> str:
    order, name = desk.order, desk.job.name
    first = next((photo for photo in one.photos if photo.name in shown), None)
    picture = f"{name}/photos/{shown[first.name].full}" if first else PREVIEW
    base = site_base(desk.shop.shop.site) if edition == "public" and desk.shop.shop else ""
    known = {"url": permanent(base, f"{name}/index.html"), "image": permanent(base, picture)}
    pdf = "report.pdf" if order.pdf else ""
    return report_html(one, shown, edition, pdf=pdf, further=further, shop=order.shop, **known)


def _papers_of(pages: Iterable[str]) -> Iterator[str]:
    """The PDFs that belong to some pages: all but those for a screen alone have one."""
    for page in pages:
        if page.endswith(".html") and not page.startswith(register.SCREENS):
            yield "report.pdf" if page == "index.html" else page.replace(".html", ".pdf")


def _listed(desk: _Desk, one: Assessment, edition: Edition, shown: Mapping[str, Prepared]) -> entries.Listed:
    """Its place in the lists, with the first picture that it shows."""
    first = next((photo for photo in one.photos if photo.name in shown), None)
    picture, alt = (shown[first.name], first.caption) if first else (None, "")
    with speaking(site_language(desk.shop)):
        entry = entries.entry(one, picture, alt, past=past(desk.shop, desk.job, one))
        listed = entries.listed(entry, edition, desk.order.shop)
    return replace(listed, was=tuple(desk.job.job.was) if desk.job.job else ())


def site_language(shop: ShopFolder) -> Language:
    """What index, engine pages and its papers are in: its language, or English where it has no catalogue."""
    try:
        return language(shop.shop.language, shop.path) if shop.shop else PLAIN
    except UnknownLanguage:
        return PLAIN  # said once, at the jobs


def _photos(desk: _Desk, one: Assessment, problems: list[Problem]) -> dict[str, Prepared]:
    """Its pictures, those that do not stand yet prepared aside."""
    home = desk.order.out / "shop" / desk.job.name / "photos"
    built = folders.building(desk.order.out, "shop", desk.job.name) / "photos"
    files = {photo.name: photo.file for photo in one.photos if photo.file}
    if one.shots:  # the contact sheet shows all that there are
        files |= desk.job.photos
    photos = {}
    for name, file in files.items():
        made = prepare(desk.job.path / file, built, home)
        if made.problem:
            problems.append(_photo_problem(desk.job, name, made.problem))
        else:
            photos[name] = made
    return photos


def _photo_problem(job: JobFolder, name: str, message: str) -> Problem:
    source = job.sources.get("findings")
    if source is not None and name in job.naming:
        return source.problem(("photos", name), message, severity="warning", at="key")
    return Problem(f"{job.name}/photos", 1, 1, "warning", message)


def _further(
    desk: _Desk, one: Assessment, edition: Edition, photos: Mapping[str, Prepared], problems: list[Problem]
) -> Iterator[tuple[Text, str]]:
    """Write every further document of an edition aside; title and address of each.

    A slip in the shop's own texts is told, not fatal: the others stand.
    """
    order, job = desk.order, desk.job
    for sheet, told in desk.sheets(one, edition):
        try:
            view = desk.view(sheet, told, Album(photos, "photos/"), edition)
        except TextProblem as slip:
            message = f"the {english(sheet.title).lower()} is not written: {slip}"
            problems.append(Problem(f"{job.name}/job.yaml", 1, 1, "error", message))
            continue
        file = sheet.file(view)
        pdf = f"{file}.pdf" if order.pdf and not sheet.screen else ""
        page = sheet.html(view, pdf=pdf, shop=order.shop)
        if outside := _told_outside(job, one, sheet, page):
            problems += outside
            continue
        folders.aside(order.out, edition, job.name, f"{file}.html", page.encode())
        yield sheet.title, f"{file}.html"


def _told_outside(job: JobFolder, one: Assessment, sheet: register.Document, page: str) -> list[Problem]:
    """What of the customer's a paper for a machine shop would tell: then it is not written."""
    if sheet.reader != "machine shop":
        return []
    own = ", ".join(one.letterhead.address)  # a customer of the same town lives where the shop is
    private = [text for text in leaks.private_texts(job) if not leaks.leaks(own, [text])]
    leaked = leaks.Net(private).found(in_page(page))
    why = f"would go to a machine shop: the {english(sheet.title).lower()} is not written"
    return leaks.problems(job, leaked, why)


def _leaked(
    desk: _Desk,
    one: Assessment,
    seen: Assessment,
    beside: Iterable[tuple[Text, str]],
    private: list[leaks.Private],
) -> list[Problem]:
    """What private text a public page would tell, or a PDF carry, wherever it was typed."""
    files = ["index.html", *(address for _, address in beside)]
    pages = (folders.standing(desk.order.out, "public", desk.job.name, file).decode() for file in files)
    texts = [text for page in pages for text in in_page(page)] + [extract(seen).decode()]
    own = leaks.of_the_shop(desk.shop.shop) if desk.shop.shop else []
    leaked = leaks.Net(private).found(leaks.without(own, text) for text in texts)
    leaked += [price for text in texts for price in leaks.prices(text, one.cost.currency)]
    return leaks.problems(desk.job, list(dict.fromkeys(leaked)))


def _amounts(one: Assessment) -> list[Decimal]:
    cost = one.cost
    found = [cost.net, cost.total, cost.to_pay, *(line.amount for line in cost.lines)]
    found += [approval.limit for approval in cost.approvals]
    return [amount for amount in found if amount is not None]


# ------------------------------------------------------------------------------- PDFs


def make_papers(*task: Any) -> Papers:
    """The PDFs of a job that have to be made, all of them ready; ``task`` as ``each_paper`` takes it."""
    done = Papers(task[1])
    done.sheets += each_paper(done, *task)
    return done


def each_paper(
    done: Papers,
    order: Order,
    name: str,
    alike: Alike,
    files: dict[str, sources.State],
    known: dict[tuple[str, str], str],
) -> Iterator[Sheet]:
    """One after the other, as it is got ready: those of ``known`` of which what they are made from changed.

    ``done`` is sure when the last was asked for.
    """
    content = sources.contents(files)
    try:
        desk = _desk(order, name, sources.digest(files), alike)
        if sources.contents(sources.states(order.shop / name, files)) != content or desk.one is None:
            return  # no longer what its pages were made from: the next run makes both
        for edition, file, paper in _papers(desk, desk.one, known):
            of = sources.digest(order.made_by.printing, paper.digest())
            if known[edition, file] != of or not (order.out / edition / name / file).is_file():
                yield Sheet(name, edition, file, of, paper)
        done.sure = True
    except Exception as fault:
        if _of_the_machine(fault):
            raise
        done.fault = f"{type(fault).__name__}: {fault}"


def _papers(
    desk: _Desk, one: Assessment, known: Container[tuple[str, str]]
) -> Iterator[tuple[Edition, str, Paper]]:
    """Those of ``known``: another was told of with the pages, and not written, or is begun."""
    order = desk.order
    photos = _photos(desk, one, [])
    reported = desk.noted(one, "report")
    seen: dict[Edition, Assessment] = {"shop": reported}
    if reported.publish:
        seen["public"] = desk.public(reported)
    for edition, told in seen.items():
        if (edition, "report.pdf") in known:
            folder = order.out / edition / desk.job.name / "photos"
            shown = {photo.name: photos[photo.name] for photo in told.photos if photo.name in photos}
            paper = printed_report(told, shown, edition, photo_folder=folder, shop=order.shop)
            yield edition, "report.pdf", paper
    for edition in seen:
        folder = order.out / edition / desk.job.name / "photos"
        for sheet, told in desk.sheets(one, edition):
            if sheet.screen:
                continue
            with suppress(TextProblem):
                view = desk.view(sheet, told, on_paper(photos), edition)
                if (edition, file := f"{sheet.file(view)}.pdf") in known:
                    yield edition, file, sheet.paper(view, told, order.shop, folder)


def print_paper(order: Order, sheet: Sheet) -> Printed:
    """Make one PDF and write it aside; a fault of the renderer stops this one alone."""
    made = Printed(sheet.job, sheet.edition, sheet.file, sheet.of)
    try:
        data = sheet.paper.pdf()
    except (OSError, PdfUnavailable):
        raise
    except Exception as problem:
        return replace(made, fault=f"{type(problem).__name__}: {problem}")
    path = printed_aside(order, made)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    if made.edition == "public":  # read here: it takes a tenth of a second, and one process places all
        made = replace(made, texts=texts_of(path, f"{made.job}/{made.file}"))
    return made


def printed_aside(order: Order, made: Printed) -> Path:
    """Where a PDF waits, by what it was made from: a late one is not taken for another."""
    return folders.building(order.out, f"{made.edition}-{made.of}", made.job) / made.file
