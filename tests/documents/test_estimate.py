"""The estimate, the statement and the purchase list as their readers meet them, in both languages."""

from __future__ import annotations

import csv
import html
import io
import re
import subprocess
from datetime import date
from decimal import Decimal
from pathlib import Path

import pikepdf
import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.model.prices import Against, Approval, Difference, LineChange, Option
from rebuildreport.documents.press import language as languages
from rebuildreport.documents.press.language import language
from rebuildreport.documents.press.standing_texts import NAMES, TextProblem, written
from rebuildreport.documents.sheets import register
from rebuildreport.documents.sheets.estimate import statement
from rebuildreport.quantities import Typed, english
from rebuildreport.records import load_shop

ROOT = Path(__file__).resolve().parents[2]
D = Decimal


@pytest.fixture(scope="module")
def six() -> Assessment:
    folder = load_shop(ROOT / "jobs", ["2026-003-orchard-six"])
    return assess_job(folder, folder.jobs["2026-003-orchard-six"])


def words(page: str) -> str:
    """A page's text as a reader sees it."""
    body = re.sub(r"<(style|head).*?</\1>", " ", page, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u00a0", " ").split())


def page_of(name: str, one: Assessment, shop: Path | None = None) -> str:
    """One further document as its page."""
    sheet = register.named(name)
    return sheet.html(sheet.view(one, shop), shop=shop)


def pdf_of(name: str, one: Assessment) -> bytes:
    sheet = register.named(name)
    return sheet.pdf(sheet.view(one, None), one)


def option(name: str, total: str, minimum: bool = False) -> Option:
    zero = D("0.00")
    return Option(
        name, name.capitalize(), False, (), zero, zero, D(total), D("400.00"), minimum,
        (Typed("clutch"),) if minimum else (), "two weeks",
        ("quick", "unknown inside"), ("clutch",), "the seller's",
    )  # fmt: skip


def changed(one: Assessment) -> Assessment:
    """The same job with more than was approved: one line new, one dropped, one without a reason."""
    approval = Approval(date(2026, 2, 16), "customer", "e-mail", D("7000.00"), "", 2, date(2026, 3, 1))
    lines = (
        LineChange(
            "new",
            Typed("oil cooler"),
            "OC",
            None,
            D("148.00"),
            D("148.00"),
            Typed("debris in it"),
            17,
        ),
        LineChange("dropped", Typed("used crank"), "", D("50.00"), None, D("-50.00"), Typed(""), None),
    )
    because = Difference(
        date(2026, 2, 20), "cooler full of debris", "one week later", ("a used cooler",), "dirt runs again"
    )
    against = Against(
        approval,
        2,
        one.cost.total - D("117.60"),
        one.cost.total,
        D("19.60"),
        lines,
        D("513.08"),
        5,
        (because,),
    )
    cost = replace(one.cost, against=against, over_by=D("513.08"), options=(option("exchange", "5100.00"),
                   option("repair", "900.00", True)))  # fmt: skip
    return replace(one, cost=cost)


def test_amounts_of_the_demo_add_up_as_printed(six: Assessment) -> None:
    """What is printed is added here by integers, and comes to the sums of the demo."""
    page = page_of("estimate", six)
    printed = re.findall(r'<td class="r each">[\d.]*</td><td class="r amount">(-?[\d.]+)', page)
    coins = [int(one.replace(".", "")) for one in printed]
    assert len(coins) == 32 and sum(coins) == 626090
    text = words(page)
    for amount in ("2491.90", "1113.00", "2656.00", "6260.90", "1252.18", "7513.08", "40.00", "7553.08"):
        assert amount in text, amount


@pytest.mark.parametrize("kind", ["estimate", "statement"])
@pytest.mark.parametrize("tag", ["en", "de"])
def test_every_link_leads_somewhere(six: Assessment, kind: str, tag: str) -> None:
    page = page_of(kind, replace(changed(six), language=tag))
    ids = set(re.findall(r'\bid="([^"]+)"', page))
    links = set(re.findall(r'href="#([^"]+)"', page))
    assert links and links <= ids
    assert f'<html lang="{tag}">' in page


@pytest.mark.parametrize("name", ["2026-003-orchard-six", "2026-004-twin-cam"])
def test_every_line_of_the_demo_says_because_of_what(name: str) -> None:
    folder = load_shop(Path(__file__).resolve().parents[2] / "jobs", [name])
    one = assess_job(folder, folder.jobs[name])
    assert [line.name for line in one.cost.lines if not line.because and not line.findings] == []
    assert not any("no reason written" in english(said) for said in one.in_the_files)


def test_a_line_without_a_reason_says_so_and_check_asks_for_it(six: Assessment) -> None:
    lines = tuple(
        replace(one, because=()) if english(one.name) == "assemble" else one for one in six.cost.lines
    )
    page = words(page_of("estimate", replace(six, cost=replace(six.cost, lines=lines))))
    assert "assemble for the work as a whole 21.0" in page
    decision = six.decisions[0]
    lines = tuple(replace(one, decisions=(decision.id,)) if not one.because else one for one in lines)
    page = words(page_of("estimate", replace(six, cost=replace(six.cost, lines=lines))))
    assert (
        f"assemble {' '.join(decision.why.split()[:2])}" in page
    )  # the line is for it, and so for its reason


def test_a_line_links_to_the_finding_that_it_rests_on(six: Assessment) -> None:
    """The exhaust guides: found worn (finding 9)."""
    row = next(one for one in page_of("estimate", six).split("<tr ") if ">VG-E<" in one)
    assert re.findall(r'href="#([^"]+)"[^>]*>(\d+)<', row) == [("finding-F9", "9")]


def test_what_differs_from_the_approval_is_told_line_by_line(six: Assessment) -> None:
    text = words(page_of("estimate", changed(six)))
    assert "Approved on 16 February 2026, customer, e-mail: up to 7000.00 EUR." in text
    assert "new oil cooler \u2013 148.00 +148.00 debris in it" in text
    assert "dropped used crank 50.00 \u2013 \u221250.00 no reason written" in text
    assert "Tax on the difference +19.60" in text and "Total 7395.48 7513.08 +117.60" in text
    assert "Ready 5 days later than promised." in text
    assert "Other ways: a used cooler." in text and "If nothing is done: dirt runs again." in text
    over = "513.08 EUR above what you approved."
    assert f"Your approval after the fact: it is 7513.08 EUR, {over}" in text
    going_on = words(page_of("estimate", replace(changed(six), stage="assembly")))
    assert f"Your approval: it comes to 7513.08 EUR, {over} Work stops until then." in going_on


def test_options_stand_side_by_side(six: Assessment) -> None:
    assert "Ways to go on" not in words(page_of("estimate", changed(six))), "of a finished job"
    cost = replace(changed(six).cost, approvals=(), over_by=None)
    text = words(page_of("estimate", replace(six, cost=cost, stage="decision")))
    assert "Ways to go on Exchange Repair with tax 5100.00 EUR at least 900.00 EUR" in text
    assert "not priced clutch" in text and "not included clutch clutch" in text


def test_german_as_printed(six: Assessment) -> None:
    """Dates and amounts as CLDR has them for German; nothing that the estimate derives stays English."""
    text = words(page_of("estimate", replace(changed(six), language="de")))
    assert "Kostenvoranschlag:" in text and "7.513,08 EUR" in text and "16. Februar 2026" in text
    assert "Steuer, 20 % 1.252,18" in text and "Teile 2.491,90" in text
    assert "bei jeder Instandsetzung" in text and "Laufbuchsenbohrungen außerhalb (" in text
    for phrase in (
        "with every rebuild",
        "beyond limit",
        "Approval",
        "because",
        "not priced",
        "Total",
        "Terms",
        "lines",
    ):
        assert not re.search(rf"\b{phrase}\b", text.partition("Worauf")[0]), phrase


def test_other_places_have_their_own_signs(six: Assessment) -> None:
    """Against Babel itself, the library of the locale data (CLDR)."""
    from babel.numbers import format_decimal

    for tag in ("en_GB", "de_CH"):
        shown = language(tag).amount(D("7513.08"))
        assert shown == format_decimal(D("7513.08"), "#,##0.00", tag)
    assert language("en_US").day(date(2026, 3, 5)).replace("\u00a0", " ") == "March 5, 2026"
    assert language("en_GB").amount(D("-1200"), 0) == "\u22121,200"


@pytest.mark.parametrize("tag", ["xx", "nonsense_", "fr", ""])
def test_a_language_that_there_is_not(tag: str) -> None:
    with pytest.raises(languages.UnknownLanguage, match="de"):
        language(tag)


def test_standing_texts_have_both_languages_and_the_same_words() -> None:
    for name in (*NAMES, "mail"):
        both = [(ROOT / "templates/texts" / f"{name}.{tag}.md").read_text("utf-8") for tag in ("en", "de")]
        assert len({tuple(sorted(re.findall(r"\{\w+\}", text))) for text in both}) == 1, name


def test_the_shops_own_text_comes_first_and_slips_are_named(tmp_path: Path, six: Assessment) -> None:
    folder = tmp_path / "templates" / "texts"
    folder.mkdir(parents=True)
    (folder / "terms.en.md").write_text("Pay *{shop}* <b>now</b>.\n\nFor {nothing}.\n", "utf-8")
    with pytest.raises(TextProblem, match=r"terms\.en\.md: there is no \{nothing\}"):
        page_of("estimate", six, shop=tmp_path)
    (folder / "terms.en.md").write_text("Pay *{shop}* <b>now</b>.\n", "utf-8")
    page = page_of("estimate", six, shop=tmp_path)
    assert "<p>Pay <em>Old Mill Engine Works</em> &lt;b&gt;now&lt;/b&gt;.</p>" in page
    german = page_of("estimate", replace(six, language="de"), shop=tmp_path)
    assert "Bedingungen" in german and "Pay" not in german


def test_a_paragraph_without_its_words_goes() -> None:
    values = {"not_covered": "", "contact": "the counter", "lasts": "a year", "conditions": ""}
    assert "Not covered" not in written("warranty", language("en"), values)


def test_the_statement_stands_by_the_work_as_the_report_does(six: Assessment) -> None:
    """Until when, on what condition, and what was not looked at or kept by a deviation."""
    text = dict(statement(six).standing)["Warranty"]
    for words in (
        "from 9\N{NO-BREAK SPACE}March\N{NO-BREAK SPACE}2026 (9412 h) to 9\N{NO-BREAK SPACE}March",
        "oil changed when due",
        "Seat of the cam gear on the camshaft",
        "deviation V1",
    ):
        assert words.lower() in text.lower(), (words, text)


def test_the_pdf_carries_its_lines_and_is_the_same_twice(six: Assessment, pdf_renderer: None) -> None:
    """Read back by pikepdf (the C++ library qpdf), the lines by the csv module of the standard library."""
    data = pdf_of("estimate", six)
    assert pdf_of("estimate", six) == data
    with pikepdf.open(io.BytesIO(data)) as document:
        rows = list(
            csv.DictReader(
                io.StringIO(bytes(document.attachments["lines.csv"].get_file().read_bytes()).decode())
            )
        )
    assert sum(D(row["amount"]) for row in rows) == D("6260.90")
    assert rows[0]["number"] == "LK98" and rows[0]["tax_percent"] == "20"


def test_german_pages_are_numbered_in_german(
    six: Assessment, pdf_renderer: None, pdftoppm: str, tmp_path: Path
) -> None:
    path = tmp_path / "e.pdf"
    path.write_bytes(pdf_of("estimate", replace(six, language="de")))
    text = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True).stdout
    assert re.search(r"Seite 1 von \d", text.replace("\u00a0", " "))


def test_purchases_by_supplier(six: Assessment) -> None:
    text = words(page_of("purchase-list", six))
    assert "Purchase list" in text
    for part in ("LK98", "OP-X", "HB"):
        assert part in text


def test_a_line_has_one_reason_of_six_words_at_most(six: Assessment) -> None:
    """A longer one belongs to the finding: of a list the first that is short enough, or its first clause."""
    long = Typed("all of the flakes that went round lodge there, and no wash is known to reach them")
    for because, said in (((long, Typed("full of debris")), "full of debris"), ((long,), "lodge there")):
        lines = tuple(
            replace(line, because=because) if line.number == "OC" else line for line in six.cost.lines
        )
        text = words(page_of("estimate", replace(six, cost=replace(six.cost, lines=lines))))
        assert said in text and "no wash is known" not in text


def test_needed_and_to_order_are_two_columns_of_numbers(six: Assessment) -> None:
    """Read together, 1 and 1 are 11: both columns are set to the right, each below its own head."""
    (table,) = re.findall(
        r'<table class="plain purchases[ "].*?</table>', page_of("purchase-list", six), re.S
    )[:1]
    heads = re.findall(r"<th[^>]*>([^<]*)</th>", table)
    row = re.findall(r"<td([^>]*)>([^<]*)</td>", table)[: len(heads)]
    cells = {head: (look, text) for head, (look, text) in zip(heads, row, strict=True)}
    assert all(' class="r"' in cells[head][0] for head in ("needed", "to order"))


def test_the_table_of_reasons_says_nothing_twice(six: Assessment) -> None:
    """Every row but a finding's explains a line that no row above it explains."""
    basis = statement(six).basis
    assert basis is not None
    explained: set[str] = set()
    for what, *_, lines in basis.rows:
        named = set(re.findall(r"\d+", lines))
        assert what.startswith("finding") or not named <= explained, (what, lines)
        explained |= named
    reasons = {str(one.line) for one in six.cost.lines if one.findings or one.decisions or one.values}
    assert explained >= reasons


def test_declined_work_is_settled_by_a_statement() -> None:
    folder = load_shop(ROOT / "jobs", ["2026-008-river-launch"])
    one = assess_job(folder, folder.jobs["2026-008-river-launch"])
    assert {"statement"} == {what.name for what in register.further(one)} & {"statement", "estimate"}
    owed = replace(one, cost=replace(one.cost, balance=D("728.28")))
    said = words(page_of("statement", owed)), words(page_of("report", owed))
    assert all("Payment of 728.28 EUR" in text and "0.00 EUR" not in text for text in said)
