"""What tests need from the machine: a browser, and the library that sets PDFs.

On a developer's machine a test that needs one of them is skipped with the
package named.  Under ``CI=true`` nothing may be skipped: there it fails.
"""

from __future__ import annotations

import gc
import os
import shutil
import sys
from collections.abc import Generator, Iterator
from typing import Any, NoReturn

import pytest
from hypothesis import HealthCheck, settings

# An environment that forbids bytecode would have every worker and command compile tests and program anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# how long one example takes says more of the machine's other work than of the program
settings.register_profile("no clock", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("no clock")

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
    """Skip the test and say which package is missing."""
    pytest.skip(f"{what} is missing: apt-get install {packages}")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Under CI=true a skipped test, for whatever reason, is a failed one."""
    report = yield
    if os.environ.get("CI") == "true" and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"may not be skipped under CI=true: {reason}"
    return report


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


# what takes longest: begun first, so that no core is left alone with it at the end
LONGEST = (
    "tests/site/test_demo_documents.py",
    "tests/site/test_publish.py",
    "tests/documents/test_specimen.py",
    "tests/demo",
    "tests/test_readme_walk.py",
    "tests/site",
)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """All cores for a whole run; tests asked for by name run here, where a debugger can stop them."""
    named = config.args_source is pytest.Config.ArgsSource.ARGS
    return 0 if named else os.cpu_count() or 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first, all else as it was found."""

    def rank(item: pytest.Item) -> int:
        return next((n for n, name in enumerate(LONGEST) if item.nodeid.startswith(name)), len(LONGEST))

    items.sort(key=rank)


def pytest_collection_finish() -> None:
    """What was imported stays to the end: to walk it again and again took a sixth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--keep-pictures",
        action="store_true",
        help="keep the present pages of the specimen as the pictures to compare with",
    )
