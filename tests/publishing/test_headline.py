"""The figures that a reader in a hurry takes away: each stands in its own place."""

import re
from xml.etree import ElementTree

import pytest

from combe.planning.people_count import PeopleCount
from combe.publishing.map_people import _bar_html, headline_html
from combe.publishing.picture_parts import scale_bar

PEOPLE = PeopleCount(
    1309.0,
    1266.0,
    38.0,
    5.0,
    served_before=1100.0,
    newly_served=207.0,
    lost=41.0,
    limited_by_interference=9.0,
)  # fmt: skip


def test_the_bar_shows_those_served_as_before_the_newly_served_the_unserved_and_the_unknown():
    widths = [float(each) for each in re.findall(r'width="([\d.]+)%" height="18"', _bar_html(PEOPLE))]
    assert widths == pytest.approx([100.0 * each / 1309.0 for each in (1059.0, 207.0, 38.0, 5.0)], abs=0.001)


def test_the_headline_tells_each_figure_as_what_it_is():
    told = headline_html("All services", PEOPLE).replace("\u202f", " ")
    page = ElementTree.fromstring(f"<div>{told}</div>")
    words = " ".join("".join(page.itertext()).split())
    assert words.startswith("207 more people served (All services)")
    assert (
        "1 100 before, 1 266 after; 41 lose it to interference; 38 stay unserved, 9 of them by"
        in words.replace("\u202f", " ")
    )
    assert words.endswith("and for 5 there is no prediction.")


@pytest.mark.parametrize(("cell_size_m", "columns", "length_km"), [(100.0, 400, 5.0), (90.0, 130, 2.0)])
def test_the_scale_bar_is_as_long_as_it_says(cell_size_m, columns, length_km):
    bar = scale_bar((50, columns), cell_size_m, 1.0)
    assert f"{length_km:g} km" in bar
    cells = float(re.search(r'h([\d.]+)"', bar)[1])
    assert cells * cell_size_m / 1000.0 == pytest.approx(length_km, rel=0.01)
