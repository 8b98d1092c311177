"""A real browser for the pages: Debian's Chromium through playwright, without a network."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
]
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A headless Chromium; the tests are passed over where playwright or Chromium is not installed."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if not Path(CHROMIUM).exists():
        pytest.skip("Chromium is not installed")
    with playwright.sync_playwright() as own:
        running = own.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield running
        running.close()
