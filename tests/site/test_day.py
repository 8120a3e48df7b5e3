"""The shop's day: its page, its calendar by RFC 5545, what is on order; another day."""

from __future__ import annotations

import csv
import io
import re
import shutil
from datetime import date, datetime
from email import message_from_bytes, policy
from pathlib import Path

import icalendar
import pytest
import vobject

from rebuildreport.commands.main import run
from rebuildreport.site.disk import unchanged
from rebuildreport.site.making import waits, work

from ..demo import stages
from ..demo.conftest import D2
from .conftest import FOUR, edit, files, quick

ON = date(2026, 4, 25)
LATE = "asked:\n- date: 2026-04-17\n  what: grind or exchange\n  by: 2026-04-21\n"


@pytest.fixture(scope="module")
def open_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The twin cam on the evening of its approval: parts are ordered, head, crank and block are away."""
    shop = tmp_path_factory.mktemp("day") / "shop"
    folder = stages.at(shop, D2, "approval")
    with (folder / "job.yaml").open("a", encoding="utf-8") as file:
        file.write(LATE)
    work_file = folder / "work.yaml"
    text = work_file.read_text("utf-8")
    text = text.replace("  hours: '", "  spent: '7.5'\n  hours: '", 1)
    work_file.write_text(
        text.replace("ordered: '2026-04-22'", "ordered: '2026-04-22'\n  promised: '2026-04-28'")
    )
    return shop


@pytest.fixture(scope="module")
def site(open_shop: Path) -> Path:
    out = open_shop.parent / "site"
    assert quick(open_shop, out, on=ON).exit_status == 0
    return out


def test_another_day_rewrites_the_page_and_assesses_no_job(
    open_shop: Path, site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = Path(shutil.copytree(site, tmp_path / "site"))
    before = files(out)

    def never(*args: object) -> None:
        raise AssertionError("a job is assessed")

    monkeypatch.setattr(work, "assess_for_documents", never)
    monkeypatch.setattr(waits, "assess_job", never)
    assert quick(open_shop, out, on=date(2026, 4, 29)).exit_status == 0
    after = files(out)
    assert {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)} == {
        "shop/index.html"
    }
    page = after["shop/index.html"].decode()
    assert "Wednesday 29\u00a0April 2026" in page.replace("April\u00a02026", "April 2026")
    # of that day: the machine shop is two days late, all parts one
    assert "2 days over" in page and "one day over" in page
    assert quick(open_shop, out, on=ON).exit_status == 0
    assert files(out) == before


def test_the_page_names_the_hour_at_which_it_was_written(open_shop: Path, site: Path, tmp_path: Path) -> None:
    out = Path(shutil.copytree(site, tmp_path / "site"))
    quick(open_shop, out, on=datetime(2026, 4, 26, 6, 40))
    page = (out / "shop" / "index.html").read_text("utf-8")
    assert "written 06:40" in page
    # and stays true to it while nothing has changed
    quick(open_shop, out, on=datetime(2026, 4, 26, 9, 15))
    assert (out / "shop" / "index.html").read_text("utf-8") == page


def test_nothing_of_the_day_is_public(site: Path) -> None:
    public = {name for name in files(site) if name.startswith("public/")}
    assert not {name for name in public if re.search(r"ics|csv|eml|jobs\.html", name)}


def test_a_run_with_nothing_to_do_knows_the_day(
    open_shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "site"
    words = ["publish", "--no-pdf", "--shop", str(open_shop), "--out", str(out)]
    monkeypatch.setattr("sys.argv", ["rebuildreport", *words])
    monkeypatch.setattr("rebuildreport.site.disk.marks.settled", lambda known: True)
    monkeypatch.setattr("rebuildreport.site.disk.marks.TICK", 0)
    assert run(words) == 0
    assert unchanged.as_told(words) is not None
    monkeypatch.setattr(unchanged.time, "strftime", lambda form: "2031-01-01")
    assert unchanged.as_told(words) is None


def test_the_calendar_is_one_by_rfc_5545(site: Path) -> None:
    """By another program than the one that writes it."""
    data = (site / "shop" / "days.ics").read_bytes()
    # 3.1: lines end in CRLF and, folded, have at most 75 octets
    assert data.endswith(b"END:VCALENDAR\r\n") and b"\n" not in data.replace(b"\r\n", b"")
    assert max(len(line) for line in data.split(b"\r\n")) <= 75
    calendar = vobject.readOne(data.decode())
    assert calendar.validate(raiseException=True)  # 3.6: what each component must have, and may have once
    events = calendar.vevent_list
    uids = [event.uid.value for event in events]
    assert len(set(uids)) == len(uids) > 20  # the instruments are among them
    for event in events:
        start, end = event.dtstart.value, event.dtend.value
        assert type(start) is type(end) is date and (end - start).days == 1  # 3.6.1: the whole day
        assert event.dtstamp.value.tzinfo and "valarm" not in event.contents
    days = {(event.dtstart.value, *event.categories.value) for event in events}
    # as they stand in the files: the answer, the machine shops, the parts, the promised day
    assert {
        (date(2026, 4, 21), "answer"),
        (date(2026, 4, 27), "back"),
        (date(2026, 4, 28), "parts"),
        (date(2026, 5, 7), "promised"),
    } <= days


def test_an_event_that_is_put_off_keeps_its_name(open_shop: Path, tmp_path: Path) -> None:
    shop = Path(shutil.copytree(open_shop, tmp_path / "shop"))
    named = []
    for day in ("2026-04-21", "2026-04-24"):
        edit(shop / FOUR / "job.yaml", "by: 2026-04-21", f"by: {day}")
        quick(shop, tmp_path / "out", on=ON)
        calendar = icalendar.Calendar.from_ical((tmp_path / "out" / "shop" / "days.ics").read_bytes())
        (event,) = (one for one in calendar.walk("VEVENT") if "grind or exchange" in one["SUMMARY"])
        named.append((str(event["UID"]), str(event.decoded("DTSTART"))))
    assert named[0][0] == named[1][0]
    assert [day for _, day in named] == ["2026-04-21", "2026-04-24"]


def test_what_is_on_order_as_a_table_and_as_drafts(site: Path) -> None:
    text = (site / "shop" / "orders.csv").read_bytes().decode()
    assert "\r\n" in text
    rows = list(csv.DictReader(io.StringIO(text)))
    bolts = [row for row in rows if row["supplier"] == "bolt merchant"]
    assert [(row["number"], row["pieces"], row["ordered"]) for row in bolts] == [
        ("HB", "10", "2026-04-22"),
        ("RB", "8", "2026-04-22"),
    ]
    (path,) = (site / "shop" / "orders").glob("bolt-merchant-*.eml")
    mail = message_from_bytes(path.read_bytes(), policy=policy.default)
    assert not mail.defects and mail["X-Unsent"] == "1" and mail["To"] is None
    assert "10 HB, head bolt" in mail.get_content()


def test_the_days_of_the_shop_in_its_language(open_shop: Path, tmp_path: Path) -> None:
    shop = Path(shutil.copytree(open_shop, tmp_path / "shop"))
    edit(shop / "shop.yaml", "currency:", "language: de\ncurrency:")
    edit(shop / "shop.yaml", "  shell merchant:", "  bolt merchant:")  # who has an address there
    quick(shop, tmp_path / "out", on=ON)
    page = (tmp_path / "out" / "shop" / "index.html").read_text("utf-8").replace("\u00a0", " ")
    assert '<html lang="de">' in page and "Samstag, 25. April 2026" in page
    assert "seit 4 Tagen überfällig" in page and "Beim Kunden" in page
    assert "3 Bearing Quay, 00000 Upper Invention, 01632 960 431" in page
    (path,) = (tmp_path / "out" / "shop" / "orders").glob("bolt-merchant-*.eml")
    mail = message_from_bytes(path.read_bytes(), policy=policy.default)
    assert mail["To"] == "orders@shells.invalid" and "Unsere Kundennummer: 0417" in mail.get_content()


def test_hours_spent_stand_beside_those_of_the_estimate(site: Path) -> None:
    page = (site / "shop" / "index.html").read_text("utf-8")
    # cleaning and measuring the twin cam is estimated with 4.5 hours
    assert re.search(r"<td>clean and measure</td>.*4\.5.*7\.5.*\+3\.0", page)
