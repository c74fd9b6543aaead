"""Pages shown in a browser: one with a window, which never keeps a command waiting."""

from __future__ import annotations

import os
import sys
import threading
import webbrowser
from pathlib import Path
from typing import Final

import click

WINDOWS_SHOWN_BY: Final = ("BROWSER", "DISPLAY", "WAYLAND_DISPLAY")
"""One of these is set where a browser was chosen or has somewhere to show itself, but on two systems."""

_PATIENCE_S: Final = 5.0
"""A browser that is not up by then keeps who opens it waiting until it ends; nobody waits for that."""


def has_window() -> bool:
    """Return whether a browser could show itself; one in this terminal would take that away."""
    return sys.platform in ("darwin", "win32") or any(map(os.environ.get, WINDOWS_SHOWN_BY))


def show_address(address: str) -> threading.Thread:
    """Begin to show an address in a browser, if there is one with a window, and return at once."""
    # Some browsers keep who opens them waiting until they end, so this is for a thread of its own.
    opening = threading.Thread(target=_show, args=(address,), daemon=True)
    opening.start()
    return opening


def _show(address: str) -> None:
    if has_window():
        webbrowser.open(address)


def open_page(page: Path) -> None:
    """Show a page in a browser, or say on standard error that there is none here."""
    if has_window():
        show_address(page.resolve().as_uri()).join(_PATIENCE_S)
    else:
        click.echo(f"combe: no browser to open here; open {page} in one", err=True)
