"""Documentation under test: where each formula comes from, and that every command is described."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SOURCE = re.compile(r"\bSources?\b|common practice", re.I)


def computing_functions() -> list[tuple[str, ast.FunctionDef]]:
    """Public module-level functions of ``trade`` that return a number or a result made of numbers."""
    found = []
    for module in sorted((ROOT / "rebuildreport" / "trade").rglob("*.py")):
        for node in ast.parse(module.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                found.append((f"{module.name}:{node.name}", node))
    return found


@pytest.mark.parametrize("node", [pytest.param(node, id=name) for name, node in computing_functions()])
def test_source_of_the_formula(node: ast.FunctionDef) -> None:
    text = ast.get_docstring(node) or ""
    assert SOURCE.search(text), f"{node.name}: the docstring names no 'Source:' and no 'common practice'"


def test_trade_has_functions() -> None:
    """The check above has something to check."""
    assert len(computing_functions()) >= 10


def test_every_command_is_in_the_readme() -> None:
    from rebuildreport.commands.terminal.listing import COMMANDS

    readme = (ROOT / "README.md").read_text("utf-8")
    missing = [name for name in COMMANDS if f"| `{name}" not in readme]
    assert not missing, f"the commands table of README.md lacks {missing}"


def test_readme_names_no_command_that_is_not_there() -> None:
    from rebuildreport.commands.terminal.listing import COMMANDS

    readme = (ROOT / "README.md").read_text("utf-8")
    named = set(re.findall(r"(?:^|[`/])rebuildreport ([a-z][a-z-]+)", readme, re.M))
    assert named
    assert named <= set(COMMANDS)
