"""The teardown sheet: in which order it comes apart, what to look for, what was found."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from ...records import JobFolder
from ...records.files.buildplan import Fastener
from ...records.files.jobfile import Teardown
from ...records.files.sheet import Engine
from ...records.files.teardown import AsFound, Identity, MarkRecord, TeardownStep
from ...trade.engine.access import first_off, takedown
from ...trade.engine.cautions import APART, FIRST, cautions_for
from ..model.bench import BoltsOff, Dismantling, TakeLine
from .teardown_register import TRUST, register

MOST_BOXES = 18  # bolts of a group whose breakaway is asked for one by one


def dismantling(engine: Engine, job: JobFolder) -> Dismantling:
    """What is off, in the order done, then what is on, in the order in which it can come off."""
    teardown = job.teardown
    steps = list(teardown.steps) if teardown else []
    done = {step.removed for step in steps}
    if not engine.joints and not engine.access and not done:
        return Dismantling()
    order, never = takedown([*engine.joints, *engine.access], engine.access)
    known = {word for one in (teardown.marks if teardown else []) for word in (one.where, one.joint)}
    names = [*(step.removed for step in steps), *(name for name in order if name not in done)]
    looked = _placed(_looked_for(engine, known), names)
    lines: list[TakeLine] = []
    placed: set[str] = set()  # names and groups whose marks, bolts and parts stand at a line already
    for name, step in [*((one.removed, one) for one in steps), *((n, None) for n in order if n not in done)]:
        off = [line.name for line in lines]
        joint = engine.joints.get(name)
        groups = list(joint.fasteners) if joint else []
        first_time = name not in off  # what came off twice has them once
        noted = _marks(teardown, name)
        lines.append(
            TakeLine(
                number=len(lines) + 1,
                name=name,
                title=_title(name),
                first=tuple(_title(word) for word in first_off(name, engine.access, off)),
                marks=noted if first_time else (),
                expected=looked.get(name, ()) if first_time else (),
                ways=_ways(engine, name),
                bolts=tuple(_bolts(group, engine.fasteners.get(group), teardown) for group in groups)
                if first_time
                else (),
                cautions=tuple(cautions_for("take", name)),
                done=step is not None,
                driven=_driven(name, looked.get(name, ())),
                note=(step.note or "") if step else "",
                found=_found(teardown, name, groups) if first_time else (),
                photos=_photos(teardown, name, groups, step),
            )
        )
        placed |= {name, *groups}
    return Dismantling(
        lines=tuple(lines),
        never=tuple(_title(name) for name in never if name not in done),
        begun=teardown is not None,
        cautions=(FIRST, APART),
        elsewhere=_elsewhere(teardown, placed),
        seen=_seen(job),
    )


# proposes a box to write into, no more
_DRIVES = {"chain", "belt", "tensioner", "kette", "steuerkette", "riemen", "zahnriemen", "spanner"}


def _driven(name: str, marks: Sequence[str]) -> bool:
    """Whether a thing to take off, or a mark to look for there, is named for a chain or a belt."""
    words = re.findall(r"[^\W_]+", " ".join((name, *marks)).lower())
    return not _DRIVES.isdisjoint(words)


def _elsewhere(teardown: Teardown | None, placed: set[str]) -> tuple[str, ...]:
    """Marks, bolts and parts of the record that belong to no line of the sheet."""
    if teardown is None:
        return ()
    said = [_mark(mark) for mark in teardown.marks if mark.joint not in placed]
    said += [
        _as_found(one) or one.where.replace("_", " ")
        for one in teardown.fasteners_as_found
        if not _of(one, placed)
    ]
    said += [_identity(who) for who in teardown.identity if who.joint not in placed]
    return tuple(said)


def _seen(job: JobFolder) -> tuple[tuple[str, str], ...]:
    """Tensioners, guides, seals, fluids and earlier work of the register: whose, and what was seen."""
    return tuple(
        ("earlier work", " ".join(part for part in (one.where, one.text) if part))
        if one.kind == "earlier work"
        else (one.where, one.text)
        for one in register(job).entries
        if one.kind not in ("fasteners", "identity")
    )


def _title(name: str) -> str:
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


def _looked_for(engine: Engine, known: Collection[str | None]) -> dict[str, tuple[str, ...]]:
    """Marks that the build sheet will ask for and the register lacks, at what goes on just before them.

    That is the joint which a part belongs to, where the build sheet names a part.
    """
    joint_of = {part: name for name, joint in engine.joints.items() for part in joint.needs}
    wanted: dict[str, tuple[str, ...]] = {}
    for page in engine.assemblies.values():
        last = ""
        for step in page.steps:
            if step.verb == "fit":
                last = joint_of.get(step.name, step.name)
            elif step.verb == "mark" and step.name not in known:
                wanted[last] = (*wanted.get(last, ()), step.text or step.name)
    return wanted


def _placed(wanted: dict[str, tuple[str, ...]], names: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """The same at things that come off: what has no such place goes to the one it names, else to the first.

    A mark that is looked for too late is one that has moved.
    """
    found = {name: marks for name, marks in wanted.items() if name in names}
    for marks in (marks for name, marks in wanted.items() if name not in names and names):
        for mark in marks:
            words = set(re.findall(r"\w{4,}", mark.lower()))
            at = next((name for name in names if words & set(name.lower().split("_"))), names[0])
            found[at] = (*found.get(at, ()), mark)
    return found


def _marks(teardown: Teardown | None, name: str) -> tuple[str, ...]:
    return tuple(_mark(mark) for mark in teardown.marks if mark.joint == name) if teardown else ()


def _mark(mark: MarkRecord) -> str:
    unsure = ", not legible beyond doubt" if mark.factory and mark.legible is False else ""
    parts = [
        f"{mark.where}: the maker's {mark.factory or 'none'}{unsure}",
        f"ours {mark.shop}" if mark.shop else "",
        mark.count or "",
        f"crank at {mark.crank_at}" if mark.crank_at else "",
        f"tensioner out {mark.tensioner}" if mark.tensioner else "",
        TRUST[mark.trust],
        f"to be proved right by: {mark.verify}" if mark.verify else "",
    ]
    return "; ".join(part for part in parts if part)


def _of(one: AsFound, names: Collection[str]) -> bool:
    """Whether fasteners belong to a thing or a group; 'rod_bolts R3' are rod bolts."""
    return one.where in names or one.where.split()[:1] in [[name] for name in names]


def _ways(engine: Engine, name: str) -> tuple[str, ...]:
    return tuple(
        step.orientation
        for page in engine.assemblies.values()
        for step in page.steps
        if step.verb == "fit" and step.name == name and step.orientation
    )


def _bolts(name: str, group: Fastener | None, teardown: Teardown | None) -> BoltsOff:
    words = name.replace("_", " ")
    as_found = [one for one in (teardown.fasteners_as_found if teardown else []) if _of(one, [name])]
    read = tuple(pair for one in as_found for pair in one.readings.items())
    unit = next((one.unit or "" for one in as_found if one.readings), "")
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
    said = [_as_found(one) for one in teardown.fasteners_as_found if _of(one, (name, *groups))]
    said += [_identity(who) for who in teardown.identity if who.joint == name]
    return tuple(text for text in said if text)


def _identity(who: Identity) -> str:
    parts = [f"{who.part}: {'no mark' if who.mark == 'none' else who.mark}"]
    parts += [f"ours {who.shop_mark}" if who.shop_mark else "", who.orientation or ""]
    return "; ".join(part for part in parts if part)


def _photos(
    teardown: Teardown | None, name: str, groups: list[str], step: TeardownStep | None
) -> tuple[str, ...]:
    """Pictures of the step, and of the marks, bolts and parts that belong to it."""
    if teardown is None:
        return ()
    named = list(step.photos) if step else []
    named += [one.photo for one in teardown.marks if one.joint == name and one.photo]
    named += [one.photo for one in teardown.identity if one.joint == name and one.photo]
    named += [one.photo for one in teardown.fasteners_as_found if _of(one, (name, *groups)) and one.photo]
    return tuple(dict.fromkeys(named))


def _as_found(one: AsFound) -> str:
    condition = (one.condition or "").replace("_", " ")
    parts = [
        one.where.replace("_", " "),
        f"{one.quantity}" if one.quantity else "",
        condition,
        f"came loose at {one.breakaway}" if one.breakaway else "",
        f"freed: {one.freed}" if one.freed else "",
        one.note or "",
    ]
    worth = condition or one.breakaway or one.freed or one.note
    return ", ".join(part for part in parts if part) if worth else ""
