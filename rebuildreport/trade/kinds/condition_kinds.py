"""Kinds of tests: leak-down, oil pressure, hardness, cracks."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import NOTHING, Figure, Sentence, Several, Text, present
from ..engine import cylinders, oil_pressure
from ..measuring.form import largest, smallest
from ..measuring.uncertainty import Measured, mean, propagate
from .kind import Computed, Inputs, Kind, Trait, unread

# per cent, common practice: testers differ, so this is said and never judged by
LOOK = 25.0


def _leak_down(inputs: Inputs) -> Iterator[Computed]:
    losses: dict[str, Measured] = {}
    for position, columns in inputs.readings.items():
        if {"supply", "held"} <= set(columns):
            losses[position] = propagate(cylinders.leak_down, columns["supply"], columns["held"])
        elif "loss" in columns:
            losses[position] = columns["loss"]
    # a cylinder that was not read may be the tightest
    bound = unread(inputs.positions, losses).most
    for position, loss in losses.items():
        note = NOTHING
        if "loss" not in inputs.limited and loss.value > LOOK:
            note = Sentence("common practice looks for the leak above 25 %")
        yield Computed(position, "loss", loss, note=note)
        if len(losses) > 1:
            above = cylinders.above_tightest(loss, list(losses.values()))
            yield Computed(position, "above_best", above, bound, uses=tuple(losses))


def _oil_pressure(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        speeds = {name: turns for name in columns if (turns := oil_pressure.speed(name)) is not None}
        falls = oil_pressure.falls_with_speed({turns: columns[name] for name, turns in speeds.items()})
        for name, value in columns.items():
            notes: list[Text] = []
            turns = speeds.get(name)
            if falls is not None and turns == falls[1]:
                speed = Figure(f"{falls[0]:.0f}")
                notes.append(Sentence("less than at {speed} rpm: relief valve or pick-up", speed=speed))
            if turns is not None and name not in inputs.limited:
                thumb = Figure(f"{oil_pressure.rule_of_thumb(turns):.1f}")
                notes.append(Sentence("rule of thumb {pressure} (common practice)", pressure=thumb))
            yield Computed(position, name, value, note=present(notes))


def _hardness(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        values = list(columns.values())
        if len(values) < 3:
            said = Several(Figure(f"{v.value:g}") for v in values)
            note = Sentence("{count} of 3 readings ({values})", count=len(values), values=said)
            yield Computed(position, "hardness", None, note=note)
            continue
        softest, hardest = smallest(values), largest(values)
        yield Computed(position, "hardness", mean(values), least=softest, most=hardest)


def _cracks(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        if "indications" in columns:
            number = columns["indications"].value
            note = Sentence("no indication") if number == 0 else NOTHING
            yield Computed(position, "indications", Measured(number), note=note)


KINDS = (
    Kind(
        "leak_down",
        "each cylinder's loss, beside the tightest",
        _leak_down,
        {
            "loss": Trait("loss", "loss", high="leaks too much", short="", unit="percent", from_zero=True),
            "above_best": Trait(
                "above the tightest", "above_best", unit="percent", optional=True, from_zero=True
            ),
        },
        of_surface=False,
        knows=("loss", "supply", "held"),
        asked=lambda columns, nature: Sentence(
            "one for each cylinder at its top dead centre, warm, the crank held: what is supplied and held"
            if "held" in columns
            else "one for each cylinder at its top dead centre, warm, the crank held"
        ),
        readings="one for each cylinder at its top dead centre, warm, the crank held: `loss`, or the two "
        "pressures `supply held`",
        instruments=("loss", "pressure"),
        formula="100·(supply − held)/supply; difference from the tightest cylinder",
        source="common practice; testers differ, so only cylinders of one day are compared",
        doubt="the tester's permitted error acts on the loss, and between cylinders by the span that lies "
        "between them",
        drawing="gauge",
        whole=True,
    ),
    Kind(
        "oil_pressure",
        "oil pressure against speed: each against its own limit, and whether it falls as speed rises",
        _oil_pressure,
        {},
        column_trait=Trait("", "", "too low", "too high"),
        asked=lambda columns, nature: Sentence(
            "one at each of these speeds, with the oil as hot as the box says"
        ),
        of_surface=False,
        readings="hot, at idle and two or three speeds, named by them (`hot_idle hot_1800`)",
        instruments=("pressure",),
        formula="the pressure itself; a fall from one speed to the next beyond its doubt is named",
        source="common practice: about 0.7 bar for each 1000 revolutions a minute, said and never judged by",
        doubt="the gauge's permitted error; in a fall both readings share it but for their span",
        drawing="gauge",
        whole=True,
    ),
    Kind(
        "hardness",
        "mean hardness of at least three readings",
        _hardness,
        {"hardness": Trait("hardness", "hardness", "too soft", "too hard", short="", falls=True)},
        readings="three or more at each place, apart from each other and from the edge",
        instruments=("hardness",),
        formula="mean of the readings",
        source="common practice; ISO 6508-1 (Rockwell) and its like for the single reading",
        doubt="repeatability averages over the readings, the tester's permitted error does not",
        drawing="part",
    ),
    Kind(
        "crack_test",
        "number of crack indications; the table's `state:` names the method",
        _cracks,
        {"indications": Trait("crack indications", "indications", high="cracked", short="", from_zero=True)},
        knows=("indications",),
        readings="one count for each place (`unit: count`); 0 is 'tested, none found', and -- 'not tested'",
        formula="the count itself",
        source="magnetic particles for iron and steel, dye penetrant for aluminium, pressure for water "
        "jackets (common practice; ISO 9934-1, ISO 3452-1)",
        doubt="a count has none; what the method cannot show it does not show",
        drawing="part",
    ),
)
