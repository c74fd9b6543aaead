"""The map on paper: relief, coverage and people are in the pixels of the PDF, however it was printed."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

import support_pages

pytestmark = pytest.mark.browser

POINTS_A_MM = 72.0 / 25.4
MAP_MM, MARGIN_MM = (172.0, 184.0), 10.0

SAMPLES = """() => {
  combe.toPaper(true);
  const bounds = combe.latticeBounds(), onPaper = (place) => combe.map.latLngToContainerPoint(place);
  const west = onPaper(bounds.getNorthWest()), east = onPaper(bounds.getSouthEast());
  const places = combe.data.people.map((one) => onPaper([one.lat, one.lon]));
  const tell = combe.storyTeller(0), { rows, columns } = combe.data.lattice, found = [];
  for (let y = 2; y < rows; y += 4) for (let x = 2; x < columns; x += 4) {
    const cell = combe.cellOfPixel[y * columns + x];
    if (cell < 0) continue;
    const across = (x + 0.5) / columns, down = (y + 0.5) / rows;
    const at = L.point(west.x + (east.x - west.x) * across, west.y + (east.y - west.y) * down);
    if (!places.some((place) => place.distanceTo(at) < 14)) found.push([tell(cell), at.x, at.y]);
  }
  const people = combe.data.people.map((one, n) => [one.state, places[n].x, places[n].y]);
  combe.toPaper(false);
  return { ground: found, people };
}"""


@pytest.fixture(scope="module")
def map_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("map") / "map.html"
    path.write_text(support_pages.all_pages()["map"], encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def samples(chromium: Any, map_file: Path) -> dict[str, Any]:
    """Return places of the map on paper [px], and what stands there."""
    tab = chromium.new_page()
    tab.goto(map_file.as_uri())
    tab.wait_for_selector("body[data-ready=yes]")
    found: dict[str, Any] = tab.evaluate(SAMPLES)
    tab.close()
    return found


def by_window(chromium: Any, command: list[str], map_file: Path, tmp_path: Path) -> Path:
    tab = chromium.new_page()
    tab.goto(map_file.as_uri())
    tab.pdf(path=tmp_path / "map.pdf", format="A4")
    tab.close()
    return tmp_path / "map.pdf"


def by_command_line(chromium: Any, command: list[str], map_file: Path, tmp_path: Path) -> Path:
    own = (f"--user-data-dir={tmp_path / 'profile'}", "--no-pdf-header-footer")
    made = f"--print-to-pdf={tmp_path / 'map.pdf'}"
    words = [*command, "--headless", *own, made, map_file.as_uri()]
    subprocess.run(words, check=True, capture_output=True, timeout=120)
    return tmp_path / "map.pdf"


@pytest.mark.parametrize("way", [by_window, by_command_line])
def test_the_printed_map_shows_relief_coverage_and_people(
    way: Any,
    chromium: Any,
    chromium_command: list[str],
    map_file: Path,
    samples: dict[str, Any],
    tmp_path: Path,
) -> None:
    dots_a_mm = 8.0
    sheet = pypdfium2.PdfDocument(way(chromium, chromium_command, map_file, tmp_path))[0]
    picture = sheet.render(scale=dots_a_mm / POINTS_A_MM).to_numpy()[..., 2::-1].astype(float)

    def seen(places: list[list[Any]]) -> np.ndarray:
        mm = np.array([place[1:] for place in places]) / 96.0 * 25.4 + MARGIN_MM
        column, row = (mm * dots_a_mm).astype(int).T
        colours: np.ndarray = picture[row, column]
        return colours

    red, _, blue = 0, 1, 2
    parts = {state: seen([one for one in samples["ground"] if one[0] == state]) for state in (2, 1, 0)}
    before, newly, bare = (np.median(parts[state], axis=0) for state in (2, 1, 0))
    assert min(len(part) for part in parts.values()) > 50
    assert before[blue] - before[red] > 10
    assert newly[red] - newly[blue] > 40
    assert abs(bare[red] - bare[blue]) < 25
    assert np.ptp(parts[0].mean(axis=1)) > 25  # light and shade of the relief
    served = seen([one for one in samples["people"] if one[0] == "served before"])
    assert np.median(served.mean(axis=1)) < np.median(parts[2].mean(axis=1)) - 50


PAPERS = [("A4", 297.0, 1.0), ("A3", 420.0, 1.4), ("Letter", 279.4, 1.0)]
WORDS = (
    "Lowgate relay",
    "Who is served",
    "Ground newly served",
    "Off-air feed path",
    "km",
    "ground: invented ridges",
)


@pytest.mark.parametrize("landscape", [True, False])
@pytest.mark.parametrize(("paper", "wide_mm", "zoom"), PAPERS, ids=[each[0] for each in PAPERS])
def test_the_sheet_fills_the_paper_that_is_chosen(
    chromium: Any,
    map_file: Path,
    samples: dict[str, Any],
    tmp_path: Path,
    paper: str,
    wide_mm: float,
    zoom: float,
    landscape: bool,
) -> None:
    tab = chromium.new_page()
    tab.goto(map_file.as_uri())
    tab.pdf(path=tmp_path / "map.pdf", format=paper, landscape=landscape)
    tab.close()
    sheet = pypdfium2.PdfDocument(tmp_path / "map.pdf")[0]
    assert sheet.get_size()[0] / POINTS_A_MM == pytest.approx(wide_mm, abs=0.5)
    text = " ".join(sheet.get_textpage().get_text_range().split())
    assert [words for words in WORDS if words not in text] == []
    picture = sheet.render(scale=4.0 / POINTS_A_MM).to_numpy()[..., 2::-1].astype(float)
    # Nothing reaches into the margin, and the sheet is used from one side to the other.
    inked = np.flatnonzero((picture.mean(axis=2) < 250.0).any(axis=0)) / 4.0
    assert 9.0 < inked.min() < 11.0
    assert wide_mm - 16.0 < inked.max() < wide_mm - 9.0
    places = {
        state: np.array([one[1:] for one in samples["ground"] if one[0] == state]) * zoom / 96.0 * 25.4 + 10.0
        for state in (2, 1)
    }
    before, newly = (
        np.median(picture[(at[:, 1] * 4.0).astype(int), (at[:, 0] * 4.0).astype(int)], axis=0)
        for at in places.values()
    )
    assert before[2] - before[0] > 10
    assert newly[0] - newly[2] > 40


def test_the_samples_are_of_the_whole_map(samples: dict[str, Any]) -> None:
    at = np.array([place[1:] for place in samples["ground"]]) / 96.0 * 25.4
    assert at.min() > 0.0
    assert (at.max(axis=0) < MAP_MM).all()
    assert len(samples["people"]) == len(support_pages.shadowed_map().people)


def test_after_printing_the_map_is_as_it_was(open_html: Any) -> None:
    tab = open_html(support_pages.all_pages()["map"]).page
    count = "document.querySelectorAll('{}').length"
    state = f"[combe.map.getZoom(), {count.format('.people-on-paper')}, {count.format('details[open]')}]"
    first = tab.evaluate(state)
    tab.pdf()
    assert tab.evaluate(state) == first
    assert first[1:] == [0, 0]
    tab.uncheck("#mark-people")
    tab.evaluate("combe.toPaper(true)")
    assert tab.locator(".people-on-paper").count() == 0
