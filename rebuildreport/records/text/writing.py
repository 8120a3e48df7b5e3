"""YAML that the program writes for a person to fill in: whatever stands in it, the reader reads it back."""

from __future__ import annotations

import json
from collections.abc import Sequence

from .reader import read_bytes


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


def table_lines(
    feature: str,
    title: str,
    unit: str,
    state: str,
    positions: Sequence[str],
    columns: Sequence[str],
    instrument: str = "",
) -> list[str]:
    """A measuring table of a round's file with -- in every place; a state stands as a remark to confirm.

    Source: layout of this project.

    >>> print("\\n".join(table_lines("leakage", "", "%", "", ["C1"], ["loss"])).rstrip())
      leakage:
        unit: "%"
        #instrument: its name in shop.yaml
        columns: loss
        rows:
          C1:    --
    """
    heading = " ".join(title.split())
    names = [as_name(position) + ":" for position in positions]
    lead = max(len("columns:"), *(len(name) + 2 for name in names))
    heads = as_value("  ".join(columns))
    lines = [
        f"  {as_name(feature)}:" + (f"  # {heading}" if heading else ""),
        f"    unit: {as_value(unit or 'mm')}",
        f"    instrument: {as_value(instrument)}" if instrument else "    #instrument: its name in shop.yaml",
    ]
    if state:
        lines.append(f"    #state: {as_value(' '.join(state.split()))}")
    lines += [f"    {'columns:':<{lead}} {heads}", "    rows:"]
    for name in names:
        boxes = "  ".join(f"{'--':<{len(column)}}" for column in columns).rstrip()
        lines.append(f"      {name:<{lead - 2}} {boxes}")
    return [*lines, ""]
