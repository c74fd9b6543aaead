"""Plays a planning story on the desk with the demo, and takes a picture of each step.

Run from anywhere, with the test extra and Chromium installed: ``python tests/remake_desk_story.py FOLDER``.
The pictures go into the folder, and the one for README into maps/ as well.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import sync_playwright

from remake_maps import FOLDER, SIZE, small_picture
from support_browser import FLAGS, find_chromium
from support_story import DeskTab, open_desk, written_study

RELAY: Final = "Larkcombe"
OF_README: Final = "two relays"
"""The step whose picture README shows."""

LOOKED_AT: Final = """() => {
    document.activeElement.blur();
    for (let part = document.querySelector(".work"); part; part = part.parentElement) part.scrollTop = 0;
}"""
"""Nothing is being written, and the work is shown from its top."""


def story(page: DeskTab) -> Iterator[str]:
    """Play the story; each name is of a step that can be looked at."""
    tab = page.tab
    yield "opened"
    page.take_hold(RELAY, -60, 34)
    yield "in hand"
    with page.settles():
        tab.mouse.up()
    yield "settled"
    page.click("#undo")
    page.press(RELAY, "ArrowUp", "ArrowLeft")
    yield "by keys"
    page.click("#undo")
    page.write("Aerial height, m", "45")
    page.write("Mux C, ERP in W", "100")
    yield "changed"
    tab.get_by_label("Aerial height, m").fill("900")
    tab.get_by_label("Aerial height, m").press("Tab")
    tab.locator(".fault:not([hidden])").first.wait_for()
    yield "refused"
    tab.get_by_role("button", name=f"Read the feed of {RELAY}").click()
    tab.wait_for_selector("#sheet:not([hidden]) #sheet-answer table")
    yield "feed"
    tab.keyboard.press("Escape")
    page.keep("on the ridge")
    yield from hills(page)
    yield from more_relays(page)
    yield from beside(page)
    yield from kept(page)


def hills(page: DeskTab) -> Iterator[str]:
    """Look for hills, and put the relay on the best."""
    page.fold_all_but("hills-part")
    page.tab.locator("#hills").click()
    page.tab.wait_for_selector(".hill >> nth=4", timeout=300_000)
    yield "hills"
    with page.settles():
        page.tab.locator("#hills-list button").first.click()
    page.keep("on the best hill")
    yield "on the best hill"
    # Its feed fails there with the chain that it has.
    page.click("#undo")


def more_relays(page: DeskTab) -> Iterator[str]:
    """Add a relay on other channels where the search found a hill that hears well, and keep both."""
    page.fold_all_but("edit-part", "add-part")
    page.add("Southcombe", -80, 50)
    page.choose("Southcombe")
    page.write("Longitude, °", "-84.275")
    page.write("Latitude, °", "36.591")
    for service, channel in (("Mux A", "33"), ("Mux B", "36"), ("Mux C", "39")):
        page.write(f"{service}, channel", channel)
    page.tab.evaluate(LOOKED_AT)
    yield OF_README
    page.keep("two relays")


def beside(page: DeskTab) -> Iterator[str]:
    """Hold the variants against one another."""
    tab = page.tab
    page.fold_all_but("variants-part")
    yield "variants"
    tab.locator("#swipe-left").select_option("on the ridge")
    tab.locator("#swipe-right").select_option("two relays")
    tab.locator("#swipe").click()
    tab.wait_for_selector("#swipe-frame:not([hidden])")
    tab.locator("#swipe-at").fill("300")
    yield "side by side"
    tab.locator("#swipe").click()


def kept(page: DeskTab) -> Iterator[str]:
    """Explain a place, and save the study."""
    page.fold_all_but("place-part", "save-part")
    page.tab.locator("#explain").click()
    page.tab.wait_for_selector("#sheet:not([hidden]) .facts")
    yield "place"
    page.tab.keyboard.press("Escape")
    page.save("two_relays.toml")
    yield "saved"


def main(folder: Path) -> None:
    """Play the story and take its pictures."""
    path = find_chromium()
    if path is None:
        sys.exit("remake_desk_story: no chromium was found; install Debian's chromium")
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        study = written_study(Path(name) / "valley", 60.0)
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        with open_desk(study) as desk:
            tab: Any = browser.new_context(viewport=SIZE).new_page()
            page = DeskTab(tab, desk.address)
            for number, step in enumerate(story(page), start=1):
                picture = folder / f"{number:02}_{step.replace(' ', '_')}.png"
                small_picture(tab.screenshot(), picture)
                if step == OF_README:
                    shutil.copyfile(picture, FOLDER / "desk.png")
            if page.complaints:
                sys.exit("\n".join(page.complaints))
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
