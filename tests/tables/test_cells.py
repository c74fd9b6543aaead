"""Numbers, angles, grid references and powers as other people write them."""

import doctest
import importlib

import pytest

from combe.tables.angles import angle_in
from combe.tables.cells import CellError, decimal_sign, plain_number
from combe.tables.grid_letters import grid_place_m, grid_system
from combe.tables.places import crs_named, to_degrees
from combe.tables.powers import erp_in_w


@pytest.mark.parametrize("name", ["angles", "cells", "columns", "grid_letters", "powers", "text_file"])
def test_examples(name):
    assert doctest.testmod(importlib.import_module(f"combe.tables.{name}")).failed == 0


@pytest.mark.parametrize(
    ("cells", "sign"),
    [
        (["47,1"], ","),
        (["47.1"], "."),
        (["12", "Hill"], "."),
        (["1,234", "47.5"], "."),
        (["1.234", "47,5"], ","),
        (["0,125"], ","),
        (["1.234,5"], ","),
        (["1,234.5"], "."),
        (["47,1", "9.5"], "."),
    ],
)
def test_the_sign_before_decimals(cells, sign):
    assert decimal_sign(cells) == sign


def test_a_comma_that_may_be_either_is_asked_for():
    with pytest.raises(CellError, match=r"47,123 may be 47.123 or 47123"):
        decimal_sign(["47,123", "9,512"])


@pytest.mark.parametrize(
    ("cell", "sign", "plain"),
    [
        ("47,1", ",", "47.1"),
        ("1.234,5", ",", "1234.5"),
        ("1.234", ",", "1234"),
        ("1\u202f234,5", ",", "1234.5"),
        ("1'234", ".", "1234"),
        ("\u22127,5", ",", "-7.5"),
        ("", ",", ""),
        ("n/a", ",", "n/a"),
        ("12 34", ".", "12 34"),
        ("47,1", ".", "47,1"),
    ],
)
def test_plain_numbers(cell, sign, plain):
    assert plain_number(cell, sign) == plain


def test_a_point_among_decimal_commas():
    with pytest.raises(CellError, match=r"'9.5' has a decimal point, and the table decimal commas"):
        plain_number("9.5", ",")


@pytest.mark.parametrize(
    ("cell", "axis", "degrees"),
    [
        ("47.21", "latitude", 47.21),
        ("47°12'36\"N", "latitude", 47.21),
        ("47° 12′ 36,0″ N", "latitude", 47.21),
        ("47 12.6", "latitude", 47.21),
        ("-9:30:36", "longitude", -9.51),
        ("W 9d30m36s", "longitude", -9.51),
        ("9°30'36''w", "longitude", -9.51),
        ("47N1236", "latitude", 47.21),
        ("009W3036", "longitude", -9.51),
        ("47°12'36s", "latitude", 47.21),
        ("9.51 E", "longitude", 9.51),
    ],
)
def test_angles(cell, axis, degrees):
    assert angle_in(cell, axis) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize(
    ("cell", "axis", "words"),
    [
        ("9°30'E", "latitude", "is a longitude; are the columns exchanged?"),
        ("9°30'O", "longitude", "O may be Ost, east, or Ouest, west; write E or W"),
        ("47°60'N", "latitude", "has 60 minutes or seconds"),
        ("-47°12'N", "latitude", "has a sign and a letter"),
        ("N 47 12 N", "latitude", "has two letters"),
        ("here", "latitude", "is no angle; write degrees, as 47.2094 or 47°12'34\"N"),
        ("", "latitude", "is no angle"),
        ("47,1; 9,5", "latitude", "is no angle"),
    ],
)
def test_what_is_no_angle(cell, axis, words):
    with pytest.raises(CellError) as caught:
        angle_in(cell, axis)
    assert words in str(caught.value)


def test_grid_references():
    # Ordnance Survey, A guide to coordinate systems in Great Britain (the worked example, from memory).
    assert grid_place_m("TG 51409 13177") == (651409.5, 313177.5)
    assert grid_place_m("tg5113") == (651500.0, 313500.0)
    assert (grid_system("NY 12 34"), grid_system("O 15 34")) == ("EPSG:27700", "EPSG:29903")
    assert grid_place_m("NY 12 34") == (312500.0, 534500.0)
    assert grid_place_m("V 00 00") == (500.0, 500.0)
    lon, lat = to_degrees(crs_named("t", "EPSG:27700"), [651409.903], [313177.270])
    assert lon[0] == pytest.approx(1.71605, abs=1e-4)
    assert lat[0] == pytest.approx(52.65798, abs=1e-4)
    for wrong in ("NY 123 45", "NI 12 34", "12 34", "NY", "NY 1 2"):
        with pytest.raises(CellError, match="grid_reference"):
            grid_place_m(wrong)


@pytest.mark.parametrize(
    ("cell", "column", "watts"),
    [
        ("100", "erp_w", 100.0),
        ("0,5", "erp_kw", 500.0),
        ("20", "erp_dbw", 100.0),
        ("50", "erp_dbm", 100.0),
        ("-10", "erp_dbk", 100.0),
        ("22,15", "eirp_dbw", 100.0),
        ("164.059", "eirp_w", 100.0),
        ("1,5 kW", "erp_w", 1500.0),
        ("50 dBm", "erp_dbw", 100.0),
    ],
)
def test_powers(cell, column, watts):
    assert erp_in_w(cell, column, "," if "," in cell else ".") == pytest.approx(watts, rel=1e-5)


@pytest.mark.parametrize(
    ("cell", "column", "words"),
    [
        ("", "erp_kw", "is empty"),
        ("much", "erp_kw", "is no number"),
        ("10 MW", "erp_w", "is in milliwatts or megawatts"),
        ("1000", "erp_dbw", "is the unit another?"),
    ],
)
def test_what_is_no_power(cell, column, words):
    with pytest.raises(CellError, match=words):
        erp_in_w(cell, column)
