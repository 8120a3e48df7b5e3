"""Usual cautions of the trade (common practice), each at the operation where it applies.

The maker's service information, local codes and licensed practice come before all of them.  Which ones a
step gets is proposed by its words; one too many does no harm, and the sheet's own ``caution:`` adds to them.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Literal

from msgspec import Struct

from ...quantities import NOTHING, Sentence, Several, Text, message

FIRST = Sentence(
    "The maker's service information and local rules come before this sheet; work that the law keeps for "
    "licensed people stays with them."
)


class Caution(Struct, frozen=True):
    """What to mind: ``brief`` is how it begins, and all that is said of it a second time."""

    brief: Text
    rest: Text = NOTHING

    @property
    def text(self) -> Text:
        """The whole of it."""
        return Several((self.brief, self.rest), "") if self.rest else self.brief


_VALVES_MEET = message("; with the cam drive off, valves meet pistons.")
_BRIEF_AND_REST = message(
    {
        "springs": (
            "Springs hold force",
            ": use the right compressor, keep the face out of line, let go slowly and evenly.",
        ),
        "tensioner": ("A tensioner is loaded", ": pin it before it is fitted or taken off."),
        "turning": (
            "Plugs or injectors out and leak-down air off before the crankshaft is turned",
            _VALVES_MEET,
        ),
        "lifting": (
            "Heavy",
            ": lift at its lifting points with tested gear, nobody beneath, hands out of the gap.",
        ),
        "heat": ("Heated parts burn through gloves that are wet", "; keep fuel and solvent away."),
        "cold": ("Nitrogen freezes skin and takes the air to breathe", ": gloves, face shield, open doors."),
        "oil": ("Used oil", ": let it cool, gloves on, a tray beneath, nothing into the ground."),
        "coolant": ("Coolant", ": cold and without pressure first, a tray beneath, out of reach of animals."),
        "press": ("A press can throw parts", ": stand aside, guard in place."),
        "solvent": ("Solvents and their vapour", ": gloves, air, no flame."),
        "fuel": (
            "Injection pressure goes through skin",
            ": no hand near a leak, card instead; see a doctor at once.",
        ),
        "air": ("Compressed air turns the crank with force", ": lock it, and take the bar off first."),
        "drive": ("With the cam drive off neither crank nor cams are turned", ": valves meet pistons."),
        "edges": ("Ring and skimmed edges cut", ": gloves for handling, none near anything that turns."),
        "dust": ("Grinding and old gasket dust", ": mask, wet, never blown off."),
        "wrench": ("Pull the wrench evenly with a firm stand", "; a bolt that lets go throws the hand."),
        "starting": (
            "Extinguisher at hand, exhaust led away, guards on",
            "; hands, hair and cloth clear of all that turns.",
        ),
        "runaway": (
            "A diesel can run away on its own oil",
            ": have the means to close its air intake ready.",
        ),
    }
)
CAUTIONS = {key: Caution(Sentence(brief), Sentence(rest)) for key, (brief, rest) in _BRIEF_AND_REST.items()}
# whole words of a step that call for a caution, in English and German, and the verbs that they hold for; a
# star stands for any ending, else a plural may follow
_TURN, _OFF, _ON_OFF = ("mark", "check", "hold", "do"), ("take",), ("fit", "take")
_WORDS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("springs", "valve spring, ventilfeder", ("fit", "do", "take")),
    ("springs", "camshaft, nockenwelle", ("fit", "do", "take")),
    ("springs", "valves, rocker shaft, ventile, kipphebelwelle", _OFF),
    ("tensioner", "tensioner, spanner, kettenspanner, riemenspanner", ("fit", "do", "take")),
    ("tensioner", "timing chain, timing belt, steuerkette, zahnriemen", _OFF),
    ("drive", "timing chain, timing belt, gear train, steuerkette, zahnriemen, räderantrieb", _OFF),
    ("turning", "turn, turned, turning, timing, dreh*, steuerzeit", _TURN),
    ("turning", "valve clearance, ventilspiel", ("check", "measure")),
    ("lifting", "crankshaft, cylinder head, flywheel, gearbox", _ON_OFF),
    ("lifting", "kurbelwelle, zylinderkopf, schwungrad, getriebe", _ON_OFF),
    ("edges", "piston, kolben", _ON_OFF),
    ("edges", "ring, kolbenring", ("do", "take")),
    ("press", "liner, bush, bushes, laufbuchse, buchse", _OFF),
    ("oil", "sump, oil pan, ölwanne", _OFF),
    ("coolant", "radiator, water pump, thermostat, kühler, wasserpumpe", _OFF),
    ("dust", "manifold, cylinder head, clutch, krümmer, zylinderkopf, kupplung", _OFF),
    ("fuel", "injector, injection pump, einspritzdüse, einspritzpumpe", ("fit", "do", "take")),
    ("fuel", "fuel rail, high pressure pump, kraftstoffleiste, hochdruckpumpe", _OFF),
    ("air", "leak down, druckverlust", ("check", "measure", "do")),
    ("heat", "heat, heated, heating, erwärm*, erhitz*", ("fit", "do")),
    ("starting", "may be started, ready to start, darf gestartet werden", ("hold", "check")),
)


# by what fires the charge: what must be out before the crank is turned; diesels have no spark plugs
_SPARK = ("gas", "gasoline", "petrol", "benzin", "ethanol", "methanol", "lpg", "mixture")
_ONE_OUT = Sentence("Spark plug out and leak-down air off before the crankshaft is turned")
_SPARK_OUT = Sentence("Spark plugs out and leak-down air off before the crankshaft is turned")
_INJECTORS_OUT = Sentence("Injectors or glow plugs out and leak-down air off before the crankshaft is turned")
# what burns at a spark wets and catches fire; injected into the cylinder it goes through skin as a diesel's
# does, and no sheet says which of the two an engine has (common practice)
_LET_OFF = Caution(
    Sentence("Fuel stands under pressure"),
    Sentence(
        ": let it off first, a cloth around the joint, no flame, no spark, air; injected straight into the "
        "cylinder it goes through skin: see a doctor at once."
    ),
)
_COLD = {
    "water": Sentence("Battery off, fuel shut, cooling system cold and its pressure let down."),
    "air": Sentence("Battery off, fuel shut, engine cold."),
    "": Sentence(
        "Battery off, fuel shut, engine cold; no pressure left in its cooling system, if it has one."
    ),
}
# cm³: crank, head and flywheel of an engine below this are lifted by one person (common practice)
LIGHT = 500.0


class Nature(Struct, frozen=True):
    """What of an engine decides which cautions fit it; empty where its sheet does not say."""

    fuel: str = ""
    cooling: Literal["", "water", "air"] = ""
    strokes: int | None = None
    displacement: float | None = None  # cm³, of all cylinders
    cylinders: int | None = None
    valves_clear: bool = False  # known to stand clear of every piston however far they open

    @property
    def diesel(self) -> bool:
        """Whether it is known to be one."""
        return "diesel" in self.fuel.casefold()

    @property
    def spark(self) -> bool:
        """Whether a spark is known to fire it."""
        return self.fuel.casefold() in _SPARK

    @property
    def light(self) -> bool:
        """Whether its parts are known to need no tackle."""
        return self.displacement is not None and self.displacement < LIGHT

    def called(self, key: str) -> Caution | None:
        """A usual caution in words that fit; None where there is nothing to mind on such an engine."""
        if (key == "lifting" and self.light) or (key in ("springs", "drive") and self.strokes == 2):
            return None
        if key == "drive" and self.valves_clear:
            return None
        if key == "fuel" and self.spark:
            return _LET_OFF
        if key != "turning":
            return CAUTIONS[key]
        nothing_meets = self.strokes == 2 or self.valves_clear
        return Caution(self._out_first(), Sentence("." if nothing_meets else _VALVES_MEET))

    def _out_first(self) -> Text:
        """What lets no compression stand against a hand that turns the crankshaft."""
        if self.diesel:
            return _INJECTORS_OUT
        if self.spark:
            return _ONE_OUT if self.cylinders == 1 else _SPARK_OUT
        return CAUTIONS["turning"].brief

    @property
    def turning(self) -> Caution:
        """What must be so before anybody turns the crankshaft."""
        caution = self.called("turning")
        assert caution is not None
        return caution

    @property
    def apart(self) -> tuple[Text, ...]:
        """What must be so before it is taken apart.

        >>> from rebuildreport.quantities import english
        >>> english(Nature("petrol", "air", 2).apart[0])
        'Battery off, fuel shut, engine cold.'
        """
        return (
            _COLD[self.cooling],
            self.turning.text,
            Sentence("The engine on a stand or blocks made for its weight."),
        )


ANY = Nature()  # an engine of which nothing is known: everything is minded


def caution(text: str, nature: Nature = ANY) -> Caution | None:
    """A usual caution by its word, as it fits the engine; None where the words are the sheet's own.

    Source: common practice.

    >>> from rebuildreport.quantities import english
    >>> english(caution("Tensioner").text)
    'A tensioner is loaded: pin it before it is fitted or taken off.'
    >>> caution("mind the cat") is None
    True
    """
    key = text.strip().rstrip(".").casefold()
    return nature.called(key) or CAUTIONS[key] if key in CAUTIONS else None


_NO_HEATING = re.compile(r"\bheat (?:shields?|exchangers?)\b")  # parts whose names only sound like it


def cautions_for(verb: str, words: str, nature: Nature = ANY) -> list[Caution]:
    """Cautions that a step calls for, by its verb and its words, as they fit the engine (common practice).

    >>> len(cautions_for("fit", "camshafts")), cautions_for("measure", "head_height")
    (1, [])
    >>> cautions_for("take", "flywheel", Nature(displacement=98.0))
    []
    >>> cautions_for("do", "stick the heather label on"), cautions_for("fit", "heat_shield")
    ([], [])
    """
    plain = _NO_HEATING.sub("", " ".join(re.split(r"[\W_]+", words.casefold())))
    called = [key for key, wanted, verbs in _WORDS if verb in verbs and _any_of(wanted).search(plain)]
    minded = (nature.called(key) for key in dict.fromkeys(called))
    return [caution for caution in minded if caution is not None]


@cache
def _any_of(wanted: str) -> re.Pattern[str]:
    phrases = (
        re.escape(phrase.rstrip("*")) + (r"\w*" if phrase.endswith("*") else "(?:e?s|e?n)?")
        for phrase in wanted.split(", ")
    )
    return re.compile(rf"\b(?:{'|'.join(phrases)})\b")
