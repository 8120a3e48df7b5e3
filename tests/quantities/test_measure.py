"""What a shop of inches reads: masses and volumes as they are weighed and poured, lengths in inches first."""

from __future__ import annotations

import copy

from rebuildreport.quantities import Measure, Sentence, Several, as_printed, english, show


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_masses_stay_in_grams() -> None:
    """Common practice: scales of engine shops read grams in either system."""
    for system in ("mm", "in"):
        assert plain(show(7.1, "g", 1, system).both) == "7.1 g"


def test_a_burette_reads_cubic_centimetres_in_either_system() -> None:
    """1 in³ is 16.387064 cm³ exactly (NIST SP 811): 63.4 cm³ are 3.869 in³."""
    for system in ("mm", "in"):
        assert plain(show(63.4, "cm³", 1, system).both) == "63.4 cm³ (3.87 in³)"


def test_what_is_known_by_its_cubic_inches_keeps_them_first() -> None:
    """326.7 in³ are 5353.7 cm³ (NIST SP 811)."""
    assert plain(show(326.7, "in³", 1, "in").both) == "326.7 in³ (5354 cm³)"


def test_a_measure_inside_a_sentence_is_printed_as_the_shop_prints() -> None:
    """0.028 mm are 0.0011 in (1 in is 25.4 mm exactly)."""
    note = Sentence("range {range}", range=Measure(0.028, "mm", 3))
    whole = Several([note, Sentence("{count} heights", count=3)], "; ")
    assert plain(english(as_printed(whole, "in"))) == "range 0.0011 in (0.028 mm); 3 heights"
    assert english(as_printed(whole, "mm")) == "range 0.028 mm; 3 heights"
    assert copy.deepcopy(note).values["range"] == "0.028 mm"
