"""Names in one line, by blanks or commas, with ranges written out: positions and columns.

In: the text.  Out: the names, or why it is none.  Knows no sheet.
"""

from __future__ import annotations

import difflib
import re
from collections import Counter
from functools import lru_cache

from ...quantities import Unreadable

MOST_NAMES = 240  # places in one line; of a cam's lift, at every third degree


DASHES = "-\u2013\u2014.\u2026"  # as people write a range, and in words:
RANGE_WORDS = ("to", "until", "till", "through", "thru", "bis")
# two numbers of one kind and what stands between them, glued to them or not: B1 too B14, M1to5, C1-C6
_NUMBERED = rf"(?<![\w-])([^\W\d]*)(\d+)( *(?:[{DASHES}]+|[^\W\d]+) *)\1?(\d+)(?![\w-])"


def names(text: str) -> list[str]:
    """A list of names, by blanks or commas; a range is written out.

    >>> names("M1 to M3, B"), names("front_a  front_b")
    (['M1', 'M2', 'M3', 'B'], ['front_a', 'front_b'])
    """
    words = re.findall(r"[^,\s]+", text)
    if typed := _range_meant(" ".join(words)):
        raise Unreadable(f"'{typed[0]}' is no range", typed[1])
    found: list[str] = []
    i = 0
    while i < len(words):
        if i + 2 < len(words) and words[i + 1] == "to":
            found += _range(words[i], words[i + 2])
            i += 3
        else:
            found.append(words[i])
            i += 1
    if len(found) > MOST_NAMES:
        raise Unreadable(f"{len(found)} names in one line: no engine has so many places")
    if stray := next((word for word in found if word.strip(DASHES) in ("", "to")), ""):
        raise Unreadable(f"'{stray}' is no name", "C1 to C6")
    repeated = [word for word, times in Counter(found).items() if times > 1]
    if repeated:
        twice = min(repeated)
        numbered = (f"{word}_{n}" if word == twice and n else word for n, word in enumerate(words))
        raise Unreadable(f"'{twice}' stands twice in '{text}'", meant=" ".join(numbered))
    return found


def _range_meant(text: str) -> tuple[str, str] | None:
    """A range written in another way than ours, and how it is written; C1-C2 is what lies between them.

    >>> _range_meant("A, B1 too B14"), _range_meant("M1to5"), _range_meant("M1 to M5 C1-C2")
    (('B1 too B14', 'B1 to B14'), ('M1to5', 'M1 to M5'), None)
    """
    for match in re.finditer(_NUMBERED, text):
        kind, first, by, last = match.groups()
        meant = f"{kind}{first} to {kind}{last}"
        if match[0] == meant:
            continue
        dashed = not by.strip(f" {DASHES}") and (" " in by or int(last) > int(first) + 1)
        if dashed or _says_to(by.strip().lower()):
            return match[0], meant
    return None


@lru_cache(maxsize=1024)
def _says_to(word: str) -> bool:
    """Whether a word is one of a range, or misspelt: too, trough; a thousand lines ask it of the same few."""
    longest = max(map(len, RANGE_WORDS)) + 1
    return len(word) <= longest and bool(difflib.get_close_matches(word, RANGE_WORDS, 1, 0.8))


def _range(first: str, last: str) -> list[str]:
    match = re.fullmatch(r"(\D*)(\d+) \1(\d+)", f"{first} {last}")
    if not match:
        raise Unreadable(f"'{first} to {last}' is no range", "C1 to C6")
    start, end = int(match[2]), int(match[3])
    if start > end or end - start > 200:
        raise Unreadable(f"'{first} to {last}' is no range", f"{last} to {first}" if start > end else "")
    return [f"{match[1]}{n}" for n in range(start, end + 1)]
