"""The teardown sheet: in which order it comes apart, what to look for, what was found."""

from __future__ import annotations

from ..records import JobFolder
from ..records.apart import AsFound
from ..records.engine import Engine
from ..records.job import Teardown
from ..records.plan import Fastener
from ..trade.access import first_off, takedown
from .built import BoltsOff, Dismantling, TakeLine
from .cautions import APART, FIRST, cautions_for

MOST_BOXES = 18  # bolts of a group whose breakaway is asked for one by one


def dismantling(engine: Engine, job: JobFolder) -> Dismantling:
    """What is off, in the order done, then what is on, in the order in which it can come off."""
    done = {step.removed: step for step in job.teardown.steps} if job.teardown else {}
    if not engine.joints and not engine.access and not done:
        return Dismantling()
    order, never = takedown([*engine.joints, *engine.access], engine.access)
    looked = _looked_for(engine)
    lines = []
    off: list[str] = []
    for number, name in enumerate([*done, *(one for one in order if one not in done)], 1):
        step = done.get(name)
        joint = engine.joints.get(name)
        before = first_off(name, engine.access, off)
        lines.append(
            TakeLine(
                number=number,
                name=name,
                title=_title(name),
                first=tuple(_title(word) for word in before),
                marks=_marks(job.teardown, name) or looked.get(name, ()),
                ways=_ways(engine, name),
                bolts=tuple(
                    _bolts(group, engine.fasteners.get(group), job.teardown)
                    for group in (joint.fasteners if joint else [])
                ),
                cautions=tuple(cautions_for("take", name)),
                done=step is not None,
                note=(step.note or "") if step else "",
                found=_found(job.teardown, name, joint.fasteners if joint else []),
                photos=_photos(job.teardown, name, joint.fasteners if joint else []),
            )
        )
        off.append(name)
    return Dismantling(
        lines=tuple(lines),
        never=tuple(_title(name) for name in never if name not in done),
        begun=job.teardown is not None,
        cautions=(FIRST, APART),
    )


def _title(name: str) -> str:
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


def _looked_for(engine: Engine) -> dict[str, tuple[str, ...]]:
    """Marks that the build sheet will ask for, at the thing that goes on just before them."""
    wanted: dict[str, tuple[str, ...]] = {}
    for page in engine.assemblies.values():
        last = ""
        for step in page.steps:
            if step.verb == "fit":
                last = step.name
            elif step.verb == "mark" and last:
                wanted[last] = (*wanted.get(last, ()), step.text or step.name)
    return wanted


def _marks(teardown: Teardown | None, name: str) -> tuple[str, ...]:
    if teardown is None:
        return ()
    found = []
    for mark in teardown.marks:
        if mark.joint != name:
            continue
        seen = mark.factory or "none"
        parts = [
            f"{mark.where}: the maker's {seen}",
            f"ours {mark.shop}" if mark.shop else "",
            mark.count or "",
        ]
        parts.append(f"crank at {mark.crank_at}" if mark.crank_at else "")
        found.append("; ".join(part for part in parts if part))
    return tuple(found)


def _ways(engine: Engine, name: str) -> tuple[str, ...]:
    return tuple(
        step.orientation
        for page in engine.assemblies.values()
        for step in page.steps
        if step.verb == "fit" and step.name == name and step.orientation
    )


def _bolts(name: str, group: Fastener | None, teardown: Teardown | None) -> BoltsOff:
    words = name.replace("_", " ")
    as_found = next(
        (one for one in (teardown.fasteners_as_found if teardown else []) if one.where == name), None
    )
    read = tuple((as_found.readings if as_found else {}).items())
    unit = (as_found.unit if as_found and as_found.readings else "") or ""
    if group is None:
        return BoltsOff(words.capitalize(), "", unit, read)
    about = [f"{group.quantity} × {group.thread}" if group.thread else f"{group.quantity} of them"]
    if teardown is not None:
        return BoltsOff(group.title or words.capitalize(), about[0], unit, read)
    if group.quantity > 2 and (group.order or group.sequence):
        about.append("let go in the reverse of the order of tightening, in several rounds")
    if group.reuse == "never":
        about.append("not used again, and yet kept until the engine runs")
    if group.reuse == "by_measure":
        about.append("length to be measured before any is used again")
    asked = group.quantity if group.quantity <= MOST_BOXES else 0
    blank = tuple((str(place), "") for place in range(1, asked + 1))
    return BoltsOff(group.title or words.capitalize(), "; ".join(about), "", blank)


def _found(teardown: Teardown | None, name: str, groups: list[str]) -> tuple[str, ...]:
    """What the register holds of this thing: its bolts, which part was which, what was seen of it."""
    if teardown is None:
        return ()
    said = [_as_found(one) for one in teardown.fasteners_as_found if one.where in (name, *groups)]
    for who in teardown.identity:
        if who.joint == name:
            parts = [f"{who.part}: {'no mark' if who.mark == 'none' else who.mark}"]
            parts += [f"ours {who.shop_mark}" if who.shop_mark else "", who.orientation or ""]
            said.append("; ".join(part for part in parts if part))
    return tuple(text for text in said if text)


def _photos(teardown: Teardown | None, name: str, groups: list[str]) -> tuple[str, ...]:
    """Pictures of the step, and of the marks, bolts and parts that belong to it."""
    if teardown is None:
        return ()
    named = [photo for step in teardown.steps if step.removed == name for photo in step.photos]
    named += [one.photo for one in teardown.marks if one.joint == name and one.photo]
    named += [one.photo for one in teardown.identity if one.joint == name and one.photo]
    named += [one.photo for one in teardown.fasteners_as_found if one.where in (name, *groups) and one.photo]
    return tuple(dict.fromkeys(named))


def _as_found(one: AsFound) -> str:
    condition = (one.condition or "").replace("_", " ")
    parts = [
        one.where.replace("_", " "),
        f"{one.quantity}" if one.quantity else "",
        condition,
        one.note or "",
    ]
    return ", ".join(part for part in parts if part) if condition or one.note else ""
