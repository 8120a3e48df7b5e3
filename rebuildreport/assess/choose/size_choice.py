"""Which undersize or oversize: the steps tried, why, and what follows from it before anybody decides.

In: the workbench.  Out: a choice for each set of journals or bores of which a size is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Text, message
from ...records.files.sizes import sized
from ...trade.choosing import steps
from ...trade.choosing.steps import POLISHED, Rules, SizeChoice, Trial, Worn, polish_only
from ...trade.measuring.verdict import DUST
from ..measure.judging import source_text
from ..measure.titles import feature_title, span
from ..model.choice import Buy, Choice, Effect, Status
from . import size_words
from .bearing_sets import bearing_sets
from .consequences import of_bore
from .shell_choice import beyond_all_shells
from .workbench import Workbench, how_settled, length
from .worn_surfaces import WornSurfaces, worn_surfaces


def size_choices(bench: Workbench) -> list[Choice]:
    """One choice for each set of journals or bores with steps on the sheet, where a size is asked for."""
    if bench.on_paper:
        return []
    made = [_choice(surfaces) for surfaces in worn_surfaces(bench)]
    return [choice for choice in made if choice is not None]


def _choice(surfaces: WornSurfaces) -> Choice | None:
    """The choice, or None where nothing asks for a size."""
    bench, rules = surfaces.bench, surfaces.rules
    if rules is None or not surfaces.worn:
        return None
    # where the journals would do, and only their clearance does not, shells come first
    would_do = not surfaces.bore and not surfaces.condemned
    alone = beyond_all_shells(bench, surfaces.name) if would_do else []
    if not surfaces.asked_for and not alone:
        return None
    may_stay = would_do and not alone and not surfaces.decision
    polished = _polish(surfaces) if may_stay else None
    tried = steps.choose_size(surfaces.worn, surfaces.steps, rules, surfaces.bore, bench.guarded)
    return polished or _sized(surfaces, rules, tried, alone)


def _sized(surfaces: WornSurfaces, rules: Rules, tried: SizeChoice, alone: Sequence[str]) -> Choice:
    """The choice of a step; ``alone``: places where only the clearance is too large."""
    bench = surfaces.bench
    taken = sized(surfaces.decided.size) if surfaces.decided else NOTHING
    wanted = surfaces.named(tried.chosen.step) if tried.chosen else NOTHING
    otherwise = bool(taken) and not (tried.chosen and surfaces.is_decided(tried.chosen.step))
    # what follows is that of the size that is made, whoever chose it
    made = next((trial for trial in tried.trials if surfaces.is_decided(trial.step)), tried.chosen)
    unread = [*_unread(surfaces), *_bare(surfaces)]
    choice = Choice(
        name=surfaces.name,
        kind="oversize" if surfaces.bore else "undersize",
        title=_title(surfaces),
        status="none fits" if tried.chosen is None else how_settled(False, bool(unread)),
        answer=size_words.answer(surfaces, taken or wanted),
        why=size_words.why(surfaces, tried, otherwise, alone),
        alternative=size_words.alternative(surfaces, tried, rules),
        steps=tuple(size_words.candidate(surfaces, trial, made) for trial in tried.trials),
        impossible=tuple(size_words.against(surfaces, tried)),
        decides=tuple(_decides(surfaces, tried, bool(taken))),
        cost=bench.spent(_parts(surfaces, made)),
        alternative_cost=bench.spent(_parts(surfaces, tried.next_one)),
        follows=tuple(size_words.follows(surfaces, made)),
        effects=_effects(surfaces, made),
        part=surfaces.sheet.part,
        source=source_text(bench.engine, surfaces.sheet.source),
    )
    if not taken:
        return choice
    work = bench.work_on(surfaces.sheet.part, surfaces.decision)
    status: Status = "decided otherwise" if otherwise and not surfaces.proved else "decided"
    return replace(choice, status=status, work=work, decision=surfaces.decision)


def _title(surfaces: WornSurfaces) -> Text:
    title = feature_title(surfaces.bench.engine, surfaces.name)
    if not surfaces.sleeved or len(surfaces.positions) == len(surfaces.sheet.positions):
        return title
    return Sentence("{title}, sleeves of {places}", title=title, places=span(surfaces.positions))


def _bare(surfaces: WornSurfaces) -> list[str]:
    """Cylinders whose wall nobody read, where the sheet has a least one."""
    if surfaces.rules is None or surfaces.rules.wall_left is None:
        return []
    return [worn.position for worn in surfaces.worn if worn.wall is None]


def _unread(surfaces: WornSurfaces) -> list[Text]:
    """What was not read, or in part, and may ask for another step."""
    said: list[Text] = []
    if surfaces.unread:
        words = message("{places} not measured: may ask for the next step")
        said.append(Sentence(words, places=span(surfaces.unread)))
    if surfaces.partly:
        words = message("{places} read in part: may ask for the next step")
        said.append(Sentence(words, places=span(surfaces.partly)))
    return said


def _decides(surfaces: WornSurfaces, tried: SizeChoice, taken: bool) -> list[Text]:
    """Readings that may ask for another step."""
    said = _unread(surfaces)
    if bare := _bare(surfaces):
        words = message("wall of {places} not measured: it may allow no oversize, and ask for a sleeve")
        said.append(Sentence(words, places=span(bare)))
    if tried.maybe and not taken:
        said.append(size_words.closer(surfaces, tried.maybe))
    return said


def _parts(surfaces: WornSurfaces, trial: Trial | None) -> Sequence[Buy]:
    """What is bought for a step: a set, or a piston for each bore."""
    if trial is None or not trial.step.parts:
        return ()
    sheet = surfaces.bench.engine.parts.get(trial.step.parts)
    each = surfaces.bore and sheet is not None and sheet.per != "engine"
    count = len(surfaces.positions) if each else 1
    return (Buy(trial.step.parts, surfaces.named(trial.step), count),)


def _effects(surfaces: WornSurfaces, chosen: Trial | None) -> tuple[Effect, ...]:
    """What an oversize does to the compression ratio."""
    if chosen is None or not surfaces.bore or not surfaces.bench.engine.layout.stroke:
        return ()
    step, band, until = chosen.step.size, chosen.band, surfaces.until
    return tuple(of_bore(surfaces.bench, surfaces.name, step, band, until))


# ---------------------------------------------------------------- a polish


class _Polished(Struct, frozen=True):
    """What a polish does to the clearances that judge the size of scored journals."""

    unknown: tuple[str, ...] = ()  # places whose clearance was not measured
    renewed: tuple[str, ...] = ()  # that stay inside with new shells, and not with those that they have
    passed: tuple[str, ...] = ()  # that do not stay inside


def _polish(surfaces: WornSurfaces) -> Choice | None:
    """The choice of a polish, where every scored journal comes out of it inside its limit; else None."""
    bench, sheet = surfaces.bench, surfaces.sheet
    scored = [worn for worn in surfaces.worn if worn.score.value > 0.0]
    fit = _goes_out(surfaces, scored)
    if fit is None or fit.passed:
        return None
    decides = _unread(surfaces)
    polish = length(bench, POLISHED)
    if fit.unknown:
        words = message("clearance at {places} not measured: a polish adds {polish} to it")
        decides.append(Sentence(words, places=span(fit.unknown), polish=polish))
    follows = [Sentence("size, roundness and taper are read again after the polish")]
    if fit.renewed:
        words = message(
            "new shells at {places}: with those that are there the clearance would pass its limit"
        )
        follows.append(Sentence(words, places=span(fit.renewed)))
    deepest = length(bench, max(worn.score.value for worn in scored))
    where = span([worn.position for worn in scored])
    words = message(
        "The deepest score, {depth} at {places}, goes out with {polish} off the diameter, and every "
        "size stays inside its limit."
    )
    return Choice(
        name=surfaces.name,
        kind="undersize",
        title=feature_title(bench.engine, surfaces.name),
        status="provisional" if decides else "chosen",
        answer=Sentence("a polish, and no undersize"),
        why=Sentence(words, depth=deepest, places=where, polish=polish),
        alternative=Sentence("the first undersize, if a polish does not take them out"),
        decides=tuple(decides),
        follows=tuple(follows),
        source=source_text(bench.engine, sheet.source),
        part=sheet.part,
    )


def _goes_out(surfaces: WornSurfaces, scored: Sequence[Worn]) -> _Polished | None:
    """What a polish that takes every score out does to the clearances; None where it does not do."""
    bench, sheet = surfaces.bench, surfaces.sheet
    limits = sheet.wear.get("size") or sheet.new.get("size")
    see = limits.see if limits is not None else ""
    low = None if see else bench.ends(limits, sheet)[0]
    if not scored or not all(polish_only(w.worst, w.score.value, low, guarded=bench.guarded) for w in scored):
        return None
    return _polished(bench, see, [worn.position for worn in scored]) if see else _Polished()


def _polished(bench: Workbench, fit: str, positions: Sequence[str]) -> _Polished:
    """What becomes of a clearance when its journal is polished."""
    found: dict[str, list[str]] = {"unknown": [], "renewed": [], "passed": []}
    laid = next((laid for laid in bearing_sets(bench) if laid.name == fit), None)
    for position in positions:
        stays = _stays(bench, fit, position)
        if stays is None:
            found["unknown"].append(position)
        elif not stays:
            found["renewed" if laid and laid.takes_up(position, POLISHED) else "passed"].append(position)
    return _Polished(**{key: tuple(places) for key, places in found.items()})


def _stays(bench: Workbench, fit: str, position: str) -> bool | None:
    """Whether a clearance surely stays inside its limit after a polish; None where it was not measured."""
    known = None
    for c in bench.found:
        high = c.limits.decides[1] if c.limits else None
        if (c.feature, c.position) != (fit, position) or not c.stands or c.value is None or high is None:
            continue
        known = known is not False and c.value + POLISHED <= high - (c.guard or 0.0) + DUST
    return known
