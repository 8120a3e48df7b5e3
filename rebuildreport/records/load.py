"""The shop's folder as records: the shop, its engine sheets and its jobs."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace
from pydantic import BaseModel

from .files.choosing import Stock
from .files.folder import ALL, EngineFile, Faults, JobFolder, RoundFile, ShopFolder, Siblings
from .files.issued import FOLDER as ISSUED
from .files.issued import read_register
from .files.jobfile import Assembly, Findings, Job, Running, Teardown, Work
from .files.measured import base
from .files.rounds import RoundRecord, Table
from .files.rows import Cells, table_cells
from .files.sheet import Engine
from .files.shop import Shop
from .text.memory import Memory
from .text.notes import Notes
from .text.problems import Problem
from .text.reader import Source, is_left_over, read, yaml_files
from .text.validate import as_meant, near, validate

R = TypeVar("R", bound=BaseModel)

JOB_FILES: dict[str, type[BaseModel]] = {
    "job": Job,
    "teardown": Teardown,
    "findings": Findings,
    "work": Work,
    "assembly": Assembly,
    "running": Running,
}
PICTURES = frozenset({".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp"})
# what a logo may be, and what a browser is told that it is
LOGOS = {".png": "image/png", ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".svg": "image/svg+xml"}
LOGO_BYTES = 512 * 1024  # every page of the shop holds it whole
_TYPED, _MEANT = re.compile(r"'([^']+)' is no"), re.compile(r"did you mean '([^']+)'\?")
MOST_PASSES = 12  # in which what rests on an entry that was left out is left out, too
PASSES_BEHIND = 3  # in which errors are looked for that stand behind others
MOST_BLANK = 5  # lines that are no YAML of one file: then nobody knows what the others belong to
TOO_MANY = 50  # entries with errors of one file: then it is left out as a whole
MOST_READINGS = 3_000  # of one round: a whole engine of six cylinders has 700
NOT_JOBS = frozenset({"assets", "engines", "templates"})
_OF_A_JOB = (*(f"{name}.yaml" for name in JOB_FILES), "measurements/")


def job_names(folder: Path) -> list[str]:
    """Names of the job folders, without reading any file."""
    try:
        with os.scandir(folder) as entries:  # of thousands: a Path of each would take longer than the look
            names = sorted(one.name for one in entries)
    except OSError:
        return []
    return [name for name in names if is_job(folder, name)]


def is_job(shop: Path, name: str) -> bool:
    """Whether what is called so in the shop's folder is the folder of a job."""
    if name[0] in "._" or name in NOT_JOBS:
        return False
    return any(_stands(f"{shop}/{name}/{file}") for file in _OF_A_JOB)


def _stands(path: str) -> bool:
    """Whether there is such a file; PermissionError where nobody may look: what is closed is not gone."""
    try:
        os.stat(path)  # noqa: PTH116
    except PermissionError:
        raise
    except OSError:
        return False
    return True


def load_sound(
    folder: Path, name: str, siblings: Siblings | None = None
) -> tuple[ShopFolder, JobFolder] | None:
    """A job whose files have errors, without the entries in which they stand; None where too little is left.

    What names one of those entries is left out in turn: it would rest on nothing.
    """
    siblings = siblings or Siblings(folder, job_names(folder))
    for shop, errors in _passes(folder, name, siblings, Faults()):
        if not errors:
            job = shop.jobs[name]
            return (shop, job) if job.job is not None and shop.shop is not None else None
    return None


def _passes(
    folder: Path, name: str, siblings: Siblings, without: Faults
) -> Iterator[tuple[ShopFolder, list[Problem]]]:
    """A job read again and again, each time without the entries that were wrong before."""
    for _ in range(MOST_PASSES):
        shop = load_shop(folder, [name], without, siblings)
        job = shop.jobs[name]
        # what is wrong in the register says nothing of the engine
        wrong = [one for one in (*job.problems, *job.engine_problems) if one.file.endswith(".yaml")]
        errors = [one for one in wrong if one.severity == "error"]
        yield shop, errors
        if without.as_meant:
            errors = [one for one in errors if not _named_as_meant(one, without)]
        places = {(one.file, one.line) for one in errors}
        often = Counter(file for file, _ in places)
        for file, line in places:
            known = without.setdefault(file, {})
            known[line] = known.get(line, -1) + 1 if often[file] < TOO_MANY else ALL


def _named_as_meant(error: Problem, without: Faults) -> bool:
    """Whether what is wrong is one name, which is read as it was probably meant from now on."""
    typed, meant = _TYPED.match(error.message), _MEANT.match(error.suggestion)
    named = without.named.setdefault(error.file, {})
    if typed is None or meant is None or error.line in named or without.missed_by(error):
        return False
    named[error.line] = typed[1], meant[1]
    return True


def errors_behind(folder: Path, name: str, siblings: Siblings) -> list[Problem]:
    """What is wrong with a job and seen once other errors are out of the way: all is told at once.

    What is misspelt is read as it was meant, and what is left out is not missed.
    """
    found: list[Problem] = []
    left_out = Faults(as_meant=True)
    unread: set[str] = set()  # of what stands in these, nobody was asked about anything yet
    for number, (shop, errors) in enumerate(islice(_passes(folder, name, siblings, left_out), PASSES_BEHIND)):
        told = (*shop.jobs[name].problems, *shop.jobs[name].engine_problems)
        asked = [one for one in told if one.severity == "warning"]
        if number:
            errors = [one for one in errors if one.code != "missing key"]  # it is what was left out
            found += [one for one in asked if one.file in unread and not left_out.missed_by(one)]
        else:
            unread = {*left_out.unread, *(one.file for one in errors)}
            found += [one for one in asked if left_out.misread(one)]
        found += [one for one in errors if not left_out.missed_by(one)]
        if len(errors) >= TOO_MANY:
            break  # who has so many to mend comes again
    return found


def load_shop(
    folder: Path,
    jobs: Iterable[str] | None = None,
    without: Faults | None = None,
    siblings: Siblings | None = None,
    memory: Memory = Memory(),  # noqa: B008  # frozen
) -> ShopFolder:
    """The whole folder; with ``jobs``, only those jobs and the engine sheets that they name.

    ``without``: lines of files whose entries are left out.  ``siblings``: where they were looked at already.
    ``memory``: what was found of sheets before.

    Never raises for what the files hold: everything wrong is a Problem.
    """
    folder = Path(folder)
    if not folder.is_dir():
        problem = Problem("shop.yaml", 1, 1, "error", f"there is no folder '{folder}'")
        return ShopFolder(folder, None, Source("shop.yaml"), problems=[problem])
    without = Faults() if without is None else without
    shop, source, problems = _record(Shop, folder / "shop.yaml", "shop.yaml", without)
    problems = _begin(problems, "start shop")
    if shop is not None:
        from .checks.moneycheck import check_shop_money
        from .checks.sheetcheck import check_shop

        notes = Notes(source)
        check_shop(shop, notes)
        check_shop_money(shop, notes)
        _logo(folder, shop.logo, notes)
        problems += notes.found
    stock, stock_source = None, None
    if (folder / "stock.yaml").exists():
        stock, stock_source, found = _record(Stock, folder / "stock.yaml", "stock.yaml", without)
        problems += _begun(found)
        problems += _unknown_sheets(folder, stock, stock_source)
    names = job_names(folder) if jobs is None or siblings is None else []
    loaded = ShopFolder(
        folder,
        shop,
        source,
        problems=sorted(problems),
        stock=stock,
        stock_source=stock_source,
        without=without,
        siblings=siblings or Siblings(folder, names),
        memory=memory,
    )
    if jobs is None:
        for path in yaml_files(folder / "engines"):
            loaded.engines[path.stem] = _engine(loaded, path.stem)
    for name in names if jobs is None else jobs:
        loaded.jobs[name] = load_job(loaded, name)
    return loaded


def _logo(folder: Path, logo: str, notes: Notes) -> None:
    """The picture at the head of letters must be there: a letter without it goes out unnoticed."""
    path = folder / logo
    if logo and path.suffix.lower() not in LOGOS:
        notes.error(("logo",), f"'{logo}' is no {', '.join(sorted(LOGOS))}")
    elif logo and not (path.is_file() and path.resolve().is_relative_to(folder.resolve())):
        notes.error(("logo",), f"there is no file '{logo}' beside shop.yaml")
    elif logo and path.stat().st_size > LOGO_BYTES:
        notes.error(("logo",), f"'{logo}' is larger than {LOGO_BYTES // 1024} KiB")


def load_job(shop: ShopFolder, name: str) -> JobFolder:
    """One job of a loaded shop; reads that job's files, and its engine's sheet if it is not loaded yet."""
    path = shop.path / name
    if not path.is_dir():
        hint = near(name, job_names(shop.path))
        problem = Problem(f"{name}/job.yaml", 1, 1, "error", f"there is no job '{name}'", suggestion=hint)
        return JobFolder(name, path, problems=[problem])
    records, sources, problems = _job_files(path, name, shop.without)
    issued, damaged = read_register(path)
    problems += [*_stray(path, name), *damaged]
    engine = None
    if isinstance(job := records.get("job"), Job):
        # the job's engine sheet is read now where no other job asked for it
        if job.engine not in shop.engines and _sheet(shop.path, job.engine).exists():
            shop.engines[job.engine] = _engine(shop, job.engine)
        engine = shop.engines.get(job.engine)
        if engine is None:
            problems.append(_no_sheet(shop.path, job.engine, sources["job"]))
    sheet = engine.model if engine else None
    rounds, found = _rounds(path, name, sheet, shop.without)
    problems += found
    running = records.get("running")
    running_cells: dict[str, Cells] = {}
    if isinstance(running, Running):
        running_cells, found = _cells(running.tables, sheet, sources["running"])
        problems += found
    loaded = JobFolder(
        name,
        path,
        **records,  # type: ignore[arg-type]  # each kind's own model, by JOB_FILES
        running_cells=running_cells,
        rounds=rounds,
        photos=_photos(path),
        issued=issued,
        sources=sources,
        engine_problems=sorted([*shop.problems, *_of_engine(engine, shop)]),
    )
    return _checked(loaded, engine, shop, problems)


def _job_files(
    path: Path, name: str, without: Faults
) -> tuple[dict[str, BaseModel | None], dict[str, Source], list[Problem]]:
    """The job's own records as far as they are there, by the names of their files."""
    records: dict[str, BaseModel | None] = {}
    sources: dict[str, Source] = {}
    problems: list[Problem] = []
    for kind, model in JOB_FILES.items():
        file = path / f"{kind}.yaml"
        if kind == "job" or file.exists():
            records[kind], sources[kind], found = _record(model, file, f"{name}/{kind}.yaml", without)
            problems += _begin(found, f"start job {name}") if kind == "job" else _begun(found)
    return records, sources, problems


def _of_engine(engine: EngineFile | None, shop: ShopFolder) -> list[Problem]:
    """What is wrong with the sheet, and with what the shelf is said to hold for it."""
    if engine is None or engine.model is None or not shop.stock or not shop.stock_source:
        return engine.problems if engine else []
    from .checks.choosecheck import check_stock

    stock = check_stock(shop.stock, shop.stock_source, engine.name, engine.model)
    return [*engine.problems, *stock]


def _checked(
    loaded: JobFolder, engine: EngineFile | None, shop: ShopFolder, problems: list[Problem]
) -> JobFolder:
    """The job with its doubts, and with what its files say against each other."""
    from .checks.copycheck import check_copies
    from .checks.crosscheck import check_job
    from .checks.moneycheck import check_job_money
    from .doubts.suspects import find_doubts

    sheet, source = (engine.model, engine.source) if engine else (None, None)
    # doubts first: what they leave out is no reading for any check
    doubts = find_doubts(loaded, sheet, shop.shop, source)
    left_out = {spot for doubt in doubts for spot in doubt.spots}
    loaded = replace(loaded, doubts=tuple(doubts), suspects=left_out)
    notes = {kind: Notes(source) for kind, source in loaded.sources.items()}
    problems += [*(doubt.problem for doubt in doubts), *check_job(loaded, notes, sheet, shop.shop)]
    problems += check_copies(loaded, shop.siblings.of(loaded.name))
    check_job_money(loaded, notes, sheet, shop.shop)
    if loaded.findings and loaded.photos:
        from .checks.picturefiles import check_pictures

        findings = loaded.findings.findings.values()
        named = {*loaded.findings.photos, *(photo for finding in findings for photo in finding.photos)}
        problems += check_pictures(loaded.path, loaded.photos, named, loaded.sources["findings"])
    if sheet is not None and source is not None:
        from .checks.accesscheck import check_order
        from .checks.choosecheck import check_chosen

        if sheet.motion:
            from .checks.loadcase import check_weighed

            problems += check_weighed(sheet, loaded)
        check_order(loaded, notes, sheet, source)
        check_chosen(loaded, notes, sheet)
    problems += [problem for of_file in notes.values() for problem in of_file.found]
    return replace(loaded, problems=sorted(set(problems)))


def _record(model: type[R], path: Path, file: str, without: Faults) -> tuple[R | None, Source, list[Problem]]:
    lines = without.get(file, {})
    if max(lines.values(), default=0) >= ALL:
        return None, Source(file), []
    blank = without.blank.setdefault(file, set())
    source, problems = read(path, file, blank)
    if source.data is None and lines:
        # one line that is no YAML keeps a whole file from being read: without it the others may stand
        blank.update(lines)
        source, problems = read(path, file, blank)
        if source.data is None and len(blank) > MOST_BLANK:
            without[file] = dict.fromkeys(lines, ALL)
            return None, Source(file), []
    lines = {line: around for line, around in lines.items() if line not in blank}
    if without.as_meant:
        meant, otherwise = as_meant(model, source)
        if meant is not source:
            source, without.read_otherwise[file] = meant, otherwise
    if named := without.named.get(file):
        source = source.as_named(named)
        without.read_otherwise.setdefault(file, set()).update(named)
    if lines:
        without.gone |= source.names_on(lines)
        source = source.without(lines)
        problems = [one for one in problems if one.line not in lines]
    record, found = validate(model, source)
    if record is None and any(one.code in ("", "missing key") for one in (*problems, *found)):
        without.unread.add(file)
    return record, source, problems + found


def _begin(problems: list[Problem], command: str) -> list[Problem]:
    """For a file that is not there: the command that makes it."""
    hint = f"begin it: rebuildreport {command}"
    return [replace(one, suggestion=hint) if one.code == "missing file" else one for one in problems]


def _begun(problems: list[Problem]) -> list[Problem]:
    """A file of a job in which only remarks stand, as 'start' makes it, is not begun: as good as missing."""
    return [one for one in problems if one.code != "not begun"]


def _unknown_sheets(folder: Path, stock: Stock | None, source: Source) -> list[Problem]:
    """Engines of the stock file that no sheet describes."""
    known = [sheet.stem for sheet in yaml_files(folder / "engines")]
    notes = Notes(source)
    for name in stock.engines if stock else ():
        if name not in known:
            message = f"there is no sheet '{name}' in engines/"
            notes.error(("engines", name), message, near(name, known), key=True)
    return notes.found


def _sheet(folder: Path, name: str) -> Path:
    return folder / "engines" / f"{Path(name).name}.yaml"


def _engine(shop: ShopFolder, name: str) -> EngineFile:
    path = _sheet(shop.path, name)
    model, source, problems = _record(Engine, path, f"engines/{name}.yaml", shop.without)
    if model is not None and model.motion and model.motion.pressure_trace:
        from .checks.loadcase import with_trace

        model, source, found = with_trace(model, source, path.parent)
        problems += found
    file = EngineFile(name, model, source)
    if model is not None:
        currency = shop.shop.currency if shop.shop else ""
        problems += shop.memory.of(
            f"sheet {path.stem}",
            (file.digest, currency),
            list[Problem],
            lambda: _sheet_checked(file, currency),
        )
    return replace(file, problems=sorted(problems))


def _sheet_checked(file: EngineFile, currency: str) -> list[Problem]:
    from .checks.choosecheck import check_choosing
    from .checks.moneycheck import check_digits, check_sheet_money
    from .checks.sheetcheck import check_engine

    notes = Notes(file.source)
    if file.model is not None:
        check_engine(file.model, notes)
        check_choosing(file.model, notes)
        check_sheet_money(file.model, notes)
        if currency:
            check_digits(notes, file.model, currency)
    return notes.found


def _cells(
    tables: dict[str, Table], sheet: Engine | None, source: Source
) -> tuple[dict[str, Cells], list[Problem]]:
    cells: dict[str, Cells] = {}
    problems: list[Problem] = []
    rows = (text for table in tables.values() for text in table.rows.values())
    typed = sum(len(text.replace("/", " ").split()) for text in rows)
    if typed > MOST_READINGS:
        message = f"{typed:,} readings in one round: no engine has so many places"
        return {}, [source.problem(("tables",), message, "a round of its own for each day", at="key")]
    for name, table in tables.items():
        feature = sheet.features.get(table.feature or name) if sheet else None
        cells[name], found = table_cells(table, feature.unit if feature else None, source, ("tables", name))
        # where the feature itself is unknown, that is what is wrong, and not the unit it would have stated
        problems += found if feature else [one for one in found if one.code != "no unit"]
    return cells, problems


def _rounds(
    path: Path, job: str, sheet: Engine | None, without: Faults
) -> tuple[dict[str, RoundFile], list[Problem]]:
    rounds: list[RoundFile] = []
    problems: list[Problem] = []
    for file in yaml_files(path / "measurements"):
        model, source, found = _record(RoundRecord, file, f"{job}/measurements/{file.name}", without)
        if model is None and source.file in without and not without.as_meant:
            model, found = _without_head(source, sheet, found)
        problems += _begun(found)
        if model is None:
            continue
        cells, found = _cells(model.tables, sheet, source)
        problems += found
        rounds.append(RoundFile(file.stem, model, cells, source))
    rounds.sort(key=lambda one: (one.model.date, one.name))
    return {one.name: one for one in rounds}, problems


def _without_head(
    source: Source, sheet: Engine | None, found: list[Problem]
) -> tuple[RoundRecord | None, list[Problem]]:
    """What is left of a round in whose head something was left out: the tables that do not rest on it.

    No length is known without its warmth, and no table without a day, its own or the round's.
    """
    data = source.data if isinstance(source.data, dict) else {}
    tables = {name: table for name, table in (data.get("tables") or {}).items() if isinstance(table, dict)}
    if "temperature" not in data:
        tables = {name: table for name, table in tables.items() if not _of_length(name, table, sheet)}
    if "date" not in data:
        tables = {name: table for name, table in tables.items() if "date" in table}
    day = min((str(table["date"]) for table in tables.values() if "date" in table), default="")
    head = {"date": day, "by": "?", "temperature": "20 °C"}
    model, wrong = validate(RoundRecord, replace(source, data={**head, **data, "tables": tables}))
    return (model, wrong) if tables and model is not None else (None, found)


def _of_length(name: str, table: dict[str, object], sheet: Engine | None) -> bool:
    feature = sheet.features.get(str(table.get("feature", name))) if sheet else None
    unit = str(table.get("unit") or (feature.unit if feature else ""))
    return not unit or base(unit) == "mm"


def _photos(path: Path) -> dict[str, str]:
    """Pictures by name without ending; of several with one name, a JPEG before the others."""
    try:
        files = [one for one in (path / "photos").iterdir() if one.suffix.lower() in PICTURES]
    except OSError:
        return {}
    files.sort(key=lambda one: (one.suffix.lower() not in (".jpg", ".jpeg"), one.name))
    found: dict[str, str] = {}
    for file in files:
        if not is_left_over(file.name):
            found.setdefault(file.stem, f"photos/{file.name}")
    return dict(sorted(found.items()))


def _no_sheet(folder: Path, engine: str, source: Source) -> Problem:
    """A misspelt sheet is an error; one that nobody has begun leaves a job without limits, and working."""
    message = f"there is no sheet '{engine}' in engines/"
    if hint := near(engine, [sheet.stem for sheet in yaml_files(folder / "engines")]):
        return source.problem(("engine",), message, hint)
    hint = f"begin it: rebuildreport start engine {Path(engine).name}"
    return source.problem(("engine",), message + ", so nothing is judged", hint, severity="warning")


def _stray(path: Path, job: str) -> list[Problem]:
    """Files and folders whose name is nearly one of ours: they would be silently passed over."""
    wanted = [*(f"{kind}.yaml" for kind in JOB_FILES), "measurements", "photos"]
    problems = []
    for file in _others(path, {*wanted, ISSUED}):
        message = f"'{file.name}' is not read"
        hint = near(file.name, wanted, 0.75)
        if not hint and file.suffix in (".yaml", ".yml"):
            message += f": a job has {', '.join(wanted[:6])}"
            hint = "a measuring round belongs in measurements/"
        if hint:
            problems.append(Problem(f"{job}/{file.name}", 1, 1, "warning", message, suggestion=hint))
    for file in _others(path / "measurements", set()):
        message, hint = f"'{file.name}' is not read", ""
        if file.is_dir() and yaml_files(file):
            message += ": rounds lie in measurements/ itself"
            hint = "move them there, or give the folder a name that begins with a point"
        elif file.suffix != ".yaml" and file.suffix.lower() in (".yml", ".yaml", ".txt"):
            hint = f"name it {file.stem.removesuffix('.yaml')}.yaml"
        if hint:
            place = f"{job}/measurements/{file.name}"
            problems.append(Problem(place, 1, 1, "warning", message, suggestion=hint))
    return problems


def _others(folder: Path, known: set[str]) -> list[Path]:
    """What else lies in a folder, but for what programs leave there, and what is put aside as _name."""
    files = sorted(folder.iterdir()) if folder.is_dir() else []
    others = [file for file in files if file.name not in known and file.name[0] != "_"]
    return [file for file in others if not is_left_over(file.name)]
