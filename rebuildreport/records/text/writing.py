"""YAML that the program writes for a person to fill in: whatever stands in it, the reader reads it back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from msgspec import Struct

from .reader import read_bytes

UNKNOWN = "not written down yet"
REMARKS = (
    "# yaml-language-server: $schema=../../.schemas/round.json",
    "# Laid out like the bench sheet of this round, box by box. -- is a reading not taken;",
    "# 0.34/0.35/0.34 are repeats at one spot; <0.05 did not go in; none is no clearance.",
    "# Delete what was not measured.",
)


def as_value(text: str) -> str:
    """A text as the value of one line, in quotes where the reader would take it otherwise.

    Source: YAML 1.1, chapter 5 (indicators) and 7.3 (a JSON string is a double-quoted scalar), asked of
    the reader itself.

    >>> as_value("mm"), as_value("%"), as_value("caps torqued: no shells")
    ('mm', '"%"', '"caps torqued: no shells"')
    """
    return text if _reads(f"a:\n  b: {text}\n", {"a": {"b": text}}) else json.dumps(text, ensure_ascii=False)


def as_name(text: str) -> str:
    """A text as the name before a colon.

    Source: as above.

    >>> as_name("M1"), as_name("*1")
    ('M1', '"*1"')
    """
    return text if _reads(f"a:\n  {text}: b\n", {"a": {text: "b"}}) else json.dumps(text, ensure_ascii=False)


def _reads(yaml: str, data: object) -> bool:
    source, problems = read_bytes(yaml.encode("utf-8"), "")
    return not problems and source.data == data


NOT_SET = "    #set_from: the micrometer that it was set in"


class TableLayout(Struct, frozen=True):
    """A measuring table of a round's file before anything is measured: its heading and its boxes."""

    feature: str
    title: str
    unit: str
    state: str  # that the sheet asks for
    positions: Sequence[str]
    columns: Sequence[str]
    instrument: str = ""
    set_from: str = ""
    to_set: bool = False  # its instrument is set in another, and nobody has said in which
    confirmed: bool = False  # that it was in this state; else it stands as a remark to confirm
    further: tuple[tuple[str, str], ...] = ()  # keys of its own, with what stands behind them

    def lines(self, readings: Mapping[tuple[str, str], str] = MappingProxyType({})) -> list[str]:
        """The table with ``readings`` by position and column as typed, and -- in every other place.

        Source: layout of this project.

        >>> leakage = TableLayout("leakage", "", "%", "", ["C1", "C2"], ["loss", "b"])
        >>> print("\\n".join(leakage.lines({("C1", "loss"): "12/13/12"})).rstrip())
          leakage:
            unit: "%"
            #instrument: its name in shop.yaml
            columns: loss      b
            rows:
              C1:    12/13/12  --
              C2:    --        --
        """
        heading = " ".join(self.title.split())
        names = [as_name(position) + ":" for position in self.positions]
        lead = max(len("columns:"), *(len(name) + 2 for name in names))
        typed = [[readings.get((at, column), "--") for column in self.columns] for at in self.positions]
        widths = [max(map(len, boxes)) for boxes in zip(self.columns, *typed, strict=True)]
        lines = [
            f"  {as_name(self.feature)}:" + (f"  # {heading}" if heading else ""),
            f"    unit: {as_value(self.unit or 'mm')}",
            f"    instrument: {as_value(self.instrument)}"
            if self.instrument
            else "    #instrument: its name in shop.yaml",
        ]
        if self.set_from:
            lines.append(f"    set_from: {as_value(self.set_from)}")
        elif self.to_set:
            lines.append(NOT_SET)
        if self.state:
            sign = "" if self.confirmed else "#"
            lines.append(f"    {sign}state: {as_value(' '.join(self.state.split()))}")
        lines += [f"    {key}: {as_value(said)}" for key, said in self.further]
        lines += [f"    {'columns:':<{lead}} {as_value(_spaced(self.columns, widths))}", "    rows:"]
        for name, boxes in zip(names, typed, strict=True):
            lines.append(f"      {name:<{lead - 2}} {_spaced(boxes, widths)}")
        return [*lines, ""]


def _spaced(boxes: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(f"{box:<{width}}" for box, width in zip(boxes, widths, strict=True)).rstrip()


def round_text(day: str, by: str, temperature: str, tables: Iterable[Sequence[str]]) -> str:
    """A round's whole file, its tables as ``TableLayout.lines`` wrote them: typing in is one pass."""
    lines = [
        *REMARKS,
        f"date: {as_value(day)}",
        f"by: {as_value(by)}",
        f"{f'temperature: {as_value(temperature)}':<40} # part and instrument, soaked together",
        "",
        "tables:",
    ]
    return "\n".join([*lines, *(line for table in tables for line in table)]).rstrip() + "\n"
