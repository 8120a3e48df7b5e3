"""The register written out for people: what the README beside it holds."""

from __future__ import annotations

from ..measuring.gauges import WORDS
from . import KINDS
from .kind import Kind

HEAD = """# Kinds of feature

What a feature of an engine's spec sheet can be (`kind:`), and what is worked out of it. Made from the
register by
`python -m rebuildreport.trade.kinds > rebuildreport/trade/kinds/README.md`;
a test holds it to it.

Whatever the kind, an instrument should show steps of at most a tenth of the tolerance (common practice);
where the one used does not, the report says so beside the value.

In a difference of two readings by one instrument in one session the permitted error cancels where both lie
at one place of its scale (out-of-round, taper), and acts once where a tenth of its range or more lies between
them (lift, rate); in between it grows as the square root of the span. That a permitted error bounds any span
is ISO 3611:2010, 5.1 (floating zero); tenth and root follow what JIS B 7503:2011 permits dials over parts of
their range, and are this project's assumption for other instruments.
"""


def reference() -> str:
    """The whole register as Markdown, in its order.

    Source: the register itself.
    """
    rows = [f"| [`{kind.name}`](#{kind.name}) | {kind.says} |" for kind in KINDS.values()]
    table = "\n".join(["| kind | works out |", "| --- | --- |", *rows])
    return "\n".join([HEAD, table, *(section(kind) for kind in KINDS.values())]) + "\n"


def section(kind: Kind) -> str:
    """One kind as Markdown, from its entry of the register.

    Source: the register itself.
    """
    lines = [f"\n## {kind.name}\n", f"{_sentence(kind.says)}\n"]
    lines += [f"- **Readings:** {kind.readings}."]
    if kind.instruments:
        words = ", or ".join(WORDS[family] for family in kind.instruments)
        lines.append(f"- **Instrument:** {words}.")
    lines += [f"- **Worked out:** {kind.formula}.", f"- **Source:** {kind.source}."]
    lines.append(f"- **Uncertainty:** {kind.doubt}.")
    keys = [f"`{partner}:`" for partner in kind.partners] + [
        f"`{partner}:` (if any)" for partner in kind.optional_partners
    ]
    keys += [
        f"`{key}:` {number.says}{'' if number.needed else ' (if any)'}" for key, number in kind.given.items()
    ]
    keys += [f"`{key}:`" for key in sorted(kind.keys)]
    if keys:
        lines.append(f"- **Keys of its own:** {', '.join(keys)}.")
    limits = dict.fromkeys(trait.limit for trait in kind.traits.values())
    units = {trait.limit: trait.unit for trait in kind.traits.values() if trait.unit}
    names = [f"`{limit}`{f' in {units[limit]}' if limit in units else ''}" for limit in limits]
    lines.append(f"- **Limits:** {', '.join(names) if names else 'one for each column'}.")
    return "\n".join(lines)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."
