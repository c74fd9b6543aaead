"""Offers pages that are opened in a headless Chromium without a network."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest


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
