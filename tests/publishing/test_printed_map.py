"""The map on paper: relief, coverage and people together, by the pixels of the PDF that a browser prints."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

import support_map_page as support
from combe.publishing.map_page import render_map

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def rendered():
    return render_map(support.map_page())


@pytest.fixture
def sheet(rendered, open_html):
    """Return the first sheet of the printed page as pixels, shape (rows, columns, 3), a pixel a point."""
    printed = open_html(rendered).page.pdf(print_background=True, prefer_css_page_size=True)
    return pypdfium2.PdfDocument(printed)[0].render(scale=1.0).to_numpy()[:, :, :3]


def test_ground_and_coverage_are_not_hidden_under_the_people(sheet):
    rows, columns, _ = sheet.shape
    frame = sheet[int(0.15 * rows) : int(0.65 * rows), int(0.2 * columns) : int(0.5 * columns)].astype(int)
    white = np.all(frame > 250, axis=2)
    assert white.mean() < 0.2
    assert np.unique(frame.reshape(-1, 3), axis=0).shape[0] > 20


def test_people_are_on_the_sheet_and_back_on_the_screen_after_it(rendered, open_html):
    page = open_html(rendered).page
    marks = "document.querySelectorAll('svg.people-print path').length"
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    drawn = page.evaluate(marks)
    assert drawn >= page.evaluate("combe.data.people.length") > 0
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.evaluate(marks) == 0
    assert page.evaluate("!document.querySelector('.leaflet-people-pane canvas').hidden")
