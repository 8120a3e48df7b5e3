"""What a value is known by, written short for tests."""

from __future__ import annotations

from rebuildreport.assess.model.keys import ValueKey


def value_key(written: str) -> ValueKey:
    """``main_journals.out_of_round M4 @arrival``; behind a stroke the table of a second reading."""
    what, position, occasion = written.split(" ", 2)
    feature, _, name = what.partition(".")
    round_, _, table = occasion.removeprefix("@").partition("/")
    return ValueKey(feature, name, position, round_, table)
