"""The system's own Chromium, opened once for all tests of pages."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
SWITCHES = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
NEEDED = os.environ.get("HOLECAM_NEEDS_BROWSER") == "1"


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    if BROWSER is None and not NEEDED:
        pytest.skip("no chromium on this machine")
    if NEEDED:
        from playwright.sync_api import sync_playwright
    else:
        sync_playwright = pytest.importorskip("playwright.sync_api").sync_playwright
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=BROWSER, args=SWITCHES)
        yield opened
        opened.close()
