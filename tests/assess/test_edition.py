"""What everybody may see, field by field, and the one form in which an assessment is written and read."""

from __future__ import annotations

import json
import types
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

import jsonschema
from msgspec import Struct
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job, from_json, to_json
from rebuildreport.assess.model import prices
from rebuildreport.assess.model.edition import Kept, Open
from rebuildreport.assess.model.keys import ValueKey
from rebuildreport.assess.publishing.extract import extract
from rebuildreport.assess.publishing.public import marks_of, outgoing, public
from rebuildreport.assess.publishing.results import of_now, results_json, results_schema
from rebuildreport.documents.report.findings import on_paper
from rebuildreport.documents.report.rendering import page, report_html
from rebuildreport.documents.report.view import report
from rebuildreport.quantities import english
from rebuildreport.records import load_shop

JOBS = Path(__file__).resolve().parents[2] / "jobs"
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"
MARKER = "zzhidden{}zz"


@cache
def demo(name: str) -> Assessment:
    folder = load_shop(JOBS, [name])
    return assess_job(folder, folder.jobs[name])


def classes(kind: Any = Assessment, known: dict[type, None] | None = None) -> dict[type, None]:
    """Every data class that an Assessment can hold, of whatever floor."""
    known = {} if known is None else known
    if isinstance(kind, type) and issubclass(kind, Struct):
        if kind not in known:
            known[kind] = None
            for hint in get_type_hints(kind).values():
                classes(hint, known)
        return known
    for inner in get_args(kind):
        classes(inner, known)
    return known


def private_fields() -> Iterator[tuple[type, str]]:
    for kind in classes():
        for name, mark in marks_of(kind).items():
            if not isinstance(mark, Open):
                yield kind, name


def filled(hint: Any, text: str, depth: int = 0) -> Any:
    """A value of a type, with ``text`` wherever a text may stand."""
    if get_origin(hint) is Annotated:
        return filled(hint.__origin__, text, depth)
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return filled(next(one for one in inner if one is not type(None)), text, depth)
    if origin is Literal:
        return inner[0]
    if origin is tuple:
        items = inner[:1] if inner[-1:] == (Ellipsis,) else inner
        return tuple(filled(one, text, depth) for one in items)
    if origin is dict:
        return {text: filled(inner[1], text, depth)}
    if isinstance(hint, type) and issubclass(hint, Struct):
        hints = get_type_hints(hint, include_extras=True)
        return hint(**{name: filled(hints[name], text, depth + 1) for name in hint.__struct_fields__})
    simple = {str: text, bool: True, int: 1, float: 1.0, Decimal: Decimal("91919.19"), date: date(2031, 3, 4)}
    return simple[hint] if hint in simple else type(demo(SIX).title)(text)


def planted(thing: Any, texts: dict[tuple[type, str], str], reached: set[tuple[type, str]]) -> Any:
    """The same with those fields filled wherever their class stands; ``reached`` tells which were there."""
    if isinstance(thing, tuple):
        return tuple(planted(item, texts, reached) for item in thing)
    if not isinstance(thing, Struct):
        return thing
    kind, changed = type(thing), {}
    for name in kind.__struct_fields__:
        key = (kind, name)
        if key in texts:
            reached.add(key)
            changed[name] = filled(hints_of(kind)[name], texts[key])
        else:
            changed[name] = planted(getattr(thing, name), texts, reached)
    return replace(thing, **changed)


@cache
def hints_of(kind: type) -> dict[str, Any]:
    return get_type_hints(kind, include_extras=True)


@cache
def crowded() -> Assessment:
    """The demo's six with a cost, stays and a warranty that have one of everything."""
    job = demo(SIX)
    hints = get_type_hints(prices.Cost, include_extras=True)
    missing = {
        name: filled(hints[name], "filler")
        for name in prices.Cost.__struct_fields__
        if not getattr(job.cost, name) and name != "lines"
    }
    shop = {name: filled(get_type_hints(Assessment)[name], "filler") for name in ("orders", "due", "issue")}
    return replace(job, cost=replace(job.cost, **missing), **shop)


def everything_public(assessment: Assessment) -> str:
    seen = public(assessment)
    return "\n".join(
        (
            to_json(seen),
            results_json(seen).decode(),
            extract(seen).decode(),
            report_html(seen, {}, "public"),
            page("report", report(seen, on_paper({}), "public"), for_pdf=True, home=""),
        )
    )


def test_every_private_field_stays_private() -> None:
    """Each private field of each class, filled with a word of its own, all at once: none is seen."""
    private = list(private_fields())
    reached: set[tuple[type, str]] = set()
    job = planted(crowded(), {key: MARKER.format(n) for n, key in enumerate(private)}, reached)
    assert "zzhidden" in to_json(job) and "91919.19" in to_json(job)  # they were there
    names = {(kind.__name__, name) for kind, name in reached}
    assert {
        ("Cost", "approvals"),
        ("Choice", "cost"),
        ("PriceLine", "amount"),
        ("Start", "warranty"),
    } <= names
    told = everything_public(job)
    assert "zzhidden" not in told
    assert "91919.19" not in told


# the customer's or the shop's: whoever adds a field without a mark finds it here.  Taxed, Tension and Wheel
# are of the trade, whose classes have no marks: the latter two are shown whole where they stand.
WHOLLY_PRIVATE = {
    "AccessPlan",
    "AccessStep",
    "Against",
    "Approval",
    "Caution",
    "CoreDeposit",
    "Cover",
    "Difference",
    "Due",
    "DueLimit",
    "DueRound",
    "OneReading",
    "Shot",
    "ToolShows",
    "LineChange",
    "FormLimit",
    "LeftAlone",
    "LabelSheet",
    "Letterhead",
    "Operation",
    "Option",
    "OtherWay",
    "Payment",
    "PlanDifference",
    "StaysOn",
    "Problem",
    "Purchase",
    "Returned",
    "ShopOrder",
    "Taxed",
    "Tension",
    "UsedUp",
    "Wheel",
}
PRIVATE = {
    "Assessment": {
        "access",
        "due",
        "in_the_files",
        "labels",
        "shots",
        "letterhead",
        "needs_from_customer",
        "orders",
        "problems",
        "shop_language",
        "without",
    },
    "Choice": {"alternative_cost", "alternative_outlay", "cost", "outlay", "paper_price", "work"},
    "Cost": {
        "against",
        "approvals",
        "balance",
        "consumables",
        "core_deposit",
        "cores",
        "discount",
        "first_estimate",
        "hours",
        "labour",
        "labour_rate",
        "minimum",
        "net",
        "not_priced",
        "options",
        "over_by",
        "paid",
        "parts",
        "prices_on",
        "purchases",
        "rounding",
        "stays",
        "stops",
        "sublet",
        "tax",
        "tax_rate",
        "taxes",
        "to_pay",
        "total",
    },
    "IssueNote": {"changed"},
    "PriceLine": {"amount", "core", "each", "price_on", "steps", "tax"},
    "Spell": {"limit", "net", "over_by", "tax", "total"},
    "Start": {"warranty"},
    "TakeLine": {"takes", "took"},
    "Tried": {"cost", "price", "total"},
}


def test_what_is_private() -> None:
    """A field without a mark is private, a new one too: each is named here once."""
    named: dict[str, set[str]] = {}
    for kind, name in private_fields():
        named.setdefault(kind.__name__, set()).add(name)
    whole = {kind.__name__: set(marks_of(kind)) for kind in classes()}
    assert {name for name, found in named.items() if found == whole[name]} == WHOLLY_PRIVATE
    assert {name: found for name, found in named.items() if name not in WHOLLY_PRIVATE} == PRIVATE


def test_only_part_of_some_lists_is_shown() -> None:
    job, seen = demo(FOUR), public(demo(FOUR))
    assert {fact.code for fact in job.arrival} > {fact.code for fact in seen.arrival}
    assert all(fact.code for fact in seen.arrival)
    assert {line.group for line in job.cost.lines} > {line.group for line in seen.cost.lines} == {"part"}
    cleared = {photo.name for photo in job.photos if photo.public}
    assert {photo.name for photo in seen.photos} == cleared
    assert all(set(one.photos) <= cleared for one in seen.findings)


def test_who_signed_is_told_by_the_part_played() -> None:
    job = demo(SIX)
    signed = [line.signed for line in job.bench.build.lines if line.signed]
    assert any(english(one.by) == "bench 1" for one in signed)
    text = to_json(public(job))
    assert "bench 1" not in text and "foreman" not in text and "a second person" in text


def test_results_are_the_assessment() -> None:
    for name in (SIX, FOUR):
        job = demo(name)
        assert from_json(to_json(job)) == job
        data = json.loads(results_json(job))
        assert data["form"] == "rebuildreport results 3" and set(data) == {"form", "made_by", "assessment"}
        jsonschema.Draft202012Validator(results_schema()).validate(data)
        read = from_json(results_json(job))
        assert json.loads(results_json(read)) == data  # what was rounded once stays


def joined(thing: Any) -> Any:
    """Results as form 2 had them: what a value is known by was one text, and none was empty."""
    if isinstance(thing, list):
        return [joined(one) for one in thing]
    if not isinstance(thing, dict):
        return thing
    if set(thing) == {*ValueKey.__struct_fields__}:
        round_, table = thing["round"], thing["table"]
        at = f"{round_}/{table}" if table else round_
        return f"{thing['feature']}.{thing['name']} {thing['position']} @{at}"
    return {name: "" if name == "shown" and one is None else joined(one) for name, one in thing.items()}


def test_results_of_the_form_before_are_read_as_those_of_now() -> None:
    """A document keeps the results that it was made with, and is held against its records by them."""
    for name in (SIX, FOUR):
        data = json.loads(results_json(replace(demo(name), access=None)))
        before = {**joined(data), "form": "rebuildreport results 2"}
        assert before["assessment"]["summary"] != data["assessment"]["summary"]
        assert of_now(before) == data == of_now(data)
        before["assessment"]["access"] = {"steps": [{"cautions": ["Heavy"]}]}
        assert of_now(before)["assessment"]["access"] == {"steps": [{"cautions": [{"brief": "Heavy"}]}]}


def test_what_is_kept_in_the_shop_is_in_no_results() -> None:
    kept = [
        (kind, name) for kind in classes() for name, mark in marks_of(kind).items() if isinstance(mark, Kept)
    ]
    reached: set[tuple[type, str]] = set()
    job = planted(crowded(), dict.fromkeys(kept, "zzkeptzz"), reached)
    assert "zzkeptzz" in to_json(job)
    assert "zzkeptzz" not in results_json(job).decode()
    assert "91919.19" not in json.dumps(
        [one["price_limit"] for one in json.loads(results_json(job))["assessment"]["orders"]]
    )
    assert outgoing(demo(SIX)).cost.total == demo(SIX).cost.total


def test_no_binary_dust() -> None:
    job = demo(SIX)
    dusty = replace(job, characteristics=(replace(job.characteristics[0], value=0.1 + 0.2),))
    (one,) = json.loads(results_json(dusty))["assessment"]["characteristics"]
    assert one["value"] == 0.3
