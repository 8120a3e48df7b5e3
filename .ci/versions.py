"""The versions that the program is tried with: the locked set, the lowest that it declares, the newest.

    .venv/bin/python .ci/versions.py lock       write .ci/locked.txt: what pip would install for the tests now
    .venv/bin/python .ci/versions.py lowest     the lowest that is declared of each: publish the demo
    .venv/bin/python .ci/versions.py newest     the same with the newest of each
    .venv/bin/python .ci/versions.py wheel      wheel and sdist, each built twice: the same bytes?

``pip install --require-hashes -r .ci/locked.txt`` then takes what was locked and nothing else, on the Python
and the kind of machine that it was locked on.  Each trial has an environment of its own, removed afterwards.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LOCKED = ROOT / ".ci" / "locked.txt"


def run(*words: str | Path, cwd: Path = ROOT) -> str:
    env = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    env["SOURCE_DATE_EPOCH"] = "1577836800"
    return subprocess.run(
        [str(word) for word in words], cwd=cwd, env=env, check=True, stdout=subprocess.PIPE, text=True
    ).stdout


def lock() -> None:
    """What pip would install into an empty environment, with the digest of each file."""
    wanted = ["--dry-run", "--ignore-installed", "--quiet", "--report", "-", f"{ROOT}[tests]"]
    report = json.loads(run(sys.executable, "-m", "pip", "install", *wanted))
    lines = [
        f"# Python {sys.version_info.major}.{sys.version_info.minor}, {sys.platform}; .ci/versions.py lock"
    ]
    for one in sorted(report["install"], key=lambda one: one["metadata"]["name"].lower()):
        about, digests = one["metadata"], one["download_info"].get("archive_info", {}).get("hashes", {})
        if digests:  # the project itself has none
            lines.append(f"{about['name'].lower()}=={about['version']} --hash=sha256:{digests['sha256']}")
    LOCKED.write_text("\n".join(lines) + "\n", "utf-8")
    print(f"{len(lines) - 1} packages in {LOCKED.relative_to(ROOT)}")


def lowest() -> list[str]:
    """The lowest version of each library that the program needs."""
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    return [re.sub(r">=", "==", one) for one in declared]


def tried(pins: list[str]) -> None:
    """In an environment with these versions and nothing else, the demo is published with its PDFs."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        venv.create(folder / "env", with_pip=True)
        python = folder / "env" / "bin" / "python"
        wheel = built(folder / "wheel", "bdist_wheel")
        run(python, "-m", "pip", "install", "--quiet", wheel, *pins)
        print(run(python, "-m", "pip", "list", "--format", "freeze").replace("\n", " "))
        shutil.copytree(ROOT / "jobs", folder / "jobs")
        run(python, "-m", "rebuildreport", "publish", cwd=folder)
        pages = [len(list((folder / "site").rglob(kind))) for kind in ("*.html", "*.pdf")]
        print(f"{pages[0]} pages, {pages[1]} PDFs")


def built(folder: Path, kind: str) -> Path:
    """Wheel or sdist as the build backend makes it."""
    folder.mkdir(parents=True)
    make = "build_wheel" if kind == "bdist_wheel" else "build_sdist"
    run(sys.executable, "-c", f"import hatchling.build; hatchling.build.{make}({str(folder)!r})")
    return next(folder.iterdir())


def twice() -> bool:
    """Whether what is built twice is the same, byte for byte."""
    alike = True
    with tempfile.TemporaryDirectory() as name:
        for kind in ("bdist_wheel", "sdist"):
            files = [built(Path(name) / f"{kind}{number}", kind) for number in (1, 2)]
            digests = [hashlib.sha256(file.read_bytes()).hexdigest() for file in files]
            alike &= digests[0] == digests[1]
            print(f"{files[0].name}: {' '.join(dict.fromkeys(digests))}")
    return alike


def main() -> int:
    asked = sys.argv[1:]
    if asked == ["lock"]:
        lock()
    elif asked in (["lowest"], ["newest"]):
        tried(lowest() if asked == ["lowest"] else [])
    elif asked == ["wheel"]:
        return 0 if twice() else 1
    else:
        print(__doc__)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
