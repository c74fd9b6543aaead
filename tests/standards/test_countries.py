"""The table of countries."""

import pytest

from combe.errors import RangeError
from combe.standards import (
    CHANNEL_RASTERS,
    COUNTRIES,
    TELEVISION_SYSTEMS,
    channel_edges_mhz,
    country_named,
)


@pytest.mark.parametrize("row", COUNTRIES.values(), ids=COUNTRIES)
def test_each_row_fits_the_other_tables(row):
    raster = CHANNEL_RASTERS[row.channel_raster]
    for practice in row.practices:
        family = TELEVISION_SYSTEMS[practice.system]
        assert CHANNEL_RASTERS[family.channel_raster].width_mhz == raster.width_mhz
        if practice.mode is not None and practice.mode.modulation:
            assert (practice.mode.modulation, practice.mode.code_rate) in family.modes
    if row.uhf_channels is not None:
        assert set(row.uhf_channels) <= set(raster.channels)
        assert row.uhf_channels[0] < row.uhf_channels[1]
    assert 28.0 <= row.delta_n <= 75.0, "the range of the maps at these places"
    assert 299.0 <= row.n0 <= 386.0


@pytest.mark.parametrize(
    ("code", "top_mhz"),
    [("GB", 694), ("RU", 790), ("US-east", 608), ("JP", 710), ("AU-north", 694), ("BR-amazon", 698)],
)
def test_the_last_channel_ends_where_the_band_of_television_does(code, top_mhz):
    row = COUNTRIES[code]
    assert channel_edges_mhz(row.channel_raster, row.uhf_channels[1])[1] == top_mhz


@pytest.mark.parametrize(
    ("given", "code"), [("at", "AT"), ("AUT", "AT"), ("austria", "AT"), ("au-NORTH", "AU-north")]
)
def test_a_country_is_found_by_either_code_and_by_its_name(given, code):
    assert country_named(given).code == code


def test_a_country_of_several_airs_has_what_its_parts_share():
    whole = country_named("AUS")
    assert (whole.code, whole.name, whole.practices) == ("AU", "Australia", COUNTRIES["AU-north"].practices)
    assert (whole.delta_n, whole.n0, whole.climate, whole.parents) == (None, None, None, None)
    assert "AU-north delta_n 61 and n0 373" in whole.note
    assert "horizontal and vertical in AU-north" in whole.note
    assert country_named("USA").parents == "horizontal"


def test_a_country_without_a_row_is_told_with_what_is_near():
    with pytest.raises(RangeError, match="country is Germny; allowed: DE for Germany; where there is no row"):
        country_named("Germny")
    with pytest.raises(RangeError, match=r"country is BE; allowed: AE, AR, AT, .*, ZM; "):
        country_named("BE")


def test_nothing_is_known_where_the_table_says_nothing():
    assert COUNTRIES["FJ"].practices[0].mode is None
    assert (COUNTRIES["FJ"].parents, COUNTRIES["FJ"].polarization) == (None, "")
    assert COUNTRIES["CH"].practices == ()
