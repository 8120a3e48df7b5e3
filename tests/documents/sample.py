"""Assessments made by hand for the tests of documents.  Everything in them is invented.

They are data, not expectations: values stand here as a record would give them,
and no verdict is worked out by the project's own code.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from msgspec.structs import replace

from rebuildreport.assess.model.assessment import (
    Approval,
    Assessment,
    Callout,
    Characteristic,
    Cost,
    Decision,
    Depths,
    Deviation,
    EngineFacts,
    Fact,
    Feature,
    Finding,
    HoldPoint,
    InstrumentUsed,
    Limits,
    LimitSource,
    Photo,
    PriceLine,
    ReadingTable,
    Round,
    SummaryLine,
)
from rebuildreport.quantities import Sentence, Text, Typed
from rebuildreport.records.text.problems import Problem

from ..keys import value_key

MANUAL = "workshop manual, 3rd edition (invented)"
NONE = (None, None)

_ARRIVAL = {
    "M1": "75.968 75.964 75.966 75.962",
    "M2": "75.965 75.960 75.963 75.959",
    "M3": "75.962 75.955 75.960 75.951",
    "M4": "75.846 75.815 75.839 75.812",
    "M5": "75.960 75.953 75.958 75.949",
    "M6": "75.966 75.961 75.964 75.960",
    "M7": "75.969 75.966 75.967 75.964",
}
_GROUND = {
    "M1": "75.481 75.480 75.480 75.479",
    "M2": "75.482 75.480 75.481 75.480",
    "M3": "75.479 75.478 75.480 75.478",
    "M4": "75.480 75.479 75.478 75.477",
    "M5": "75.483 75.481 75.482 75.481",
    "M6": "75.492 75.491 75.491 75.490",
    "M7": "75.480 75.479 75.481 75.480",
}
_BORES = {
    "C1": "98.112 98.081 98.064 98.052 98.031 98.027",
    "C2": "98.118 98.086 98.068 98.055 98.033 98.028",
    "C3": "98.241 98.152 98.133 98.090 98.060 98.041",
    "C4": "98.121 98.088 98.070 98.056 98.034 98.029",
    "C5": "98.126 98.091 98.072 98.058 98.035 98.029",
    "C6": "98.109 98.079 98.061 98.050 98.030 98.026",
}
_LINERS = {
    "C1": "98.012 98.010 98.011 98.010 98.010 98.009",
    "C2": "98.014 98.012 98.012 98.011 98.011 98.011",
    "C3": "98.010 98.009 98.010 98.008 98.009 98.008",
    "C4": "98.013 98.012 98.013 98.011 98.012 98.011",
    "C5": "98.015 98.013 98.014 98.012 98.012 98.011",
    "C6": "98.011 98.010 98.010 98.009 98.009 98.009",
}
# position: front smallest and largest, rear smallest and largest
_CLEARANCE_ARRIVAL = {
    "M1": (0.080, 0.088, 0.083, 0.091),
    "M2": (0.085, 0.094, 0.088, 0.096),
    "M3": (0.087, 0.098, 0.090, 0.103),
    "M4": (0.206, 0.237, 0.215, 0.242),
    "M5": (0.090, 0.101, 0.092, 0.105),
    "M6": (0.083, 0.092, 0.085, 0.093),
    "M7": (0.078, 0.085, 0.081, 0.088),
}
_CLEARANCE_BUILT = {
    "M1": (0.074, 0.075, 0.076, 0.077),
    "M2": (0.074, 0.076, 0.076, 0.077),
    "M3": (0.077, 0.078, 0.077, 0.079),
    "M4": (0.077, 0.078, 0.081, 0.082),
    "M5": (0.073, 0.075, 0.074, 0.075),
    "M6": (0.062, 0.063, 0.063, 0.064),
    "M7": (0.075, 0.076, 0.075, 0.076),
}


def _table(round_: str, feature: str, columns: str, rows: dict[str, str], instrument: str) -> ReadingTable:
    return ReadingTable(
        round=round_,
        name=feature,
        feature=feature,
        unit="mm",
        instrument=instrument,
        set_from="",
        state="",
        temperature="20 °C",
        columns=tuple(columns.split()),
        rows={place: tuple(text.split()) for place, text in rows.items()},
        depths=tuple(_depths(columns.split(), rows)) if columns.startswith("top") else (),
    )


def _depths(columns: list[str], rows: dict[str, str]) -> Iterator[Depths]:
    for at, way in enumerate("ta"):
        sizes = {place: tuple(map(float, text.split()[at::2])) for place, text in rows.items()}
        yield Depths(way, tuple(name.removesuffix("_t") for name in columns[::2]), sizes)


def one(
    feature: str,
    name: str,
    position: str,
    round_: str,
    value: float | None,
    verdict: str,
    new=NONE,
    wear=NONE,
    *,
    guard: float | None = 0.0026,
    unit: str = "mm",
    decimals: int = 3,
    **more,
) -> Characteristic:
    """One characteristic; ``new`` and ``wear`` as (low, high)."""
    limits = None
    if (new, wear) != (NONE, NONE):
        deciding = "wear" if wear != NONE and verdict != "as new" else "new"
        limits = Limits(
            new,
            wear,
            wear if deciding == "wear" else new,
            deciding,
            LimitSource(Typed(MANUAL), "page 31"),
            decimals,
            Typed(more.pop("size", "")),
        )
    return Characteristic(
        feature,
        name,
        position,
        round_,
        value,
        unit,
        guard and guard / 1.645,
        guard,
        limits,
        verdict,
        decimals=decimals,
        **more,
    )


def _characteristics() -> list[Characteristic]:
    out: list[Characteristic] = []
    for round_, rows in (("arrival", _ARRIVAL), ("machined", _GROUND)):
        arrived = round_ == "arrival"
        for place, text in rows.items():
            typed = [float(word) for word in text.split()]
            oor = max(abs(typed[0] - typed[1]), abs(typed[2] - typed[3]))
            taper = max(abs(typed[0] - typed[2]), abs(typed[1] - typed[3]))
            size = max(typed)
            if arrived:
                word = {"M4": "too close to call"}.get(place, "serviceable")
                side, advice = (
                    "too large",
                    "the permitted error does not matter here: three repeats would settle it",
                )
                out += [
                    one("main_journals", "size", place, round_, size, "no limit on file", stands=False),
                    one(
                        "main_journals",
                        "out_of_round",
                        place,
                        round_,
                        oor,
                        word,
                        (None, 0.008),
                        (None, 0.030),
                        side=side if place == "M4" else "",
                        advice=advice if place == "M4" else "",
                        stands=False,
                    ),
                    one(
                        "main_journals",
                        "taper",
                        place,
                        round_,
                        taper,
                        "serviceable",
                        (None, 0.008),
                        (None, 0.030),
                        stands=False,
                    ),
                ]
            else:
                bad = place == "M6"
                out += [
                    one(
                        "main_journals",
                        "size",
                        place,
                        round_,
                        size,
                        "beyond limit" if bad else "as new",
                        (75.470, 75.490),
                        guard=0.0016,
                        side="too large" if bad else "",
                        size="0.50 mm undersize",
                    ),
                    one("main_journals", "out_of_round", place, round_, oor, "as new", (None, 0.008)),
                    one("main_journals", "taper", place, round_, taper, "as new", (None, 0.008)),
                ]
    for round_, fits in (("arrival", _CLEARANCE_ARRIVAL), ("assembly", _CLEARANCE_BUILT)):
        arrived = round_ == "arrival"
        for place, (a, b, c, d) in fits.items():
            bad = arrived and place == "M4"
            out.append(
                one(
                    "main_clearance",
                    "clearance",
                    place,
                    round_,
                    a if arrived else d if place == "M4" else c,
                    "beyond limit" if bad else "serviceable" if arrived else "as new",
                    (0.050, 0.110),
                    (None, 0.150),
                    guard=0.0032,
                    bound="at least" if arrived else "equal",
                    side="too large" if bad else "",
                    basis="grade band of a new standard shell" if arrived else "measured walls",
                    planes={"front": (a, b), "rear": (c, d)},
                    stands=not arrived,
                )
            )
    for round_, rows in (("arrival", _BORES), ("machined", _LINERS)):
        arrived = round_ == "arrival"
        for place, text in rows.items():
            bad = arrived and place == "C3"
            out.append(
                one(
                    "liner_bores",
                    "size",
                    place,
                    round_,
                    max(float(w) for w in text.split()),
                    "beyond limit" if bad else "serviceable" if arrived else "as new",
                    (98.000, 98.022),
                    (None, 98.150),
                    guard=0.004,
                    side="too large" if bad else "",
                    stands=not arrived,
                )
            )
    pressure = {"unit": "bar", "decimals": 1, "guard": 0.05}
    out += [
        one(
            "oil_pressure",
            "hot_idle",
            "engine",
            "arrival",
            0.4,
            "beyond limit",
            (1.0, None),
            side="too low",
            stands=False,
            **pressure,
        ),
        one("oil_pressure", "hot_idle", "engine", "running", 2.1, "as new", (1.0, None), **pressure),
        one(
            "end_float",
            "end_float",
            "crankshaft",
            "arrival",
            0.35,
            "serviceable",
            (0.10, 0.30),
            (None, 0.40),
            decimals=2,
            guard=0.01,
            stands=False,
        ),
        one(
            "end_float",
            "end_float",
            "crankshaft",
            "assembly",
            0.22,
            "as new",
            (0.10, 0.30),
            (None, 0.40),
            decimals=2,
            guard=0.01,
        ),
        one(
            "oil_pump",
            "rotor_to_body",
            "pump",
            "arrival",
            0.31,
            "beyond limit",
            wear=(None, 0.25),
            decimals=2,
            guard=0.015,
            side="too large",
            stands=False,
        ),
        one(
            "head_face",
            "flatness",
            "head",
            "arrival",
            0.12,
            "beyond limit",
            (None, 0.10),
            (None, 0.10),
            decimals=2,
            guard=0.013,
            side="too large",
            stands=False,
        ),
    ]
    for place, depth in (("E1", 1.25), ("E2", 1.30), ("E3", 1.95), ("E4", 1.28), ("E5", 1.55), ("E6", 1.27)):
        bad = place == "E3"
        out.append(
            one(
                "valve_recession",
                "recession",
                place,
                "arrival",
                depth,
                "beyond limit" if bad else "serviceable",
                (0.80, 1.30),
                (None, 1.80),
                decimals=2,
                guard=0.02,
                side="too large" if bad else "",
                stands=False,
            )
        )
    return out


def _features() -> tuple[Feature, ...]:
    def made(
        name: str, title: str, kind: str, positions: str, titles: dict[str, str], unit: str = "mm"
    ) -> Feature:
        said: dict[str, Text] = {key: Sentence(word) for key, word in titles.items()}
        return Feature(name, Sentence(title), kind, unit, "", Typed(MANUAL), tuple(positions.split()), said)

    mains, bores = "M1 M2 M3 M4 M5 M6 M7", "C1 C2 C3 C4 C5 C6"
    form = {"size": "size", "out_of_round": "out of round", "taper": "taper"}
    return (
        made("main_journals", "Main journals", "journal", mains, form),
        made("main_clearance", "Main bearing clearance", "clearance", mains, {"clearance": "clearance"}),
        made("liner_bores", "Liner bores", "bore", bores, {"size": "size"}),
        made("oil_pressure", "Oil pressure", "readings", "engine", {"hot_idle": "hot idle"}, "bar"),
        made("end_float", "Crank end float", "end_float", "crankshaft", {"end_float": "end float"}),
        made("oil_pump", "Oil pump", "readings", "pump", {"rotor_to_body": "rotor to body"}),
        made("head_face", "Head face", "flatness", "head", {"flatness": "flatness"}),
        made(
            "valve_recession", "Valve recession", "readings", "E1 E2 E3 E4 E5 E6", {"recession": "recession"}
        ),
    )


def _row(title: str, key: str, first: str | None, now: str | None, verdict: str) -> SummaryLine:
    feature, _, name = key.partition(".")
    return SummaryLine(
        feature,
        name,
        Sentence(title),
        value_key(f"{key} {first}") if first else None,
        value_key(f"{key} {now}") if now else None,
        verdict,
    )


SUMMARY = (
    _row(
        "Oil pressure, hot idle",
        "oil_pressure.hot_idle",
        "engine @arrival",
        "engine @running",
        "as new",
    ),
    _row("Main clearance", "main_clearance.clearance", "M4 @arrival", "M4 @assembly", "as new"),
    _row("Mains, out of round", "main_journals.out_of_round", "M4 @arrival", "M2 @machined", "as new"),
    _row("Mains, ground size", "main_journals.size", None, "M6 @machined", "beyond limit"),
    _row(
        "Crank end float",
        "end_float.end_float",
        "crankshaft @arrival",
        "crankshaft @assembly",
        "as new",
    ),
    _row("Liner bores", "liner_bores.size", "C3 @arrival", "C5 @machined", "as new"),
    _row("Valve recession", "valve_recession.recession", "E3 @arrival", None, "not measured"),
    _row("Head face, flatness", "head_face.flatness", "head @arrival", None, "not measured"),
    _row("Oil pump, rotor to body", "oil_pump.rotor_to_body", "pump @arrival", None, "not measured"),
)


def _cost() -> Cost:
    lines: list[PriceLine] = []

    def add(
        group, name, number="", quantity="1", each=None, because=(), findings=(), core=None, unit=""
    ) -> None:
        price = None if each is None else Decimal(each)
        amount = None if price is None else price * Decimal(quantity)
        lines.append(
            PriceLine(
                len(lines) + 1,
                group,
                number,
                name,
                Decimal(quantity),
                price,
                amount,
                tuple(because),
                tuple(findings),
                None if core is None else Decimal(core),
                unit,
            )
        )

    add(
        "part",
        "liner, piston, ring and pin kit",
        "LK98",
        "6",
        "168.00",
        ["C3 over limit; customer chose all six"],
        ["F3"],
    )
    add("part", "main shell set, 0.50 undersize", "MS-050", "1", "212.00", ["mains ground 0.50"], ["F1"])
    add("part", "upper gasket set", "GS-U", "1", "96.00", ["joints opened"])
    add("part", "head bolt", "HB", "26", "4.80", ["one-time fastener"])
    add(
        "part",
        "oil pump, exchange",
        "OP-X",
        "1",
        "184.00",
        ["outer rotor to body over limit"],
        ["F4"],
        core="40.00",
    )
    add("part", "oil, litre", "OIL", "14", "6.20", ["always"])
    add("sublet", "crank: magnetic particle inspection", each="75.00", because=["before grinding"])
    add(
        "sublet",
        "crank: grind 7 mains 0.50, 6 pins 0.25, polish, wash galleries",
        each="420.00",
        because=["M4 scores"],
        findings=["F1"],
    )
    add("labour", "dismantle and record", quantity="9.5", each="64.00", unit="h")
    add("labour", "assemble", quantity="21.0", each="64.00", unit="h")
    total = {
        g: sum((li.amount for li in lines if li.group == g), Decimal(0)) for g in ("part", "sublet", "labour")
    }
    net = sum(total.values(), Decimal(0))
    tax = net * Decimal("0.20")
    return Cost(
        currency="EUR",
        lines=tuple(lines),
        parts=total["part"],
        sublet=total["sublet"],
        hours=Decimal("30.5"),
        labour_rate=Decimal("64.00"),
        labour=total["labour"],
        net=net,
        tax_rate=Decimal("20"),
        tax=tax,
        total=net + tax,
        core_deposit=Decimal("40.00"),
        to_pay=net + tax + 40,
        minimum=False,
        not_priced=(),
        approvals=(
            Approval(date(2026, 2, 5), "customer", "signed", Decimal("4500.00"), "estimate 1"),
            Approval(
                date(2026, 2, 16), "customer", "by e-mail", Decimal("5600.00"), "mains 0.50, six liner kits"
            ),
        ),
        first_estimate=Decimal("4180.00"),
        prices_on=date(2026, 2, 12),
    )


def _photo(name: str, caption: str, callouts: tuple[Callout, ...], number: int, public: bool = True) -> Photo:
    return Photo(name, f"photos/{name}.jpg", caption, public, callouts, number)


def orchard() -> Assessment:
    """A complete job: seven mains, six liners, findings, deviation, cost, first start."""
    return Assessment(
        job="2026-003",
        title="Orchard tractor six: No. 4 main bearing wiped",
        stage="ready to collect",
        opened=date(2026, 2, 3),
        as_of=date(2026, 3, 6),
        engine=EngineFacts(
            "od6-54",
            "Tarnbeck",
            "OD6-54",
            6,
            "inline",
            "diesel",
            98.0,
            120.0,
            5430.9,
            "the end with the gear case",
            "clockwise seen from the front",
            "1 5 3 6 2 4",
            Typed("No. 1 at the front"),
        ),
        shop="Old Mill Engine Works",
        contact="Mill Lane 1, an invented town",
        notice="Invented demonstration: maker, shop, people, limits and prices do not exist; pictures"
        " are renderings.",
        system="mm",
        decision_rule="guarded",
        rule_text=Typed(
            "A verdict is given only where the value clears its limit by 1.645 standard uncertainties "
            "(ISO 14253-1, 95 %, one-sided)"
        ),
        publish=True,
        complaint="Oil pressure lamp at idle when hot; heavy knock under load; stopped by the operator",
        application="orchard tractor, power take-off spraying",
        meter=Typed("9412 h"),
        found=Typed(
            "The oil pump had worn past its limit, and hot idle pressure had fallen to 0.4 bar "
            "where 1.0 is the least "
            "allowed. No. 4 main bearing then ran without an oil film and lost its lining; its debris "
            "scored mains 3 and 5. "
            "Cylinder 3 had scuffed and worn to 98.241 mm (limit 98.150)."
        ),
        did=Typed(
            "Ground the crankshaft (mains 0.50 mm, rod pins 0.25 mm undersize) and fitted new shells,"
            " six liner kits and "
            "oil pump; skimmed the head. First started on 5 March: 2.1 bar at hot idle, no leaks."
        ),
        did_is_done=True,
        needs_from_customer=(
            Typed(
                "Payment on collection. 40.00 EUR of it is a deposit, returned when the old oil pump is "
                "accepted."
            ),
            Typed(
                "Your signature that you have read deviation V1: "
                "main journal 6 is 0.002 mm larger than ordered."
            ),
        ),
        arrival=(
            Fact(Typed("Came with"), Typed("flywheel, front pulley, injection pump, starter")),
            Fact(Typed("Oil filter, cut open"), Typed("bronze and lining flakes in every pleat")),
        ),
        not_with=("air cleaner", "alternator", "radiator"),
        not_opened=("injection pump", "starter"),
        rounds=(
            Round("arrival", Typed("On arrival"), date(2026, 2, 5), Typed("bench 1"), "20 °C", True),
            Round("machined", Typed("After grinding"), date(2026, 2, 24), Typed("bench 1"), "20 °C"),
            Round("assembly", Typed("At assembly"), date(2026, 3, 2), Typed("bench 1"), "20 °C"),
            Round("running", Typed("First start"), date(2026, 3, 5), Typed("bench 1"), ""),
        ),
        features=_features(),
        characteristics=tuple(_characteristics()),
        summary=SUMMARY,
        complaint_lines=tuple(
            replace(line, place=line.first.position)
            for line in SUMMARY
            if line.first
            and line.feature in ("oil_pressure", "main_clearance", "liner_bores", "valve_recession")
        ),
        tables=(
            _table(
                "arrival", "main_journals", "front_a front_b rear_a rear_b", _ARRIVAL, "micrometer 75 to 100"
            ),
            _table(
                "machined", "main_journals", "front_a front_b rear_a rear_b", _GROUND, "micrometer 75 to 100"
            ),
            _table(
                "arrival",
                "liner_bores",
                "top_t top_a middle_t middle_a bottom_t bottom_a",
                _BORES,
                "bore gauge",
            ),
            _table(
                "machined",
                "liner_bores",
                "top_t top_a middle_t middle_a bottom_t bottom_a",
                _LINERS,
                "bore gauge",
            ),
        ),
        instruments=(
            InstrumentUsed(
                "micrometer 75 to 100",
                "micrometer",
                Typed("75 to 100 mm"),
                "0.001 mm",
                "0.001 mm",
                "0.7 µm",
                date(2025, 9, 10),
                date(2026, 9, 10),
            ),
            InstrumentUsed(
                "bore gauge",
                "bore gauge",
                Typed("50 to 150 mm"),
                "0.001 mm",
                "0.002 mm",
                "1.0 µm",
                None,
                None,
            ),
        ),
        findings=(
            Finding(
                "F1",
                1,
                Typed("No. 4 main bearing: wiped, lining gone"),
                "main_shells",
                Typed("Main shells"),
                ("M4",),
                ("wiping", "overheating", "lining removed to the backing over 60 % of the lower"),
                "oil pressure lost through a worn pump; M4 ran without a film",
                "With new standard shells this journal would still have run at no less than 0.206 mm "
                "(0.0081 in); its "
                "debris scored M3 and M5. With the scores, 0.25 undersize leaves 0.012 mm of stock "
                "where 0.050 is needed.",
                "replace",
                ("p021", "p022"),
                (
                    value_key("main_clearance.clearance M4 @arrival"),
                    value_key("main_clearance.clearance M4 @assembly"),
                ),
                (2, 7, 8),
                "beyond limit",
            ),
            Finding(
                "F2",
                2,
                Typed("No. 3 and No. 5 main bearings: scored"),
                "main_shells",
                Typed("Main shells"),
                ("M3", "M5"),
                ("scoring", "embedded particles"),
                "debris of finding 1",
                "",
                "replace",
                (),
                (),
                (2,),
                "",
            ),
            Finding(
                "F3",
                3,
                Typed("Cylinder 3: piston scuffed, liner worn"),
                "pistons",
                Typed("Pistons"),
                ("C3",),
                ("scuffing on both thrust faces", "ring 1 stuck"),
                "",
                "",
                "replace",
                ("p024",),
                (value_key("liner_bores.size C3 @arrival"), value_key("liner_bores.size C3 @machined")),
                (1,),
                "beyond limit",
            ),
            Finding(
                "F4",
                4,
                Typed("Oil pump worn"),
                "oil_pump",
                Typed("Oil pump"),
                (),
                ("abrasive wear", "scored end cover"),
                "",
                "We hold the pump to be where it began.",
                "replace",
                ("p025",),
                (value_key("oil_pump.rotor_to_body pump @arrival"),),
                (5,),
                "beyond limit",
            ),
        ),
        photos=(
            _photo(
                "p021",
                "Main bearing shells",
                (
                    Callout("A", 30, 55, "lower shell of No. 4: the grey lining is gone"),
                    Callout("B", 73, 60, "a shell with even grey wear, for comparison"),
                ),
                1,
            ),
            _photo("p022", "No. 4 main journal", (Callout("A", 58, 78, "scores, the deepest 0.035 mm"),), 2),
            _photo("p024", "Piston 3", (Callout("A", 35, 80, "scuffed thrust face"),), 3),
            _photo("p025", "Oil pan as opened", (), 4),
            _photo("p030", "The engine's plate", (), 5, public=False),
            _photo("p031", "Straightedge on the head face", (), 6),
        ),
        decisions=(
            Decision(
                "D1",
                "main_journals",
                Typed("Main journals"),
                (),
                "recondition",
                Typed("0.50 mm undersize"),
                "0.25 leaves 0.012 of stock where 0.050 is needed",
                Typed("foreman"),
                date(2026, 2, 12),
            ),
        ),
        deviations=(
            Deviation(
                "V1",
                "main_journals",
                Typed("Main journals"),
                ("M6",),
                Typed("size 75.492 mm, 0.002 above the ordered 75.490"),
                "used as ground",
                "its clearance of 0.062 to 0.064 is inside the new limits",
                Typed("foreman"),
                date(2026, 2, 24),
                (value_key("main_journals.size M6 @machined"),),
            ),
        ),
        cost=_cost(),
        running=(
            Fact(Typed("Hot idle"), Typed("2.1 bar")),
            Fact(Typed("At 1800 rpm"), Typed("4.4 bar")),
            Fact(Typed("Leaks"), Typed("none")),
        ),
        next_steps=(
            Fact(Typed("First 50 hours"), Typed("no full load; check oil level daily")),
            Fact(Typed("At 50 hours"), Typed("oil and filter; bring the filter, we cut it open with you")),
        ),
        hold_points=(
            HoldPoint(
                Typed("Main and rod bolts tightened by stages"),
                Typed("bench 1"),
                Typed("foreman"),
                date(2026, 3, 2),
            ),
            HoldPoint(
                Typed("Gear marks set, two full turns by hand, no contact"),
                Typed("bench 1"),
                Typed("foreman"),
                date(2026, 3, 4),
            ),
        ),
        cautions=(
            Typed("The engine weighs more than two people can hold: lift at both eyes, never stand beneath"),
            Typed(
                "Before the first start in the tractor, turn it on the starter without fuel until the oil"
                " gauge rises"
            ),
            Typed("The maker's service information and local rules come first"),
        ),
        too_close=(),
        not_measured=(),
        to_decide=(Typed("Valve recession was not measured after the head was skimmed."),),
        problems=(
            Problem("2026-003/findings.yaml", 31, 5, "warning", "photo p099 is not there", "photos: p099"),
        ),
        ready=date(2026, 3, 6),
    )


def first_evening() -> Assessment:
    """An engine, a complaint and three photos: nothing is measured, found or priced."""
    whole = orchard()
    empty = Cost(
        "EUR",
        (),
        Decimal(0),
        Decimal(0),
        Decimal(0),
        Decimal("64.00"),
        Decimal(0),
        Decimal(0),
        Decimal("20"),
        Decimal(0),
        Decimal(0),
        Decimal(0),
        Decimal(0),
        False,
        (),
    )
    return replace(
        whole,
        job="2026-005",
        title="Twin cam four: runs on three",
        stage="arrival",
        opened=date(2026, 3, 4),
        as_of=date(2026, 3, 4),
        engine=EngineFacts(
            "tc4-16", "Velm", "TC4-16", 4, "inline", "petrol", None, None, None, "", "", "", Typed("")
        ),
        complaint="Runs on three cylinders, ticks when cold",
        application="saloon car",
        meter=Typed("98 000 km"),
        found=Typed(""),
        did=Typed(""),
        did_is_done=False,
        needs_from_customer=(Typed("Your word that we may take the head off."),),
        arrival=(),
        not_with=(),
        not_opened=(),
        rounds=(),
        features=(),
        characteristics=(),
        summary=(),
        complaint_lines=(),
        tables=(),
        instruments=(),
        findings=(),
        photos=tuple(replace(photo, callouts=(), public=True) for photo in whole.photos[:3]),
        decisions=(),
        deviations=(),
        cost=empty,
        running=(),
        next_steps=(),
        hold_points=(),
        cautions=(),
        too_close=(),
        not_measured=(),
        to_decide=(),
        problems=(),
        ready=None,
    )
