"""Field maps of a station: patterns, ERP, provenance, errors."""

import numpy as np
import pytest

from combe.errors import RangeError, TerrainGapError
from combe.geodesy import bearing_deg
from combe.prediction.coverage import predict_coverage
from combe.stations.pattern import Pattern
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from support_prediction import RIDGE, sample_area, station


def test_one_map_a_service():
    transmitter = station(frequencies_mhz=(474.0, 600.0, 800.0))
    shares = []
    maps = predict_coverage(sample_area(), transmitter, progress=shares.append)
    assert [m.service for m in maps] == ["service 0", "service 1", "service 2"]
    assert [m.channel for m in maps] == [21, 22, 23]
    for m in maps:
        assert m.field_dbuv_m.shape == (sample_area().grid.rows, sample_area().grid.columns)
        assert m.field_dbuv_m.dtype == np.float32
        assert m.cells == np.isfinite(m.field_dbuv_m).sum() > 100_000
        assert m.sweep_s > 0.0
        assert "P.526" in m.provenance["model"]
    assert shares[-1] == 1.0
    assert shares == sorted(shares)


def test_erp_in_decibels():
    low = predict_coverage(sample_area(), station(erp_w=10.0))[0].field_dbuv_m
    high = predict_coverage(sample_area(), station(erp_w=1000.0))[0].field_dbuv_m
    np.testing.assert_allclose((high - low)[np.isfinite(high)], 20.0, atol=1e-4)


def test_horizontal_pattern_points_by_true_bearing():
    angles = np.arange(0.0, 360.0, 5.0)
    relative = np.where(np.abs(angles - 250.0) <= 40.0, 0.0, -30.0)
    pattern = Pattern(tuple(angles), tuple(relative), "horizontal", "test")
    area = sample_area()
    omni = predict_coverage(area, station(RIDGE))[0].field_dbuv_m
    beam = predict_coverage(area, station(RIDGE, horizontal_pattern=pattern))[0].field_dbuv_m
    x, y = cell_centres_m(area.grid)
    for row, column, inside in [(200, 20, True), (200, 320, False), (20, 140, False)]:
        lon, lat = (float(v) for v in to_lonlat_deg(area.grid, x[column], y[row]))
        towards = abs(bearing_deg(*RIDGE, lon, lat) - 250.0) < 35.0
        assert towards is inside
        assert omni[row, column] - beam[row, column] == pytest.approx(0.0 if inside else 30.0, abs=0.01)


def test_a_turned_and_tilted_aerial_is_the_tables_written_so():
    angles = np.arange(0.0, 360.0, 5.0)
    around = tuple(np.where(angles <= 80.0, 0.0, -30.0))
    elevations = np.arange(-90.0, 91.0)
    lobe = tuple(np.where(np.abs(elevations) <= 1.0, 0.0, -25.0))
    lower = tuple(np.where(np.abs(elevations + 2.0) <= 1.0, 0.0, -25.0))

    def field(horizontal, vertical, **turns):
        aerial = {
            "horizontal_pattern": Pattern(tuple(angles), horizontal, "horizontal", "test"),
            "vertical_pattern": Pattern(tuple(elevations), vertical, "vertical", "test"),
        }
        return predict_coverage(sample_area(), station(RIDGE, **aerial, **turns))[0].field_dbuv_m

    turned = field(around, lobe, bearing_deg=20.0, tilt_deg=2.0)
    np.testing.assert_allclose(turned, field(tuple(np.roll(around, 4)), lower), atol=1e-3)
    assert np.nanmax(np.abs(turned - field(around, lobe))) > 20.0


def test_vertical_pattern_is_by_elevation():
    pattern = Pattern(
        (-90.0, -60.0, -30.0, -4.0, -0.5, 29.0, 59.0, 89.0, 90.0),
        (-40.0, -40.0, -40.0, -20.0, 0.0, 0.0, 0.0, 0.0, 0.0),
        "vertical",
        "test",
    )
    area = sample_area()
    plain = predict_coverage(area, station(RIDGE))[0].field_dbuv_m
    shaped = predict_coverage(area, station(RIDGE, vertical_pattern=pattern))[0].field_dbuv_m
    loss = plain - shaped
    assert np.nanmin(loss) >= -1e-3
    assert np.nanmax(loss) > 15.0


def test_station_off_the_grid_or_the_terrain():
    with pytest.raises((RangeError, TerrainGapError)):
        predict_coverage(sample_area(), station((-85.5, 36.6)))


def test_station_on_a_void_names_the_station():
    # The grid's corner is outside the raster, whose edges run along meridians.
    area = sample_area()
    lon, lat = (float(v) for v in to_lonlat_deg(area.grid, area.grid.west_m + 20.0, area.grid.north_m - 20.0))
    with pytest.raises(TerrainGapError, match="Test"):
        predict_coverage(area, station((lon, lat)))
