"""Places of a layer: points, lines at a spacing along geodesics, outlines of polygons."""

import pyproj
import pytest
import shapely

from combe.errors import RangeError
from combe.geodesy import distance_km
from combe.terrain import Feature, Features, places_along
from combe.terrain.along import MOST_PLACES

LONLAT = pyproj.CRS.from_epsg(4326)


def layer(*shapes, crs=LONLAT, names=()):
    named = [{"name": each} for each in names] or [{}] * len(shapes)
    return Features(tuple(map(Feature, shapes, named)), crs, 0)


def test_points_stand_where_they_are_under_their_names():
    found = places_along(
        layer(shapely.Point(1.0, 50.0), shapely.MultiPoint([(2.0, 51.0), (3.0, 52.0)]), names=["A", "B\n2"]),
        1.0,
    )
    assert [(each.name, each.longitude_deg, each.latitude_deg) for each in found] == [
        ("A", 1.0, 50.0), ("B 2", 2.0, 51.0), ("B 2", 3.0, 52.0),
    ]  # fmt: skip
    assert {each.along_km for each in found} == {None}
    assert found[0].words == "A"


def test_a_line_has_places_at_the_spacing_and_at_both_ends():
    (start, middle, end) = (0.0, 0.0), (0.1, 0.0), (0.1, 0.1)
    found = places_along(layer(shapely.LineString([start, middle, end])), 5.0, "border")
    # On the equator 0.1° is 11.132 km; along the meridian there 11.057 km.
    assert [each.along_km for each in found] == pytest.approx([0.0, 5.0, 10.0, 15.0, 20.0, 22.189], abs=1e-3)
    assert (found[0].longitude_deg, found[0].latitude_deg) == start
    assert (found[-1].longitude_deg, found[-1].latitude_deg) == pytest.approx(end)
    # The fourth stands past the corner, on the second leg.
    assert (found[3].longitude_deg, found[3].latitude_deg * 110.574) == pytest.approx((0.1, 3.868), abs=2e-3)
    assert distance_km(*found[0][1:3], *found[1][1:3]) == pytest.approx(5.0)
    assert found[1].words == "border, 5.0 km"


def test_a_line_of_whole_spacings_has_its_end_once():
    found = places_along(layer(shapely.LineString([(0.0, 0.0), (0.1, 0.0)])), 0.5 * 11.1319491 - 1e-6)
    assert [each.along_km for each in found] == pytest.approx([0.0, 5.566, 11.132], abs=1e-3)


def test_an_outline_ends_where_it_began_and_holes_count():
    ring = [(0.0, 0.0), (0.2, 0.0), (0.2, 0.2), (0.0, 0.2)]
    hole = [(0.05, 0.05), (0.1, 0.05), (0.1, 0.1)]
    whole = places_along(layer(shapely.Polygon(ring)), 10.0)
    # Four sides of 22.264, 22.115, 22.264 and 22.115 km.
    assert len(whole) == 9
    assert len({(each.longitude_deg, each.latitude_deg) for each in whole}) == 9
    assert len(places_along(layer(shapely.Polygon(ring, [hole])), 10.0)) == 9 + 2
    drawn = shapely.GeometryCollection([shapely.Polygon(ring), shapely.Point(5.0, 5.0)])
    assert len(places_along(layer(drawn), 10.0)) == 10


def test_another_reference_system_is_taken_back_to_degrees():
    (found, _) = places_along(
        layer(shapely.LineString([(500_000.0, 0.0), (510_000.0, 0.0)]), crs=pyproj.CRS(32631)), 50.0
    )
    assert (found.longitude_deg, found.latitude_deg) == pytest.approx((3.0, 0.0), abs=1e-9)


def test_a_line_over_the_antimeridian_goes_the_short_way():
    found = places_along(layer(shapely.LineString([(179.9, 0.0), (-179.9, 0.0)])), 10.0)
    assert [each.along_km for each in found] == pytest.approx([0.0, 10.0, 20.0, 22.264], abs=1e-3)


def test_features_without_a_name_are_numbered_where_there_are_several():
    two = layer(shapely.Point(1.0, 1.0), shapely.Point(2.0, 2.0))
    assert [each.name for each in places_along(two, 1.0, "post")] == ["post 1", "post 2"]


def test_what_cannot_be_walked_is_told():
    line = layer(shapely.LineString([(0.0, 0.0), (5.0, 0.0)]))
    with pytest.raises(RangeError, match=r"spacing_km is 0; allowed: 0\.01 to 100"):
        places_along(line, 0)
    with pytest.raises(RangeError, match=f"number of places is over {MOST_PLACES}.*larger spacing_km"):
        places_along(line, 0.05)
    with pytest.raises(RangeError, match="corner of a line is nowhere on Earth"):
        places_along(layer(shapely.LineString([(1e9, 0.0), (1e9, 1e9)]), crs=pyproj.CRS(32631)), 1.0)
