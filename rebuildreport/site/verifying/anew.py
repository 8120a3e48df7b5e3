"""The results that the records of a document give, and the words that its results print, worked out anew.

Run as a program with little time and memory it reads what ``inside`` found as JSON and prints one line, or
why not: whatever the records were made to do, they do it there.

What is worked out from the records alone is held against the results that the document carries: values, their
uncertainties, limits and verdicts, readings, loads.  What rests on prices or on the shop's shelf (the cost,
which part was chosen) is not: those records do not leave the shop.  Then the document is made again from the
results that it carries, and every word and number of it must stand in the PDF, one behind the other.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from ... import __version__
from . import wording
from .inside import limited

# of a processor, three times what the largest of the demo takes where others share it; on the clock
SECONDS, PATIENCE = 6, 40
SLOW = 4  # a machine that takes long to load the program may take so many times as long for the rest
MEMORY = 1 << 30
STOPPED = "working out its records takes more time or memory than any of ours: they are made to do harm"

# of results.json, what the records of the extract alone give
PROVEN = (
    "engine",
    "decision_rule",
    "rounds",
    "features",
    "characteristics",
    "summary",
    "tables",
    "paper_tables",
    "instruments",
    "deviations",
    "complaint_lines",
    "loads",
)
# who signed stands in the extract by the part that he played; a line of a file is another one in another file
ASIDE = frozenset({"by", "signed", "file", "line"})
# version: what it works out otherwise than the one before, for whoever holds a document of an older one
CHANGED = {
    "0.2.0": "how deep valves lie counts in the compression ratio, and crush that was read in a clearance; "
    "a table that names no instrument is as unsure as with the shop's worst for it; what is cut and on no "
    "price line makes the total a minimum; loads and oil films carry cycle, nose pull and valve gaps",
    "0.2.1": "shells and pistons that were bought and read are settled by it, sets that nobody asks for cost "
    "nothing; "
    "oil films of bearings worn wide, and the roughness beside each, readings a turn of the thimble "
    "off, and totals where a part that was bought reads wrong",
    "0.2.2": "a condemned piston is priced in the size of its bore, a rebore without pistons is a minimum; "
    "a hole read in a micrometer is less sure; what a kit brings is new, and oversize pistons have limits "
    "of their size; a ratio without the room in its head is the most that it can be; shells sold as the "
    "pair of one journal cost as many as there are journals; a set whose size is open is one line without a "
    "price, and a plan of what comes off has the price of the gasket that was chosen; a part with a line of "
    "the build sheet of its own is fitted there alone; what stays is judged by the newest clearance known of "
    "it; a piston takes what was read of its pin and mass along; a bore is ordered to its piston inside the "
    "sheet's limits; shells follow the journals at whose places they are read; chambers end with a skim; "
    "a half sold by its grade goes where that half has it; bolts have a preload where sheets name their oil "
    "in German; a cut in a V says how far it moves the ports against the manifold; "
    "a height that was cut is judged by its wear limit",
    "0.2.3": "a bound stands as one on the build sheet, and an engine that has run is handed over without "
    "cautions of its first start; a finding shows the worse value of a limit that it names, and side "
    "valves meet no piston; a difference of shares has the digits of its readings, pictures the numbers "
    "of their order, an engine that came back its next steps; a heat shield calls for no caution of "
    "heated parts; a kit of liner, piston and pin is bought once for a cylinder; an empty box of what is "
    "new or machined has no wear limit beside it; a number under always counts for what is sold once an "
    "engine, too; a bolt that a finding names is one of a group that is used once only; inches say what a"
    " throw that is off does; fuel under pressure has a caution that fits what burns, and says where it "
    "goes through skin; a part of every rebuild whose grade is open is not to be ordered yet; the film "
    "that speaks for a cause is that of the bearing as it failed where that held; what a finding renews "
    "is on its line of the build; of a journal half read no mean clearance is told; what comes in a set "
    "stands at its line of the build, small material says its cap, an engine that is ready asks for no "
    "reading inside it, and a surface without a limit for new work says so on its order; what locates a "
    "crank is a bearing in the history; page one says which decision settles a fit and a face, and a bench "
    "sheet asks nothing of what was built in",
}
MINE = f"rebuildreport {__version__}"


class Wrong(Exception):
    """Why a document is not right."""


def worked_out(held: dict[str, Any]) -> str:
    """The line that says a document is right.  Raises Wrong where it is not."""
    root = Path(__file__).resolve().parents[3]
    start = f"import sys; sys.path.insert(0, {str(root)!r}); from {__name__} import _main; _main()"
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}  # each thread would take memory of its own
    try:
        done = subprocess.run(
            [sys.executable, "-P", "-c", start],
            input=json.dumps(held).encode(),
            capture_output=True,
            timeout=PATIENCE,
            check=False,
            env=env,
        )
        told = json.loads(done.stdout)
    except (subprocess.TimeoutExpired, ValueError):  # it was ended, or killed before it could tell
        raise Wrong(STOPPED) from None
    if "wrong" in told:
        raise Wrong(told["wrong"])
    return str(told["right"])


def _main() -> None:
    from ...assess.publishing import results
    from ...documents.sheets import register

    del results, register  # they are loaded, and nothing from outside is read yet
    limited(max(SECONDS, math.ceil(SLOW * time.process_time())), MEMORY)
    try:
        told = {"right": _right(json.load(sys.stdin))}
    except Wrong as wrong:
        told = {"wrong": str(wrong)}
    except (MemoryError, RecursionError):
        told = {"wrong": STOPPED}
    sys.stdout.write(json.dumps(told))


def _right(held: dict[str, Any]) -> str:
    from ...assess import assess_for_documents
    from ...assess.publishing.extract import NoExtract, written_out
    from ...assess.publishing.results import of_now, results_json

    extract, results = (json.loads(held["files"][f"{name}.json"]) for name in ("extract", "results"))
    results = of_now(results)
    made_by = str(results.get("made_by"))[:60]
    with tempfile.TemporaryDirectory(prefix="rebuildreport-verify-") as name:
        try:
            anew = assess_for_documents(*written_out(extract, Path(name)))
        except NoExtract as problem:
            raise Wrong(str(problem)) from problem
        except MemoryError:
            raise
        except Exception as problem:  # records that nobody typed, or damaged ones
            raise Wrong(f"the records of its extract give no results: {type(problem).__name__}") from problem
        now = json.loads(results_json(anew))["assessment"]
        differences = list(_differences(now, results["assessment"]))
        if differences:
            where, should, states = differences[0]
            raise Wrong(
                f"{len(differences)} of its results differ from what its records give, the first: {where} is "
                f"{short(states)} and should be {short(should)}: {_why(made_by)}"
            )
        printed = _printed(held, results, now, made_by, Path(name))
    many = len(now["characteristics"])
    return f"right: {many} values of its records, worked out anew by {MINE}, are its results, and {printed}"


def _differences(now: dict[str, Any], stated: dict[str, Any]) -> Iterator[tuple[str, Any, Any]]:
    for name in PROVEN:
        yield from unlike(now.get(name), stated.get(name), name)


def unlike(one: Any, other: Any, where: str) -> Iterator[tuple[str, Any, Any]]:
    """Where two differ, by path; a number by more than a machine's last digits.

    What the other does not state was not worked out yet by the version that made it.
    """
    if isinstance(one, dict) and isinstance(other, dict):
        for name in sorted(other):
            if name not in ASIDE:
                yield from unlike(one.get(name), other.get(name), f"{where} {name}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for number, (mine, theirs) in enumerate(zip(one, other, strict=True), 1):
            yield from unlike(mine, theirs, f"{where} {_named(theirs) or number}")
    elif isinstance(one, float) and isinstance(other, (int, float)):
        if not math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-8):
            yield where, one, other
    elif one != other:
        yield where, one, other


def _named(item: Any) -> str:
    """A value by its feature, its name and its place."""
    if not isinstance(item, dict):
        return ""
    return " ".join(str(item[key]) for key in ("feature", "name", "position") if item.get(key))


def _why(made_by: str) -> str:
    if made_by == MINE:
        return "the results or the extract were changed after it was made"
    changes = "; ".join(f"{version}: {what}" for version, what in CHANGED.items())
    return f"it was made by {made_by}, this is {MINE}" + (f"; changed since: {changes}" if changes else "")


def _printed(
    held: dict[str, Any], results: dict[str, Any], now: dict[str, Any], made_by: str, folder: Path
) -> str:
    """What of the words is held, and of which document; refused where they are not its results'."""
    from ...assess.publishing.results import from_json, results_json
    from .adding import not_adding_up

    stated = results["assessment"]
    try:
        try:
            one = from_json(json.dumps(results))
        except ValueError:  # it lacks what its version did not yet work out
            one = from_json(json.dumps({**results, "assessment": _completed(stated, now)}))
        as_today = made_by == MINE and json.loads(results_json(one))["assessment"] == stated
        name = one.issue.document if one.issue is not None and one.issue.document else "report"
        beside = _beside(one)
        wanted = {*_proving(one, name)}
        odd = next(not_adding_up(one.cost), None)
    except MemoryError:
        raise
    except Exception as problem:  # results that no version of ours has written
        raise _unmade(problem) from problem
    if odd is not None:
        raise Wrong("its prices do not add up: {} is stated as {} and comes to {}".format(*odd))
    changed = []
    for document, page in _made(printings(one, name, folder)):
        try:
            many, more = wording.held(page, held["words"], beside, one.contact)
        except wording.Changed as problem:
            changed.append(problem)
        else:
            told = f"; beside them stands what no record of it holds: {more}" if more else ""
            return f"all {many} words and numbers of this {document} stand where they should{told}"
    own = json.loads(held["files"]["extract.json"])["records"].get("own_templates")
    if as_today and not own:
        raise Wrong(f"its words were changed: {min(changed, key=lambda one: one.far)}")
    # another version, or the shop itself, words and places some things otherwise: the values that prove its
    # findings must be there
    why = "its shop prints by templates of its own" if own else f"it is of another version: {_why(made_by)}"
    there = {*wording.NUMBER.findall(held["words"])}
    if missing := sorted(wanted - there):
        raise Wrong(f"its words were changed: {missing[0]} stands nowhere in them; {why}")
    return f"{len(wanted)} values that prove it stand in its words, and the rest is not held: {why}"


def _unmade(problem: Exception) -> Wrong:
    return Wrong(f"its words cannot be made again from its results: {type(problem).__name__}")


def _made(pages: Iterator[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Pages one by one, as they are asked for: most documents are held by the first."""
    try:
        yield from pages
    except (MemoryError, GeneratorExit):
        raise
    except Exception as problem:  # of another shop's language, or results that were made to do harm
        raise _unmade(problem) from problem


def printings(one: Any, name: str, folder: Path) -> Iterator[tuple[str, str]]:
    """What the document may be printed from: what was issued last, a report beside it, one for everybody."""
    from ...documents.press.photos import FULL, SMALL, Prepared
    from ...documents.report.findings import on_paper
    from ...documents.report.rendering import printed_report
    from ...documents.sheets import register

    # what a document says of a picture needs no pixels
    shown = {photo.name: Prepared("-", "-", FULL, FULL, SMALL, SMALL) for photo in one.photos if photo.file}
    one = replace(one, contact="\u2014")  # a letter has the telephone there, which no results tell
    if name != "report":
        document = register.named(name)
        yield name, document.paper(document.view(one, folder, on_paper(shown)), one, folder).html
    for edition in ("shop", "public"):
        yield "report", printed_report(one, shown, edition, photo_folder=folder, shop=folder).html


def _beside(one: Any) -> tuple[str, ...]:
    """The words at which the number of a page stands."""
    from ...documents.press.language import language

    say = language(one.language)
    return tuple(word for text in ("page", "of", "on page") for word in say(text).split())


def _proving(one: Any, name: str) -> Iterator[str]:
    """The numbers of the values that a report's findings show; of what is priced, of each amount."""
    from ...documents.press.language import language, speaking
    from ...documents.press.words import value

    say, texts = language(one.language), []
    with speaking(say):
        if name == "report":
            found = [one.find(key) for finding in one.findings for key in finding.shows]
            shown = [value(measured, one.system) for measured in found if measured is not None]
            texts = [value.text for value in shown if value is not None]
        elif name in ("estimate", "statement"):
            amounts = [line.amount for line in one.cost.lines if line.amount is not None]
            texts = [say.amount(amount, one.cost.digits) for amount in (*amounts, one.cost.total)]
    for text in texts:
        yield from wording.NUMBER.findall(text)


def _completed(stated: Any, now: Any) -> Any:
    """What a document states, with what its version did not yet: as its records give it."""
    if isinstance(stated, dict) and isinstance(now, dict):
        return {**now, **{name: _completed(value, now.get(name)) for name, value in stated.items()}}
    if isinstance(stated, list) and isinstance(now, list) and len(stated) == len(now):
        return [_completed(one, other) for one, other in zip(stated, now, strict=True)]
    return stated


def short(thing: Any) -> str:
    """A value for a message, cut where it is long."""
    text = json.dumps(thing, ensure_ascii=False, default=str)
    return text if len(text) < 60 else f"{text[:57]}..."
