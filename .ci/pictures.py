"""Makes the README's two pictures from the published demo shop.

    .venv/bin/rebuildreport publish && .venv/bin/python .ci/pictures.py

Writes .pictures/report.jpg (the first page of a report's PDF) and .pictures/site.jpg (the first page
of the public site, as a browser shows it).  Needs pdftoppm (poppler-utils) and chromium.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / ".pictures"
JOB = "2026-003-orchard-six"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
]
FLAGS += ["--disable-component-update", "--disable-sync"]


def report_page(pdf: Path, picture: Path) -> None:
    command = ["pdftoppm", "-f", "1", "-singlefile", "-r", "84", "-jpeg", "-jpegopt", "quality=82,optimize=y"]
    subprocess.run([*command, str(pdf), str(picture.with_suffix(""))], check=True)


def first_page(page: Path, picture: Path, browser: str) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=browser, args=FLAGS)
        tab = chromium.new_page(viewport={"width": 1280, "height": 760})
        tab.goto(page.as_uri())
        tab.screenshot(path=picture, type="jpeg", quality=82)
        chromium.close()


def main() -> int:
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None or shutil.which("pdftoppm") is None:
        print("needs chromium and pdftoppm: apt-get install chromium poppler-utils", file=sys.stderr)
        return 3
    pdf, page = ROOT / "site" / "shop" / JOB / "report.pdf", ROOT / "site" / "public" / "index.html"
    for needed in (pdf, page):
        if not needed.exists():
            print(f"{needed.relative_to(ROOT)} is not there: publish the demo shop first", file=sys.stderr)
            return 1
    PICTURES.mkdir(exist_ok=True)
    report_page(pdf, PICTURES / "report.jpg")
    first_page(page, PICTURES / "site.jpg", browser)
    for picture in sorted(PICTURES.iterdir()):
        print(f"{picture.relative_to(ROOT)}: {picture.stat().st_size // 1000} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
