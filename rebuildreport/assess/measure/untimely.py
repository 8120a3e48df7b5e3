"""What comes at the wrong time: readings after delivery, and an order that would go out too early."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Sentence, Several, Text, message
from ...records import JobFolder
from ...records.files.sheet import Engine
from ..model.assessment import Characteristic
from .observations import all_rounds
from .oddities import title
from .titles import titled


def after_delivery(job: JobFolder) -> Iterator[Text]:
    """Readings taken after delivery: what was handed over stays as it is."""
    delivered, issued = job.record.delivered, job.record.issued
    if delivered is None:
        return
    last = max((issue.issue for issue in issued), default=None)
    for one in all_rounds(job):
        if one.model.date <= delivered or any(issue.date >= one.model.date for issue in issued):
            continue
        title_ = (one.model.title or one.name.replace("-", " ").replace("_", " ")).lower()
        words = message(
            "Measured on {day}, after delivery on {left} ({round}): what was handed over stays as it is; a "
            "new issue says what changed and why"
        )
        if last is not None:
            words = message(
                "Measured on {day}, after delivery on {left} ({round}): issue {number} stays as it is; a new "
                "issue says what changed and why"
            )
        yield Sentence(words, day=one.model.date, left=delivered, round=title_, number=last or 0)


def early_orders(engine: Engine, job: JobFolder, found: list[Characteristic]) -> Iterator[Text]:
    """A crank goes out for machining once, so its order waits until all its journals are measured."""
    about = {one.about for one in job.decisions.values() if one.do == "recondition"}
    about |= {one.part for one in job.written_work.sublet}
    parts = {engine.features[name].part if name in engine.features else name for name in about}
    for part in sorted(filter(None, parts)):
        words = message("{part}: not measured yet: {what}; its machining is ordered when they are")
        if unread := list(_unread_journals(engine, part, found)):
            yield Sentence(words, part=titled(part), what=Several(unread))


def _unread_journals(engine: Engine, part: str, values: list[Characteristic]) -> Iterator[Text]:
    """Journals of a part that nobody has read, with their places unless none was."""
    for name, feature in engine.of_kind("journal").items():
        read = {value.position for value in values if value.feature == name and value.value is not None}
        places = feature.positions
        lacking = [position for position in places if position not in read]
        if lacking and feature.part == part:
            where = [] if len(lacking) == len(places) else [", ".join(lacking)]
            yield Several([title(engine, name), *where], " ")
