"""Remakes maps/: runs the demo into it, drops the rasters, and takes the picture for README.

Run from anywhere, with the test extra and Chromium installed: ``python tests/remake_maps.py``.
"""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from support_browser import FLAGS, find_chromium

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "maps"
SIZE = {"width": 1400, "height": 900}
COLOURS = 256


def photograph(page: Path, picture: Path) -> None:
    """Open a page in headless Chromium without a network and save what it shows as a small PNG."""
    path = find_chromium()
    if path is None:
        sys.exit("remake_maps: no chromium was found; install Debian's chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        tab = browser.new_context(offline=True, viewport=SIZE).new_page()
        tab.goto(page.as_uri())
        tab.wait_for_selector("body[data-ready=yes]", timeout=60_000)
        shot = tab.screenshot()
        browser.close()
    small_picture(shot, picture)


def small_picture(shot: bytes, picture: Path) -> None:
    """Save a screenshot with few colours, so that it is small."""
    Image.open(io.BytesIO(shot)).convert("RGB").quantize(COLOURS).save(picture, optimize=True)


def main() -> None:
    """Remake all that is in maps/."""
    subprocess.run([sys.executable, "-m", "combe", "demo", "--out", str(FOLDER)], cwd=ROOT, check=True)
    for raster in FOLDER.glob("*.tif"):
        raster.unlink()
    photograph(FOLDER / "map.html", FOLDER / "demo.png")


if __name__ == "__main__":
    main()
