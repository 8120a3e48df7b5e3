"""What a shop of inches reads: masses and volumes as they are weighed and poured, lengths in inches first."""

from __future__ import annotations

from rebuildreport.quantities import show


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
