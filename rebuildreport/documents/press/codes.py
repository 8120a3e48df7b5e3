"""Words for codes, that a catalogue may have its own for.  The floors below know the codes alone.

A code that is plain English is its own message, and stands here by itself; others have a table.
"""

from __future__ import annotations

from ...quantities import message

# worst first: nothing that is missing may hide behind something good
SEVERITY = message(
    ("beyond limit", "too close to call", "not measured", "no limit on file", "serviceable", "as new")
)
OUT_OF_ORDER = SEVERITY[:2]  # beyond a limit, or too near to one to say
# past which end of its limits a value lies, in the words of its kind
SIDES = message(
    (
        *("too small", "too large", "too low", "too high", "too short", "too long", "too thin"),
        *("too thick", "too narrow", "too wide", "too tight", "too soft", "too hard", "too stiff"),
        *("too weak", "too strong", "too deep", "too proud", "too far out", "too little", "too much"),
        *("worn too far", "leaks too much", "cracked", "too near", "too early", "too late"),
        *("too smooth", "too rough", "slipped", "stretched"),
    )
)
# how a candidate would do, beside the verdicts
FITNESS = message(
    (
        *("inside", "inside the wear limit", "too tight", "too large"),
        *("cleans up", "leaves too little", "leaves part of it"),
    )
)
STAGES = message(
    (
        *("arrival", "teardown", "inspection", "decision", "machining", "assembly", "first start"),
        *("ready to collect", "delivery", "follow-up", "re-opened", "declined"),
    )
)
# of a line of the build sheet
STATES = message(("done", "out of limits", "not signed", "open"))
# of what came back from a machine shop
OUTCOMES = message(("rejected", "too close to call", "not measured", "accepted by deviation", "accepted"))
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
