"""What is asked of somebody who begins the sheet of an engine."""

from __future__ import annotations

# what decides the sheet: field of DescribedEngine, what is asked, the words for it (none: any)
QUESTIONS: dict[str, tuple[str, tuple[str, ...]]] = {
    "cylinders": ("how many cylinders", ()),
    "arrangement": ("their arrangement: inline, V, flat ...", ()),
    "strokes": ("strokes", ("2", "4")),
    "cooling": ("cooled by", ("water", "air")),
    "fuel": ("fuel: gasoline, diesel ...", ()),
    "valves": ("valve gear", ("side", "pushrod", "overhead", "none")),
    "valves_each": ("valves to a cylinder", ()),
    "drive": ("cams driven by", ("gear", "chain", "belt")),
    "crank": ("crankshaft", ("one-piece", "pressed")),
    "bearings": ("main and rod bearings", ("shells", "bush", "poured", "roller")),
    "rod_bearings": ("rod bearings, where of another sort", ("shells", "bush", "poured", "roller")),
    "mains_count": ("how many main bearings", ()),
    "liners": ("cylinders: bored in the block (none), liners, or barrels", ("none", "dry", "wet", "barrels")),
    "unit": ("unit of its limits", ("mm", "in")),
}
