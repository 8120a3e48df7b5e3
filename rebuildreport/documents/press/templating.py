"""Jinja as every document uses it: what people typed is escaped, messages are looked up."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .codes import DID, DONE
from .language import opening, say, told
from .places import folders
from .words import capital, day, place, places, stop, tight

if TYPE_CHECKING:
    from jinja2 import Environment


@lru_cache(maxsize=8)
def environment(shop: Path | None = None) -> Environment:
    """Jinja set up once per shop: everything typed by people is escaped, a name misspelt is an error.

    A template of the shop's, perhaps another's that it was given, reads no file and runs no program.
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from jinja2.sandbox import SandboxedEnvironment

    found = folders(shop)
    jinja = (SandboxedEnvironment if len(found) > 1 else Environment)(
        loader=FileSystemLoader([str(folder) for folder in found]),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        auto_reload=False,
        finalize=tight,
    )
    # so that a template prints the model itself: what was said, names, days, codes
    filters: dict[str, Callable[..., Any]] = {
        "anchor": anchor,
        "css": css_text,
        "told": told,
        "opening": opening,
        "stop": stop,
        "capital": capital,
        "day": day,
        "positions": lambda names: places([place(name) for name in names]),
        "done": lambda code, past=False: say((DID if past else DONE)[code]),
    }
    jinja.filters.update(filters)
    jinja.globals["say"] = say
    return jinja


def css_text(text: str) -> str:
    r"""A text as a stylesheet quotes it; what would end the quote, or the stylesheet, is spelt by code point.

    >>> print(css_text('Old "Mill" </style>'))
    "Old \22 Mill\22  \3c /style\3e "
    """
    return '"' + re.sub(r'["\\<>\n]', lambda sign: f"\\{ord(sign[0]):x} ", text) + '"'


def anchor(text: object) -> str:
    """A plain ASCII id: letters, digits and hyphens; anything else is spelt by its code point.

    >>> anchor("main_journals.size M4"), anchor("Ölpumpe")
    ('main_journals-size-M4', 'xd6-lpumpe')
    """
    out: list[str] = []
    for letter in str(text):
        if letter.isascii() and (letter.isalnum() or letter == "_"):
            out.append(letter)
        elif letter.isascii():
            out.append("-")
        else:
            out.append(f"x{ord(letter):x}-")
    return "".join(out).strip("-") or "none"
