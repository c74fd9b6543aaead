"""The desk in a browser: from letting go of a mast to settled numbers and a painted map.

Run from the checkout, with the test extra: ``python tests/benchmarks/desk.py [DRAGS]``. The demo, and an
invented network of 30 stations, three services and half a million cells, by P.1812 with interference counted.
Masts of relays are dragged by the pointer in headless Chromium, as a hand does; times are taken in the page.
"""

from __future__ import annotations

import os
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np
from playwright.sync_api import Page, sync_playwright

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line
from network import write_study

STATIONS, SIDE_KM, MODEL = 30, 71, "p1812"
STEPS, PAUSE_MS = 4, 40
FARTHEST_PIXELS = 40
SLOWEST_MS = 300_000
CHROMIUM = "/usr/bin/chromium"

WATCH = """() => {
  const wrapped = (name, what) => {
    const plain = combe[name];
    combe[name] = (...given) => {
      const done = plain(...given);
      times[what] ??= performance.now();
      return done;
    };
  };
  let times = {};
  window.begin = (what) => { times = {}; times.begun = performance.now(); };
  window.let_go = () => { times.let_go = performance.now(); };
  window.times = () => times;
  wrapped("showSketch", "sketched");
  wrapped("showState", "settled");
  addEventListener("mouseup", window.let_go, true);
}"""
"""Notes when the page showed the first sketch, was let go, and showed the settled state."""


class Drag(NamedTuple):
    """Times [s] of one drag: to the first sketch, and from letting go to what is settled."""

    sketched: float
    settled: float
    answered: float


def memory_mib(process: int) -> float:
    """Return the memory that a process has had at most."""
    for words in Path(f"/proc/{process}/status").read_text().splitlines():
        if words.startswith("VmHWM"):
            return int(words.split()[1]) / 1024.0
    return float("nan")


def drag(page: Page, name: str, random: np.random.Generator) -> Drag:
    """Drag the mast of a station some way, and wait for what is settled."""
    box = page.locator(f"[aria-label*='{name}, move']").bounding_box()
    assert box, "the mast is on the map"
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    by = random.uniform(-FARTHEST_PIXELS, FARTHEST_PIXELS, 2)
    page.mouse.move(x, y)
    page.mouse.down()
    page.evaluate("() => begin()")
    for step in range(1, STEPS + 1):
        page.mouse.move(x + by[0] * step / STEPS, y + by[1] * step / STEPS)
        page.wait_for_timeout(PAUSE_MS)
    page.wait_for_function("() => times().sketched", timeout=SLOWEST_MS)
    page.mouse.up()
    page.wait_for_function("() => times().settled && !document.body.dataset.busy", timeout=SLOWEST_MS)
    times = page.evaluate("() => times()")
    answered = page.evaluate("() => combe.desk.state.settled_s")
    return Drag(
        (times["sketched"] - times["begun"]) / 1000.0, (times["settled"] - times["let_go"]) / 1000.0, answered
    )


def shown(times: list[float]) -> str:
    """Return median and 95th percentile."""
    return f"{statistics.median(times):.2f} {np.percentile(times, 95):.2f}"


def measure(study: Path, drags: int, aims: tuple[str, str]) -> None:
    """Open a desk on a study and drag its relays."""
    words = [sys.executable, "-m", "combe", "desk", str(study), "--no-open"]
    started = time.perf_counter()
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    with sync_playwright() as browsers:
        browser = browsers.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1400, "height": 900})
        page.goto(address, timeout=600_000)
        page.wait_for_selector("body[data-ready=yes]", timeout=600_000)
        line("from the command to the page, s", f"{time.perf_counter() - started:.1f}")
        page.evaluate(WATCH)
        names = page.evaluate(
            "() => combe.desk.state.stations.filter((one) => one.role === 'relay').map((one) => one.name)"
        )
        random = np.random.default_rng(2)
        drag(page, names[0], random)
        found: list[Drag] = []
        for at in range(drags):
            found.append(drag(page, names[at % len(names)], random))
            # Who ends it early has what was measured until then.
            print(
                f"drag {at + 1}: {found[-1].sketched:.2f} {found[-1].settled:.2f} s",
                file=sys.stderr,
                flush=True,
            )
        line("first coarse picture, median and 95 %, s", shown([each.sketched for each in found]), aims[0])
        line("settled and painted, s", shown([each.settled for each in found]), aims[1])
        line("  of that the answer itself, s", shown([each.answered for each in found]))
        line("memory of the desk, MiB", f"{memory_mib(process.pid):.0f}", "under 1024")
        browser.close()
    process.send_signal(signal.SIGINT)
    process.wait()


def main(drags: int) -> None:
    """Measure the demo and the network."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        subprocess.run([sys.executable, "-m", "combe", "new", str(folder / "demo")], check=True, stdout=-3)
        print(f"the demo, {drags} drags, {os.cpu_count()} processors")
        measure(folder / "demo" / "study.toml", drags, ("0.1", "0.3"))
        (folder / "network").mkdir()
        print(
            f"{STATIONS} stations, three services, {SIDE_KM} x {SIDE_KM} km at 100 m, {MODEL}, {drags} drags"
        )
        measure(write_study(folder / "network", STATIONS, MODEL, SIDE_KM), drags, ("0.1", "1"))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50)
