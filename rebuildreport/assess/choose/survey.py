"""Every choice of a job: shells, sizes, pistons, shims, masses, and the same tried on paper."""

from __future__ import annotations

from dataclasses import replace

from ...quantities import Sentence, present
from ...records import JobFolder, ShopFolder
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ..measure.observations import Occasion
from ..measure.timeline import Timeline
from ..measure.titles import feature_title
from ..measure.workings import Workings
from ..model.assessment import Characteristic
from ..model.choice import Choice
from .candidates import own_surfaces
from .workbench import Workbench


def choices(
    folder: ShopFolder,
    engine: Engine,
    job: JobFolder,
    timeline: Timeline,
    workings: Workings,
    taken: list[Occasion],
    found: list[Characteristic],
    work_done: bool,
) -> tuple[Choice, ...]:
    """What follows from the readings that stand; what is tried on paper comes behind what it stands for."""
    assert folder.shop is not None and job.job is not None
    if not _anything_to_choose(engine):
        return ()
    stock = folder.stock.engines.get(job.job.engine, {}) if folder.stock else {}
    bench = Workbench(folder.shop, engine, job, timeline, workings, taken, found, stock, work_done)
    made = [_doubted(bench, one) for one in _on(bench)]
    papers = [choice for paper in bench.papers() for choice in _tried(paper)]
    names = [choice.name for choice in made]
    order = {name: index for index, name in enumerate(names)}
    return tuple(sorted([*made, *papers], key=lambda one: order.get(one.name, len(order))))


def _anything_to_choose(engine: Engine) -> bool:
    """A sheet without tables, steps, classes or shims costs nothing here."""
    offered = any(
        sum(bool((part := engine.parts.get(name)) and part.thickness) for name in one.table) > 1
        for one in engine.choices.values()
    )
    return bool(engine.shims or engine.matching or offered) or any(
        one.grades
        or one.sets
        or one.other
        or one.classes
        or one.undersizes
        or one.oversizes
        or one.kind in ("straightedge", "flatness_grid")
        for one in engine.features.values()
    )


def _on(bench: Workbench) -> list[Choice]:
    from .fits import mass_choices, piston_choices
    from .gaskets import gasket_choices
    from .ring_sets import ring_choices
    from .shell_choice import shell_choices
    from .shim_choice import shim_choices
    from .size_choice import size_choices
    from .skim_choice import skim_choices

    kinds = (
        size_choices,
        skim_choices,
        gasket_choices,
        shell_choices,
        piston_choices,
        ring_choices,
        shim_choices,
        mass_choices,
    )
    return [choice for kind in kinds for choice in kind(bench)]


def _doubted(bench: Workbench, choice: Choice) -> Choice:
    """The choice with what is doubted of the readings that it rests on: it waits for the answer."""
    said = _doubts(bench, choice.name)
    if not said:
        return choice
    status = "provisional" if choice.status == "chosen" else choice.status
    return replace(choice, status=status, decides=(*choice.decides, *said))


def _doubts(bench: Workbench, name: str) -> list[Sentence]:
    """Doubts about readings kept that still stand: of a feature, and of what it goes together with."""
    near = {name}
    for fit, feature in bench.engine.features.items():
        links = set(feature.links(KINDS[feature.kind].links if feature.kind in KINDS else ()).values())
        if name == fit or name in links:
            near |= {fit, *links}
    tables = {(one.round, one.table): one for one in bench.taken}
    said = []
    for doubt in bench.job.doubts:
        one = tables.get((doubt.round, doubt.table))
        stood = bench.workings.standing[one.feature].taken if one and one.feature in near else {}
        places = [position for _, _, position, _ in doubt.kept if stood.get(position) is one]
        # a step that is decided was decided by them; what goes with it rests on what will be ordered
        held = places if one and one.feature == name else bench.now(one.feature) if one else ()
        if one is not None and any(place in held for place in places):
            title = feature_title(bench.engine, one.feature)
            said.append(
                Sentence("{table} ({round}): {what}", table=title, round=doubt.round, what=doubt.what)
            )
    return said


def _tried(paper: Workbench) -> list[Choice]:
    """The choices with parts that are not in the engine, and what those cost and are worth themselves."""
    own = own_surfaces(paper)
    return [replace(choice, paper_price=paper.paper_price, own=own) for choice in _on(paper)]


def open_choices(chosen: tuple[Choice, ...], work_done: bool) -> list[str]:
    """What is still to decide about parts and sizes, one line each."""
    lines: list[str] = []
    for one in chosen:
        unsaid = one.kind == "shims" and one.status == "provisional"  # open however far the work has come
        if one.on_paper or one.status in ("decided", "nothing known") or (work_done and not unsaid):
            continue
        lines += one.impossible
        if one.status == "decided otherwise":
            lines.append(
                Sentence(
                    "{title}: {decision} decides otherwise than follows from the readings",
                    title=one.title,
                    decision=one.decision,
                )
            )
        elif one.status == "provisional" and one.decides:
            lines.append(
                Sentence(
                    "{title}: provisional; what decides: {decides}",
                    title=one.title,
                    decides=present(one.decides),
                )
            )
        elif one.status == "chosen" and one.kind in ("undersize", "oversize", "skim"):
            lines.append(
                Sentence(
                    "{title}: {answer} follows from the readings; nobody has decided yet",
                    title=one.title,
                    answer=one.answer,
                )
            )
    return lines
