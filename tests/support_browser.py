"""Offers a headless Chromium to all rooms; there is one for a run, for a thread can drive one alone."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)


def find_chromium() -> str | None:
    return next(
        (path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))),
        None,
    )


def no_browser(why: str) -> None:
    """Skip the test, or fail it where a browser is a must."""
    if os.environ.get("COMBE_REQUIRE_BROWSER") == "1":
        pytest.fail(f"{why}, and COMBE_REQUIRE_BROWSER=1 asks for one")
    pytest.skip(f"{why}; install Debian's chromium to run this test")


@pytest.fixture(scope="session")
def chromium_command() -> list[str]:
    """Return the command line that starts Chromium."""
    path = find_chromium()
    if path is None:
        no_browser("no chromium was found")
    return [str(path), *FLAGS]


@pytest.fixture(scope="session")
def chromium(chromium_command: list[str]) -> Iterator[Any]:
    path, *flags = chromium_command
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        no_browser("the library playwright is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=flags)
        yield browser
        browser.close()
