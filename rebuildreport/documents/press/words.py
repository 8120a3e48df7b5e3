"""Words and numbers as documents print them: dates, lists, money, verdicts, values and limits."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Literal, cast

from msgspec import Struct

from ... import quantities
from ...assess.model.assessment import Assessment, Characteristic, Ends, Limits
from ...quantities import message, units
from ...trade.measuring.form import angle_of
from .codes import OUT_OF_ORDER as OUT_OF_ORDER
from .codes import SEVERITY as SEVERITY
from .language import MONTHS as MONTHS
from .language import NBSP as NBSP
from .language import say, show_interval, spoken

System = Literal["mm", "in", "mm beside", "in beside"]  # the last two: as they stand second
SLUGS = {name: name.replace(" ", "-") for name in SEVERITY}


def day(when: date | None, year: bool = True) -> str:
    """A date as people say it.

    >>> day(date(2026, 3, 5)).replace(NBSP, " "), day(date(2026, 3, 5), year=False).replace(NBSP, " ")
    ('5 March 2026', '5 March')
    """
    return spoken().day(when, year)


def joined(items: Iterable[str]) -> str:
    """A list as a sentence has it.

    >>> joined(["air cleaner", "alternator", "radiator"])
    'air cleaner, alternator and radiator'
    """
    return spoken().listed(items)


def runs(numbers: Sequence[int]) -> str:
    """Line numbers with runs drawn together.

    >>> runs([2, 23, 24]), runs([14, 15, 16, 26])
    ('2, 23 and 24', '14 to 16 and 26')
    """
    return joined(_drawn_together(map(str, sorted(set(numbers)))))


def _drawn_together(names: Iterable[str]) -> Iterator[str]:
    """Names that end in a number, three or more that follow each other as 'first to last'."""
    run: list[str] = []
    for name in [*names, ""]:
        letters = name.rstrip("0123456789")
        last = run[-1] if run else ""
        follows = last.rstrip("0123456789") == letters and letters not in (name, last)
        if follows and int(name[len(letters) :]) == int(last[len(letters) :]) + 1:
            run.append(name)
            continue
        yield from [say("{first} to {last}", first=run[0], last=last)] if len(run) > 2 else run
        run = [name]


NUMBERS = message(
    ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
)


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: words up to twelve, then digits.

    >>> count(1, "problem"), count(8, "job"), count(40, "job")
    ('one problem', 'eight jobs', '40 jobs')
    """
    noun = one if number == 1 else (many or f"{one}s")
    return f"{NUMBERS[number] if number < len(NUMBERS) else number} {noun}"


# the blank comes first: it alone is looked for, what stands around it asked only there
_KEPT = re.compile(
    r" (?:(?<=\bNo\. )(?=\d)|(?<=\bNos\. )(?=\d)|(?<=\bpage )(?=\d)"
    rf"|(?<=\d )(?=(?:{'|'.join(MONTHS)}))|(?<=\b\d\. )(?=[A-Z])|(?<=\b\d\d\. )(?=[A-Z])"
    r"|(?<=\d )(?=(?:mm|µm|in|thou|bar|psi|kPa|MPa|N·m|lbf·ft|deg|°C|°F|h|km|rpm|cm³|L|g|kg|%|EUR)(?![\w³·]))"
    ")"
)


def tight(text: object) -> object:
    """Text with no-break spaces between a number and its unit, in a day, behind 'No.'; all else as it is.

    >>> tight("No. 4 wore 0.031 mm in 9412 h").count(NBSP), tight("am 23. November").count(NBSP)
    (3, 1)
    """
    # what a macro has made is Markup, a class of its own, and tight already
    return _KEPT.sub(NBSP, text) if type(text) is str and " " in text else text


def place(name: str) -> str:
    """A position as people read it: 'lengthwise_1' without its underscore.

    >>> place("idler_pump"), place("M4")
    ('idler pump', 'M4')
    """
    return spoken().named(name)


def column_words(name: str) -> str:
    """What a column of readings is called; one that is read at an angle by its degrees.

    >>> column_words("front_a"), column_words("at_45"), column_words("at_-20")
    ('front a', '45°', '−20°')
    """
    angle = angle_of(name)
    return place(name) if angle is None else f"{angle:g}°".replace("-", "−")


def figure(number: int) -> str:
    """A count in words up to twelve.

    >>> figure(6), figure(40)
    ('six', '40')
    """
    return say(NUMBERS[number]) if number < len(NUMBERS) else str(number)


def micro(length: float) -> str:
    """A length in mm as micrometres.

    >>> micro(0.0032).replace(NBSP, " ")
    '3.2 µm'
    """
    return spoken().figures(f"{1000 * length:.1f}") + f"{NBSP}µm"


def standard_temperature(system: str) -> str:
    """What lengths stand at (ISO 1), as a shop of these units says it.

    >>> standard_temperature("mm"), standard_temperature("in")
    ('20\xa0°C', '68\xa0°F')
    """
    shown = quantities.show(20.0, "°C", 0, system)
    return f"{shown.text}{NBSP}{shown.unit}"


def in_threes(number: float) -> str:
    """A whole number, from five figures on in groups of three.

    >>> in_threes(9412), in_threes(142300.4).split(NBSP)
    ('9412', ['142', '300'])
    """
    return f"{number:,.0f}".replace(",", NBSP if number >= 10_000 else "")


def places(names: Sequence[str]) -> str:
    """Positions with runs drawn together.

    >>> places(["C1", "C2", "C4", "C5", "C6", "M1"])
    'C1, C2, C4 to C6, M1'
    """
    return ", ".join(_drawn_together(names))


def capital(text: str) -> str:
    """The first letter large, the rest as typed.

    >>> capital("oil cooler"), capital("")
    ('Oil cooler', '')
    """
    return text[:1].upper() + text[1:]


def heading(text: str) -> str:
    """What somebody typed, as a heading begins: a word with a large letter, a name as it is.

    >>> heading("oil filter"), heading("c3 honed"), heading("pH paper")
    ('Oil filter', 'c3 honed', 'pH paper')
    """
    first = text.partition(" ")[0]
    return capital(text) if first.strip(",;:").isalpha() and first.islower() and len(first) > 1 else text


def stop(text: str) -> str:
    """A sentence that ends in a stop.

    >>> stop("No leaks"), stop("No leaks."), stop("")
    ('No leaks.', 'No leaks.', '')
    """
    text = text.strip()
    return text if not text or text[-1] in ".!?:" else f"{text}."


def first_sentence(text: str) -> str:
    """The first sentence of a text; a stop inside a number or behind one letter ends none.

    >>> first_sentence("No. 4 wore to 0.4 mm. Debris followed.")
    'No. 4 wore to 0.4 mm.'
    """
    words = " ".join(text.split())
    start = 0
    while (at := words.find(". ", start)) >= 0:
        before = words[:at].rpartition(" ")[2]
        if (
            words[at + 2 : at + 3].isupper()
            and len(before) > 1
            and before not in ("No", "Nos", "ca", "approx")
        ):
            return words[: at + 1]
        start = at + 2
    return words


def money(amount: Decimal | None, digits: int = 2) -> str:
    """An amount with the decimals of its currency; "" where there is none.

    >>> money(Decimal("7513.08")), money(Decimal(40)), money(Decimal(1200), 0)
    ('7513.08', '40.00', '1200')
    """
    return spoken().amount(amount, digits)


def plain(number: Decimal) -> str:
    """A count without needless zeros.

    >>> plain(Decimal("6.00")), plain(Decimal("9.5")), plain(Decimal("20"))
    ('6', '9.5', '20')
    """
    return spoken().number(number)


UNITS = message({"percent": "%", "deg": "°", "rpm": "rpm", "to 1": "to 1", "count": "count"})


def severity(verdict: str) -> int:
    """Place in SEVERITY: 0 is worst."""
    return SEVERITY.index(verdict) if verdict in SEVERITY else SEVERITY.index("not measured")


def worst(verdicts: Iterable[str]) -> str:
    """The worst of some verdicts; 'not measured' where there is none."""
    return min(verdicts, key=severity, default="not measured")


class Value(Struct, frozen=True):
    """A value as printed, with what stands around it."""

    text: str  # "0.206"
    unit: str
    said: str  # "at least 0.206"
    bound: str = ""  # "at least", "at most"
    places: int = 0  # decimals


# before a value of which only a bound is known, in tables
SIGNS = {"equal": "", "at least": ">\u00a0", "at most": "<\u00a0"}


def ends_of(limits: Limits | None) -> tuple[float | None, ...]:
    """Every end of some limits: what a printed value must stay on its side of."""
    if limits is None:
        return ()
    return (*limits.new, *limits.wear, *limits.decides)


def value(one: Characteristic | None, system: str) -> Value | None:
    """The value of a characteristic as printed in the shop's first unit; None where there is none.

    A limit that was converted is printed rounded: where the value would then
    read the same as a limit it is not on, it gets one more decimal.
    """
    if one is None or one.value is None:
        return None
    decimals = one.limits.decimals if one.limits else None
    shown = quantities.show(one.value, one.unit, one.decimals, system, ends_of(one.limits), decimals)
    bound = {"equal": "", "at least": say("at least"), "at most": say("at most")}[one.bound]
    printed = spoken().figures(shown.text)
    return Value(printed, unit_text(shown.unit), f"{bound} {printed}".lstrip(), bound, shown.places)


def other(system: System) -> System:
    """The system of units that stands beside the first."""
    return cast("System", units.beside(system))


def second_system(job: Assessment, of: Literal["value", "limit"] = "value") -> System | None:
    """The system of units that stands beside the first, beside a value or a limit; None where none does.

    The shop says where (``second_unit`` of its file); whatever prints for customers asks here.
    """
    wanted = {"no": (), "beside limits": ("limit",), "everywhere": ("limit", "value")}[job.second_unit]
    return other(job.system) if of in wanted else None


def beside(text: str, one: Characteristic, system: System) -> str:
    """A text of the other system of units, or "" where a quantity has one unit only."""
    return "" if first_unit(one.unit, other(system)) == first_unit(one.unit, system) else text


def first_unit(unit: str, system: str) -> str:
    """The unit that a shop prints first."""
    return units.partner(unit, system) or units.canonical(unit) if unit else ""


def unit_text(unit: str) -> str:
    """A unit as the document's language writes it."""
    return say(UNITS[unit]) if unit in UNITS else unit


def interval(
    limits: Limits | None,
    unit: str,
    system: str,
    ends: Ends | None = None,
    bare: bool = False,
    places: int = 0,
) -> str:
    """The limits that a value was judged by, or others of it, as printed; "" where both are open.

    ``places``: decimals of the value that they stand beside, which as many digits may tell from them.
    """
    if limits is None:
        return ""
    text = show_interval(*(ends or limits.decides), unit, limits.decimals, system, places, bare=bare)
    return text.replace("x ", f"x{NBSP}").replace("n ", f"n{NBSP}")
