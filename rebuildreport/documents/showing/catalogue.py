"""Every message that the customer's documents look up, read from the source: for tests and new languages.

    python -m rebuildreport.documents.showing.catalogue > templates/language/fr.po

writes them in gettext's PO format, with the places they stand at and nothing translated.  Babel walks source
and templates and writes the catalogue; ``templates/language/trade-words.txt`` has a word of people's files a
line.  What is said in templates is a literal each; how it is found in the code, ``in_code`` says.
"""

from __future__ import annotations

import ast
import io
import sys
from collections.abc import Iterator
from typing import IO, Any

from ..press import places

FLOORS = ("documents", "assess", "records", "trade", "quantities", "site")
ASKING = frozenset(
    {"say", "Sentence", "message", "Trait", "Term", "Subject"}
)  # their first argument is a message
Extracted = Iterator[
    tuple[int, str, str, list[str]]
]  # line, function, message, comments: as Babel wants them


def messages() -> dict[str, list[str]]:
    """Every message, and where it is asked for."""
    from babel.messages.extract import extract_from_dir

    methods: list[tuple[str, Any]] = [
        ("**.py", in_code),
        ("**.jinja", "jinja2.ext:babel_extract"),
        ("**/trade-words.txt", in_words),
    ]
    folders = {floor: places.PACKAGE / floor for floor in FLOORS} | {"templates": places.own_templates()}
    known: dict[str, list[str]] = {}
    for name, folder in folders.items():
        for file, line, text, _, _ in extract_from_dir(folder, methods, keywords={"say": None}):
            if any(letter.isalpha() for letter in text):
                known.setdefault(str(text), []).append(f"{name}/{file}:{line}")
    return known


def in_code(file: IO[bytes], keywords: Any, comment_tags: Any, options: Any) -> Extracted:
    """The literals in the first argument of what asks for a message: one, or those of a choice or a table.

    Babel's own reader of Python takes a choice for one text, and passes over tables and what is said inside
    another call.
    """
    for call in ast.walk(ast.parse(file.read())):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in ASKING:
            for first in call.args[:1]:
                yield from ((line, "", text, []) for line, text in _literals(first))
        elif (
            isinstance(call, ast.keyword) and call.arg == "readings"
        ):  # of a kind: what the bench is asked for
            yield from ((line, "", text, []) for line, text in _literals(call.value))


def _literals(value: ast.expr) -> Iterator[tuple[int, str]]:
    """Line and text of each; what chooses between them, and the keys of a table, are none."""
    match value:
        case ast.Constant(value=str(text)) if text:
            yield value.lineno, text
        case ast.IfExp(body=body, orelse=orelse):
            yield from (*_literals(body), *_literals(orelse))
        case ast.Dict(values=items) | ast.Tuple(elts=items):
            for item in items:
                yield from _literals(item)
        case ast.Starred(value=inner) | ast.Subscript(value=inner):
            yield from _literals(inner)


def in_words(file: IO[bytes], keywords: Any, comment_tags: Any, options: Any) -> Extracted:
    """Words of the trade that files use for features, places, columns, tools and people."""
    for number, line in enumerate(file.read().decode().splitlines(), 1):
        if not line.startswith("#"):
            yield number, "", line.strip(), []


def as_po(known: dict[str, list[str]]) -> str:
    """Messages in the PO format, in the order of their places, nothing translated.

    >>> print(as_po({"Net": ["documents/report/costs.py:1"]}).strip().splitlines()[-3])
    #: documents/report/costs.py:1
    """
    from babel.messages import Catalog
    from babel.messages.pofile import write_po

    # the same source, the same template: no day, and no word of who wrote it
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
    catalogue = Catalog(charset="utf-8", fuzzy=False)
    for text, spots in known.items():
        file, _, line = spots[0].rpartition(":")
        catalogue.add(text, locations=[(file, int(line))])
    out = io.BytesIO()
    write_po(out, catalogue, width=0, omit_header=True)
    return head + out.getvalue().decode()


if __name__ == "__main__":
    sys.stdout.write(as_po(messages()))
