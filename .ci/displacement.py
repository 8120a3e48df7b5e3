"""Displacement against an open table of real engines of 1985 (UCI machine learning repository, "Automobile").

``.venv/bin/python .ci/displacement.py [TABLE]``

No row of the table is kept in this repository.  It comes with the wheel of
orange3 3.40.0; without TABLE (the wheel, or the table taken out of it) pip
fetches the wheel into a temporary folder.  Bore and stroke are in inches
there, the size in cubic inches.  Rows that disagree are errors of the table:
they are listed, and never called right.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

from rebuildreport.trade.engine.cylinders import displacement

WHEEL = "orange3==3.40.0"
INSIDE = "Orange/tests/datasets/imports-85.tab"
WORDS = {"two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "eight": 8, "twelve": 12}
CUBIC_INCH = 16.387064  # cm³
USABLE, WITHIN, NEAR = 201, 130, 1.0  # rows with all figures; how many must agree, to how many in³

Row = tuple[float, float, int, float]


def fetched() -> str:
    """The table's text, out of the wheel that pip fetches."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--dest", folder, WHEEL]
        subprocess.run(command, check=True)
        return opened(next(Path(folder).glob("*.whl")))


def opened(path: Path) -> str:
    """The table's text from a file: the wheel, or the table itself."""
    if zipfile.is_zipfile(path):
        return zipfile.ZipFile(path).read(INSIDE).decode("utf-8")
    return path.read_text("utf-8")


def rows(text: str) -> list[Row]:
    """Bore and stroke [in], cylinders, size as stated [in³] of every row that has them."""
    lines = [line.split("\t") for line in text.splitlines()]
    at = {name.strip(): i for i, name in enumerate(lines[0])}
    found: list[Row] = []
    for line in lines[3:]:
        bore, stroke, size = (line[at[name]] for name in ("bore", "stroke", "engine-size"))
        if "?" not in (bore, stroke, size):
            found.append((float(bore), float(stroke), WORDS[line[at["num-of-cylinders"]]], float(size)))
    return found


def main() -> int:
    known = rows(opened(Path(sys.argv[1])) if len(sys.argv) > 1 else fetched())
    off = [
        (displacement(25.4 * b, 25.4 * s, n) / CUBIC_INCH - size, (b, s, n, size)) for b, s, n, size in known
    ]
    near = sum(abs(difference) <= NEAR for difference, _ in off)
    middle = statistics.median(abs(difference) / row[3] for difference, row in off)
    print(f"{len(off)} rows, {near} within {NEAR:g} in³ of the size stated, median difference {middle:.2%}")
    print("further off than a tenth (the table's errors):")
    for difference, (bore, stroke, count, size) in off:
        if abs(difference) > 0.1 * size:
            print(
                f"  bore {bore} in, stroke {stroke} in, {count} cylinders: stated {size:g} in³, "
                f"worked out {size + difference:.1f}"
            )
    return 0 if len(off) == USABLE and near >= WITHIN else 1


if __name__ == "__main__":
    sys.exit(main())
