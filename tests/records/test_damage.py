"""Any damage to any file of a shop ends in problems that point into it, never in a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rebuildreport.records import load_shop

WORDS = [
    "",
    "-",
    "--",
    "mm",
    "x: y",
    "[",
    "M1",
    "0",
    "1e999",
    "-1",
    "NaN",
    "see x",
    "max",
    "2026-02-30",
    "\t",
    ":",
]
WORDS += [
    "none",
    "1/2/",
    "75,968",
    "'",
    "#",
    "0.5 mm undersize",
    "M1 to M9",
    "C9 to C1",
    "*a",
    "&a",
    "° ",
    "5 %",
]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_no_damage_raises(files: dict[str, str], data: Any) -> None:
    name = data.draw(st.sampled_from(sorted(one for one in files if one.endswith(".yaml"))))
    lines = files[name].splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        kind = data.draw(st.sampled_from(["value", "word", "key", "delete", "indent", "repeat"]))
        word = data.draw(st.sampled_from(WORDS))
        head, colon, tail = lines[at].partition(":")
        if kind == "value":
            lines[at] = f"{head}{colon} {word}"
        elif kind == "word":
            lines[at] = f"{head}{colon}{' '.join([word, *tail.split()[1:]])}"
        elif kind == "key":
            lines[at] = f"{head[: len(head) - len(head.lstrip())]}{word}{colon}{tail}"
        elif kind == "delete":
            lines[at] = ""
        elif kind == "indent":
            lines[at] = f"  {lines[at]}"
        else:
            lines.insert(at, lines[at])
    with tempfile.TemporaryDirectory() as folder:
        for one, text in {**files, name: "\n".join(lines) + "\n"}.items():
            path = Path(folder, one)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        shop = load_shop(Path(folder))
    for problem in shop.all_problems:
        assert problem.message
        source = [*files, name]
        assert problem.file in source
        text = lines if problem.file == name else files[problem.file].splitlines()
        assert 1 <= problem.line <= len(text) + 1 and problem.column >= 1
        assert problem.quote == (text[problem.line - 1].rstrip() if problem.line <= len(text) else "")
