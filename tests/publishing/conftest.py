"""Offers a headless Chromium without a network to the browser tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
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


class OpenedPage:
    """A page opened without a network, and all that it asked for or complained of."""

    def __init__(self, page: Any) -> None:
        self.page, self.requests, self.complaints = page, [], []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on(
            "console",
            lambda line: self.complaints.append(line.text) if line.type in ("error", "warning") else None,
        )
        page.on(
            "dialog", lambda dialog: (self.complaints.append(f"dialog {dialog.message}"), dialog.dismiss())
        )


def opener(context: Any, tmp_path: Path) -> Any:
    """Return a function that opens an HTML text, or a file as it stands, offline, and gives an OpenedPage."""

    def opened(html: str | Path, *, ready: bool = True) -> OpenedPage:
        path = html if isinstance(html, Path) else tmp_path / "page.html"
        if isinstance(html, str):
            path.write_text(html, encoding="utf-8")
        watch = OpenedPage(context.new_page())
        watch.page.goto(path.as_uri())
        if ready:
            watch.page.wait_for_selector("body[data-ready=yes]", timeout=30_000)
        return watch

    return opened


@pytest.fixture
def open_html(chromium: Any, tmp_path: Path) -> Iterator[Any]:
    context = chromium.new_context(offline=True, viewport={"width": 1400, "height": 900})
    yield opener(context, tmp_path)
    context.close()


@pytest.fixture
def open_on_phone(chromium: Any, tmp_path: Path) -> Iterator[Any]:
    """Open as :func:`opener` on a screen of 390 by 844 that is touched."""
    screen = {"width": 390, "height": 844}
    context = chromium.new_context(offline=True, viewport=screen, is_mobile=True, has_touch=True)
    yield opener(context, tmp_path)
    context.close()
