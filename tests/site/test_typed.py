"""What people type is text and nothing else: no markup, no template, no address that is fetched."""

from __future__ import annotations

import re
import shutil
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from rebuildreport.documents.press import templating
from rebuildreport.records.files.choosing import Stock
from rebuildreport.records.files.rounds import RoundRecord
from rebuildreport.records.files.sheet import Engine
from rebuildreport.records.files.shop import Shop
from rebuildreport.records.load import JOB_FILES, load_shop
from rebuildreport.site.making import work
from rebuildreport.site.publishing import publish

from .conftest import FOUR, SIX, quick

TYPED = "<b-leak onload=x> {{7*7}} {% x %} ![i](http://x.invalid/i) [l](javascript:x) <!-- ]]> &lt;"
# every key of the demo that takes any text
KEYS = re.compile(
    r"address|after|application|arrangement|bank_account|before|came_with|caption|caution|check"
    r"|comes_back|complaint|component|contact|count|covers|crank_at|cylinder_1_at|date_effect"
    r"|doing_nothing|done_at|email|factory|finish|firing_order|fluid|found|front|fuel|goes_along|good"
    r"|grade|hold|how|if_stopped|joint|leaks|lubricant|maker|manual|mark|measured|meter|meter_from"
    r"|meter_until|model|name|never|next_time|noises|note|notice|oil_change|old_parts|order|ordered_by"
    r"|orientation|photos|priming|ran|reference|registration|removed|report|retorque|rotation|sealant"
    r"|seen|serial|shop|shop_mark|signed|source|state|stood_out|summary|supplier|symptom|task"
    r"|tax_number|telephone|text|title|to|told_by|verified|verify|washer|where|why|wish|witness|work"
    r"|alternatives|answer|cause|condition|conditions|customer_brings|damage|disturbs|do|documents|done|drive"
    r"|freed|holds|known_from|leave|loses|needs_from_customer|no_more|not_covered|not_included|not_opened"
    r"|not_with|number|oil_holes|order_number|remedy|risk|saves|stop_if|stopped|supersedes|time|tools"
    r"|uses_up|what|customer_number"
)
# text that names something of the files, or of a list of ours: anything else there is an error
NAMES = frozenset(
    re.findall(
        r"\w+",
        """
about access always assemblies at banks by candidates choices clamps class classes clearance codes
codes_void column columns contains copy_to currency decisions deviations direction document enclose
engine engines fasteners feature features fillet finding findings first fit follows for grades halves
height housing housing_bands inner instrument instruments joints journal journal_bands kind language
lash layout limits lines link logo lowers machining matching material measure needs new of off only options
other outer oversizes pages part parts photo pieces pistons position positions price_limits public_words
raises reached reading readings renewed replace_with rods rows runout sender sequence server set_from
sets shells shim shims shows site size sizes sleeve_oversizes states stretch supplied table tables
target tax_on tensioner thread tighten tool treated undersizes unit until use user warranty was wear
with counterweight oil throws pressure_trace signing_key suppliers
""",
    )
)


def _keys(model: type[BaseModel], found: dict[type[BaseModel], set[str]]) -> None:
    """The keys of all models below one that take text."""
    if model in found:
        return
    found[model] = set()
    for name, field in model.model_fields.items():
        kinds = [field.annotation]
        for kind in kinds:
            kinds += get_args(kind)
            if isinstance(kind, type) and issubclass(kind, BaseModel):
                _keys(kind, found)
        if str in kinds:
            found[model].add(field.alias or name)


def test_every_text_of_the_files_is_tried_or_names_something() -> None:
    found: dict[type[BaseModel], set[str]] = {}
    for model in (Shop, Engine, Stock, RoundRecord, *JOB_FILES.values()):
        _keys(model, found)
    keys = {key for keys in found.values() for key in keys}
    assert len(keys) > 200
    assert not {key for key in keys if not KEYS.fullmatch(key)} - NAMES


def _with_more(line: str) -> str:
    """A line of YAML with the text at the end of what was typed there."""
    match = re.match(r"^(\s*(?:- )?)(\w+): (.+)$", line)
    if not match or not KEYS.fullmatch(match[2]) or match[3].startswith(("'", '"')):
        return line
    if match[3] in (">-", ">", "|"):
        return f"{line}\n{' ' * (len(match[1]) + 2)}{TYPED}"
    typed = match[3].split("  #")[0].replace("'", "''")
    return f"{match[1]}{match[2]}: '{typed} {TYPED}'"


class _Page(HTMLParser):
    """Tags and attributes that are not ours."""

    def __init__(self) -> None:
        super().__init__()
        self.strange: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "b-leak" or any(name.startswith("on") for name, _ in attrs):
            self.strange.append(str(self.get_starttag_text()))
        for name, value in attrs:
            if name in ("href", "src", "action", "style") and re.search(
                r"^(?!#).*(x\.invalid|javascript)", value or ""
            ):
                self.strange.append(str(self.get_starttag_text()))

    def handle_data(self, data: str) -> None:
        self.text += data


def test_no_typed_text_is_markup_on_any_page(shop: Path, tmp_path: Path) -> None:
    shutil.rmtree(shop / SIX)
    changed = 0
    for file in [
        shop / "shop.yaml",
        *(shop / FOUR).rglob("*.yaml"),
        *(shop / "engines").glob("drennick*.yaml"),
    ]:
        old = file.read_text("utf-8")
        file.write_text("\n".join(map(_with_more, old.split("\n"))), "utf-8")
        changed += file.read_text("utf-8").count(TYPED)
    assert changed > 100
    result = quick(shop, tmp_path / "out")
    assert (tmp_path / "out" / "shop" / FOUR / "index.html").is_file(), result.problems
    told = 0
    for file in (tmp_path / "out").rglob("*.html"):
        page = _Page()
        page.feed(file.read_text("utf-8"))
        assert not page.strange, (file.name, page.strange[:3])
        told += page.text.count("{{7*7}}")
    assert told > 50


def test_no_typed_text_is_markup_in_what_is_printed(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed: list[str] = []
    shutil.rmtree(shop / SIX)
    lines = {path: path.read_text("utf-8").split("\n") for path in (shop / FOUR).rglob("*.yaml")}
    left: set[tuple[str, int]] = set()  # where such a text is an error: a job with errors has no PDFs
    while True:
        for path, old in lines.items():
            name = path.relative_to(shop).as_posix()
            new = (line if (name, n) in left else _with_more(line) for n, line in enumerate(old, 1))
            whole = "\n".join(line if "\n" not in line else line.split("\n")[0] for line in new)
            path.write_text(whole, "utf-8")
        wrong = {
            (one.file, one.line) for one in load_shop(shop, [FOUR]).all_problems if one.severity == "error"
        }
        if wrong <= left:
            break
        left |= wrong

    def print_paper(order: work.Order, sheet: work.Sheet) -> work.Printed:
        printed.append(sheet.paper.html)
        return work.Printed(sheet.job, sheet.edition, sheet.file, "", "not printed")

    monkeypatch.setattr(work, "print_paper", print_paper)
    monkeypatch.setattr("rebuildreport.site.publishing.specimen.specimen_pdf", lambda shop: b"")
    monkeypatch.setattr("rebuildreport.documents.press.pdf.available", lambda: True)
    publish(shop, tmp_path / "out")
    assert sum(html.count("{{7*7}}") for html in printed) > 50
    for html in printed:
        page = _Page()
        page.feed(html)
        assert not page.strange


def test_a_script_in_the_shops_logo_is_no_part_of_a_page(begun: Path, tmp_path: Path) -> None:
    svg = "<svg xmlns='http://www.w3.org/2000/svg' onload='x()'><script>secret</script></svg>"
    (begun / "logo.svg").write_text(svg, "utf-8")
    file = begun / "shop.yaml"
    file.write_text("logo: logo.svg\n" + file.read_text("utf-8"), "utf-8")
    quick(begun, tmp_path / "out")
    texts = [page.read_text("utf-8") for page in (tmp_path / "out").rglob("*.html")]
    assert any("data:image/svg+xml" in text for text in texts)
    assert not any("secret" in text or "onload" in text for text in texts)


@pytest.mark.parametrize(
    "template",
    [
        "{{ 1 / 0 }}",
        "{{ cycler.__init__.__globals__.os.listdir('/') }}",
        "{% include '/etc/passwd' %}",
        "{% include '../shop.yaml' %}",
        "{% for one in range(1000000000000) %}x{% endfor %}",
        "{% for one in range(99999) %}{% for other in range(99999) %}x{% endfor %}{% endfor %}",
        "{% if %}",
        "{{ nothing.of.the.kind }}",
    ],
)
def test_a_template_of_the_shops_that_fails_or_reads_files_is_told(
    begun: Path, tmp_path: Path, template: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(templating, "ENDLESS", 1.0)
    (begun / "templates").mkdir()
    (begun / "templates" / "report.html.jinja").write_text(template, "utf-8")
    result = quick(begun, tmp_path / "out")
    assert result.exit_status == 1
    named = {one.file: one for one in result.problems}
    assert "please report" not in "".join(one.message for one in result.problems)
    assert (named["templates/report.html.jinja"].line, named["templates/report.html.jinja"].quote) == (
        1,
        template,
    )
    assert not (tmp_path / "out" / "shop" / FOUR / "index.html").exists()


def test_a_logo_or_photo_outside_the_folder_is_not_taken(begun: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text("<svg xmlns='http://www.w3.org/2000/svg'><script>secret</script></svg>", "utf-8")
    (begun / "logo.svg").symlink_to(secret)
    shop = begun / "shop.yaml"
    shop.write_text("logo: logo.svg\n" + shop.read_text("utf-8"), "utf-8")
    result = quick(begun, tmp_path / "out")
    assert any("there is no file 'logo.svg'" in one.message for one in result.problems)
    pages = (tmp_path / "out").rglob("*.html")
    assert not any("secret" in page.read_text("utf-8") for page in pages)
