"""``start``: files to fill in for a shop, an engine or a job."""

from __future__ import annotations

import difflib
import itertools
import re
import sys
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click
from msgspec.structs import replace

from .blanks.engine_questions import QUESTIONS
from .terminal.options import date_option, known_jobs, shop_option
from .terminal.telling import PROBLEMS, done, say

if TYPE_CHECKING:
    from ..records import Engine
    from .blanks.engine_sheet import DescribedEngine

UNKNOWN = "not written down yet"
EXAMPLE = """\
# tables as the engine's sheet names its features, or under names of their own:
#tables:
#  main_journals:
#    unit: mm
#    instrument: mic_50_75
#    columns: front_a  front_b  rear_a  rear_b
#    rows:
#      M1:    54.982   54.981   54.982  54.980"""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_RESERVED = frozenset({"engines", "templates", "shop.yaml", "stock.yaml"})


@click.group("start")
def command() -> None:
    """Begin a shop, an engine sheet or a job: commented files to fill in.

    Nothing is ever overwritten: a file that is there already stays as it is.
    """


@command.command("shop")
@shop_option(exists=False)
def shop_command(shop: Path) -> int:
    """Begin the shop's folder with its shop.yaml."""
    return _write(shop, {"shop.yaml": _blank("shop")})


@command.command("stock")
@shop_option(exists=False)
def stock_command(shop: Path) -> int:
    """Begin stock.yaml: what lies on the shelves, where parts are chosen by grade or thickness."""
    files = _with_shop(shop)
    files["stock.yaml"] = _blank("stock")
    return _write(shop, files)


@command.command("engine")
@click.argument("name")
@shop_option(exists=False)
@click.option("--like", metavar="NAME", help="begin from a sheet of the shop's own")
def engine_command(name: str, shop: Path, like: str | None, **told: str | int | None) -> int:
    """Begin the spec sheet engines/NAME.yaml: what such an engine has, in bench order.

    Limits wait there to be filled in. On a terminal whatever no option says is
    asked, and Enter leaves it open: that stands in the sheet as an example.
    """
    _check_name(name, "an engine")
    files = _with_shop(shop)
    if like is not None:
        files[f"engines/{name}.yaml"] = _sheet_like(shop, name, like)
        return _write(shop, files)
    from .blanks.engine_sheet import DescribedEngine, sheet_text

    build = DescribedEngine(**{key: value for key, value in told.items() if value})  # type: ignore[arg-type]
    if sys.stdin.isatty() and sys.stdout.isatty() and not (shop / f"engines/{name}.yaml").exists():
        build = _asked(build, {key for key, value in told.items() if value})
    if build.refused:
        raise click.UsageError(f"there is no such engine: {build.refused}. Nothing was made")
    files[f"engines/{name}.yaml"] = sheet_text(name, build)
    return _write(shop, files)


def _type_of(question: str) -> click.ParamType[Any]:
    _, words = QUESTIONS[question]
    if words:
        return click.Choice(words)
    counts = {"cylinders": 24, "mains_count": 25, "valves_each": 5}
    return click.IntRange(1, counts[question]) if question in counts else click.STRING


for _question, (_asks, _) in QUESTIONS.items():
    _flag = "--" + {"valves_each": "valves-each", "mains_count": "mains"}.get(
        _question, _question.replace("_", "-")
    )
    click.option(_flag, _question, type=_type_of(_question), help=_asks)(engine_command)


def _asked(build: DescribedEngine, told: set[str]) -> DescribedEngine:
    """What no option said, asked one by one; Enter leaves it open."""
    for question, (asks, words) in QUESTIONS.items():
        if question in told or not build.matters(question):
            continue
        kind = _type_of(question)

        def answer(typed: str, kind: click.ParamType[Any] = kind) -> str | int:
            return kind.convert(typed, None, None) if typed.strip() else ""

        shown = f"{asks} ({', '.join(words)})" if words else asks
        given = click.prompt(shown, default="", show_default=False, value_proc=answer)
        if given:
            build = replace(build, **cast(Any, {question: given}))
    return build


def _sheet_like(shop: Path, name: str, like: str) -> str:
    """The text of another sheet under this one's name, with whose figures it begins said at its head."""
    from ..records.text.reader import yaml_files
    from ..records.text.validate import listed, near

    path = shop / "engines" / f"{like}.yaml"
    known = [found.stem for found in yaml_files(shop / "engines")]
    if like not in known:
        hint = near(like, known) or (f"there are {listed(known)}" if known else "there are none yet")
        raise click.UsageError(f"no sheet in {shop / 'engines'} is called '{like}': {hint}. Nothing was made")
    text = re.sub(r"^model:.*", f"model: {name}", path.read_text(encoding="utf-8"), count=1, flags=re.M)
    first, _, rest = text.partition("\n")
    said = f"# Begun from the sheet {like}: every figure in here is that engine's until it has been held"
    return f"{first}\n{said}\n# against the service information of this one.\n{rest}"


@command.command("job")
@click.argument("name")
@shop_option(exists=False)
@click.option(
    "--engine", metavar="NAME", help="its sheet in engines/ [default: the job's name without number]"
)
@click.option("--title", help="heading of every document", default=UNKNOWN)
@click.option("--complaint", help="in the customer's words", default=UNKNOWN)
@click.option(
    "--only", metavar="PART", multiple=True, help="a part that came without the engine, by the sheet"
)
@date_option("--opened", "opened", "day of arrival")
def job_command(
    name: str,
    shop: Path,
    engine: str | None,
    title: str,
    complaint: str,
    only: tuple[str, ...],
    opened: date | None,
) -> int:
    """Begin the job folder NAME, as in 2031-014-orchard-six.

    Measuring tables are laid out from the engine's sheet; where the shop has
    no sheet yet, one with nothing in it is begun too.
    """
    _check_name(name, "a job")
    engine = engine or re.sub(r"^[\d._-]+", "", name) or name
    _check_name(engine, "an engine")
    files = _with_shop(shop)
    sheet, faulty = _known_sheet(shop, engine)
    if not (shop / "engines" / f"{engine}.yaml").exists():
        _no_such_sheet(shop, engine)
        from .blanks.engine_sheet import DescribedEngine, sheet_text

        files[f"engines/{engine}.yaml"] = sheet_text(engine, DescribedEngine())
    if only:
        sheet = _of_parts(sheet, only, engine)
    words = {
        "engine": engine,
        "title": _yaml_text(title),
        "complaint": _yaml_text(complaint),
        "opened": (opened or date.today()).strftime("%Y-%m-%d"),
    }
    for kind in ("job", "teardown", "findings", "work", "assembly", "running"):
        files[f"{name}/{kind}.yaml"] = _blank(kind, **words)
    if only:
        blank = files[f"{name}/job.yaml"]
        files[f"{name}/job.yaml"] = re.sub(r"(?m)^  #only:.*$", f"  only: {', '.join(only)}", blank)
    from ..records import load_shop

    house = load_shop(shop, []).shop
    soaked = "68 °F" if house and house.first_unit == "in" else "20 °C"
    head = _blank("round", opened=words["opened"], temperature=soaked)
    files[f"{name}/measurements/arrival.yaml"] = head + "\n".join(_tables(sheet, shop)) + "\n"
    arrival = shop / name / "measurements" / "arrival.yaml"
    faulty = faulty and not arrival.exists()
    status = _write(shop, files, folders=[f"{name}/photos"])
    if not faulty:
        return status
    path = (shop / "engines" / f"{engine}.yaml").as_posix()
    click.echo(
        f"{path} has errors, so measurements/arrival.yaml shows an example instead of its tables. "
        f"'check {name}' names them: put them right, take arrival.yaml away and do this again",
        err=True,
    )
    return status or PROBLEMS


def _of_parts(sheet: Engine | None, only: Sequence[str], engine: str) -> Engine:
    """What of a sheet concerns parts that came alone."""
    from ..records.text.validate import listed, near

    if sheet is None:
        raise click.UsageError(
            f"nothing made: --only needs a sheet of '{engine}' without errors, which names its parts"
        )
    parts = sheet.measured_parts
    if unknown := [part for part in only if part not in parts]:
        hint = near(unknown[0], parts) or f"known there: {listed(parts)}"
        raise click.UsageError(f"nothing made: the sheet measures no part '{unknown[0]}': {hint}")
    return sheet.of_parts(only)


@command.command("findings")
@click.argument("job")
@click.argument("pictures", nargs=-1, metavar="PICTURE...", required=True)
@shop_option()
def findings_command(job: str, pictures: tuple[str, ...], shop: Path) -> int:
    """Lay out a finding for each PICTURE of JOB, as ticked on its contact sheet.

    By name, with or without ending. Where findings.yaml is there already it
    stays as it is, and what belongs into it is printed.
    """
    (name,) = known_jobs(shop, (job,)) or ("",)
    from ..assess.telling.contact import place_in
    from ..records import load_shop
    from ..records.text.validate import listed, near
    from ..records.text.writing import as_value

    folder = load_shop(shop, [name])
    record = folder.jobs[name]
    sheet = folder.engines.get(record.job.engine) if record.job else None
    marked = [Path(picture).name for picture in pictures]
    marked = [picture if picture in record.photos else Path(picture).stem for picture in marked]
    if unknown := [picture for picture in marked if picture not in record.photos]:
        there = f"there are {listed(record.photos)}" if record.photos else "there are none"
        hint = near(unknown[0], list(record.photos)) or there
        raise click.UsageError(f"nothing laid out: no picture '{unknown[0]}' in {name}/photos: {hint}")
    free = (f"F{number}" for number in itertools.count(1) if f"F{number}" not in record.seen)
    lines = [] if record.seen else ["findings:"]
    for finding, picture in zip(free, dict.fromkeys(marked), strict=False):
        feature, position = place_in(picture, name, sheet.model if sheet else None)
        lines += [f"  {finding}:", f"    component: {feature or '...'}"]
        lines += [f"    positions: {position}"] if position else []
        lines += ["    seen: ...", "    disposition: ...", f"    photos: {as_value(picture)}"]
    path = record.path / "findings.yaml"
    if not path.exists():
        head = _blank("findings").partition("\n")[0]
        return _write(shop, {f"{name}/findings.yaml": "\n".join([head, *lines, ""])})
    say("\n".join(lines))
    under = "below its findings:" if record.seen else "at its end"
    say(f"kept as it is: {path}; these lines belong {under}, with words in place of ...", err=True)
    return 0


def _no_such_sheet(shop: Path, engine: str) -> None:
    """Where there are sheets, one more by mistake would leave the job without its limits."""
    from ..records.text.reader import yaml_files

    known = [path.stem for path in yaml_files(shop / "engines")]
    if not known:
        return
    likely = max(known, key=lambda name: difflib.SequenceMatcher(None, engine.lower(), name.lower()).ratio())
    raise click.UsageError(
        f"no sheet in {shop / 'engines'} is called '{engine}' (there {'is' if len(known) == 1 else 'are'} "
        f"{', '.join(known)}): add '--engine {likely}' for that one, or begin a new sheet with "
        f"'start engine {engine}'. Nothing was made"
    )


def _check_name(name: str, what: str) -> None:
    if not _NAME.fullmatch(name) or name in _RESERVED:
        raise click.UsageError(
            f"'{name}' cannot name {what}: letters, digits, - _ and . only, as in 2031-014-orchard-six"
        )


def _blank(kind: str, **words: str) -> str:
    from importlib.resources import files

    text = (files(__package__) / "blanks" / f"{kind}.yaml").read_text(encoding="utf-8")
    for word, value in words.items():
        text = text.replace(f"<{word}>", value)
    return text


def _yaml_text(text: str) -> str:
    """A text as one YAML value, in quotes where it needs them."""
    from ..records.text.writing import as_value

    return as_value(" ".join(text.split()))


def _with_shop(shop: Path) -> dict[str, str]:
    return {} if (shop / "shop.yaml").exists() else {"shop.yaml": _blank("shop")}


def _known_sheet(shop: Path, engine: str) -> tuple[Engine | None, bool]:
    """The engine's sheet as far as it can be used; whether it is there and cannot."""
    path = shop / "engines" / f"{engine}.yaml"
    if not path.exists():
        return None, False
    from ..records import Engine, read
    from ..records.text.validate import validate

    source, _ = read(path)
    sheet = validate(Engine, source)[0]
    return sheet, sheet is None


def _tables(sheet: Engine | None, folder: Path) -> Iterable[str]:
    """Measuring tables of every feature that the sheet gives positions and columns, with -- in each place.

    Each names the instrument of the shop that suits it: 25 lines that nobody has to type.
    """
    features = sheet.features.items() if sheet else ()
    measured = {name: feature for name, feature in features if feature.positions and feature.columns}
    if not measured:
        yield EXAMPLE
        return
    from ..assess.measure.due import fitting
    from ..records import load_shop
    from ..records.text.writing import TableLayout

    shop = load_shop(folder, []).shop
    yield "tables:"
    for name, one in measured.items():
        tool = fitting(shop, sheet, name) if shop and sheet else ""
        to_set = bool(shop and tool and shop.instruments[tool].set_in_another)
        heading = (name, one.title, one.unit, one.state, one.positions, one.columns, tool)
        yield from TableLayout(*heading, to_set=to_set).lines()


def _write(shop: Path, files: dict[str, str], folders: Iterable[str] = ()) -> int:
    """Write the files that are not there yet, and the schemas that their first lines name."""
    from ..records.json_schema import write_schemas

    with done("the files cannot be written"):
        shop.mkdir(parents=True, exist_ok=True)
        write_schemas(shop)
        for folder in folders:
            (shop / folder).mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            write_new(shop / name, text)
    return 0


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet, and say so; one that is stays as it is."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
        say(f"new: {path}")
    except FileExistsError:
        say(f"kept as it is: {path}")
