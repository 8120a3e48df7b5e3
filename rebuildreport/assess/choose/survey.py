"""Every choice of a job: shells, sizes, pistons, shims, masses, and the same tried on paper.

In: what stands of the job's readings and decisions.  Out: choices, and what is still open about them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence

from msgspec.structs import replace

from ...quantities import Sentence, Several, Text, message, present
from ...records import JobFolder, ShopFolder
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ..measure.following_moves import FACES
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
    assert folder.shop is not None
    if not _anything_to_choose(engine):
        return ()
    stock = folder.stock.engines.get(job.record.engine, {}) if folder.stock else {}
    bench = Workbench(folder.shop, engine, job, timeline, workings, taken, found, stock, work_done)
    made = [_doubted(bench, choice) for choice in _all_kinds(bench)]
    papers: list[Choice] = []
    for paper in bench.papers():  # with parts that are not in the engine, which cost and are worth something
        own, price = own_surfaces(paper), paper.candidate.price if paper.candidate else None
        papers += [replace(choice, paper_price=price, own=own) for choice in _all_kinds(paper)]
    order: dict[str, int] = {}
    for choice in made:
        order.setdefault(choice.name, len(order))
    return tuple(sorted([*made, *papers], key=lambda choice: order.get(choice.name, len(order))))


def _anything_to_choose(engine: Engine) -> bool:
    """A sheet without tables, steps, classes or shims costs nothing here."""
    offered = [one.grades or one.sets or one.other or one.classes for one in engine.features.values()]
    stepped = [one.undersizes or one.oversizes for one in engine.features.values()]
    if engine.shims or engine.matching or any(offered) or any(stepped) or engine.of_kind(*FACES):
        return True
    tables = (map(engine.part, table.table) for table in engine.choices.values())
    return any(sum(part.thickness is not None for part in parts) > 1 for parts in tables)


def _all_kinds(bench: Workbench) -> list[Choice]:
    # loaded here: a sheet with nothing to choose by does without the solver
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
    said = list(_doubts(bench, choice.name))
    if not said:
        return choice
    status = "provisional" if choice.status == "chosen" else choice.status
    return replace(choice, status=status, decides=(*choice.decides, *said))


def _rests_on(engine: Engine, name: str) -> set[str]:
    """A feature, and what it goes together with."""
    near = {name}
    for fit, feature in engine.features.items():
        links = set(feature.links(KINDS[feature.kind].links).values())
        if name == fit or name in links:
            near |= {fit, *links}
    return near


def _doubts(bench: Workbench, name: str) -> Iterator[Text]:
    """Doubts about readings kept that still stand: of a feature, and of what it goes together with."""
    near = _rests_on(bench.engine, name)
    tables = {(taken.round, taken.table): taken for taken in bench.taken if taken.feature in near}
    for doubt in bench.job.doubts:
        taken = tables.get((doubt.round, doubt.table))
        if taken is None:
            continue
        stood = bench.workings.standing[taken.feature].taken
        places = [position for _, _, position, _ in doubt.kept if stood.get(position) is taken]
        # a step that is decided was decided by them; what goes with it rests on what will be ordered
        held = places if taken.feature == name else bench.now(taken.feature)
        if any(place in held for place in places):
            title = feature_title(bench.engine, taken.feature)
            yield Sentence("{table} ({round}): {what}", table=title, round=doubt.round, what=doubt.what)


def if_renewed(
    chosen: Sequence[Choice], bought: Collection[str], replaced: Callable[[str, str], bool]
) -> tuple[Choice, ...]:
    """The choices, with those of shells that stay as what they are: what new ones would be, at no cost."""

    def said(choice: Choice) -> Choice:
        if choice.kind != "shells" or not choice.settled or choice.decision or not choice.buy:
            return choice
        asked = any(replaced(choice.name, place.position) for place in choice.places)
        if asked or {buy.part for buy in choice.buy} & {*bought}:
            return choice
        answer = Sentence("only if they are renewed: {answer}", answer=choice.answer)
        choice = replace(choice, answer=answer, buy=(), cost=None, outlay=None)
        return replace(choice, alternative_cost=None, alternative_outlay=None)

    return tuple(map(said, chosen))


def open_choices(engine: Engine, chosen: Sequence[Choice], work_done: bool) -> list[Text]:
    """What is still to decide about parts and sizes, one line each; what only wants a word in one line."""
    lines: list[Text] = []
    follows: list[Text] = []
    open_sizes = {choice.name for choice in chosen if choice.size_open}
    for choice in chosen:
        ground = any(fit.journal in open_sizes for fit in engine.fits(shells=choice.name))
        if choice.kind == "shells" and ground and len(choice.decides) == 1:
            # they wait for that size alone, which is asked about in its own line
            choice = replace(choice, decides=())
        unsaid = choice.kind == "shims" and choice.status == "provisional"  # open however far the work is
        if not choice.on_paper and (unsaid or not work_done):
            lines += _open(choice)
            if choice.size_open and not choice.decision:
                follows.append(Several([choice.title, choice.answer], " "))
    if follows:
        words = message("Follows from the readings, and nobody has decided it yet: {what}")
        lines.append(Sentence(words, what=Several(follows, "; ")))
    return lines


def _open(choice: Choice) -> Iterator[Text]:
    """What is open of a choice that is not decided as the readings say."""
    if choice.status in ("decided", "nothing known"):
        return
    yield from choice.impossible
    if choice.status == "decided otherwise":
        words = message("{title}: {decision} decides otherwise than follows from the readings")
        yield Sentence(words, title=choice.title, decision=choice.decision)
    elif choice.status == "provisional" and choice.decides:
        words = message("{title}: provisional; what decides: {decides}")
        yield Sentence(words, title=choice.title, decides=present(choice.decides))
    elif choice.size_open and choice.decision:
        words = message("{title}: {decision} leaves the size open; {answer} follows from the readings")
        yield Sentence(words, title=choice.title, decision=choice.decision, answer=choice.answer)
