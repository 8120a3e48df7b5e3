"""The tests; and the folders of the demo's small jobs, left out where its two large ones teach enough."""

SMALL_JOBS = ("2026-00[5-9]-*", "2026-0[1-9]?-*")
