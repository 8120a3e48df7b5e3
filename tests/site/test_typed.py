"""What people type is text and nothing else: no markup, no template, no address that is fetched."""

from __future__ import annotations

import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import pytest

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
)


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
                r"x\.invalid|javascript", value or ""
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


@pytest.mark.parametrize(
    "template",
    [
        "{{ 1 / 0 }}",
        "{{ cycler.__init__.__globals__.os.listdir('/') }}",
        "{% include '/etc/passwd' %}",
        "{% include '../shop.yaml' %}",
        "{% for one in range(1000000000000) %}x{% endfor %}",
        "{% if %}",
        "{{ nothing.of.the.kind }}",
    ],
)
def test_a_template_of_the_shops_that_fails_or_reads_files_is_told(
    begun: Path, tmp_path: Path, template: str
) -> None:
    shutil.rmtree(begun / SIX)
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
