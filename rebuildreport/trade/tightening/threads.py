"""Screw threads and what a bolt of a strength class stands: stress areas, proof and yield loads."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from msgspec import Struct

from ...quantities import Unreadable

INCH_MM = 25.4
PSI = 0.006894757293168  # N/mm2 in one pound-force a square inch (NIST SP 811, appendix B)

# ISO 261, first-choice coarse pitches: diameter [mm]: pitch [mm]
COARSE_MM = {
    3.0: 0.5, 3.5: 0.6, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0, 7.0: 1.0, 8.0: 1.25, 10.0: 1.5, 12.0: 1.75, 14.0: 2.0,
    16.0: 2.0, 18.0: 2.5, 20.0: 2.5, 22.0: 2.5, 24.0: 3.0, 27.0: 3.0, 30.0: 3.5, 33.0: 3.5, 36.0: 4.0,
    39.0: 4.0,
}  # fmt: skip
# ASME B1.1, coarse series: diameter [1/16 in]: threads an inch
COARSE_INCH = {4: 20, 5: 18, 6: 16, 7: 14, 8: 13, 9: 12, 10: 11, 12: 10, 14: 9, 16: 8}

_METRIC = re.compile(r"M\s*(\d+(?:\.\d+)?)(?:\s*[x×]\s*(\d+(?:\.\d+)?))?", re.I)
_INCH = re.compile(r"(?:(\d+)[\s-]+(?=\d+/))?(\d+)(?:/(\d+))?\s*(?:in\s*)?-\s*(\d+)(?:\s*UN[CFRJS]*)?", re.I)


class ThreadError(Unreadable):
    """A text that names no thread, or a class that names no strength; ``suggestion``: how to write it."""


class Thread(Struct, frozen=True):
    """A screw thread: nominal diameter and pitch [mm]."""

    name: str
    diameter: float
    pitch: float
    inch: bool = False

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter d2 = d - 3/4 H, H = P sqrt(3)/2 [mm] (ISO 724; ASME B1.1 alike)."""
        return self.diameter - 0.75 * math.sqrt(3.0) / 2.0 * self.pitch

    @property
    def root_diameter(self) -> float:
        """Root of the bolt's thread d3 = d1 - H/6 = d - 17/12 H [mm] (ISO 898-1, 9.1.6.1)."""
        return self.diameter - 17.0 / 12.0 * math.sqrt(3.0) / 2.0 * self.pitch

    @property
    def stress_diameter(self) -> float:
        """Diameter of the circle that has the stress area [mm]."""
        if self.inch:
            return self.diameter - 0.9743 * self.pitch
        return (self.pitch_diameter + self.root_diameter) / 2.0

    @property
    def stress_area(self) -> float:
        """Nominal stress area [mm2]: pi/4 ((d2+d3)/2)^2 (ISO 898-1), inch pi/4 (D-0.9743/n)^2 (ASME B1.1).

        >>> round(thread("M10").stress_area, 1), round(thread("1/2-20").stress_area / 25.4**2, 4)
        (58.0, 0.16)
        """
        return math.pi / 4.0 * self.stress_diameter**2


def thread(text: str) -> Thread:
    """A thread by its name; without a pitch it is the coarse one.

    Source: ISO 261 (metric coarse pitches), ASME B1.1 (unified inch threads).

    >>> thread("M12x1.25").pitch, thread("M12").pitch, thread("3/8-24 UNF").diameter
    (1.25, 1.75, 9.525)

    Raises ThreadError for anything else.
    """
    words = " ".join(text.split())
    if match := _METRIC.fullmatch(words):
        return _metric(text, match)
    if match := _INCH.fullmatch(words):
        return _unified(text, words, match)
    if match := re.fullmatch(r"(\d+)/(\d+)(?:\s*in| UNC)?", words):
        sixteenths = Fraction(int(match[1]), int(match[2]) or 1) * 16
        threads = COARSE_INCH.get(int(sixteenths)) if sixteenths.denominator == 1 else None
        if threads:
            return thread(f"{match[1]}/{match[2]}-{threads}")
    raise ThreadError(f"'{text}' is no thread", "as in M10, M12x1.25 or 3/8-24")


def _metric(text: str, match: re.Match[str]) -> Thread:
    diameter = float(match[1])
    pitch = float(match[2]) if match[2] else COARSE_MM.get(diameter)
    if pitch is None:
        raise ThreadError(f"'{text}' has no coarse pitch that I know", f"write its pitch: M{match[1]}x1.5")
    if not 0.0 < pitch < diameter / 2.0:
        raise ThreadError(f"'{text}': a pitch of {pitch:g} mm is none for {diameter:g} mm", "as in M12x1.5")
    return Thread(f"M{match[1]}" + (f"×{match[2]}" if match[2] else ""), diameter, pitch)


def _unified(text: str, words: str, match: re.Match[str]) -> Thread:
    if match[3] == "0":
        raise ThreadError(f"'{text}' is no thread", "3/8-24")
    size = int(match[1] or 0) + Fraction(int(match[2]), int(match[3] or 1))
    count = int(match[4])
    # no inch thread has fewer than three turns on a length of its diameter
    if count == 0 or float(size) * count < 3.0:
        raise ThreadError(f"'{text}': {count} threads an inch are none for {size} in", "as in 3/8-24")
    return Thread(words, float(size * Fraction(127, 5)), INCH_MM / count, inch=True)


class Strength(Struct, frozen=True):
    """Least strength of a class [N/mm2]: proof stress, yield (0.2 per cent)."""

    name: str
    proof: float
    yield_: float


# ISO 898-1:2013, table 3 [N/mm2]: proof stress, least yield (ReL, Rpf or Rp0.2)
_ISO = {
    "4.6": (225, 240),
    "4.8": (310, 340),
    "5.6": (280, 300),
    "5.8": (380, 420),
    "6.8": (440, 480),
    "8.8": (580, 640),  # up to 16 mm; above it 600, 660
    "9.8": (650, 720),
    "10.9": (830, 940),
    "12.9": (970, 1100),
}
_ISO_88_LARGE = (600, 660)
# SAE J429, table 1 [psi], by grade: largest diameter of the row [in]
_SAE = {
    "2": ((0.75, (55e3, 57e3)), (1.5, (33e3, 36e3))),
    "5": ((1.0, (85e3, 92e3)), (1.5, (74e3, 81e3))),
    "8": ((1.5, (120e3, 130e3)),),
}


def classes() -> tuple[str, ...]:
    """Every strength class that is known, as a sheet writes it.

    Source: ISO 898-1:2013 table 3 and SAE J429 table 1.

    >>> classes()[-4:]
    ('12.9', 'grade 2', 'grade 5', 'grade 8')
    """
    return (*_ISO, *(f"grade {name}" for name in _SAE))


def strength(name: str, screw: Thread) -> Strength:
    """What a bolt of a class stands at least [N/mm2]: ISO 898-1 classes, or SAE grades as 'grade 8'.

    Source: ISO 898-1:2013, table 3; SAE J429, table 1.

    >>> strength("8.8", thread("M10")).proof, strength("8.8", thread("M20")).proof
    (580, 600)

    Raises ThreadError for a class that neither standard has.
    """
    words = " ".join(name.split())
    if words in _ISO:
        values = _ISO_88_LARGE if words == "8.8" and screw.diameter > 16.0 else _ISO[words]
        return Strength(words, *values)
    if match := re.fullmatch(r"(?:SAE )?grade (\d)", words, re.I):
        for largest, psi in _SAE.get(match[1], ()):
            if screw.diameter <= largest * INCH_MM + 1e-9:
                return Strength(f"grade {match[1]}", *(value * PSI for value in psi))
    raise ThreadError(f"'{name}' is no strength class", ", ".join(classes()))
