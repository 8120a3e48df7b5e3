"""Every message that the customer's documents look up, read from the source: for tests and new languages.

    python -m rebuildreport.documents.showing.catalogue > templates/language/fr.po

writes them in gettext's PO format, with the places they stand at and nothing
translated.  A message is the first argument of ``say``, ``told`` or
``Sentence``; where that is a name, it is whatever the name was given.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from typing import get_args

from ...assess.freezing import basis, changes
from ...assess.model.choice import Fitness
from ...assess.telling.jobfacts import CAUTIONS
from ...quantities import rounding
from ...records.files.buildplan import CLOSING
from ...trade.engine.damage import TERMS
from ...trade.estimating import sums
from ...trade.kinds import KINDS
from ..drawings.canvas import KEYS
from ..press import places, templating
from ..press.words import NUMBERS, SEVERITY, UNITS
from ..report.choice_views import EFFECTS
from ..report.measurements import DIRECTIONS
from . import tradewords

ASKING = frozenset({"say", "Sentence", "spoken", "language"})  # what looks a message up
FLOORS = ("documents", "assess", "records", "trade", "site")


def messages() -> dict[str, list[str]]:
    """Every message, and where it is asked for."""
    found: dict[str, list[str]] = {}
    for path, line, text in [*_in_code(), *_in_templates()]:
        found.setdefault(text, []).append(f"{path}:{line}")
    for where, words in _tables().items():
        for text in words:
            found.setdefault(text, []).append(where)
    return {text: at for text, at in found.items() if any(letter.isalpha() for letter in text)}


def _tables() -> dict[str, Iterable[str]]:
    """Words that stand in tables and are looked up one by one."""
    traits = [trait for kind in KINDS.values() for trait in (*kind.traits.values(), kind.column_trait)]
    return {
        "trade/kinds": {text for one in traits for text in (one.title, one.short or "", one.low, one.high)},
        "trade/engine/damage.py": {text for term in TERMS for text in (term.name, *term.usual_causes)},
        "documents/press/words.py": {*SEVERITY, *NUMBERS[1:], *UNITS.values()},
        "documents/drawings/canvas.py": set(KEYS),
        "documents/report/measurements.py": DIRECTIONS.values(),
        "assess/telling/jobfacts.py": CAUTIONS,
        "records/files/buildplan.py": [step.text or "" for step in CLOSING.steps],
        "assess/freezing/basis.py": basis.WORDS.values(),
        "assess/freezing/changes.py": (
            *changes.PLAIN.values(),
            *changes.BESIDE.values(),
            *changes.HOW.values(),
            *changes.LINES.values(),
            *changes.DECISION,
            *changes.DEVIATION,
        ),
        "quantities/rounding.py": (rounding.STATED, sums.ROUNDING),
        "assess/model/choice.py": get_args(Fitness),
        "documents/report/choice_views.py": [head for head, _ in EFFECTS],
        "documents/showing/tradewords.py": tradewords.WORDS,
    }


def _in_templates() -> Iterator[tuple[str, int, str]]:
    from jinja2 import nodes

    own = places.own_templates()
    jinja = templating.environment()
    for path in sorted(own.rglob("*.jinja")):
        tree = jinja.parse(path.read_text("utf-8"))
        for call in tree.find_all(nodes.Call):
            if isinstance(call.node, nodes.Name) and call.node.name == "say" and call.args:
                for text in call.args[0].find_all(nodes.Const):
                    yield f"templates/{path.relative_to(own)}", call.lineno, str(text.value)
                if isinstance(call.args[0], nodes.Const):
                    yield f"templates/{path.relative_to(own)}", call.lineno, str(call.args[0].value)


def _in_code() -> Iterator[tuple[str, int, str]]:
    for floor in FLOORS:
        for path in sorted((places.PACKAGE / floor).rglob("*.py")):
            name = str(path.relative_to(places.PACKAGE))
            for line, text in _asked(ast.parse(path.read_text("utf-8"))):
                yield name, line, text


def _asked(module: ast.Module) -> Iterator[tuple[int, str]]:
    """The messages of one module."""
    above = _given(module.body)
    inside: dict[ast.AST, dict[str, list[ast.expr]]] = {}
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef):
            inside[node] = _given(node.body)
    for scope, names in [(module, above), *inside.items()]:
        for node in ast.walk(scope):
            if isinstance(node, ast.Call) and node.args and _called(node) in ASKING:
                for text in _texts(node.args[0], names, above):
                    yield node.lineno, text


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else ""


def _given(body: list[ast.stmt]) -> dict[str, list[ast.expr]]:
    """Names and all that each is given in some statements."""
    found: dict[str, list[ast.expr]] = {}
    for statement in body:
        for node in ast.walk(statement):
            pairs: list[tuple[ast.expr, ast.expr | None]] = []
            if isinstance(node, ast.Assign):
                pairs = [(target, node.value) for target in node.targets]
            elif isinstance(node, (ast.AnnAssign, ast.NamedExpr)):
                pairs = [(node.target, node.value)]
            elif isinstance(node, (ast.For, ast.comprehension)):
                pairs = [(node.target, node.iter)]
            for target, value in pairs:
                for name in ast.walk(target):
                    if isinstance(name, ast.Name) and value is not None:
                        found.setdefault(name.id, []).append(value)
    return found


def _texts(
    asked: ast.expr, names: dict[str, list[ast.expr]], above: dict[str, list[ast.expr]], deep: int = 0
) -> Iterator[str]:
    """Texts that an expression may come to; what is only known when it runs gives none."""
    if isinstance(asked, ast.Constant):
        if isinstance(asked.value, str):
            yield asked.value
    elif isinstance(asked, ast.IfExp):
        for one in (asked.body, asked.orelse):
            yield from _texts(one, names, above, deep)
    elif isinstance(asked, ast.BinOp) and isinstance(asked.op, ast.Add):
        for left in _texts(asked.left, names, above, deep):
            yield from (left + right for right in _texts(asked.right, names, above, deep))
    elif isinstance(asked, (ast.Dict, ast.Tuple, ast.List)):
        for one in asked.values if isinstance(asked, ast.Dict) else asked.elts:
            yield from _texts(one, names, above, deep)
    elif isinstance(asked, (ast.Subscript, ast.Attribute)):
        yield from _texts(asked.value, names, above, deep)
    elif isinstance(asked, ast.Call) and isinstance(asked.func, ast.Attribute) and asked.func.attr == "get":
        for one in (asked.func.value, *asked.args[1:]):
            yield from _texts(one, names, above, deep)
    elif isinstance(asked, ast.Name) and deep < 4:
        for one in names.get(asked.id) or above.get(asked.id) or []:
            yield from _texts(one, names, above, deep + 1)


def as_po(found: dict[str, list[str]]) -> str:
    """Messages in the PO format, in the order of their places, nothing translated.

    >>> print(as_po({"Net": ["documents/report/costs.py:1"]}).splitlines()[-3])
    #: documents/report/costs.py:1
    """
    lines = ['msgid ""', 'msgstr ""', '"Content-Type: text/plain; charset=utf-8\\n"', ""]
    for text, at in found.items():
        escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        lines += [f"#: {at[0]}", f'msgid "{escaped}"', 'msgstr ""', ""]
    return "\n".join(lines[:-1]) + "\n"


def main() -> None:
    """Write the template of a catalogue to standard output."""
    print(as_po(messages()), end="")


if __name__ == "__main__":
    main()
