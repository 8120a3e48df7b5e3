"""Which readings answer the complaint: what was measured of the symptom itself, then what the findings show.

In: the summary with the values and findings that it is of.  Out: its lines again, few, each of one place, in
the order in which a customer asks.  Goes by what was measured on the whole engine and by what findings are
about, never by words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ..measure.observations import of_whole_engine
from ..model.assessment import Characteristic, Finding, SummaryLine

MOST = 8  # lines that page one takes in every language
OF_ONE_TEST = 2  # of them that one test of the whole engine takes
OUT = ("beyond limit", "too close to call")

Line = tuple[str, str]  # feature and limit


def complaint_lines(
    engine: Engine,
    summary: Sequence[SummaryLine],
    values: Sequence[Characteristic],
    findings: Sequence[Finding],
    as_found: frozenset[str],
) -> tuple[SummaryLine, ...]:
    """At most eight lines of the summary, each of the one place that the complaint was about."""
    known = _Known(engine, summary, values, findings, as_found)
    chosen: dict[Line, tuple[str, str]] = {}  # the name of the value, and its position
    for value in known.in_order():
        chosen.setdefault(known.line_of(value.feature, value.name), (value.name, value.position))
    return tuple(known.of_one_place(line, *of) for line, of in list(chosen.items())[:MOST])


class _Known:
    """What the lines are chosen from."""

    def __init__(
        self,
        engine: Engine,
        summary: Sequence[SummaryLine],
        values: Sequence[Characteristic],
        findings: Sequence[Finding],
        as_found: frozenset[str],
    ) -> None:
        self.engine, self.findings, self.as_found = engine, findings, as_found
        self.lines = {(line.feature, line.characteristic): line for line in summary}
        self.values = values
        self.by_key = {value.key: value for value in values}

    def line_of(self, feature: str, name: str) -> Line:
        """The line of the summary that a value belongs to."""
        return feature, KINDS[self.engine.features[feature].kind].trait(name).limit

    def in_order(self) -> Iterator[Characteristic]:
        """The symptom as it was read, what findings show or are about, then whatever else was out."""
        arrived = [self.by_key[line.first] for line in self.lines.values() if line.first in self.by_key]
        whole = [value for value in arrived if of_whole_engine(self.engine.features[value.feature])]
        yield from self.few_of_each([value for value in whole if value.verdict in OUT])
        for finding in self.findings:
            shown = [self.by_key[key] for key in finding.shows if key in self.by_key]
            yield from (value for value in shown[:1] if self.line_of(value.feature, value.name) in self.lines)
        yield from self.farthest_out([value for value in arrived if value not in whole])
        yield from self.few_of_each(whole)

    def farthest_out(self, arrived: list[Characteristic]) -> list[Characteristic]:
        """Of each feature the line that is: one fault shows in size, form and fit alike; seen ones first."""
        first_of: dict[str, Characteristic] = {}
        for value in arrived:
            if value.verdict in OUT:
                first_of.setdefault(value.feature, value)
        about = [finding.component for finding in self.findings]
        return sorted(
            first_of.values(),
            key=lambda value: about.index(value.feature) if value.feature in about else len(about),
        )

    def few_of_each(self, values: list[Characteristic]) -> Iterator[Characteristic]:
        """The lines of each test of the whole engine, as many as it may take; no spread beside its values."""
        taken: dict[str, int] = {}
        for value in values:
            kind = KINDS[self.engine.features[value.feature].kind]
            taken[value.feature] = taken.get(value.feature, 0) + 1
            if taken[value.feature] == 1 or (
                taken[value.feature] <= OF_ONE_TEST and not kind.trait(value.name).at
            ):
                yield value

    def of_one_place(self, line: Line, name: str, position: str) -> SummaryLine:
        """A line of the summary, narrowed down to the place of one value."""
        same = (line[0], name, position)
        here = [other for other in self.values if (other.feature, other.name, other.position) == same]
        arrived = [other for other in here if other.round in self.as_found and other.value is not None]
        standing = next((other for other in reversed(here) if other.stands), None)
        return replace(
            self.lines[line],
            place=position,
            first=arrived[-1].key if arrived else None,
            now=standing.key if standing is not None and standing.value is not None else None,
            now_verdict="not measured" if standing is None else standing.verdict,
        )
