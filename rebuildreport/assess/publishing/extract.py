"""The records that a document rests on, as typed: what extract.json holds, and the way back from it.

In: a shop's folder as read.  Out: as JSON what of it may go with the document, by an allow-list of keys; from
that the same folder again, so that whoever has the document can have it worked out anew without the shop's
files.  No prices, no notes, no names: who signed stands there by the part that he played.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import yaml

from ... import __version__
from ...records import JobFolder, ShopFolder, load_shop
from ..model.assessment import Assessment
from .public import ROLES

FORM = 1  # of the extract; one without was written before extracts held the records
LARGEST = 4 << 20  # bytes: twenty times the largest of the demo
MOST_ROUNDS = 60
TEXTS = "texts"  # folder of the shop's own in its templates

# key: what of it goes along; None: as it is, "*": every key
_Kept = Mapping[str, Any] | None


def _whole(keys: str, **parts: _Kept) -> dict[str, _Kept]:
    return {**dict.fromkeys(keys.split()), **parts}


_TABLES = {
    "*": _whole("feature unit instrument set_from state temperature instrument_temperature date columns rows")
}
KEPT: dict[str, dict[str, Any]] = {
    "shop": _whole(
        "name contact currency first_unit second_unit decision_rule soaked_within instruments language"
    ),
    "engine": _whole(
        "maker model documents layout features always choices shims matching fasteners joints motion",
        parts={"*": _whole("name per thickness contains supersedes")},
    ),
    "round": _whole("date by temperature title of", tables=_TABLES),
    "job": _whole(
        "title engine opened declined ready delivered language",
        arrival=_whole("application meter meter_believed known_from complaint not_with only"),
        reopened={"*": _whole("date meter symptom charged_to cause delivered")},
    ),
    "teardown": _whole(
        "by date codes codes_void sizes_as_found missing not_opened not_inspected",
        earlier_work={"*": _whole("what finding renewed meter")},
    ),
    "findings": _whole(
        "summary",
        findings={"*": _whole("component title positions seen cause text disposition failed needs shows")},
    ),
    "work": _whole(
        "summary customer_brings",
        parts={"*": _whole("part quantity why for")},
        candidates={"*": _whole("title part treated sizes codes")},
        decisions={"*": _whole("about positions do with size remove fit why by date")},
        deviations={"*": _whole("feature positions what accept why signed date")},
        machining={"*": _whole("to parts sent back positions")},
    ),
    "assembly": _whole(
        "marks",
        fitted={"*": _whole("part positions grade date")},
        tightened={"*": _whole("fasteners positions by date tool stretch reached")},
    ),
    "running": _whole("temperature", first_start=_whole("date by pressure_after"), tables=_TABLES),
}
_SIGNED = frozenset({"by", "signed", "to"})


def records_of(folder: ShopFolder, job: JobFolder) -> str:
    """What of the records of a job goes with its documents, as JSON of one form."""
    sheet = folder.engines.get(job.record.engine)
    found: dict[str, Any] = {
        "shop": _kept(folder.source.data, KEPT["shop"]),
        "engine": _kept(sheet.source.data, KEPT["engine"]) if sheet else None,
        "rounds": {name: _kept(one.source.data, KEPT["round"]) for name, one in job.rounds.items()},
        **{name: _kept(source.data, KEPT[name]) for name, source in job.sources.items()},
        **_words_of(folder.path / "templates"),
    }
    return _json({name: data for name, data in found.items() if data}).decode()


def _words_of(templates: Path) -> dict[str, Any]:
    """The texts that the shop has written itself, and whether it prints by templates of its own, too."""
    files = [path for path in sorted(templates.rglob("*")) if path.is_file()]
    own = [path for path in files if path.parent == templates / TEXTS and path.suffix == ".md"]
    texts = {path.name: path.read_text("utf-8", errors="replace") for path in own}
    return {"texts": texts, "own_templates": len(files) > len(own)}


def extract(assessment: Assessment) -> bytes:
    """extract.json of a job, ending in a line feed."""
    head = {"form": FORM, "made_by": f"rebuildreport {__version__}", "job": assessment.job}
    whole = {**head, "records": json.loads(assessment.records or "{}")}
    return _json(whole) + b"\n"


def _json(data: dict[str, Any]) -> bytes:
    from pydantic_core import to_json  # ten times as fast as the standard library's, with the same bytes

    return to_json(data, indent=1)


def _kept(data: Any, keys: _Kept) -> Any:
    if isinstance(data, list):
        inner = keys["*"] if keys is not None and "*" in keys else keys
        return [_kept(one, inner) for one in data]
    if not isinstance(data, dict):
        return data
    every = keys.get("*") if keys is not None else None
    found = {}
    for name, value in data.items():
        if value is None or not (keys is None or name in keys or every is not None):
            continue
        if name in _SIGNED and keys is not None and isinstance(value, str):
            found[name] = value if value.lower() in ROLES else "the shop"
        else:
            found[name] = _kept(value, None if keys is None else keys.get(name, every))
    return found


class NoExtract(ValueError):
    """What is no extract, or none that can be worked out; says why."""


_NAME = re.compile(r"[\w][\w .()+-]{0,80}")


def written_out(data: Any, into: Path) -> tuple[ShopFolder, JobFolder]:
    """The folder that an extract was made of, as far as it goes along, read again.

    Raises NoExtract where it holds no records that can be read.
    What was typed is written in quotes: it stays that text.
    """
    if not isinstance(data, dict) or data.get("form") != FORM:
        short = repr(data.get("form"))[:30] if isinstance(data, dict) else "no kind"
        raise NoExtract(f"its extract is of form {short}, which this version does not know")
    records, name = data.get("records"), data.get("job")
    if not isinstance(records, dict) or not isinstance(name, str) or not _NAME.fullmatch(name):
        raise NoExtract("its extract holds no records")
    held = _files_of(records, name).items()
    dump = partial(yaml.dump, default_style='"', allow_unicode=True, sort_keys=False)
    files: dict[str, Any] = {file: dump(data) for file, data in held if data}
    files |= {f"templates/{TEXTS}/{file}": text for file, text in (records.get("texts") or {}).items()}
    for file, text in files.items():
        if not isinstance(text, str) or not all(_NAME.fullmatch(part) for part in file.split("/")):
            raise NoExtract("its extract names files as no shop does")
        path = into / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    folder = load_shop(into, [name])
    job = folder.jobs[name]
    if folder.shop is None or job.job is None:
        problem = next((one for one in folder.all_problems if one.severity == "error"), None)
        raise NoExtract(
            f"the records of its extract cannot be read: {problem.message if problem else 'no job'}"
        )
    return folder, job


def _files_of(records: dict[str, Any], name: str) -> dict[str, Any]:
    """What stands in each file of the folder, by its path."""
    rounds, record = records.get("rounds") or {}, records.get("job")
    sheet = record.get("engine") if isinstance(record, dict) else None
    if not isinstance(rounds, dict) or len(rounds) > MOST_ROUNDS or not isinstance(sheet, str):
        raise NoExtract("its extract holds no records of a job")
    files = {"shop.yaml": records.get("shop"), f"engines/{sheet}.yaml": records.get("engine")}
    files |= {f"{name}/{kind}.yaml": records.get(kind) for kind in KEPT.keys() - {"shop", "engine", "round"}}
    return files | {f"{name}/measurements/{one}.yaml": held for one, held in rounds.items()}
