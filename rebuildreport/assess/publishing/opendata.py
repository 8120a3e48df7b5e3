"""What a shop knows of its jobs as plain tables for other programs: jobs, values, readings.

In: assessments, as they are or their public sides.  Out: rows, as CSV with the metadata of the W3C's "CSV on
the Web" (metadata vocabulary for tabular data, 2015), and as one JSON document with its JSON Schema.
Names, types and meanings stand once, in the row classes below; a change of them is a new FORM.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field

from ...quantities import english
from ..model.assessment import Assessment
from .results import DIGITS

FORM: Literal["rebuildreport data 1"] = "rebuildreport data 1"
METADATA = "csv-metadata.json"  # the name that readers of the standard look for beside a table


class TableLine(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class JobLine(TableLine):
    """One job."""

    job: str = Field(description="name of its folder")
    title: str
    engine: str = Field(description="maker and model")
    stage: str
    opened: date
    delivered: date | None
    application: str = Field(description="what the engine drives")
    meter: str = Field(description="hours or distance at arrival, as told")
    complaint: str
    total: Decimal | None = Field(description="of the newest estimate, with tax; never in the public form")
    currency: str = Field(description="ISO 4217")


class ValueLine(TableLine):
    """One value worked out for one position in one round, with its verdict."""

    job: str
    feature: str = Field(description="as the engine's sheet names it")
    characteristic: str = Field(description="size, taper, clearance ...")
    position: str
    round: str = Field(description="of its newest reading; empty where nothing was read")
    date: date | None
    value: float | None = Field(description="at 20 °C (ISO 1), in its unit")
    unit: str
    standard_uncertainty: float | None = Field(description="JCGM 100, k = 1, in its unit")
    new_least: float | None
    new_most: float | None
    wear_least: float | None
    wear_most: float | None
    verdict: str = Field(description="by the decision rule of the shop (ISO 14253-1 or simple acceptance)")
    stands: bool = Field(description="the newest word on this position")


class ReadingLine(TableLine):
    """One reading as typed; the columns are those that the command take reads."""

    job: str
    round: str
    date: date
    temperature: str = Field(description="of part and instrument")
    table: str = Field(description="as the round's file names it")
    feature: str
    position: str
    column: str = Field(description="where at the position: front_a, thrust ...")
    reading: str = Field(description="with every digit that the instrument showed")
    unit: str
    instrument: str = Field(description="as shop.yaml names it")
    set_from: str = Field(description="the micrometer that a gauge was set in")
    state: str = Field(description="in which it was read, as in caps torqued, no shells")
    left_out: bool = Field(description="in no value, until somebody has read it again")


class Data(BaseModel):
    """All of it as one document."""

    form: Literal["rebuildreport data 1"] = FORM
    edition: Literal["shop", "public"]
    jobs: list[JobLine]
    values: list[ValueLine]
    readings: list[ReadingLine]


# name of a table: its rows, and what names one of them
TABLES: dict[str, tuple[type[TableLine], tuple[str, ...]]] = {
    "jobs": (JobLine, ("job",)),
    "values": (ValueLine, ()),
    "readings": (ReadingLine, ()),
}


def data_of(jobs: Iterable[Assessment], edition: Literal["shop", "public"]) -> Data:
    """The rows of some jobs in their order; for ``public`` these are public sides already."""
    found = Data(edition=edition, jobs=[], values=[], readings=[])
    for one in jobs:
        found.jobs.append(_job(one, edition))
        found.values.extend(_values(one))
        found.readings.extend(_readings(one))
    return found


def schema() -> dict[str, Any]:
    """The JSON Schema of the JSON document (draft 2020-12)."""
    found = Data.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def csv_of(data: Data, name: str) -> str:
    """One table as RFC 4180 has it, with line feeds; what is not known is empty."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(TABLES[name][0].model_fields)
    for row in getattr(data, name):
        cells = row.model_dump(mode="json").values()
        writer.writerow(
            ["" if cell is None else str(cell).lower() if isinstance(cell, bool) else cell for cell in cells]
        )
    return out.getvalue()


def metadata(data: Data) -> dict[str, Any]:
    """What the CSV files are, in the words of "CSV on the Web"."""
    return {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": "en"}],
        "dc:title": f"{FORM}, {data.edition} edition",
        "dialect": {"lineTerminators": ["\n"]},
        "tables": [
            {"url": f"{name}.csv", "tableSchema": _table(row, key)} for name, (row, key) in TABLES.items()
        ],
    }


def _table(row: type[TableLine], key: tuple[str, ...]) -> dict[str, Any]:
    columns = []
    for name, about in row.model_fields.items():
        kinds = get_args(about.annotation) or (about.annotation,)
        column: dict[str, Any] = {"name": name, "titles": name, "datatype": _DATATYPES[kinds[0]]}
        if type(None) not in kinds and kinds[0] is not str:  # a text may be empty
            column["required"] = True
        if about.description:
            column["dc:description"] = about.description
        columns.append(column)
    of_jobs = {"columnReference": "job", "reference": {"resource": "jobs.csv", "columnReference": "job"}}
    return {"columns": columns, **({"primaryKey": list(key)} if key else {"foreignKeys": [of_jobs]})}


_DATATYPES: dict[Any, str] = {
    str: "string", bool: "boolean", float: "double", date: "date", Decimal: "decimal"
}  # fmt: skip


def _job(one: Assessment, edition: str) -> JobLine:
    priced = edition == "shop" and bool(one.cost.lines)
    same = {name: getattr(one, name) for name in JobLine.model_fields if hasattr(one, name)}
    same |= {"engine": one.engine.full_name, "meter": english(one.meter), "currency": one.cost.currency}
    return JobLine(**same, total=one.cost.total if priced else None)


def _values(one: Assessment) -> Iterator[ValueLine]:
    for value in one.characteristics:
        new, wear = (value.limits.new, value.limits.wear) if value.limits else ((None, None), (None, None))
        same = {name: getattr(value, name) for name in ValueLine.model_fields if hasattr(value, name)}
        same |= dict(zip(("new_least", "new_most", "wear_least", "wear_most"), (*new, *wear), strict=True))
        # without binary dust
        same = {name: round(is_, DIGITS) if isinstance(is_, float) else is_ for name, is_ in same.items()}
        yield ValueLine(job=one.job, characteristic=value.name, **same)


def _readings(one: Assessment) -> Iterator[ReadingLine]:
    rounds = {found.name: found for found in one.rounds}
    for table in one.tables:
        if table.round not in rounds:
            continue
        for position, cells in table.rows.items():
            for column, reading in zip(table.columns, cells, strict=False):
                if not reading.strip("- "):
                    continue
                same = {
                    name: getattr(table, name) for name in ReadingLine.model_fields if hasattr(table, name)
                }
                same |= {"job": one.job, "table": table.name, "date": rounds[table.round].date}
                same |= {"position": position, "column": column, "reading": reading}
                same["temperature"] = table.temperature or rounds[table.round].temperature
                yield ReadingLine(**same | {"left_out": (position, column) in table.left_out})
