"""The command line from outside: words in, exit status out, never a traceback."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from rebuildreport import __version__
from rebuildreport.commands import main as main_module
from rebuildreport.commands.main import run
from rebuildreport.commands.terminal.listing import COMMANDS

PROGRAM = [sys.executable, "-m", "rebuildreport"]


@pytest.fixture
def shop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A shop with one job, as start makes it."""
    assert run(["start", "job", "1-alder", "--opened", "2031-03-03", "--shop", str(tmp_path / "jobs")]) == 0
    capsys.readouterr()
    return tmp_path / "jobs"


def call(*words: str, **options: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*PROGRAM, *words], capture_output=True, text=True, timeout=60, **options)


def test_help_names_every_command_and_imports_no_library() -> None:
    code = (
        "import sys; from rebuildreport.commands.main import run; run(['--help']);"
        "print([m for m in ('click', 'pydantic', 'yaml', 'jinja2', 'weasyprint') if m in sys.modules])"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert all(f"  {name}" in said for name in COMMANDS)
    assert said.splitlines()[-1] == "[]"


def test_no_name_of_a_file_steers_the_terminal(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nor leads a reading of the record out of the folder."""
    photos, said = shop / "1-alder" / "photos", "photos:\n  p1:\n    caption: c\n    before: ../../shop\n"
    photos.mkdir(exist_ok=True)
    for name in ("p1", "\x1b[2Jp2", "p3\x7f"):
        (photos / f"{name}.jpg").write_bytes(b"\xff\xd8\xff\xd9")
    (shop / "1-alder" / "findings.yaml").write_text(said, "utf-8")
    run(["check", "1-alder", "--shop", str(shop)])
    told = capsys.readouterr().out
    assert "'../../shop' is no picture in photos/" in told and "\u241b[2Jp2" in told
    assert not set(told) & {chr(code) for code in (*range(9), *range(11, 32), 127)}


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_there_and_has_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([name, "--help"]) == 0
    said = capsys.readouterr().out
    assert f"rebuildreport {name}" in said
    assert name in ("alone", "explain", "start", "verify") or "--shop" in said


def test_help_is_the_same_however_it_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    said = []
    for words in (["--help"], ["-h"], ["--help", "check"]):
        assert run(words) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1] == said[2]


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"rebuildreport {__version__}\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "Usage"),
        (["chekc"], "did you mean 'check'?"),
        (["zzz"], "there are start, check, due, publish,"),
        (["check", "--nothing"], "--nothing"),
        (["check", "--format", "xml"], "xml"),
        (["check", "--shop", "no-such-folder"], "no-such-folder"),
        (["start"], "Usage"),
        (["start", "job"], "NAME"),
        (["start", "job", "1-x", "--opened", "5.2.2026"], "5.2.2026"),
        (["publish", "--shop", "no-such-folder"], "no-such-folder"),
    ],
)
def test_wrong_usage(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(words) == 2
    shown = capsys.readouterr()
    assert said in shown.err + shown.out


def test_an_unknown_job(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("check", "publish"):
        assert run([command, "1-aldr", "--shop", str(shop)]) == 2
        assert "did you mean '1-alder'?" in capsys.readouterr().err


def test_a_job_may_be_named_as_the_shell_completes_it(shop: Path) -> None:
    assert run(["check", f"{shop}/1-alder/", "--shop", str(shop)]) == 0


def test_problems_are_printed_with_place_line_and_suggestion(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = shop / "1-alder/job.yaml"
    file.write_text("title: t\nengine: alder\nopend: 2031-03-03\narrival:\n  complaint: c\n")
    assert run(["check", "--shop", str(shop)]) == 1
    lines = capsys.readouterr().out.splitlines()
    at = lines.index(f"{file}:3:1: there is no key 'opend' here")
    assert lines[at + 1 : at + 4] == ["    opend: 2031-03-03", "    ^", "    did you mean 'opened'?"]
    assert "1-alder: not worked out, put the errors right first" in lines


def test_warnings_alone_are_no_failure(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (shop / "1-alder/finding.yaml").write_text("x")
    assert run(["check", "--shop", str(shop)]) == 0
    assert "warning: 'finding.yaml' is not read" in capsys.readouterr().out


def test_json_for_machines(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--format", "json", "--shop", str(shop)]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["problems"] == []
    assert data["jobs"]["1-alder"]["stage"] == "arrival"
    (shop / "1-alder/job.yaml").write_text("title: [\n")
    assert run(["check", "--format", "json", "--shop", str(shop)]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["jobs"] == {"1-alder": None}
    assert (data["problems"][0]["file"], data["problems"][0]["line"]) == ("1-alder/job.yaml", 1)


MEASURED = """\
date: 2031-03-04
by: bench 1
temperature: 20 °C
tables:
  float:
    instrument: dial
    columns: end_float
    rows:
      crank: {}
"""
FEATURE = """\
features:
  float:
    kind: readings
    title: Crankshaft end float
    positions: crank
    columns: end_float
    unit: mm
    new:
      end_float: 0.10 to 0.30
    source: shop_practice
"""
DIAL = """\
instruments:
  dial:
    kind: dial indicator
    range: 0 to 10 mm
    resolution: 0.01 mm
    permitted_error: 0.01 mm
"""


@pytest.mark.parametrize(
    ("reading", "block", "line"),
    [
        # limits 0.10 to 0.30 mm; permitted error and step 0.01 mm, so 0.31 is within doubt and 0.90 is not
        ("0.90", "beyond limit: 1", "crank Crankshaft end float, end float: 0.9"),
        ("0.31", "too close to call: 1", "crank Crankshaft end float, end float: 0.31"),
        ("--", "not measured: 1", "Crankshaft end float (not at all yet)"),
        ("0.20", "beyond limit: nothing", "too close to call: nothing"),
    ],
)
def test_what_stands_out(
    shop: Path, capsys: pytest.CaptureFixture[str], reading: str, block: str, line: str
) -> None:
    with (shop / "engines/alder.yaml").open("a") as file:
        file.write(FEATURE)
    with (shop / "shop.yaml").open("a") as file:
        file.write(DIAL)
    (shop / "1-alder/measurements/arrival.yaml").write_text(MEASURED.format(reading), encoding="utf-8")
    assert run(["check", "1-alder", "--shop", str(shop)]) == 0
    said = capsys.readouterr().out
    assert block in said and line in said


def test_publish_passes_its_words_on(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: dict[str, Any] = {}

    def publish(shop_dir: Path, out_dir: Path, **rest: Any) -> Any:
        asked.update(rest, shop=shop_dir, out=out_dir)
        rest["told"].said("1-alder done")
        return SimpleNamespace(exit_status=3, messages=("PDFs are missing",), problems=())

    monkeypatch.setattr("rebuildreport.site.publishing.publish", publish)
    words = ["publish", "1-alder", "--no-pdf", "--shop", str(shop), "--out", str(tmp_path / "out")]
    assert run(words) == 3
    assert (asked["jobs"], asked["pdf"], asked["out"]) == (["1-alder"], False, tmp_path / "out")
    said = capsys.readouterr()
    assert "1-alder done" in said.out and "PDFs are missing" in said.err


def test_schema(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (shop / ".schemas/shop.json").unlink()
    assert run(["schema", "--shop", str(shop)]) == 0
    assert json.loads((shop / ".schemas/shop.json").read_text())["title"] == "shop.yaml"
    assert "12 schemas" in capsys.readouterr().out


def test_a_fault_of_the_program_is_one_line_with_its_details_kept(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> None:
        raise RuntimeError("crank\nslipped")

    monkeypatch.setattr("rebuildreport.records.load_shop", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert run(["check", "--shop", str(shop)]) == main_module.FAULT == 70
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "RuntimeError: crank slipped" in said and "Traceback" not in said
    kept = Path(said.rsplit("details are in ", 1)[1].strip())
    assert "Traceback" in kept.read_text() and kept.parent == tmp_path
    monkeypatch.setenv("REBUILDREPORT_DEBUG", "1")
    with pytest.raises(RuntimeError):
        run(["check", "--shop", str(shop)])


def test_a_reader_that_goes_away(shop: Path) -> None:
    with subprocess.Popen(
        [*PROGRAM, "check", "--shop", str(shop)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as one:
        assert one.stdout and one.stderr
        one.stdout.close()
        said = one.stderr.read().decode()
        assert one.wait(60) == 0
    assert said == ""


def test_a_reader_that_goes_away_stops_no_work(tmp_path: Path) -> None:
    """``start job ... | head -3`` makes every file, and says nothing of a pipe."""
    shop = ["--shop", str(tmp_path)]
    calls = [
        ["start", "job", "1-a", *shop],
        ["schema", *shop],
        ["start", "--help"],
        ["--help"],
        ["--version"],
    ]
    for words in calls:
        with subprocess.Popen([*PROGRAM, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as one:
            assert one.stdout and one.stderr
            one.stdout.close()
            said = one.stderr.read().decode()
            assert (one.wait(60), said) == (0, ""), words
    with subprocess.Popen([*PROGRAM, "chekc"], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as one:
        assert one.stdout and one.stderr
        one.stderr.close()
        assert one.wait(60) == 2  # wrong usage stays so, heard or not
    made = {path.name for path in (tmp_path / "1-a").rglob("*.yaml")}
    assert made == {
        f"{kind}.yaml" for kind in ("job", "teardown", "findings", "work", "assembly", "running")
    } | {"arrival.yaml"}


def test_stopped_at_the_keyboard(shop: Path) -> None:
    code = (
        "import os, signal, sys\n"
        # a shell that runs the tests in the background has it ignored
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from rebuildreport.commands.main import main\n"
        "import rebuildreport.records as records\n"
        "records.load_shop = lambda *_: os.kill(os.getpid(), signal.SIGINT)\n"
        "main(['check', '--shop', sys.argv[1]])\n"
    )
    one = subprocess.run([sys.executable, "-c", code, str(shop)], capture_output=True, text=True, timeout=60)
    assert one.returncode == main_module.INTERRUPTED == 128 + signal.SIGINT
    assert one.stderr.strip() == "stopped"


def test_as_a_module_and_as_a_program(shop: Path) -> None:
    said = call("check", "--shop", str(shop), env={**os.environ, "PYTHONWARNINGS": "error"})
    assert (said.returncode, said.stderr) == (0, "")
    assert said.stdout.startswith("1-alder: ")
    program = Path(sys.executable).with_name("rebuildreport")
    if program.exists():
        assert subprocess.run(
            [program, "--version"], capture_output=True, text=True, check=True
        ).stdout.endswith(f"{__version__}\n")


def test_a_terminal_gets_plain_blanks_between_number_and_unit(capsys: pytest.CaptureFixture[str]) -> None:
    """A no-break space (U+00A0) is drawn as nothing by some terminals: 50.55mm."""
    from rebuildreport.commands.terminal.telling import say

    say("1.990\u00a0in (50.55\u00a0mm)")
    assert capsys.readouterr().out == "1.990 in (50.55 mm)\n"


def test_what_one_limit_decides_at_one_place_is_one_line_of_check(capsys: pytest.CaptureFixture[str]) -> None:
    """The six's sixth main: largest and smallest reading reach over the same limit."""
    jobs = Path(__file__).parents[2] / "jobs"
    assert run(["check", "2026-003-orchard-six", "--shop", str(jobs)]) == 0
    said = [line.strip() for line in capsys.readouterr().out.splitlines()]
    lines = [line for line in said if line.startswith("M6 Main journals")]
    assert len(lines) == 1 and lines[0].endswith("accepted by V1; and smallest")
