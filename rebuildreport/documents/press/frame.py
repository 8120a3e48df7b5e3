"""What every document of one job tells the frame that it is set in (``sheet.html.jinja``)."""

from __future__ import annotations

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...quantities import message
from .language import say, spoken
from .letterhead import Letter, letter
from .pdf import Attached
from .words import day


class PageFrame(Struct, frozen=True):
    """Head, foot and contents of a document."""

    title: str
    shop: str
    head: str
    description: str
    lang: str = "en"
    contact: str = ""
    notice: str = ""
    sections: tuple[tuple[str, str], ...] = ()
    of: str = ""  # what tells its file from others of its sort: a round
    style: str = ""  # stylesheet of its own, after the family's
    carries: tuple[Attached, ...] = ()  # files inside its PDF
    paper: str = "A4"
    letter: Letter | None = None  # the head of what a customer is written
    call: str = ""  # on papers without such a head: the shop's number
    without: str = ""  # file and lines of errors: what rests on them is missing


class Framed(Struct, frozen=True):
    """A document: its own view adds what stands between head and foot."""

    frame: PageFrame


def framed(
    job: Assessment,
    document: str,
    title: str,
    issued: str = "",
    *,
    named: bool = True,
    lettered: bool = False,
    sections: tuple[tuple[str, str], ...] = (),
    of: str = "",
    style: str = "",
    carries: tuple[Attached, ...] = (),
) -> PageFrame:
    """The frame of one document of a job, in the language that is spoken.

    ``document`` is its sort as printed, ``issued`` its name in the register of issues ("" where it never
    is); without ``named`` neither the job nor its day stands in it: what goes to a machine shop;
    with ``lettered`` it begins with the head of a letter to the customer.
    """
    engine = job.engine.full_name
    head, description = f"{document} · {engine}", f"{document}, {engine}"
    if named:
        words = message("Job {job} · {engine} · {document}, {state}")
        head = say(words, job=job.number, engine=engine, document=document, state=issue_state(job, issued))
        description = f"{document}: {job.number}, {engine}"
    return PageFrame(
        title=title,
        shop=job.shop,
        head=head,
        description=description,
        lang=spoken().code,
        contact=job.contact,
        notice=job.notice,
        sections=sections,
        of=of,
        style=style,
        carries=carries,
        paper=job.paper,
        letter=letter(job, document, issue_state(job, issued)) if lettered else None,
        call="" if lettered else job.letterhead.telephone,
        without="; ".join(job.without),
    )


def numbers_after(heads: str) -> str:
    """Rules by which the number of a page stands behind the part that goes on on it from the page before.

    ``heads`` selects the headings of parts.  Of a part that goes on the name says so: below its end
    another may begin, and the page is about both.
    """
    page, among, further = say("page"), say("of"), say(", continued")
    number = f'"{page} " counter(page) " {among} " counter(pages)'
    return (
        f'{heads}{{string-set:part content(),on " · "}}{heads}+*{{string-set:on "{further} · "}}'
        f"@page{{@bottom-left{{width:42%;padding-top:3.5mm}}"
        f"@bottom-right{{content:string(part,start) string(on,start) {number};width:58%;padding-top:3.5mm}}}}"
    )


def issue_state(job: Assessment, issued: str) -> str:
    """'issue 2, 5 March 2026', or the day of the newest record."""
    note = job.issue if issued else None
    if note is not None and note.frozen(issued):
        words = message("issue {number}, {day}, after {seal}" if note.after else "issue {number}, {day}")
        return say(words, number=note.number, day=day(note.date), seal=note.after)
    if note is not None and note.number is not None and note.later:
        return say("changed since issue {number}, as of {day}", number=note.number, day=day(job.as_of))
    return say("as of {day}", day=day(job.as_of))
