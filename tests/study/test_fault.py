"""Faults as objects: what tells of them, what only repeats another, and where a row of a table is told."""

from __future__ import annotations

from types import SimpleNamespace

from combe.study.fault import Fault, is_within, missing, without_echoes
from combe.study.station_table import Teller

ROWS = SimpleNamespace(name="s.csv", stations=[{}], row_of=lambda station, _: None if station else 4)


def test_what_is_missing_where_it_is_misspelt_is_told_once():
    misspelt = Fault(("siting", "pepole"), "is no key of a study", meant=("siting", "people"))
    echo, inner = (
        missing(("siting", "people"), "write it"),
        missing(("siting", "people", "raster"), "write it"),
    )
    lacks = Fault(("siting",), "has no people", lacks=("siting", "people"))
    other, wrong = missing(("siting", "people_near"), "write it"), Fault(("siting", "people"), "is 3")
    assert without_echoes([misspelt, echo, inner, lacks, other, wrong]) == [misspelt, other, wrong]


def test_a_place_is_told_by_its_row_where_the_table_has_it():
    teller = Teller(ROWS, 2)
    places = {
        (): "",
        ("stations",): "stations",
        ("stations", 0, "role"): "stations[0].role",
        ("stations", 1): "s.csv row 4",
        ("stations", 1, "role"): "s.csv row 4, role",
        ("stations", 1, "services", 0, "erp_w"): "s.csv row 4, erp_w",
        ("stations", 1, "feed", "aerial", "gain_dbi"): "s.csv row 4, feed_aerial.gain_dbi",
        ("stations", 1, "feed"): "s.csv row 4, feed",
    }
    assert {place: teller.place(place) for place in places} == places
    assert Teller(None, 2).place(("stations", 1, "role")) == "stations[1].role"


def test_a_fault_is_told_with_the_words_and_places_of_its_row():
    feed = missing(("stations", 1, "feed"), "write a table", in_row="fill in the column")
    twice = Fault(("stations", 0), "is called as (also ", other=("stations", 1), after="); rename one")
    assert Teller(ROWS, 2).fault(feed) == "s.csv row 4, feed: is missing; fill in the column"
    assert Teller(None, 2).fault(feed) == "stations[1].feed: is missing; write a table"
    assert Teller(ROWS, 2).fault(twice) == "stations[0]: is called as (also s.csv row 4); rename one"
    assert Teller(ROWS, 2).fault(Fault((), "s.csv row 9: is short")) == "s.csv row 9: is short"


def test_a_place_lies_in_its_sections_alone():
    assert is_within(("grid", "area_deg"), ("grid",))
    assert is_within(("grid",), ("grid",))
    assert not is_within(("grids",), ("grid",))
    assert not is_within((), ("grid",))
