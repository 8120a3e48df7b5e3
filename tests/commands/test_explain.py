"""``explain``: every word that the program works by is explained, by its own register."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.commands.main import FAULT, run
from rebuildreport.documents.press.language import language, speaking
from rebuildreport.documents.showing import explained
from rebuildreport.quantities.units import everyday
from rebuildreport.records.json_schema import KINDS as FILES
from rebuildreport.records.json_schema import schema
from rebuildreport.trade.kinds import KINDS
from rebuildreport.trade.measuring.verdict import ORDER

ROOT = Path(__file__).parents[2]


def keys() -> set[str]:
    found = set()
    for kind in FILES:
        whole = schema(kind)
        for part in (whole, *whole.get("$defs", {}).values()):
            found |= set(part.get("properties", {}))
    return found


def test_every_word_has_its_entry() -> None:
    named = {entry.name for entry in explained.entries()}
    statuses = {f"status {number}" for number in (0, 1, 2, 3, FAULT)}
    assert {*KINDS, *ORDER, *everyday(), *keys(), *statuses} <= named


def test_every_word_that_is_offered_is_explained() -> None:
    """None is answered by asking whether it was meant: taper, named in the help, has no entry of its own."""
    assert "taper" in explained.known()
    assert not [word for word in explained.known() if not explained.meanings(word)]


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("bearing_clearance", ("ISO 3548-2", "kind: bearing_clearance")),
        ("undersizes", ("steps in their own unit", "undersizes: 0.25 0.50 mm")),
        ("Too close to call", ("straddles",)),
        ("psi", ("0.0689475729 bar",)),  # NIST SP 811, appendix B.8: 6.894 757 E+03 Pa
        ("verdict", ("never typed",)),
        ("status 3", ("lacks something",)),
        ("judging", ("ISO 14253-1",)),
    ],
)
def test_a_word(word: str, says: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["explain", word]) == 0
    out = capsys.readouterr().out
    assert all(part in out for part in says), out


def test_near_misses_and_subjects(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["explain", "undersises"]) == 2
    assert "did you mean 'undersizes'?" in capsys.readouterr().err
    assert run(["explain"]) == 0
    assert all(subject in capsys.readouterr().out for subject in ("units",))


def test_the_page_has_them_all_and_readme_none_twice() -> None:
    page = explained.page()
    assert all(f"<h3>{name}</h3>" in page for name in (*KINDS, "undersizes", "thou"))
    assert all(f"<td>{verdict}</td>" in page for verdict in ORDER)
    with speaking(language("de")):
        assert "Diese Seite ist englisch" in explained.page()
    readme = (ROOT / "README.md").read_text("utf-8")
    assert len(readme.splitlines()) < 300
    assert not any(len(entry.text) > 60 and entry.text in readme for entry in explained.entries())


def test_a_hook_checks_the_jobs_touched(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Files as pre-commit hands them over: of two jobs one is told; a sheet concerns all."""
    shop = ["--shop", str(tmp_path)]
    for name in ("1-a", "2-a"):
        run(["start", "job", name, *shop])
    capsys.readouterr()
    assert run(["check", str(tmp_path / "1-a/measurements/arrival.yaml"), *shop]) == 0
    out = capsys.readouterr().out
    assert "1-a:" in out and "2-a:" not in out
    assert run(["check", str(tmp_path / "1-a/job.yaml"), str(tmp_path / "engines/a.yaml"), *shop]) == 0
    assert "2-a:" in capsys.readouterr().out
