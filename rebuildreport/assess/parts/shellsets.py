"""Which shell set is bought: the one of the size that its journals are, or are decided to be ground to."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ...quantities import Sentence, Text, message
from ...records import JobFolder
from ...records.files.sheet import Engine
from ...records.files.sizes import key_of, same_size
from ..measure.timeline import Timeline


class ChosenSet(Struct, frozen=True):
    """The sets to buy for a feature, and the sizes for which the sheet has none."""

    parts: tuple[str, ...]
    lacking: tuple[str, ...]  # '0.25 mm'


class ShellSets:
    """``sets:`` of the sheet (on shells, or on a journal or bore itself) held against the decided sizes."""

    def __init__(self, engine: Engine, job: JobFolder, timeline: Timeline) -> None:
        self.engine, self.job, self.timeline = engine, job, timeline

    def holding(self, part: str, component: str = "") -> str:
        """The feature whose ``sets:`` list a part, '' where none does; ``component`` is looked at first."""
        names = [component] if component in self.engine.features else []
        names += [name for name in self.engine.features if name != component]
        return next((name for name in names if part in self.engine.features[name].sets.values()), "")

    def surface(self, feature: str) -> str:
        """The journal that shells run on, by their fit; the bores of rings; a journal or bore is its own."""
        sheet = self.engine.features[feature]
        if sheet.kind != "shells":
            return (sheet.kind == "ring_gap" and sheet.further.get("bores")) or feature
        journals = self.engine.of_kind("journal")
        return next((name for name in journals if feature in self.engine.shells_on(name)), "")

    def of_surface(self, surface: str) -> list[str]:
        """Features whose sets follow the size of a journal or bore: itself, and the shells that run on it."""
        names = dict.fromkeys([surface, *self.engine.shells_on(surface)])
        return [name for name in names if self.engine.features[name].sets]

    def other_of(self, feature: str, size: str) -> bool:
        """Whether shells have grades of their own for a size, which a choice buys by halves."""
        sheet = self.engine.features.get(feature)
        return sheet is not None and any(
            same_size(one.step, size) and bool(one.halves or sheet.halves or sheet.pieces)
            for one in sheet.other.values()
        )

    def chosen(self, feature: str, size: str = "") -> ChosenSet | None:
        """The sets for the sizes decided (or for ``size``); None where nothing is decided yet."""
        sizes = [key_of(size)] if size else self._sizes(self.surface(feature))
        if not sizes:
            return None
        sets = self.engine.features[feature].sets
        found = {one: next((p for key, p in sets.items() if same_size(key, one)), "") for one in sizes}
        return ChosenSet(
            tuple(dict.fromkeys(part for part in found.values() if part)),
            tuple(one for one, part in found.items() if not part),
        )

    def bored_for(self, feature: str, part: str) -> list[str]:
        """Bores of a feature at the size that a part is for, where one is bought for each: pistons."""
        sheet = self.engine.features[feature]
        if sheet.kind != "bore" or self.engine.part(part).per == "engine":
            return []
        sizes = [key for key, one in sheet.sets.items() if one == part]
        return [
            position
            for position in sheet.positions
            if any(same_size(key, self.timeline.decided_size(feature, position)) for key in sizes)
        ]

    def of_places(self, bores: str, positions: Sequence[str], undecided: str = "") -> dict[str, list[str]]:
        """What runs in each of these bores, by the size that it is bored to or came in; '' where no set is.

        ``undecided``: what was asked for where nobody has decided a size.
        """
        sets, found = self.engine.features[bores].sets, dict[str, list[str]]()
        for position in positions:
            decided = self.timeline.decided_size(bores, position)
            size = key_of(decided or self.timeline.size_as_found(bores, position))
            of_size = next((one for key, one in sets.items() if same_size(key, size)), "")
            part = of_size if decided else undecided or of_size
            found.setdefault(part, []).append(position)
        return found

    def bores_of(self, feature: str) -> str:
        """The bores whose ``sets:`` say what is bought for what runs in them: pistons; '' where none do."""
        known, sheet = self.engine.features, self.engine.features.get(feature)
        outers = [fit.outer for fit in known.values() if sheet and fit.outer and fit.inner == feature]
        return next((one for one in outers if one in known and known[one].sets), "")

    def _sizes(self, surface: str) -> list[str]:
        """Size keys that the positions of a surface have by decision, else as found; none undecided."""
        positions = self.engine.features[surface].positions if surface else []
        decisions = self.job.decisions.values()
        decided = {spot for one in decisions for spot in self.timeline.spots(one.about, one.positions)}
        if not any((surface, position) in decided for position in positions):
            return []
        sizes = [
            self.timeline.decided_size(surface, position) or self.timeline.size_as_found(surface, position)
            for position in positions
        ]
        return list(dict.fromkeys(key_of(size) for size in sizes))


def no_such_size(title: Text, feature: str, size: str) -> Text:
    """What to write, and where, for a size that the sheet has no set of."""
    words = message(
        "{what} {size}: the sheet has no set of this size; write '{size}: PART' under 'sets:' of {feature} "
        "in the engine's sheet, and the part under 'parts:'"
    )
    return Sentence(words, what=title, size=key_of(size), feature=feature)
