"""Problems for people: file, line, column, the quoted line, what is wrong, what was probably meant."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

# what a decision hangs on, where one does; every other problem is only told
Severity = Literal["error", "warning"]
Code = Literal["", "missing file", "missing key", "not begun", "no unit", "comma"]


class Problem(Struct, frozen=True, order=True):
    """One problem; sorts by file, line, column."""

    file: str  # relative to the shop's folder
    line: int  # from 1
    column: int  # from 1
    severity: Severity
    message: str
    quote: str = ""  # the line as it stands in the file
    suggestion: str = ""
    code: Code = ""
