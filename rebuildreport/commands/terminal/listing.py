"""The commands, each in one line, and what ``--help`` says: read before any library is imported."""

from __future__ import annotations

NAME = "rebuildreport"


INTERRUPTED = 130  # 128 + SIGINT, as shells report it


# command: what it does, in one line
COMMANDS = {
    "start": "begin a shop, an engine sheet or a job: files to fill in",
    "check": "look through the files and say what stands out",
    "due": "what waits for whom over all jobs, what is next, what is overdue",
    "publish": "write the reports and the site",
    "watch": "publish whenever a file is saved, and show the pages",
    "bench-sheet": "paper to measure on, and the file of the round in its order",
    "take": "a round from the CSV file of a gauge's own software",
    "issue": "freeze a document as it leaves the shop",
    "mail": "write or send the mail of an issued document",
    "explain": "what a key, kind, verdict, doubt, unit or exit status means",
    "alone": "one published page as one file to send, pictures and fonts inside",
    "verify": "whether the numbers of a report are what its records give",
    "export": "jobs, values and readings as open tables for other programs",
    "upgrade": "bring files of an earlier format to today's, line by line",
    "schema": "write the JSON Schemas that editors complete by",
}


def help_text() -> str:
    """What ``--help`` prints.

    >>> print(help_text().splitlines()[0])
    Usage: rebuildreport COMMAND [OPTIONS] [ARGS]...
    """
    width = max(map(len, COMMANDS))
    return "\n".join(
        [
            f"Usage: {NAME} COMMAND [OPTIONS] [ARGS]...",
            "",
            "  Engine rebuild jobs from plain measurement files to a report people can trust.",
            "",
            "Commands:",
            *(f"  {name:<{width}}  {says}" for name, says in COMMANDS.items()),
            "",
            "Options:",
            "  --version   show the version and leave",
            "  -h, --help  show this and leave; behind a command: its own options",
            "",
            "Exit status: 0 fine, 1 the input has problems, 2 wrong usage, 3 the machine lacks something.",
        ]
    )
