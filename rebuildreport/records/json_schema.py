"""JSON Schemas of the files, from the classes that validate them: editors complete and underline by them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import CoreSchema

from ..trade import kinds
from .files.choosing import Stock
from .files.jobfile import Assembly, Findings, Job, Running, Teardown, Work
from .files.rounds import RoundRecord
from .files.sheet import Engine
from .files.shop import Shop

# name of the schema: the model, and where such a file stands in the shop's folder
KINDS: dict[str, tuple[type[BaseModel], str]] = {
    "shop": (Shop, "shop.yaml"),
    "stock": (Stock, "stock.yaml"),
    "engine": (Engine, "engines/NAME.yaml"),
    "job": (Job, "JOB/job.yaml"),
    "teardown": (Teardown, "JOB/teardown.yaml"),
    "round": (RoundRecord, "JOB/measurements/ROUND.yaml"),
    "findings": (Findings, "JOB/findings.yaml"),
    "work": (Work, "JOB/work.yaml"),
    "assembly": (Assembly, "JOB/assembly.yaml"),
    "running": (Running, "JOB/running.yaml"),
}
FOLDER = ".schemas"
DIALECT = "https://json-schema.org/draft/2020-12/schema"


class _Plain(GenerateJsonSchema):
    """Without a made-up title for each key: the key itself is the word."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False

    def default_schema(self, schema: Any) -> JsonSchemaValue:
        # what stands in for a key left out is the program's affair; in a schema it would be wrong
        # where the file says 'no' and Python False
        inner: CoreSchema = schema["schema"]
        return self.generate_inner(inner)


@cache  # all of them take a quarter of a second
def schema(kind: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of one kind of file.

    >>> schema("shop")["title"], schema("shop")["properties"]["currency"]["description"]
    ('shop.yaml', 'three letters of ISO 4217, as in EUR')

    Raises KeyError for a kind that there is none of.
    """
    model, place = KINDS[kind]
    found = model.model_json_schema(schema_generator=_Plain)
    about = found.pop("description", "")
    return {
        "$schema": DIALECT,
        "title": place,
        **({"description": about} if about else {}),
        **_for_editors(found),
    }


def _for_editors(found: dict[str, Any]) -> dict[str, Any]:
    """Without made-up names of ours; with the kinds of feature, and with digits to choose as the numbers that
    they are to an editor.
    """
    found.pop("title", None)
    for part in found.get("$defs", {}).values():
        part.pop("title", None)
        for about in part.get("properties", {}).values():
            for way in (about, *about.get("anyOf", ())):
                if any(str(word).isdigit() for word in way.get("enum", ())):
                    way["enum"] += [int(word) for word in way["enum"] if str(word).isdigit()]
                    way.pop("type", None)
    if "FeatureRecord" in found.get("$defs", {}):
        kind = found["$defs"]["FeatureRecord"]["properties"]["kind"]
        kind["enum"] = sorted(kinds.KINDS)
    return found


def write_schemas(shop: Path, further: Mapping[str, dict[str, Any]] | None = None) -> list[Path]:
    """Every schema into SHOP/.schemas/; a file that is right already is left alone.

    ``further`` are schemas that floors above add, by name.

    Raises OSError where the folder cannot be written.
    """
    folder = shop / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    every = {kind: schema(kind) for kind in KINDS} | dict(further or {})
    for kind, content in every.items():
        path = folder / f"{kind}.json"
        text = json.dumps(content, ensure_ascii=False, indent=1) + "\n"
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            part = path.with_suffix(".part")
            part.write_text(text, encoding="utf-8", newline="\n")
            part.replace(path)
        written.append(path)
    return written
