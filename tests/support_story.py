"""The whole desk for tests and pictures: the command in a process of its own, and its page in a browser."""

from __future__ import annotations

import http.client
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

from support_cli import run
from support_desk_server import Served

DEMO_CELL: Final = "cell_size_m = 60.0"
COARSE_M: Final = 240.0
"""Sixteenth part of the demo's cells, so that a test settles at once."""

SLOWEST_S: Final = 180
"""A first run compiles kernels before it answers."""


def written_study(folder: Path, cell_size_m: float = COARSE_M) -> Path:
    """Write the study of ``combe new`` with cells of another size, and return its file."""
    study = folder / "study.toml"
    result = run("new", folder)
    assert result.exit_code == 0, result.output
    text = study.read_text(encoding="utf-8")
    assert DEMO_CELL in text
    study.write_text(text.replace(DEMO_CELL, f"cell_size_m = {cell_size_m}", 1), encoding="utf-8")
    return study


class RealDesk(Served):
    """A desk that may have to compile kernels before it answers."""

    def connection(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection(self.host, timeout=SLOWEST_S)


@contextmanager
def open_desk(study: Path) -> Iterator[Served]:
    """Run ``combe desk`` on a study while the block runs."""
    process = subprocess.Popen(
        [sys.executable, "-m", "combe", "desk", str(study), "--no-open"],
        cwd=Path(__file__).parent,
        env=os.environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
    )
    with process:
        try:
            yield RealDesk(process, study.parent)
        finally:
            process.kill()


class DeskTab:
    """The page of a desk in a browser, and all that it asked of others or complained of."""

    def __init__(self, tab: Any, address: str) -> None:
        self.tab, self.address = tab, address
        self.complaints: list[str] = []
        tab.set_default_timeout(1000 * SLOWEST_S)
        tab.on("pageerror", lambda error: self.complaints.append(str(error)))
        tab.on("console", self._heard)
        tab.on("request", self._asked)
        tab.on("dialog", lambda dialog: (self.complaints.append(dialog.message), dialog.dismiss()))
        self.open(address)

    def _heard(self, line: Any) -> None:
        # A refused edit is an answer like others, and pixels are read by tests alone.
        ours = any(word in line.text for word in ("422", "409", "willReadFrequently"))
        if line.type in ("error", "warning") and not ours:
            self.complaints.append(line.text)

    def _asked(self, request: Any) -> None:
        asked = urlsplit(request.url)
        if asked.scheme not in ("about", "data", "blob") and asked.netloc != urlsplit(self.address).netloc:
            self.complaints.append(f"asked {request.url}")

    def open(self, address: str) -> None:
        """Open an address of the desk and wait until the map is drawn."""
        self.tab.goto(address, timeout=1000 * SLOWEST_S)
        self.tab.wait_for_selector("body[data-ready=yes]", timeout=1000 * SLOWEST_S)

    @property
    def revision(self) -> int:
        return self.state["revision"]

    @property
    def state(self) -> dict[str, Any]:
        """Return what the page was told last."""
        return self.tab.evaluate("() => combe.desk.state")

    @contextmanager
    def settles(self) -> Iterator[None]:
        """Wait until what the block does is settled and shown."""
        before = self.revision
        yield
        self.tab.wait_for_function(
            "(before) => combe.desk.state.revision > before && !document.body.dataset.busy",
            arg=before,
            timeout=1000 * SLOWEST_S,
        )

    def mast(self, name: str) -> Any:
        return self.tab.locator(f"[aria-label*='{name}, move with the arrow keys']")

    def middle_of(self, name: str) -> tuple[float, float]:
        """Return where on the screen a mast stands."""
        box = self.mast(name).bounding_box()
        assert box, f"{name} is on the map"
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def take_hold(self, name: str, right: float, down: float) -> None:
        """Drag a mast by so many pixels and keep it in hand, until a sketch of it is there."""
        x, y = self.middle_of(name)
        self.tab.mouse.move(x, y)
        self.tab.mouse.down()
        self.tab.mouse.move(x + right / 2, y + down / 2, steps=4)
        self.tab.mouse.move(x + right, y + down, steps=4)
        self.tab.wait_for_selector("#head-sketch:not([hidden])", timeout=1000 * SLOWEST_S)

    def drag(self, name: str, right: float, down: float) -> None:
        """Drag a mast by so many pixels and let it go."""
        self.take_hold(name, right, down)
        with self.settles():
            self.tab.mouse.up()

    def press(self, name: str, *keys: str) -> None:
        """Press keys on a mast, in one go."""
        self.mast(name).focus()
        with self.settles():
            for key in keys:
                self.tab.keyboard.press(key)

    def click(self, selector: str) -> None:
        """Press a button that changes the state."""
        with self.settles():
            self.tab.locator(selector).click()

    def choose(self, name: str) -> None:
        self.tab.locator("#edit-station").select_option(name)

    def write(self, label: str, value: str) -> None:
        """Write a value into a field of the editor."""
        box = self.tab.get_by_label(label, exact=True)
        with self.settles():
            box.fill(value)
            box.press("Tab")

    def add(self, name: str, right: float, down: float) -> None:
        """Place a relay so many pixels from the middle of the map."""
        self.tab.locator("#add-name").fill(name)
        self.tab.locator("#add").click()
        frame = self.tab.locator(".folium-map").bounding_box()
        with self.settles():
            self.tab.mouse.click(
                frame["x"] + frame["width"] / 2 + right, frame["y"] + frame["height"] / 2 + down
            )
        self.mast(name).wait_for()

    def unfold(self, part: str) -> None:
        self.tab.evaluate("(id) => { document.getElementById(id).open = true; }", part)

    def fold_all_but(self, *parts: str) -> None:
        """Leave only these parts of the work unfolded."""
        self.tab.evaluate(
            "(parts) => document.querySelectorAll('.work > details')"
            ".forEach((part) => { part.open = parts.includes(part.id); })",
            list(parts),
        )

    def keep(self, name: str) -> None:
        """Keep the present state as a variant."""
        self.unfold("variants-part")
        self.tab.locator("#variant-name").fill(name)
        self.tab.locator("#variant-name").press("Enter")
        self.tab.wait_for_function(
            "(name) => combe.desk.state.variants.some((one) => one.name === name)"
            " && !document.body.dataset.busy",
            arg=name,
        )

    def save(self, path: str) -> str:
        """Save under a name and return what the page says of it."""
        self.tab.locator("#save-path").fill(path)
        self.tab.locator("#save").click()
        self.tab.locator("#save-answer", has_text=path).wait_for()
        return self.tab.locator("#save-answer").inner_text()

    def people(self) -> dict[str, dict[str, int]]:
        """Return the table of people as it is shown: heads and counts by the name above."""
        heads = [text.replace("\u00ad", "") for text in self._texts("#people-table thead th")]
        bodies = self.tab.locator("#people-table tbody").all()
        return {
            body.locator("th").inner_text(): {
                head: _number(cell) for head, cell in zip(heads, self._own_texts(body), strict=True)
            }
            for body in bodies
        }

    def headline(self) -> tuple[int, list[int]]:
        """Return how many are newly served, and the numbers of the sentence below it."""
        words = self.tab.locator("#head-words").inner_text()
        return _number(self.tab.locator("#head-newly").inner_text()), _numbers(words)

    def _texts(self, selector: str) -> list[str]:
        return self.tab.locator(selector).all_inner_texts()

    def _own_texts(self, body: Any) -> list[str]:
        """Return the texts of cells without the small signs of change behind them."""
        return body.locator("td").evaluate_all("all => all.map((one) => one.firstChild.textContent)")


def _number(text: str) -> int:
    return int(text.replace("\u202f", ""))


def _numbers(text: str) -> list[int]:
    return [_number(each) for each in re.findall(r"\d[\d\u202f]*", text)]
