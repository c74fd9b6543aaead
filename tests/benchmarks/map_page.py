"""The map page of a coverage of 1 500 cells a side: its size, how soon it opens, and how fast it repaints.

Run from the checkout, with the test extra and Chromium: ``python tests/benchmarks/map_page.py``. The study is
the demo's with smaller cells. A cell size in metres may be given.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line

import combe
from combe.answers.cover import cover_report
from combe.publishing.map_page import render_map
from combe.reports.cover_map import map_content
from support_browser import FLAGS, find_chromium

CELL_M: Final = 21.9
ROUNDS: Final = 9
VIEWS: Final = ("story", "after", "s1-0", "best-0", "overlap-0")

REPAINT: Final = """([key, rounds]) => {
    const times = [];
    byId("show").value = key;
    for (let round = 0; round < rounds; round++) {
        byId("excess").value = round - 4;
        const begun = performance.now();
        combe.refresh();
        times.push(performance.now() - begun);
    }
    return times;
}"""


def made(cell_m: float) -> str:
    """Return the page, and print what it takes to make it."""
    valley = combe.demo()
    report = cover_report(replace(valley, grid=replace(valley.grid, cell_size_m=cell_m)), feeds=True)
    begun = time.perf_counter()
    content = map_content(report)
    counted = time.perf_counter()
    html = render_map(content)
    line(
        f"{report.grid.rows} x {report.grid.columns} cells, {len(content.layers)} layers: content [s]",
        f"{counted - begun:.1f}",
    )
    line("drawn [s]", f"{time.perf_counter() - counted:.1f}")
    line("size of the page [MB]", f"{len(html.encode()) / 1e6:.2f}", "aim 3")
    return html


def used(browser: Any, path: Path) -> None:
    """Print how the page behaves in a browser."""
    opening = []
    for _ in range(3):
        tab = browser.new_page(viewport={"width": 1400, "height": 900})
        begun = time.perf_counter()
        tab.goto(path.as_uri())
        tab.wait_for_selector("body[data-ready=yes]", timeout=60_000)
        opening.append(time.perf_counter() - begun)
    line("opened and ready to be used [s]", f"{statistics.median(opening):.2f}", "aim 2")
    for key in VIEWS:
        times = tab.evaluate(REPAINT, [key, ROUNDS])
        line(
            f"repainted and recounted, {key}: median, worst [ms]",
            f"{statistics.median(times):.0f}, {max(times):.0f}",
            "aim 200",
        )
    tab.evaluate("() => { byId('excess').value = 0; byId('swipe').click(); }")
    times = tab.evaluate(REPAINT, ["after", ROUNDS])
    line(
        "both sides of the divider: median, worst [ms]",
        f"{statistics.median(times):.0f}, {max(times):.0f}",
        "aim 200",
    )


def main() -> None:
    """Print all figures."""
    from playwright.sync_api import sync_playwright

    print(f"Map page, {os.cpu_count()} cores")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        path = Path(folder) / "map.html"
        path.write_text(made(float(sys.argv[1]) if len(sys.argv) > 1 else CELL_M), encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=list(FLAGS))
        used(browser, path)
        browser.close()


if __name__ == "__main__":
    main()
