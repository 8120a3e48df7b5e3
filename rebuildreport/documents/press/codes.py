"""Words for codes: one table each, a code to its message.  The floors below know the codes alone.

Where a code is plain English already, its message is the same; another language has its own.
"""

from __future__ import annotations

from collections.abc import Iterable

from ...quantities import message


def _as_it_reads(codes: Iterable[str]) -> dict[str, str]:
    """A table of codes that say what they mean."""
    return {code: code for code in codes}


# worst first: nothing that is missing may hide behind something good
SEVERITY = message(
    ("beyond limit", "too close to call", "not measured", "no limit on file", "serviceable", "as new")
)
OUT_OF_ORDER = SEVERITY[:2]  # beyond a limit, or too near to one to say
VERDICTS = _as_it_reads(SEVERITY)
# past which end of its limits a value lies, in the words of its kind
SIDES = _as_it_reads(
    message(
        (
            *(
                "too small",
                "too large",
                "too low",
                "too high",
                "too short",
                "too long",
                "too thin",
                "too thick",
            ),
            *("too narrow", "too wide", "too tight", "too soft", "too hard", "too stiff", "too weak"),
            *("too strong", "too deep", "too proud", "too far out", "too little", "too much"),
            *("worn too far", "leaks too much", "cracked"),
            *("too near", "too early", "too late", "too smooth", "too rough", "slipped", "stretched"),
        )
    )
)
FITNESS = VERDICTS | _as_it_reads(
    message(
        (
            *("inside", "inside the wear limit", "too tight", "too large"),
            *("cleans up", "leaves too little", "leaves part of it"),
        )
    )
)
STAGES = _as_it_reads(
    message(
        (
            *("arrival", "teardown", "inspection", "decision", "machining", "assembly", "first start"),
            *("ready to collect", "delivery", "follow-up", "re-opened", "declined"),
        )
    )
)
STATES = _as_it_reads(
    message(("done", "out of limits", "not signed", "open"))
)  # of a line of the build sheet
OUTCOMES = _as_it_reads(
    message(("rejected", "too close to call", "not measured", "accepted by deviation", "accepted"))
)  # of what came back from a machine shop, worst first
DONE = message(  # with a part, as found and as decided
    {
        "reuse": "reuse",
        "recondition": "recondition",
        "replace": "replace",
        "measure_again": "measure again",
        "hold_for_customer": "hold for customer",
    }
)
DID = message(  # the same, once the work is done
    {
        "reuse": "used again",
        "recondition": "reconditioned",
        "replace": "replaced",
        "measure_again": "measure again",
        "hold_for_customer": "hold for customer",
    }
)
