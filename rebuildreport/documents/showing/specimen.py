"""The specimen: every part of the family with sample data, opened first by whoever changes the looks.

A part is a folder ``parts/NAME/``: its macros (``part.html.jinja``), its piece of stylesheet
(``part.css``, and ``screen.css`` where a screen needs more) and how it stands here
(``specimen.html.jinja``: a title, what it is for, and a macro ``show``).  Adding the folder is all:
the page finds it.
"""

from __future__ import annotations

import shutil
from functools import cache
from math import inf
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment, Characteristic, Feature, Limits, LimitSource
from ...assess.publishing.results import from_data
from ...quantities import NOTHING, Typed
from ...trade.life.lifetimes import Lifetime
from ...trade.measuring.verdict import OPEN
from ..drawings.canvas import KEYS, Drawing
from ..drawings.contour import contour
from ..drawings.polar import TurnedView, polar
from ..drawings.scales import NARROW, WIDE, scales
from ..drawings.verdict_marks import Verdict, verdict
from ..press import places, templating
from ..press.frame import Framed, PageFrame
from ..press.letterhead import Letter, letter
from ..press.pdf import Paper
from ..press.photos import Prepared
from ..press.words import SEVERITY, System
from ..record.recordview import MeasurementRecord, measurement_record
from ..report.findings import PRINTED, Album
from ..report.measurements import MeasuredView
from ..report.view import Report, report
from .entries import IndexEntry, entry
from .life_figure import LifeFigure, life_figure

NAME, PDF = "specimen", "specimen.pdf"
PHOTOS = ("before.jpg", "after.jpg", "shells.jpg")


class Sample(Struct, frozen=True):
    """What parts show on the specimen: a whole report, and drawings that its job has no data for."""

    report: Report
    inches: Report
    record: MeasurementRecord
    entry: IndexEntry
    letter: Letter
    verdicts: tuple[Verdict, ...]
    keys: tuple[tuple[str, str], ...]
    scales: tuple[tuple[Verdict, Drawing, Drawing], ...]  # wide and narrow: one of each verdict
    contour: MeasuredView
    polar: MeasuredView
    lives: tuple[LifeFigure, ...]


def specimen_html(
    *,
    for_pdf: bool = False,
    photo_base: str = "",
    pdf: str = "",
    shop: Path | None = None,
) -> str:
    """The specimen as one page; its photos lie at ``photo_base``."""
    jinja = templating.environment(shop)
    names = places.parts(shop)
    titles = []
    for name in names:
        module = jinja.get_template(f"parts/{name}/specimen.html.jinja").module
        titles.append((f"part-{name}", str(module.title)))  # type: ignore[attr-defined]
    return jinja.get_template("specimen.html.jinja").render(
        sheet=Framed(
            PageFrame(
                title="Specimen of every part",
                shop="Specimen",
                head="Specimen of every part",
                description="Every part of the documents with sample data",
                notice="Everything on these pages is invented.",
                sections=tuple(titles),
            )
        ),
        sample=_sample(photo_base),
        parts=names,
        for_pdf=for_pdf,
        assets="../assets/",
        home="" if for_pdf else "../index.html",
        pdf=pdf,
    )


def specimen_pdf(shop: Path | None = None) -> bytes:
    """The same as a PDF; PdfUnavailable (see pdf.py) where this machine cannot make one."""
    page = specimen_html(for_pdf=True, photo_base=PRINTED, shop=shop)
    own, style = places.own_templates(), places.stylesheet(shop=shop)
    return Paper(page, style, own, places.folders(shop), sample().as_of, photos=own / "specimen").pdf()


@cache
def sample() -> Assessment:
    """A small invented job in which every part and every verdict occurs (``specimen/sample.yaml``)."""
    import yaml

    data = yaml.load(places.find("specimen/sample.yaml").read_text("utf-8"), yaml.CSafeLoader)
    del data["common"]  # has only what its values share
    return from_data(data)


def copy_photos(folder: Path) -> None:
    """The specimen's photos, into the folder of its page."""
    for name in PHOTOS:
        shutil.copyfile(places.find(f"specimen/{name}"), folder / name)


def _sample(base: str) -> Sample:
    album = Album(
        {name.partition(".")[0]: Prepared(name, name, 800, 600, 800, 600) for name in PHOTOS}, base, True
    )
    one = sample()
    return Sample(
        report=report(one, album, "shop"),
        record=measurement_record(one),
        inches=report(replace(one, system="in"), album, "shop"),
        entry=entry(one),
        letter=letter(one, "Report", "issue 1"),
        verdicts=tuple(verdict(name) for name in reversed(SEVERITY)),
        keys=tuple(KEYS.items()),
        scales=tuple((verdict(name), *_scale(name)) for name in reversed(SEVERITY) if name != "not measured"),
        contour=_contour(),
        polar=_polar(),
        lives=(life_figure("water pump", _lives(), "h"),),
    )


def _lives() -> list[Lifetime]:
    """Twenty units of which ten failed in 500 h (NIST/SEMATECH e-Handbook, 8.4.1.3)."""
    ages = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
    return [*(Lifetime(age, age) for age in ages), *[Lifetime(500, inf)] * 10]


def _scale(name: str) -> tuple[Drawing, Drawing]:
    """One value for each verdict; without a value there is only the mark."""
    limits = Limits((0.050, 0.110), (None, 0.150), (0.050, 0.150), "wear", LimitSource(Typed("sample")), 3)
    if name == "no limit on file":
        limits = Limits(OPEN, OPEN, OPEN, "wear", LimitSource(NOTHING), 3)
    values = {"as new": 0.080, "serviceable": 0.130, "too close to call": 0.149, "beyond limit": 0.172}
    measured = (values.get(name, 0.090), "mm", 0.0016, 0.0026, limits, name)
    one = Characteristic("clearance", "smallest", "M1", "arrival", *measured)  # type: ignore[arg-type]
    feature = Feature("clearance", Typed("clearance"), "clearance", "mm", "", NOTHING, (), {})
    return scales(one, None, feature, "mm", WIDE)[0], scales(one, None, feature, "mm", NARROW)[0]


def _contour() -> MeasuredView:
    heights = (
        (0.00, 0.02, 0.05, 0.04, 0.01),
        (-0.01, 0.01, 0.06, 0.05, 0.00),
        (-0.03, -0.01, 0.02, 0.02, -0.02),
    )
    system: System = "mm"
    wide, narrow = (contour(heights, "mm", 2, system, "Head face", width) for width in (WIDE, NARROW))
    note = "Height over the plane that fits best. Lines below it are broken, the plane itself is heavy."
    return MeasuredView("sample-contour", "Head face, flatness", "mm", note, (wide,), (narrow,))


def _polar() -> MeasuredView:
    bent = {"M1": 0.0, "M2": 0.012, "M3": 0.021, "M4": 0.024, "M5": 0.018, "M6": 0.009, "M7": 0.0}
    # readings every 45 degrees of a journal whose centre lies off the axis towards 45 degrees
    wheel = (1.0, 0.707, 0.0, -0.707, -1.0, -0.707, 0.0, 0.707)
    turned = [
        TurnedView(
            name,
            tuple((45.0 * k, round(off * wheel[(k - 1) % 8], 4)) for k in range(8)),
            (round(0.707 * off, 4), round(0.707 * off, 4)),
            off > 0.02,
        )
        for name, off in bent.items()
    ]
    drawings = [
        polar(turned, "mm", 3, "mm", "Main journals turned on their ends", width) for width in (WIDE, NARROW)
    ]
    note = (
        "Journals turned on the two outer ones. The arrow is the offset of the centre, "
        "half of what the dial runs out."
    )
    return MeasuredView("sample-polar", "Crankshaft, runout", "mm", note, (drawings[0],), (drawings[1],))
