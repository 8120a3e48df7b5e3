"""The file of a round that is due, laid out in the order of the bench sheet."""

from __future__ import annotations

from collections.abc import Sequence

from ...assess.model.assessment import Due
from ...quantities import english
from ...records.text.writing import UNKNOWN, TableLayout, round_text
from ..press.words import NBSP, standard_temperature


def soaked(system: str) -> str:
    """The temperature that a round's file begins with, the one of ISO 1."""
    return standard_temperature(system).replace(NBSP, " ")


def layout(due: Due) -> TableLayout:
    """The table of one feature in the round's file, before anything is measured."""
    instrument = due.instruments[0] if due.instruments else ""
    return TableLayout(
        due.feature,
        english(due.title),
        due.unit,
        due.state,
        due.positions,
        due.columns,
        instrument,
        to_set=due.to_set,
    )


def round_file(features: Sequence[Due], day: str, system: str) -> str:
    """The round's YAML file with -- in every box, in the order of the sheet: typing in is one pass."""
    return round_text(day, UNKNOWN, soaked(system), (layout(due).lines() for due in features))
