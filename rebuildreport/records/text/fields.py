"""The scalar forms that the files use, each from text as typed.

Every scalar arrives as the text that stands in the file; the types here turn
it into a value, or say in the trade's words why they cannot.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from datetime import date, time
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any

from msgspec import Struct
from msgspec.structs import replace
from pydantic import BaseModel, ConfigDict
from pydantic_core import PydanticCustomError, core_schema

from ... import quantities
from ...quantities import Quantity, QuantityError, UnknownUnit
from ...trade.measuring.uncertainty import EXPANSION
from .namelists import names


class Record(BaseModel):
    """Base of all file models: unknown keys are errors, values do not change.

    The modules of models do without ``from __future__ import annotations``: it turns six hundred
    annotations into text that pydantic has to evaluate again, a fifth of the time of importing them.
    """

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        populate_by_name=True,
        defer_build=True,  # most classes are only ever part of another: each is built where it is used
    )

    @classmethod
    def further_keys(cls) -> Collection[str]:
        """Keys allowed beside the fields of a model with ``extra="allow"``."""
        return ()


DECIMALS_OF_SHARES = {"mm": 3, "in": 4, "µm": 0, "thou": 1}  # a thousandth of a millimetre or less


class Proportion(Struct, frozen=True):
    """Limits as shares of the size of a feature, and which size that is where nothing was machined."""

    text: str  # as typed
    of: str
    low: float | None
    high: float | None
    size: float = 0.0  # [mm]; 0: not known yet
    unit: str = "mm"  # that the limits are told in

    def at(self, step: float) -> Interval:
        """The limits where the size differs by ``step`` [mm] from the standard one.

        >>> str(limit_or_share("0.0040 to 0.0060 per in of bores").share.on(101.6, "in").at(0.0).low)
        '0.0160 in'
        """
        low, high = (None if end is None else self._of(end, step) for end in (self.low, self.high))
        return Interval(low, high, share=self)

    def said_size(self, step: float) -> str:
        """The size itself, for people.

        >>> limit_or_share("max 0.0015 per mm of journals").share.on(60.0, "mm").said_size(-0.25)
        '59.750 mm'
        """
        return str(self._of(1.0, step))

    def _of(self, share: float, step: float) -> Quantity:
        value = round(quantities.convert(share * (self.size + step), "mm", self.unit), 9)
        decimals = DECIMALS_OF_SHARES.get(self.unit, 3)
        return Quantity(f"{value:.{decimals}f}", value, self.unit, decimals)

    def on(self, size: float, unit: str) -> Proportion:
        """The same of a size that is known [mm]."""
        return replace(self, size=size, unit=unit)


class Interval(Struct, frozen=True):
    """Limits as typed: either end may be open; ``above`` excludes the low end itself.

    Limits that are shares of a size are open until the sheet is whole, and then those of its standard size.
    """

    low: Quantity | None
    high: Quantity | None
    above: bool = False
    see: str = ""
    share: Proportion | None = None

    @property
    def ends(self) -> list[Quantity]:
        """The ends that are stated, the lower first."""
        return [end for end in (self.low, self.high) if end is not None]

    @property
    def unit(self) -> str:
        """The unit that its ends state; '' where they are bare."""
        return next((end.unit for end in self.ends if end.unit), "")

    def within(self, unit: str) -> tuple[float | None, float | None]:
        """Both ends as numbers in ``unit``; a bare end is taken to be in ``unit`` already."""
        return self.numbers(unit, unit)

    def numbers(self, own: str, unit: str) -> tuple[float | None, float | None]:
        """Both ends as numbers in ``unit``; a bare end stands in ``own``."""
        low, high = (
            None if end is None else end.value if (end.unit or own) == unit else end.of(own).to(unit)
            for end in (self.low, self.high)
        )
        return low, high

    def sound(self, own: str, unit: str) -> tuple[float | None, float | None]:
        """The same; open where a unit is none, or measures something else: that is told at its own line."""
        try:
            return self.numbers(own, unit)
        except (ValueError, quantities.UnknownUnit):
            return None, None

    @property
    def decimals(self) -> int:
        return max((end.decimals for end in self.ends), default=0)

    @property
    def said(self) -> quantities.Text:
        """The numbers at its ends, as typed."""
        first, *rest = (quantities.Figure(end.text) for end in self.ends)
        return quantities.Sentence("{first} to {last}", first=first, last=rest[0]) if rest else first

    def __str__(self) -> str:
        """The limit in the words of the files."""
        if self.see or self.share:
            return self.share.text if self.share else f"see {self.see}"
        if self.low is None or self.high is None:
            return f"min {self.low}" if self.high is None else f"max {self.high}"
        between = "up to" if self.above else "to"
        low = self.low.text if self.low.unit == self.high.unit else self.low
        return f"{'above ' if self.above else ''}{low} {between} {self.high}"


def fail(message: str, suggestion: str = "", meant: str | None = None) -> PydanticCustomError:
    """An error for people, as ``Unreadable`` tells it."""
    told = {"message": message, "suggestion": suggestion, "meant": suggestion if meant is None else meant}
    return PydanticCustomError("trade", "{message}", told)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        kind = "a list" if isinstance(value, list) else "a block of keys" if value is not None else "nothing"
        raise fail(f"one line of text belongs here, not {kind}")
    if value == "...":  # as blank files have it
        raise fail("'...' is still to be filled in")
    return value.strip()


class Scalar:
    """How one sort of text becomes a value, and what editors may type there.

    It says everything itself, so that nothing has to be worked out for its three hundred uses:
    building the models' validators was a sixth of the time of a whole ``check``.
    """

    def __init__(self, read: Callable[[Any], Any], json_schema: dict[str, Any]) -> None:
        self._core = core_schema.no_info_plain_validator_function(read)
        self._json = json_schema

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return self._core.copy()  # in one for all pydantic would pile up what it notes of each use

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return dict(self._json)


def field(parse: Callable[[str], Any], example: str, pattern: str | None = None) -> tuple[Scalar]:
    def read(value: Any) -> Any:
        if not isinstance(value, str) and not isinstance(value, (list, dict, type(None))):
            return value  # already converted (a record built in Python)
        try:
            return parse(_text(value))
        except quantities.Unreadable as problem:
            raise fail(str(problem), problem.suggestion, problem.meant) from None

    schema: dict[str, Any] = {"type": ["string", "number"]}
    if example:  # editors write it behind the key: one of another unit would mislead
        schema["examples"] = [example]
    if pattern:
        schema["pattern"] = pattern
    return (Scalar(read, schema),)


def _ratio(text: str) -> float:
    value = quantities.number(text.removesuffix(":1").strip())[0]
    if value <= 1:
        raise fail(f"'{text}' is no compression ratio", "9.5, or 9.5:1")
    return value


def _with_unit(dimension: str | None) -> Callable[[str], Quantity]:
    return lambda text: quantities.parse(text, dimension=dimension)


def _likely(dimension: str) -> Callable[[str], Quantity]:
    """A quantity of any unit, the sheet's check says of which; of a bare number what is likely is offered."""

    def read(text: str) -> Quantity:
        try:
            return quantities.parse(text)
        except QuantityError as problem:
            if problem.code == "no unit":
                return quantities.parse(text, dimension=dimension)
            raise

    return read


def bare_or_unit(text: str) -> Quantity:
    """A quantity whose unit may be stated elsewhere: then its unit is ''."""
    try:
        value, decimals = quantities.number(text)
    except QuantityError:
        return quantities.parse(text)
    return Quantity(text.strip(), value, "", decimals)


def interval(text: str) -> Interval:
    """Limits in words.

    >>> interval("75.970 to 75.990").within("mm")
    (75.97, 75.99)
    >>> interval("max 0.030").within("mm"), interval("above 0.25 up to 0.35").above
    ((None, 0.03), True)
    """
    match = re.fullmatch(r"see\s+(\S+)", text)
    if match:
        return Interval(None, None, see=match.group(1))
    for pattern, above in ((r"above\s+(.+?)\s+up to\s+(.+)", True), (r"(.+?)\s+to\s+(.+)", False)):
        match = re.fullmatch(pattern, text)
        if match:
            high = bare_or_unit(match.group(2))
            low = bare_or_unit(match.group(1))
            low = low.of(high.unit)
            try:  # of different things nobody can say: that is told at the sheet
                falls = low.value > high.value if low.unit == high.unit else low.to(high.unit) > high.value
            except (ValueError, UnknownUnit):
                falls = False
            if falls:
                raise fail(f"the limits '{text}' stand the wrong way round", str(Interval(high, low)))
            return Interval(low, high, above)
    match = re.fullmatch(r"(max|min)\s+(.+)", text)
    if match:
        end = bare_or_unit(match.group(2))
        return Interval(None, end) if match.group(1) == "max" else Interval(end, None)
    try:
        bare_or_unit(text)
    except QuantityError as problem:
        if meant := _limit_meant(text):
            raise fail(f"'{text}' is no limit", meant) from None
        hint = problem.suggestion or "0.050 to 0.110, max 0.030 or min 22.0"
        raise fail(f"'{text}' is no limit: {problem}", hint) from None
    sides = f"max {text} or min {text}"
    raise fail(f"'{text}' does not say which side it limits", sides, f"max {text}")


def limit_or_share(text: str) -> Interval:
    """Limits in words, or limits for each unit of a size, in which a bare number is in that unit."""
    match = re.fullmatch(r"(.+?)\s+per\s+(?!cent)(.+?)(?:\s+of\s+(?:the\s+)?(.+))?", text)
    if re.fullmatch(r".+\sover\s.+|[^\W\d].*\+.*", text):
        hint = "kind: running_fit, with outer: and inner:, and clearance: -0.050 to -0.020 for a press fit"
        raise fail(f"'{text}' is over a size as found: that is the limit of a fit of the two", hint)
    if match is None:
        return interval(text)
    limits, per, of = match.groups()
    if of is None:
        hint = f"{text} of bores, or another feature of the sheet"
        raise fail(f"'{text}' does not say of which size", hint)
    each = quantities.parse(per if per[0].isdigit() else f"1 {per}", dimension="length")
    if each.value <= 0:
        raise fail(f"'{text}' is a share of nothing", f"{limits} per mm of {of}")
    low, high = interval(limits).numbers(each.unit, each.unit)
    least, most = (None if end is None else end / each.value for end in (low, high))
    return Interval(None, None, share=Proportion(text, of, least, most))


def _limit_meant(text: str) -> str:
    """A limit in the words that the files take, from the ways in which people write one; '' where none is.

    >>> _limit_meant("1.7510-1.7515"), _limit_meant("0.0005 max"), _limit_meant("1.7512 +/- 0.0003 in")
    ('1.7510 to 1.7515', 'max 0.0005', '1.7509 to 1.7515 in')
    >>> _limit_meant("<= 0.03 mm"), _limit_meant("0.10 .. 0.25")
    ('max 0.03 mm', '0.10 to 0.25')
    """
    number, unit = r"(\d+(?:\.\d+)?)", r"\s*([^\W\d].*)?"
    if match := re.fullmatch(rf"{number}\s*(?:-|–|—|\.\.+|…|/)\s*{number}{unit}", text):
        return f"{match[1]} to {match[2]} {match[3] or ''}".rstrip()
    if match := re.fullmatch(rf"{number}\s*(?:\+/-|\+-|±)\s*{number}{unit}", text):
        middle, by = Decimal(match[1]), Decimal(match[2])
        return f"{middle - by} to {middle + by} {match[3] or ''}".rstrip()
    sides = {"max": "max", "maximum": "max", "min": "min", "minimum": "min", "<": "max", "<=": "max"}
    sides |= {"≤": "max", ">": "min", ">=": "min", "≥": "min", "up to": "max", "at most": "max"}
    sides |= {"at least": "min"}
    for word, side in sides.items():
        lead = re.fullmatch(rf"{word}\.?:?\s*{number}{unit}", text, re.IGNORECASE)
        if lead:
            return f"{side} {lead[1]} {lead[2] or ''}".rstrip()
        if last := re.fullmatch(rf"{number}\s*(.*?)\s*{word}\.?", text, re.IGNORECASE):
            return f"{side} {last[1]} {last[2]}".rstrip()
    return ""


_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]


def _days_meant(text: str) -> list[str]:
    """The days that a date in other forms may be; two where day and month could be either.

    >>> [_days_meant(day) for day in ("5.2.2026", "05/02/2026", "Feb 5, 2026", "2026/2/5")]
    [['2026-02-05'], ['2026-02-05', '2026-05-02'], ['2026-02-05'], ['2026-02-05']]
    """
    if match := re.fullmatch(r"(\d{4})[./ -](\d{1,2})[./ -](\d{1,2})", text):
        year, month, day = (int(part) for part in match.groups())
        return [f"{year:04}-{month:02}-{day:02}"]
    if match := re.fullmatch(r"(\d{1,2})([./ -])(\d{1,2})\2(\d{4}|\d{2})", text):
        first, second, year = (int(match[n]) for n in (1, 3, 4))
        year += 2000 if len(match[4]) == 2 else 0
        found = [f"{year}-{second:02}-{first:02}", f"{year}-{first:02}-{second:02}"]
        if first > 12 or match[2] == "." or first == second:
            return found[:1]
        return found[1:] if second > 12 else found
    words = re.findall(r"[^\W\d_]+|\d+", text.lower())
    months = [_MONTHS.index(word[:3]) + 1 for word in words if word[:3] in _MONTHS]
    numbers = sorted((int(word) for word in words if word.isdigit()), reverse=True)
    if len(months) != 1 or len(numbers) != 2 or not numbers[1] <= 31 < numbers[0] < 10000:
        return []
    return [f"{numbers[0]}-{months[0]:02}-{numbers[1]:02}"]


def _hour(text: str) -> time:
    found = re.fullmatch(r"(\d{1,2})[:.h]?(\d{2})", text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise fail(f"'{text}' is no time of day", "as in 14:30")
    if text != (meant := f"{found[1]}:{found[2]}"):
        raise fail(f"'{text}' is not a time of day", meant)
    return time(int(found[1]), int(found[2]))


def _date(text: str) -> date:
    meant = _days_meant(text)
    try:
        found = date.fromisoformat(meant[0] if meant else text)  # it takes 20260205 and 2026-W06-4, too
    except ValueError:
        if meant or re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            day = re.fullmatch(r"(\d{4})-(\d{1,2})-\d{1,2}", text)
            one = f"{day[1]}-{min(int(day[2]) or 1, 12):02}-28" if day else ""  # that its month has
            raise fail(f"'{text}' is no day of the calendar", meant=one) from None
        raise fail(f"'{text}' is not a date (year-month-day)", "as in 2026-02-05") from None
    if len(meant) > 1:
        raise fail(f"'{text}' is not a date (year-month-day)", " or ".join(meant) + "?", meant[0])
    if found.isoformat() != text:
        raise fail(f"'{text}' is not a date (year-month-day)", found.isoformat())
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise fail(f"no job is of the year {found.year}", "year-month-day, as in 2026-02-05")
    return found


def _yes_no(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    if (text := _text(value)) in ("yes", "no"):
        return text == "yes"
    raise fail(f"'{text}' is neither yes nor no", "yes" if text.lower()[:1] in "yt" else "no")


def amount_of_money(text: str) -> Decimal:
    try:
        # what an invoice can show: no exponents, no fractions of a cent
        # (how many decimals the shop's currency has is looked at in moneycheck)
        if not re.fullmatch(r"[+-]?\d{1,9}(\.\d{1,4})?", text):
            raise InvalidOperation
        return Decimal(text)
    except InvalidOperation:
        hint = plain_amount(text) or "a bare number, as in 168.00"
        raise fail(f"'{text}' is not an amount of money", hint) from None


def plain_amount(text: str) -> str:
    """An amount without its currency and the marks between its thousands; '' where neither is plain.

    >>> plain_amount("1,500.00"), plain_amount("£160"), plain_amount("1.500,50 EUR"), plain_amount("16O,00")
    ('1500.00', '160', '1500.50', '160.00')
    """
    if re.search(r"\d[OoIl]|[OoIl]\d", text):  # letters for digits
        return plain_amount(text.translate(str.maketrans("OoIl", "0011")))
    match = re.fullmatch(r"\D{0,4}?\s*(\d[\d.,' \u00a0]*?)\s*[^\d\s]{0,4}", text)
    if not match:
        return ""
    digits = re.sub(r"[' \u00a0]", "", match[1])
    whole = r"\d{1,3}(?:[.,]\d{3})*|\d+"
    parts = re.fullmatch(rf"({whole})(?:[.,](\d{{1,2}}))?", digits)
    if not parts:
        return ""
    return re.sub(r"[.,]", "", parts[1]) + (f".{parts[2]}" if parts[2] else "")


# engines older than this are in museums; later than this no clock of ours is kept (common practice)
FIRST_YEAR, LAST_YEAR = 1900, 2199
DIGITS_OF_A_COUNT = 6
MOST_DAYS = 3660

_MATERIALS = {
    "aluminum": "aluminium",
    "cast iron": "iron",
    "grey iron": "iron",
    "cast aluminium": "aluminium",
}


def _material(text: str) -> str:
    name = _MATERIALS.get(text.lower(), text.lower())
    if name not in EXPANSION:
        message = f"'{text}' is no material whose expansion is known"
        raise fail(message, " or ".join(EXPANSION), min(EXPANSION))
    return name


def _sheet_name(text: str) -> str:
    if not re.fullmatch(r"[\w][\w.-]*", text):
        raise fail(f"'{text}' is no name of a sheet in engines/", "letters, digits, - and . as in alder-four")
    return text


def percentage(text: str) -> Decimal:
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:%|percent|per cent)", text)
    if not match:
        hint = f"{text} %" if text.replace(".", "").isdigit() else "20 %"
        raise fail(f"'{text}' is not a percentage", hint)
    return Decimal(match.group(1))


def _count(text: str) -> int:
    if not re.fullmatch("[0-9]+", text):
        raise fail(f"'{text}' is not a whole number")
    if len(text.lstrip("0")) > DIGITS_OF_A_COUNT:
        raise fail(f"'{text}' is more than anybody counts")
    return int(text)


def _days(text: str) -> int:
    if re.fullmatch(r"20\d{6}", text):
        raise fail(f"'{text}' is a date, and a number of days belongs here", "as in 30")
    days = _count(text)
    if days > MOST_DAYS:
        raise fail(f"{days} days are more than ten years", "as in 30")
    return days


def _hours(text: str) -> Decimal:
    typed = text.removesuffix("h").rstrip()
    try:
        return amount_of_money(typed)
    except PydanticCustomError:
        clock = re.fullmatch(r"(\d{1,4})\s*[h:]\s*([0-5]?\d)\s*(?:min|m)?", text)
        if clock:
            hint = f"{int(clock[1]) + int(clock[2]) / 60:.2f}".rstrip("0").rstrip(".")
        else:
            comma = re.fullmatch(r"(\d+),(\d+)", typed)
            hint = f"{comma[1]}.{comma[2]}" if comma else "hours and their tenths, as in 9.5"
        raise fail(f"'{text}' is not a number of hours", hint) from None


def _duration(text: str) -> Quantity:
    if clock := re.fullmatch(r"(\d{1,3}):([0-5]\d)\s*h?", text):
        raise fail(f"'{text}' is a time of the day", f"{int(clock[1]) + int(clock[2]) / 60:.3g} h")
    time = quantities.parse(text, dimension="time")
    if time.value < 0:
        raise fail(f"'{text}' is less than no time", text.lstrip("-− "))
    return time


def _parted(by: str) -> Callable[[str], list[str]]:
    def parted(text: str) -> list[str]:
        if parts := [part.strip() for part in text.split(by) if part.strip()]:
            return parts
        raise fail("nothing is written here")

    return parted


def _place(text: str) -> tuple[float, float]:
    parts = text.split()
    if len(parts) != 2:
        raise fail(f"'{text}' is no place in a picture", "45 60 (per cent from the left, from the top)")
    across, down = (quantities.number(part)[0] for part in parts)
    if not (0 <= across <= 100 and 0 <= down <= 100):
        raise fail(f"'{text}' lies outside the picture: both numbers are per cent, 0 to 100")
    return across, down


def _share(text: str) -> float:
    share = quantities.number(text.removesuffix("%").strip())[0]
    if not 0 < share <= 50:
        raise fail(f"'{text}' is no radius in a picture", "8 (per cent of its width, at most 50)")
    return share


Text = Annotated[str, Scalar(_text, {"type": ["string", "number", "boolean"]})]
Material = Annotated[str, *field(_material, "iron")]
SheetName = Annotated[str, *field(_sheet_name, "alder-four")]
Names = Annotated[list[str], *field(names, "M1 to M7")]
Stamped = Annotated[list[str], *field(lambda t: re.split(r"[,\s]+", t.strip()), "2 2 1 3 2")]  # may repeat
Phrases = Annotated[list[str], *field(_parted(";"), "wiping; overheating")]
Commas = Annotated[list[str], *field(_parted(","), "sump, starter")]
Hour = Annotated[time, *field(_hour, "14:30", r"^\d{1,2}:\d{2}$")]
Day = Annotated[date, *field(_date, "2026-02-05", r"^\d{4}-\d{2}-\d{2}$")]
YesNo = Annotated[bool, Scalar(_yes_no, {"enum": ["yes", "no", True, False]})]
Money = Annotated[Decimal, *field(amount_of_money, "168.00")]
Percent = Annotated[Decimal, *field(percentage, "20 %")]
Count = Annotated[int, *field(_count, "14", None)]
Days = Annotated[int, *field(_days, "30", None)]
Hours = Annotated[Decimal, *field(_hours, "9.5")]
Duration = Annotated[Quantity, *field(_duration, "0.5 h")]
Length = Annotated[Quantity, *field(_with_unit("length"), "0.001 mm")]
Temperature = Annotated[Quantity, *field(_with_unit("temperature"), "20 °C")]
Mass = Annotated[Quantity, *field(_with_unit("mass"), "420 g")]
Pressure = Annotated[Quantity, *field(_with_unit("pressure"), "0.8 bar")]
Force = Annotated[Quantity, *field(_with_unit("force"), "900 N")]
Speed = Annotated[Quantity, *field(_with_unit("speed"), "1400 rpm")]
Ratio = Annotated[float, *field(_ratio, "9.5")]
RatedTorque = Annotated[Quantity, *field(_with_unit("torque"), "150 N·m")]
Turn = Annotated[Quantity, *field(_with_unit("angle"), "90 deg")]
Torque = Annotated[Quantity, *field(_likely("torque"), "85 N·m")]
Angle = Annotated[Quantity, *field(_likely("angle"), "90 deg")]
WithUnit = Annotated[Quantity, *field(_with_unit(None), "")]
BareOrUnit = Annotated[Quantity, *field(bare_or_unit, "0.050")]
Limit = Annotated[Interval, *field(interval, "0.050 to 0.110")]
LimitOrShare = Annotated[Interval, *field(limit_or_share, "0.0040 to 0.0060 per mm of bores")]
Place = Annotated[tuple[float, float], *field(_place, "45 60")]
Share = Annotated[float, *field(_share, "8")]
