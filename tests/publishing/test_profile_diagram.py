"""Tests of the profile diagram."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from combe.errors import ProfileError, RangeError
from combe.publishing.profile_diagram import (
    MOST_DRAWN,
    NAME_SHARE,
    RareAir,
    lay_out_profile,
    lift_points,
    profile_svg,
    rare_edge_words,
    rare_words,
    span_m,
    thinned,
)

X = np.linspace(0.0, 20.0, 201)
H = 100 + 80 * np.exp(-(((X - 8) / 1.5) ** 2))
COMMON = {
    "tx_height_amsl_m": 160.0,
    "rx_height_amsl_m": 120.0,
    "frequency_mhz": 600.0,
    "effective_radius_km": 8500.0,
}
NAMES = {"tx_name": "Highmoor", "rx_name": "Lowgate"}


def test_lines_of_the_drawing():
    drawing = lay_out_profile(X, H, **COMMON)
    # Bulge d1·d2/(2·ae): 10 km × 10 km / 17000 km = 5.882 m at the middle.
    assert drawing.base_m[100] == pytest.approx(5.882, abs=5e-4)
    assert drawing.ground_m[0] == H[0]
    assert drawing.sight_m[[0, 100, -1]].tolist() == [160.0, 140.0, 120.0]
    # First Fresnel radius at the middle: √(0.49965 m × 5000 m) = 49.98 m; 0.6 of it.
    assert drawing.zone_m[100] == pytest.approx(0.6 * 49.983, abs=2e-3)
    assert drawing.zone_m[[0, -1]].tolist() == [0.0, 0.0]


def test_diagram_says_what_it_shows_as_text():
    words = "".join(
        ET.fromstring(profile_svg(X, H, **COMMON, **NAMES, edge_index=80, title="A path")).itertext()
    )
    for word in (
        "Highmoor",
        "Lowgate",
        "160 m",
        "controlling edge at 8.0 km",
        "over the line of sight",
        "distance (km)",
    ):
        assert word in words
    assert "0.6 of first Fresnel zone" in words
    assert "8\u202f500 km" in words


def test_a_name_clears_the_line_that_rises_beside_it():
    """With ends 20 m apart over 20 km the zone is nearly level; 900 m higher it would cross the name."""
    level, rising = (
        lay_out_profile(X, H, **(COMMON | {"rx_height_amsl_m": height})) for height in (180.0, 1060.0)
    )
    for drawing in (level, rising):
        low, high = span_m(drawing)
        near = drawing.distance_km <= NAME_SHARE * 20.0
        zone = (drawing.sight_m + drawing.zone_m)[near].max() - drawing.sight_m[0]
        assert lift_points(drawing, 0) == pytest.approx(zone / (high - low) * 245.0)
    assert lift_points(rising, 0) > 12.0
    assert lift_points(rising, -1) < 3.0


def test_no_edge_no_mark():
    assert "controlling edge" not in profile_svg(X, H, **COMMON, **NAMES, edge_index=None)


def test_same_input_gives_the_same_bytes_without_a_date():
    first, second = (profile_svg(X, H, **COMMON, **NAMES, edge_index=80) for _ in range(2))
    assert first == second
    assert "dc:date" not in first


def test_hostile_names_are_drawn_as_they_are():
    hostile = "</text><script>alert(1)</script> $\\frac{1}{0}$ \x00"
    svg = profile_svg(X, H, **COMMON, tx_name=hostile, rx_name="$$", title=hostile, edge_index=None)
    assert "<script" not in svg
    assert "$\\frac{1}{0}$" in "".join(ET.fromstring(svg).itertext())


@pytest.mark.parametrize("name", ["谷の中継所", "עמק", "घाटी", "𝒳"])
def test_names_that_the_font_here_lacks_stand_as_words(name):
    """A browser finds a font for them; matplotlib's warning would be an error of this test."""
    svg = profile_svg(X, H, **COMMON, tx_name=name, rx_name="Lärche", title=name, edge_index=None)
    words = "".join(ET.fromstring(svg).itertext())
    assert words.count(name) == 2
    assert "Lärche" in words


def test_bad_profiles():
    with pytest.raises(ProfileError, match="has voids"):
        profile_svg(X, np.where(X > 5, np.nan, H), **COMMON, **NAMES, edge_index=None)
    with pytest.raises(ProfileError, match=r"has shapes \(2,\) and \(2,\)"):
        profile_svg(X[:2], H[:2], **COMMON, **NAMES, edge_index=None)
    with pytest.raises(ProfileError, match="controlling edge 0 is not between the ends"):
        profile_svg(X, H, **COMMON, **NAMES, edge_index=0)
    with pytest.raises(RangeError, match="frequency_mhz is 0; allowed: over 0"):
        lay_out_profile(X, H, **{**COMMON, "frequency_mhz": 0})


def test_ground_cover_stands_on_the_ground_between_the_ends():
    cover = np.where((X > 7) & (X < 9), 25.0, 5.0)
    drawing = lay_out_profile(X, H, **COMMON, cover_height_m=cover)
    assert drawing.top_m[80] == pytest.approx(drawing.ground_m[80] + 25.0)
    assert drawing.cover_m[[0, 1, -2, -1]].tolist() == [0.0, 5.0, 5.0, 0.0]
    assert cover[0] == 5.0
    plain = profile_svg(X, H, **COMMON, **NAMES, edge_index=80)
    covered = profile_svg(X, H, **COMMON, **NAMES, edge_index=80, cover_height_m=cover)
    assert ("ground cover" in plain, "ground cover" in covered) == (False, True)
    # The edge stands 25 m higher over the line than the bare ground does: 36.0 m by ground, 61.0 m by cover.
    over_m = float(drawing.ground_m[80] - drawing.sight_m[80])
    assert f"{over_m:.0f} m over the line" in plain
    assert f"{over_m + 25:.0f} m over the line" in covered
    assert "ground cover" not in profile_svg(
        X, H, **COMMON, **NAMES, edge_index=80, cover_height_m=np.zeros(201)
    )


def words_in(svg):
    return "".join(ET.fromstring(svg).itertext())


def test_the_line_of_sight_in_a_second_air():
    """At half the radius the middle bulges 5.882 m more: the line is as much lower over the same ground."""
    drawing = lay_out_profile(X, H, **COMMON)
    assert drawing.bent_m(8500.0, 4250.0)[100] == pytest.approx(140.0 - 5.8824, abs=1e-4)
    assert drawing.bent_m(8500.0, 4250.0)[[0, -1]].tolist() == [160.0, 120.0]
    rare = RareAir(4250.0, 99.9, 80)
    label = "line of sight at k 0.67, exceeded for 99.9 % of time: up to 5.9 m lower"
    assert rare_words(drawing, 8500.0, rare) == label
    assert rare_words(drawing, 4250.0, RareAir(8500.0, 99.9, 80)).endswith("m higher")
    plain = profile_svg(X, H, **COMMON, **NAMES, edge_index=80)
    drawn = profile_svg(X, H, **COMMON, **NAMES, edge_index=80, rare=rare)
    assert (label in words_in(plain), label in words_in(drawn)) == (False, True)
    # By ground and bulge: 180 + 8 · 12 / 17 = 185.647 m; the line at 144 m, and 5.647 m lower by the second.
    assert "controlling edge at 8.0 km, 42 m over the line of sight" in words_in(drawn)
    assert "at k 0.67: 47 m over that line (1.0 ×)" in words_in(drawn)
    assert "stroke-dasharray: 6.3,1.8,0.9,1.8" in drawn, "told from other lines without its colour"


def test_another_edge_in_the_second_air_has_a_sign_and_a_place_of_its_own():
    drawing, rare = lay_out_profile(X, H, **COMMON), RareAir(4250.0, 99.9, 90)
    words = rare_edge_words(drawing, 8500.0, rare, 80)
    assert words.startswith("at k 0.67: the edge ▽ at 9.0 km, ")
    assert words in words_in(profile_svg(X, H, **COMMON, **NAMES, edge_index=80, rare=rare))
    with pytest.raises(ProfileError, match="controlling edge 200 is not between the ends"):
        profile_svg(X, H, **COMMON, **NAMES, edge_index=80, rare=rare._replace(edge_index=200))


@pytest.mark.parametrize("cover", [np.zeros(5), np.full(201, np.nan), np.full(201, -1.0)])
def test_cover_that_is_none(cover):
    with pytest.raises(ProfileError, match=r"ground cover has shape .*; allowed: \(201,\), each 0 m or more"):
        profile_svg(X, H, **COMMON, **NAMES, edge_index=None, cover_height_m=cover)


def test_a_path_of_many_samples_is_a_small_picture_with_all_its_peaks():
    noise = np.random.default_rng(4)
    x, h = np.linspace(0.0, 50.0, 6001), 300.0 + noise.uniform(-5.0, 5.0, 6001)
    cover = noise.choice([0.0, 15.0], 6001)
    cover[3333], h[2222] = 60.0, 200.0
    drawing = lay_out_profile(x, h, **COMMON, cover_height_m=cover)
    drawn = thinned(drawing)
    assert MOST_DRAWN / 2 < drawn.distance_km.size <= MOST_DRAWN
    assert (drawn.distance_km[0], drawn.distance_km[-1]) == (0.0, 50.0)
    assert drawn.top_m.max() == drawing.top_m.max()
    assert drawn.ground_m.min() == drawing.ground_m.min()
    assert np.isin(drawn.top_m, drawing.top_m).all()
    assert (np.diff(drawn.distance_km) > 0.0).all()
    few = lay_out_profile(X, H, **COMMON)
    assert thinned(few) is few
    assert (
        len(profile_svg(x, h, **COMMON, edge_index=3333, tx_name="A", rx_name="B", cover_height_m=cover))
        < 300_000
    )
