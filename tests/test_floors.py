"""The floors and rooms of the house (DEVELOPERS.md): what may import what, how large they may grow."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Sequence
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "rebuildreport"
FLOORS = ["quantities", "trade", "records", "assess", "documents", "site", "commands"]  # from the ground up
MODULES = sorted(PACKAGE.rglob("*.py"))
# the rooms of a floor, from the ground up; modules beside them stand on their roof
ROOMS = {
    "trade": [
        "measuring",
        "engine",
        "access",
        "choosing",
        "tightening",
        "estimating",
        "life",
        "running",
        "kinds",
    ],
    "records": ["text", "files", "checks", "doubts"],
    "assess": [
        "model",
        "measure",
        "access",
        "parts",
        "work",
        "telling",
        "choose",
        "loads",
        "money",
        "build",
        "freezing",
        "waiting",
        "publishing",
    ],
    "documents": ["press", "drawings", "record", "report", "bench", "sheets", "day", "showing"],
    "site": ["disk", "sending", "verifying", "making", "history"],
    "commands": ["terminal", "blanks"],
}
MOST_LINES, MOST_MODULES = 600, 16
IMPORT_NAMES = {"pyyaml": "yaml", "pillow": "PIL", "markdown-it-py": "markdown_it"}


def _name(module: Path) -> str:
    return str(module.relative_to(ROOT))


@cache
def imports(module: Path) -> list[tuple[int, str]]:
    """Every import of a module, wherever it stands in it: line, and the full dotted name."""
    package = list(module.relative_to(ROOT).parent.parts)
    found = []
    for node in ast.walk(ast.parse(module.read_text("utf-8"), str(module))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            stem = ".".join([*base, *([node.module] if node.module else [])])
            found += [(node.lineno, f"{stem}.{alias.name}") for alias in node.names]
    return found


def _dotted(module: Path) -> str:
    return ".".join(module.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def third_party(module: Path) -> set[str]:
    tops = {name.split(".")[0] for _, name in imports(module)}
    return tops - sys.stdlib_module_names - {"rebuildreport"}


def test_every_folder_is_a_floor() -> None:
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and any(path.rglob("*.py"))}
    assert folders == set(FLOORS)


@pytest.mark.parametrize("module", MODULES, ids=_name)
def test_imports_point_downwards(module: Path) -> None:
    parts = module.relative_to(PACKAGE).parts
    # modules beside the floors (__init__, __main__) stand on the roof: they may import any floor
    floor = FLOORS.index(parts[0]) if len(parts) > 1 else len(FLOORS)
    wrong = []
    for line, name in imports(module):
        words = name.split(".")
        if words[0] == "rebuildreport" and words[1] in FLOORS and FLOORS.index(words[1]) > floor:
            wrong.append(f"{_name(module)}:{line} imports {name}, a floor above its own")
    assert not wrong, "\n".join(wrong)


def _room(words: Sequence[str]) -> int | None:
    """How high the room of a module stands on its floor; None on a floor without rooms."""
    rooms = ROOMS.get(words[0])
    if rooms is None:
        return None
    return rooms.index(words[1]) if len(words) > 1 and words[1] in rooms else len(rooms)


@pytest.mark.parametrize("module", MODULES, ids=_name)
def test_imports_point_to_lower_rooms(module: Path) -> None:
    parts = module.relative_to(PACKAGE).with_suffix("").parts
    own = _room(parts)
    wrong = []
    for line, name in imports(module) if own is not None and len(parts) > 2 else []:
        words = name.split(".")[1:]
        other = _room(words) if words and words[0] == parts[0] else None
        if other is not None and other > own:
            wrong.append(f"{_name(module)}:{line} imports {name}, a room above its own")
    assert not wrong, "\n".join(wrong)


def test_every_room_is_known_and_small() -> None:
    for floor in FLOORS:
        rooms = {path.parent.name for path in (PACKAGE / floor).glob("*/__init__.py")}
        assert rooms == set(ROOMS.get(floor, ()))
    for folder in {module.parent for module in MODULES}:
        assert len(set(folder.glob("*.py")) - {folder / "__init__.py"}) <= MOST_MODULES, (
            f"{_name(folder)}: part it by subject"
        )


def test_no_circle_among_modules() -> None:
    """Each module stands on modules that do not stand on it."""
    names = {_dotted(module): module for module in MODULES}
    below: dict[str, set[str]] = {name: set() for name in names}
    for name, module in names.items():
        for _, full in imports(module):
            target = full if full in names else full.rpartition(".")[0]
            if target in names:
                below[name].add(target)
    try:
        tuple(TopologicalSorter(below).static_order())
    except CycleError as circle:
        pytest.fail(" -> ".join(circle.args[1]))


def test_no_name_stands_twice() -> None:
    """One module name and one public class name in the whole house; a command's module has the command's."""
    stems = Counter(m.stem for m in MODULES if not m.stem.startswith("__") and m.parent.name != "commands")
    assert not [name for name, count in stems.items() if count > 1]
    classes = Counter(
        node.name
        for module in MODULES
        for node in ast.parse(module.read_text("utf-8")).body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    )
    assert not [name for name, count in classes.items() if count > 1]


def test_imports_are_resolved() -> None:
    """The reader of imports above sees what Python sees (checked on a known module)."""
    names = {name for _, name in imports(PACKAGE / "records" / "text" / "fields.py")}
    assert {"rebuildreport.quantities", "rebuildreport.quantities.Quantity", "pydantic.BaseModel"} <= names


def test_one_module_knows_the_unit_library() -> None:
    assert [_name(m) for m in MODULES if "pint" in third_party(m)] == ["rebuildreport/quantities/units.py"]


def test_trade_is_engineering_only() -> None:
    """No files, no YAML, no templates on the floor of pure functions."""
    for module in MODULES:
        if module.is_relative_to(PACKAGE / "trade"):
            assert third_party(module) <= {"msgspec", "numpy", "scipy", "uncertainties"}, _name(module)


def test_plain_data_are_structs() -> None:
    """``dataclass`` compiles each class at its import; its ``replace`` fails on a Struct, unseen by mypy."""
    assert not [_name(m) for m in MODULES if "dataclasses" in {name.split(".")[0] for _, name in imports(m)}]


def test_every_library_is_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    lines = [
        *project["dependencies"],
        *(line for extra in ("cluster", "sign") for line in project["optional-dependencies"][extra]),
    ]
    names = [re.match(r"[\w-]+", line).group().lower() for line in lines]  # type: ignore[union-attr]
    declared = {IMPORT_NAMES.get(name, name.replace("-", "_")) for name in names}
    declared |= {
        "pydantic_core",
        "pyhanko_certvalidator",
    }  # come with pydantic and pyhanko, of the same makers
    used = {library: _name(m) for m in MODULES for library in third_party(m)}
    assert not {lib: where for lib, where in used.items() if lib not in declared}


@pytest.mark.parametrize("module", MODULES, ids=_name)
def test_modules_stay_readable(module: Path) -> None:
    lines = module.read_text("utf-8").count("\n")
    assert lines <= MOST_LINES, f"{_name(module)} has {lines} lines: split it by subject"


def test_the_command_line_loads_no_heavy_library() -> None:
    """``--help`` must answer at once: heavy libraries are imported where they are used."""
    modules = ["rebuildreport.__main__" if (PACKAGE / "__main__.py").exists() else "rebuildreport"]
    modules += [_name(m).removesuffix(".py").replace("/", ".") for m in (PACKAGE / "commands").glob("*.py")]
    lines = "\n".join(f"import {name}" for name in sorted(set(modules)) if not name.endswith("__main__"))
    heavy = {"weasyprint", "pint", "PIL", "pillow_heif", "uncertainties", "numpy", "scipy", "jinja2"}
    heavy |= {"markdown_it"}
    code = f"{lines}\nimport sys\nprint(*sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == []
