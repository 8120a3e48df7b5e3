"""The register of documents: every document of a job, whom it is for, when a job has it, what makes it.

To add one: a module with a function from an Assessment to its view (``Framed``), a template, and a line in
``DOCUMENTS``.  ``publish`` writes each as page and PDF and links it on the report of the shop edition; what
is ``issued`` can be frozen.  tests/documents/test_register.py names what a new one still lacks.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Literal, Protocol

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.model.prices import PAYABLE
from ...quantities import Sentence, Text
from ..bench.benchpage import bench_page
from ..bench.benchsheet import bench_sheet
from ..press.frame import Framed
from ..press.language import language, speaking
from ..press.pdf import Paper
from ..record.recordview import measurement_record
from ..report.findings import NO_PHOTOS, Album
from ..report.rendering import page, printed
from ..report.view import Edition, report
from .accesspage import access_page
from .buildsheet import build_sheet
from .contactsheet import contact_sheet
from .estimate import estimate, statement
from .labels import label_sheets
from .machiningorder import machining_orders
from .purchaselist import purchase_list
from .teardownsheet import teardown_sheet


class View(Protocol):
    """Makes a document with the shop's texts and the photos of an album, in the language that is spoken."""

    def __call__(self, job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, /) -> Framed: ...


class Document(Struct, frozen=True):
    """One document of a job."""

    name: str  # of its files and in the register of issues
    title: Text  # of the link that leads to it
    reader: Literal["customer", "shop", "machine shop"]
    wanted: Callable[[Assessment], bool]  # whether a job has it by now
    made: View
    issued: bool = False  # it can be frozen as it leaves the shop
    public: View | None = None  # makes that of the public edition, where it has one
    pictured: bool = False  # it shows photos of the album
    screen: bool = False  # for a screen alone: it has no PDF, and a frame of its own
    template: str = ""  # where it is not called as itself

    def view(
        self, job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, edition: Edition = "shop"
    ) -> Framed:
        """Its view: the customer's in the language of the job, papers of the shop in the shop's.

        Raises UnknownLanguage and TextProblem where the shop's files ask for what there is not.
        """
        tag = job.language if self.reader == "customer" else job.shop_language
        with speaking(language(tag, shop)):
            make = self.made if edition == "shop" or self.public is None else self.public
            return make(job, shop, album)

    def file(self, view: Framed) -> str:
        """Name of its files, without ending."""
        return f"{self.name}-{view.frame.of}" if view.frame.of else self.name

    def html(self, view: Framed, pdf: str = "", shop: Path | None = None) -> str:
        """Its page, beside the report that it belongs to; ``pdf`` is the address of the same as a PDF."""
        return page(self.template or self.name, view, pdf=pdf, shop=shop)

    def paper(
        self, view: Framed, job: Assessment, shop: Path | None = None, photo_folder: Path | None = None
    ) -> Paper:
        """The same as it goes to the renderer; raises as ``printed`` does."""
        return printed(self.template or self.name, view, job, shop, photo_folder)

    def pdf(
        self, view: Framed, job: Assessment, shop: Path | None = None, photo_folder: Path | None = None
    ) -> bytes:
        """The same as PDF bytes; raises as ``Paper.pdf`` does."""
        return self.paper(view, job, shop, photo_folder).pdf()


def _report(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, /) -> Framed:
    return report(job, album, "shop")


def _record(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, /) -> Framed:
    return measurement_record(job)


def _public_record(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, /) -> Framed:
    return measurement_record(job, public=True)


def _labelled(job: Assessment) -> bool:
    """Whether the shop has sheets of labels, and anything was told apart."""
    return job.labels is not None and any(entry.kind == "identity" for entry in job.bench.register.entries)


def _built(job: Assessment) -> bool:
    """Whether there is anything to put together yet, and not for good."""
    build = job.bench.build
    return bool(build.pages) and (build.begun or job.stage != "declined")


def _is_due(job: Assessment) -> bool:
    """Whether anything is to be measured, and was asked for."""
    return job.due is not None


REPORT = Document(
    "report", Sentence("Report"), "customer", lambda job: True, _report, issued=True, pictured=True
)
# in the order in which the report links them
DOCUMENTS = (
    REPORT,
    Document(
        "measurement-record",
        Sentence("Measurement record"),
        "customer",
        lambda job: bool(job.tables),
        _record,
        issued=True,
        public=_public_record,
    ),
    Document(
        "teardown-sheet",
        Sentence("Teardown sheet"),
        "shop",
        lambda job: bool(job.apart.lines),
        teardown_sheet,
        pictured=True,
    ),
    Document("access-plan", Sentence("Access plan"), "shop", lambda job: job.access is not None, access_page),
    Document(
        "contact-sheet",
        Sentence("Contact sheet"),
        "shop",
        lambda job: bool(job.shots),
        contact_sheet,
        pictured=True,
    ),
    Document("labels", Sentence("Labels"), "shop", _labelled, label_sheets),
    Document(
        "estimate",
        Sentence("Estimate"),
        "customer",
        lambda job: bool(job.cost.lines) and job.stage not in PAYABLE,
        estimate,
        issued=True,
    ),
    # of work that is finished, or declined: none before, and no estimate from then on but what was issued
    Document(
        "statement",
        Sentence("Final statement"),
        "customer",
        lambda job: bool(job.cost.lines) and job.stage in PAYABLE,
        statement,
        issued=True,
        template="estimate",
    ),
    Document(
        "purchase-list",
        Sentence("Purchase list"),
        "shop",
        lambda job: bool(job.cost.purchases),
        purchase_list,
    ),
    Document("build-sheet", Sentence("Build sheet"), "shop", _built, build_sheet),
    Document(
        "machining-order",
        Sentence("Machining order"),
        "machine shop",
        lambda job: bool(job.orders),
        machining_orders,
    ),
    Document("bench-sheet", Sentence("Bench sheet"), "shop", _is_due, bench_sheet),
    Document("bench-page", Sentence("Bench page"), "shop", _is_due, bench_page, screen=True),
)
SCREENS = tuple(document.name for document in DOCUMENTS if document.screen)
ISSUED = tuple(document.name for document in DOCUMENTS if document.issued)


def further(job: Assessment, edition: Edition = "shop") -> tuple[Document, ...]:
    """The documents that a job has by now beside its report, in one of the editions."""
    found = (document for document in DOCUMENTS if document is not REPORT and document.wanted(job))
    return tuple(document for document in found if edition == "shop" or document.public is not None)


def named(name: str) -> Document:
    """One document by its name.

    >>> named("statement").reader
    'customer'
    """
    return next(document for document in DOCUMENTS if document.name == name)
