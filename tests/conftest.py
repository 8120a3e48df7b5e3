"""What tests need from the machine: a browser, and the library that sets PDFs.

On a developer's machine a test that needs one of them is skipped with the
package named.  Under ``CI=true`` nothing may be skipped: there it fails.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Any, NoReturn

import pytest

BROWSER_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def lacking(what: str, packages: str) -> NoReturn:
    """Skip the test, or fail it under CI=true, and say which package is missing."""
    message = f"{what} is missing: apt-get install {packages}"
    if os.environ.get("CI") == "true":
        pytest.fail(message, pytrace=False)
    pytest.skip(message)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Where the system's Chromium is."""
    return shutil.which("chromium") or shutil.which("chromium-browser") or lacking("Chromium", "chromium")


@pytest.fixture(scope="session")
def chromium(chromium_path: str) -> Iterator[Any]:
    """A running headless Chromium (a Playwright Browser): ``chromium.new_page()``."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path, args=[*BROWSER_FLAGS])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def pdf_renderer() -> Any:
    """The module weasyprint, where the libraries that it loads are there."""
    try:
        import weasyprint
    except OSError:  # what its binding raises when a shared library cannot be loaded
        lacking("Pango", "libpangoft2-1.0-0 libharfbuzz-subset0")
    return weasyprint


@pytest.fixture(scope="session")
def pdftoppm() -> str:
    """Where poppler's pdftoppm is, which turns PDF pages into pictures."""
    return shutil.which("pdftoppm") or lacking("pdftoppm", "poppler-utils")
