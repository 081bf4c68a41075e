"""A real browser and its accessibility checker, for the tests that look at pages.

Without a browser or without Playwright there is nothing to judge with, so tests that ask for one
are left out and say so.
"""

import shutil
import subprocess
from pathlib import Path

import pytest

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="module")
def browser():
    """Chromium of the system, driven by Playwright."""
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed: pip install -e '.[test]'"
    )
    if CHROMIUM is None:
        pytest.skip("no chromium on the PATH: install it with the system's packages")
    with playwright.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def axe(request):
    """The accessibility checker axe-core, fetched once by npm into pytest's cache.

    Where it is run with ``resultTypes`` it does not list the thousands of places that pass, which
    takes two thirds of its time.
    """
    folder = Path(request.config.cache.mkdir("axe"))
    script = folder / "node_modules" / "axe-core" / "axe.min.js"
    if not script.exists():
        npm = shutil.which("npm")
        command = [npm, "install", "--silent", "--prefix", str(folder), "axe-core@4.14.1"]
        if npm is None or subprocess.run(command, capture_output=True, check=False).returncode:
            pytest.skip("npm cannot fetch axe-core here")
    return script.read_text(encoding="utf-8")
