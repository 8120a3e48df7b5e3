"""The specimen's sample: a small invented Assessment in which every part and every verdict occurs."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from ...assess.model.assessment import (
    Approval,
    Assessment,
    Callout,
    Characteristic,
    Cost,
    Decision,
    Deviation,
    Fact,
    Feature,
    Finding,
    HoldPoint,
    InstrumentUsed,
    Limits,
    Photo,
    PriceLine,
    ReadingTable,
    Round,
    SummaryLine,
    VerdictName,
)
from ...assess.model.enginefacts import EngineFacts
from ...quantities import NOTHING, Figure, Sentence, Text, Typed

TOO_LARGE = Sentence("too large")
ARRIVED, READY = date(2031, 3, 5), date(2031, 4, 2)
BOOK = Typed("Sample manual (invented), page 12")
_SIZE = Limits((74.970, 74.990), (74.940, None), (74.940, 74.990), "wear", BOOK, 3)
_ROUND = Limits((None, 0.008), (None, 0.030), (None, 0.030), "wear", BOOK, 3)
_CLEAR = Limits((0.050, 0.110), (None, 0.150), (0.050, 0.150), "wear", BOOK, 3)
_BORE = Limits((98.000, 98.022), (None, 98.150), (98.000, 98.150), "wear", BOOK, 3)
_OPEN = Limits((None, None), (None, None), (None, None), "wear", NOTHING, 3)

# position: out of round on arrival and its verdict: one of each kind
_OVALS: dict[str, tuple[float | None, VerdictName]] = {
    "M1": (0.003, "as new"),
    "M2": (0.012, "serviceable"),
    "M3": (0.031, "too close to call"),
    "M4": (0.046, "beyond limit"),
    "M5": (None, "not measured"),
    "M6": (0.009, "no limit on file"),
}
_BORES = {
    "C1": "98.112 98.081 98.064 98.052 98.031 98.027",
    "C2": "98.118 98.086 98.068 98.055 98.033 98.028",
    "C3": "98.241 98.152 98.133 98.090 98.060 98.041",
    "C4": "98.121 98.088 98.070 98.056 98.034 98.029",
}
_JOURNALS = {
    "M1": "74.988 74.985 74.987 74.986",
    "M2": "74.981 74.969 74.980 74.970",
    "M3": "74.975 74.944 74.973 74.950",
    "M4": "74.966 74.920 74.960 74.931",
    "M5": "-- -- -- --",
    "M6": "74.979 74.970 74.978 74.970",
}


def _value(
    feature: str,
    name: str,
    position: str,
    when: str,
    value: float | None,
    limits: Limits | None,
    verdict: VerdictName,
    side: Text = NOTHING,
    **more: object,
) -> Characteristic:
    doubt = None if value is None else 0.0016
    guard = None if value is None else 0.0026
    return Characteristic(
        feature,
        name,
        position,
        when,
        value,
        "mm",
        doubt,
        guard,
        limits,
        verdict,
        side,
        **more,  # type: ignore[arg-type]
    )


def _characteristics() -> tuple[Characteristic, ...]:
    out = [
        _value(
            "journals",
            "out_of_round",
            position,
            "arrival",
            value,
            _OPEN if verdict == "no limit on file" else _ROUND,
            verdict,
            TOO_LARGE if verdict in ("beyond limit", "too close to call") else NOTHING,
        )
        for position, (value, verdict) in _OVALS.items()
    ]
    out += [
        _value("journals", "out_of_round", position, "machined", 0.002, _ROUND, "as new", again=False)
        for position in ("M3", "M4")
    ]
    planes = {"front": (0.206, 0.237), "rear": (0.215, 0.242)}
    out.append(
        _value(
            "clearance",
            "smallest",
            "M4",
            "arrival",
            0.206,
            _CLEAR,
            "beyond limit",
            TOO_LARGE,
            bound="at least",
            planes=planes,
        )
    )
    out.append(_value("clearance", "smallest", "M4", "machined", 0.082, _CLEAR, "as new"))
    for position, row in _BORES.items():
        size = float(row.split()[0])
        verdict: VerdictName = "beyond limit" if position == "C3" else "serviceable"
        side = TOO_LARGE if position == "C3" else NOTHING
        out.append(_value("bores", "size", position, "arrival", size, _BORE, verdict, side))
    return tuple(out)


def _fact(label: str, text: str) -> Fact:
    return Fact(Typed(label), Typed(text))


def _rows(typed: dict[str, str]) -> dict[str, tuple[str, ...]]:
    return {position: tuple(row.split()) for position, row in typed.items()}


def _tables() -> tuple[ReadingTable, ...]:
    planes = ("front_a", "front_b", "rear_a", "rear_b")
    depths = ("top_t", "top_a", "middle_t", "middle_a", "bottom_t", "bottom_a")
    journals = ReadingTable(
        "arrival", "journals", "journals", "mm", "mic_50_75", "", "", "20 °C", planes, _rows(_JOURNALS)
    )
    bores = ReadingTable(
        "arrival", "bores", "bores", "mm", "bore_gauge", "mic_75_100", "", "20 °C", depths, _rows(_BORES)
    )
    return (journals, bores)


# group, part number, name, quantity, price, reason, finding, deposit
_LINES: tuple[tuple[Literal["part", "sublet", "labour"], str, str, str, str, str, str, str], ...] = (
    ("part", "MS-050", "main shell set, 0.50 undersize", "1", "212.00", "journals ground", "F1", ""),
    ("part", "OP-X", "oil pump, exchange", "1", "184.00", "worn", "", "40.00"),
    ("part", "OC", "oil cooler", "1", "", "cannot be proved clean", "", ""),
    ("sublet", "", "crankshaft: grind six mains 0.50", "1", "420.00", "M4 worn oval", "F1", ""),
    ("labour", "", "dismantle, clean, measure, assemble", "9.5", "64.00", "", "", ""),
)


def _cost() -> Cost:
    lines = tuple(
        PriceLine(
            number,
            group,
            part,
            Typed(name),
            Decimal(many),
            Decimal(each) if each else None,
            Decimal(each) * Decimal(many) if each else None,
            (Typed(why),),
            (finding,) if finding else (),
            Decimal(core) if core else None,
        )
        for number, (group, part, name, many, each, why, finding, core) in enumerate(_LINES, 1)
    )
    amounts = {
        group: sum((o.amount or Decimal(0) for o in lines if o.group == group), Decimal(0))
        for group in ("part", "sublet", "labour")
    }
    net = sum(amounts.values(), Decimal(0))
    tax = (net * Decimal("0.20")).quantize(Decimal("0.01"))
    return Cost(
        currency="EUR",
        lines=lines,
        parts=amounts["part"],
        sublet=amounts["sublet"],
        hours=Decimal("9.5"),
        labour_rate=Decimal("64.00"),
        labour=amounts["labour"],
        net=net,
        tax_rate=Decimal(20),
        tax=tax,
        total=net + tax,
        core_deposit=Decimal("40.00"),
        to_pay=net + tax + Decimal("40.00"),
        minimum=True,
        not_priced=(Typed("oil cooler"),),
        approvals=(
            Approval(date(2031, 3, 9), "owner", "by e-mail", Decimal("1800.00"), "crankshaft and shells"),
        ),
        first_estimate=Decimal("1650.00"),
        over_by=None,
        prices_on=date(2031, 3, 1),
    )


def sample(system: str = "mm") -> Assessment:
    """The sample, complete; everything in it is invented and says so."""
    journals = Feature(
        "journals",
        Sentence("Main journals"),
        "journal",
        "mm",
        "crankshaft",
        BOOK,
        tuple(_OVALS),
        {"out_of_round": Sentence("out of round")},
        ("front_a", "front_b", "rear_a", "rear_b"),
    )
    clearance = Feature(
        "clearance",
        Sentence("Main bearing clearance"),
        "bearing_clearance",
        "mm",
        "",
        BOOK,
        ("M4",),
        {"smallest": Sentence("smallest clearance")},
    )
    bores = Feature(
        "bores",
        Sentence("Liner bores"),
        "bore",
        "mm",
        "block",
        BOOK,
        tuple(_BORES),
        {"size": Sentence("size")},
        ("top_t", "top_a", "middle_t", "middle_a", "bottom_t", "bottom_a"),
    )
    shells = Callout("A", 30, 62, "lining gone, the backing shows", 9.0)
    hole = Callout("B", 70, 74, "oil hole", 0.0, (88.0, 40.0))
    found = Finding(
        "F1",
        1,
        Typed("No. 4 main bearing wiped"),
        "shells",
        Typed("Main shells"),
        ("M4",),
        ("wiping", "overheating"),
        "oil starvation at hot idle",
        "The lining of the lower shell is gone. With new shells this journal would still have run too wide, "
        "so the worn ones, being thinner, ran wider yet.",
        "replace",
        ("after", "shells"),
        ("clearance.smallest M4 @arrival", "clearance.smallest M4 @machined"),
        (1, 4),
        "beyond limit",
    )
    return Assessment(
        job="2031-001-specimen",
        title="A sample of every part",
        stage="machining",
        opened=date(2031, 3, 3),
        as_of=READY,
        engine=EngineFacts(
            "alder-four",
            "Alder",
            "Four",
            4,
            "inline",
            "diesel",
            98.0,
            120.0,
            3620.6,
            "the end with the gears",
            "clockwise seen from the front",
            "1-3-4-2",
            Typed("No. 1 at the front"),
        ),
        shop="Specimen",
        contact="",
        notice="Everything on these pages is invented.",
        system="in" if system == "in" else "mm",
        decision_rule="guarded",
        rule_text=Typed("A value is passed or condemned only where it is so by more than 1.645 u"),
        publish=False,
        complaint="Knocks when hot",
        application="orchard tractor",
        meter=Typed("9412 h"),
        found=Typed(
            "No. 4 main ran without an oil film and lost its lining. Cylinder 3 is worn past its limit."
        ),
        did=Typed("Grind all mains 0.50 mm undersize, fit new shells, one liner and piston."),
        did_is_done=False,
        needs_from_customer=(
            Typed("Your word on the estimate."),
            Typed("Whether the radiator was flushed before."),
        ),
        arrival=(_fact("came with", "flywheel, front pulley"), _fact("oil", "12.5 L, black, bright flakes")),
        not_with=("alternator",),
        not_opened=("injection pump",),
        teardown=(),
        marks=(_fact("crank gear to idler", "factory mark, seen; trust: factory"),),
        rounds=(
            Round("arrival", Typed("On arrival"), ARRIVED, "bench 1", "20 °C", True),
            Round("machined", Typed("After machining"), date(2031, 3, 28), "bench 1", "20 °C"),
        ),
        features=(journals, clearance, bores),
        characteristics=_characteristics(),
        summary=(
            SummaryLine(
                "journals",
                "out_of_round",
                Typed("Main journals, out of round"),
                "journals.out_of_round M4 @arrival",
                "journals.out_of_round M4 @machined",
                "as new",
                "V1",
            ),
            SummaryLine(
                "clearance",
                "smallest",
                Typed("Main bearing clearance"),
                "clearance.smallest M4 @arrival",
                "clearance.smallest M4 @machined",
                "as new",
            ),
            SummaryLine(
                "bores", "size", Typed("Liner bores"), "bores.size C3 @arrival", None, "not measured"
            ),
        ),
        tables=_tables(),
        instruments=(
            InstrumentUsed(
                "mic_50_75",
                "micrometer",
                Figure("50 to 75 mm"),
                "0.001 mm",
                "0.002 mm",
                "0.0007 mm",
                date(2030, 9, 1),
                date(2031, 9, 1),
            ),
        ),
        findings=(found,),
        photos=(
            Photo("before", "", "Main journal 4 as it came", True, (), 1),
            Photo("after", "", "The same journal, ground 0.50 mm under", True, (), 2, "before"),
            Photo("shells", "", "Main shells of No. 4", True, (shells, hole), 3),
        ),
        decisions=(
            Decision(
                "W1",
                "journals",
                Typed("Main journals"),
                (),
                "recondition",
                Typed("0.50 mm undersize"),
                "M4 worn oval, scores 0.035 deep",
                "shop",
                date(2031, 3, 10),
            ),
        ),
        deviations=(
            Deviation(
                "V1",
                "journals",
                Typed("Main journals"),
                ("M3",),
                Typed("out of round 0.031"),
                "accepted up to 0.032",
                "ground with the others",
                "foreman",
                date(2031, 3, 10),
                (),
            ),
        ),
        cost=_cost(),
        running=(),
        next_steps=(_fact("First 10 hours", "half load, no long idling"),),
        hold_points=(
            HoldPoint(Typed("main bolts tightened by the maker's stages"), "bench 1", "foreman", READY),
        ),
        cautions=(
            Typed("An engine weighs more than people can hold: never stand beneath it."),
            Typed("Cylinders hold pressure: plugs or injectors out before anything is turned."),
        ),
        too_close=(),
        not_measured=(Typed("Main journals M5"),),
        to_decide=(),
        problems=(),
    )
