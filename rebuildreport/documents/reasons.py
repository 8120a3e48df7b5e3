"""Why a line is there, in the language of a document: what the estimate derived is translated, what people
wrote stays as they wrote it."""

from __future__ import annotations

import re

from .language import Language

# what the parts list and the estimate derive, as they say it in English: the message it is looked up by
_DERIVED = (
    r"(?P<what>.+) beyond limit",
    r"(?P<what>.+) decides which",
    r"chosen by (?P<what>.+)",
    r"holds (?P<count>\S+) (?P<what>.+)",
    r"(?P<rate>[\d.]+) % of (?P<what>[\w ]+?)(?:, at most (?P<most>[\d.]+))?",
)
MESSAGES = (
    "{what} beyond limit",
    "{what} decides which",
    "chosen by {what}",
    "holds {count} {what}",
    "{rate} % of {what}",
)
PLAIN_REASONS = (
    "with every rebuild",
    "joints opened",
    "used once only",
    "finding out",
    "a fixed amount for a job",
    "supplied by the customer",
    "not covered by our warranty",
    "not bought again",
    "everything else",
    "parts",
    "sublet",
    "labour",
    "the",
)


def reason(why: str, say: Language) -> str:
    """One reason, each piece of it between colons looked up by itself.

    >>> from .language import PLAIN, language
    >>> reason("joints opened: sump, cylinder head", language("de"))
    'Trennstelle geöffnet: sump, cylinder head'
    >>> reason("M4 scored", PLAIN)
    'M4 scored'
    """
    if not say.messages:
        return why
    return ": ".join(_piece(piece, say) for piece in why.split(": "))


def _piece(text: str, say: Language) -> str:
    if text in PLAIN_REASONS:
        return say(text)
    for pattern, message in zip(_DERIVED, MESSAGES, strict=True):
        match = re.fullmatch(pattern, text)
        if match:
            values = {name: value or "" for name, value in match.groupdict().items()}
            values = {name: say(value) if value in PLAIN_REASONS else value for name, value in values.items()}
            most = values.pop("most", "")
            found = say(message, **values)
            return found + (say(", at most {most}", most=most) if most else "")
    return text
