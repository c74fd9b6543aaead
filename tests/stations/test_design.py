"""Aerials by their design: each kind, what a kind has not, nulls and ripple."""

import math

import pytest

from combe.errors import RangeError
from combe.stations.design import AerialDesign, clear_spacing_wavelengths, radiator_of, work_out_design
from combe.stations.radiation import gain_dbi
from combe.stations.stacking import dipole_panel, dipole_trough

YAGI = {"gain_dbi": 11.0, "horizontal_beamwidth_deg": 50.0, "vertical_beamwidth_deg": 60.0}


def test_a_line_of_dipoles_has_its_nulls_where_the_array_factor_has_them():
    """Four in phase, a wavelength apart: first null at asin(1/4) = 14.48 degrees."""
    worked = work_out_design(AerialDesign("dipoles", 4, polarization="vertical"))
    assert worked.null_above.angle_deg == pytest.approx(14.4775, abs=0.001)
    assert worked.null_below.angle_deg == pytest.approx(-14.4775, abs=0.001)
    assert worked.null_above.level_db < -100.0
    assert worked.ripple_db == pytest.approx(0.0, abs=1e-9)
    assert worked.aerial.horizontal_beamwidth_deg is None


def test_null_fill_leaves_what_was_asked_and_tilt_moves_the_beam():
    filled = work_out_design(AerialDesign("dipoles", 8, polarization="vertical", null_fill_percent=10.0))
    # 10 % of the beam's field is -20 dB, a little less with the element at that elevation.
    assert filled.null_below.level_db == pytest.approx(-20.0, abs=0.8)
    tilted = work_out_design(AerialDesign("dipoles", 8, polarization="vertical", tilt_deg=3.0))
    assert tilted.aerial.beam_elevation_deg == pytest.approx(-3.0, abs=0.1)
    assert tilted.null_above.angle_deg > 0.0 > tilted.null_below.angle_deg


def test_a_single_dipole_has_no_null_beside_its_beam():
    worked = work_out_design(AerialDesign("dipoles", polarization="horizontal"))
    assert worked.null_above is None
    assert worked.null_below is None


def test_two_stacked_yagis_gain_up_to_3_db():
    one, two = (gain_dbi(radiator_of(AerialDesign("yagis", n, 1.2, **YAGI))) for n in (1, 2))
    assert one == pytest.approx(11.0, abs=1e-6)
    assert 2.0 < two - one < 3.1


def test_the_harness_takes_its_loss():
    plain, lossy = (gain_dbi(radiator_of(AerialDesign("yagis", 2, loss_db=x, **YAGI))) for x in (0.0, 0.5))
    assert plain - lossy == pytest.approx(0.5)


@pytest.mark.parametrize("polarization", ["horizontal", "vertical"])
def test_trough_and_panel_are_those_of_stacking(polarization):
    trough = radiator_of(AerialDesign("trough", 4, polarization=polarization))
    assert gain_dbi(trough) == pytest.approx(gain_dbi(dipole_trough(4, polarization=polarization)))
    panel = radiator_of(AerialDesign("panels", 4, 0.75, polarization=polarization))
    assert gain_dbi(panel) == pytest.approx(gain_dbi(dipole_panel(4, polarization=polarization)))


def test_a_ring_of_panels_is_round_but_for_its_ripple():
    ring = AerialDesign("panels", 2, 0.75, bearings_deg=(0.0, 120.0, 240.0), radius_wavelengths=0.4)
    single = AerialDesign("panels", 2, 0.75)
    assert work_out_design(ring).ripple_db < 6.0 < work_out_design(single).ripple_db
    assert gain_dbi(radiator_of(ring)) < gain_dbi(radiator_of(single))


def test_the_boresight_turns_the_pattern_to_a_true_bearing():
    worked = work_out_design(AerialDesign("panels", 2, 0.75, boresight_deg=135.0))
    assert worked.aerial.beam_bearing_deg == pytest.approx(135.0, abs=0.1)
    pattern = worked.aerial.horizontal_pattern
    at = max(zip(pattern.relative_db, pattern.angle_deg, strict=True))
    assert math.isclose(at[1], 135.0, abs_tol=1.0)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"kind": "loops"}, "kind of an aerial is 'loops'; allowed: dipoles or yagis or trough or panels"),
        ({"kind": "yagis", **YAGI, "gain_dbi": None}, "gain_dbi of yagis is missing; allowed: a number"),
        ({"kind": "yagis", **YAGI, "opening_deg": 90.0}, "opening_deg of yagis is 90.0; allowed: none"),
        ({"kind": "trough", "direction": "sideways"}, "direction of trough is sideways; allowed: none"),
        ({"kind": "dipoles", "bearings_deg": (0.0, 90.0)}, r"bearings_deg of dipoles is \(0.0, 90.0\)"),
        ({"kind": "panels", "bearings_deg": (0.0, 90.0)}, "radius_wavelengths of panels is missing"),
        (
            {"kind": "panels", "radius_wavelengths": 0.5},
            "bearings_deg of panels is missing; allowed: one for",
        ),
    ],
)
def test_what_a_kind_has_not_is_refused(given, message):
    with pytest.raises(RangeError, match=message):
        AerialDesign(**given)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"kind": "dipoles", "count": 65}, "number of elements is 65; allowed: 1 to 64"),
        ({"kind": "dipoles", "count": 2, "spacing_wavelengths": 9.0}, "spacing_wavelengths is 9.0"),
        ({"kind": "trough", "opening_deg": 70.0}, "opening_deg is 70.0; allowed: 180, 90, 60 or 45"),
        ({"kind": "yagis", **YAGI, "gain_dbi": 20.0}, "gain_dbi of an element is 20.0; allowed: up to"),
        ({"kind": "dipoles", "polarization": "slant"}, "polarization of a dipole is 'slant'"),
        ({"kind": "dipoles", "loss_db": -1.0}, "loss_db of an aerial is -1.0; allowed: 0 to 20"),
    ],
)
def test_what_cannot_be_built_is_refused(given, message):
    with pytest.raises(RangeError, match=message):
        work_out_design(AerialDesign(**given))


@pytest.mark.parametrize("tilt_deg", [0.0, 1.0, 3.0, -2.0, 10.0])
@pytest.mark.parametrize("spacing", [1.0, 1.25, 2.0])
def test_the_beam_is_the_lobe_in_front_and_grating_lobes_are_told(tilt_deg, spacing):
    """Dipoles across a vertical plane radiate alike all round in it: lobes at sin θ = m/s − sin tilt."""
    worked = work_out_design(AerialDesign("dipoles", 4, spacing, tilt_deg=tilt_deg))
    assert worked.aerial.beam_elevation_deg == pytest.approx(-tilt_deg, abs=0.02)
    front = math.sin(math.radians(tilt_deg))
    sines = [m / spacing - front for m in range(-6, 7) if m and abs(m / spacing - front) <= 1.0]
    expected = sorted(math.degrees(math.asin(sine)) for sine in sines)
    full = sorted(lobe.angle_deg for lobe in worked.grating_lobes if lobe.level_db > -1e-6)
    assert full == pytest.approx(expected, abs=0.01)
    assert worked.aerial.vertical_beamwidth_deg == pytest.approx(50.8 / 4 / spacing, rel=0.15)


def test_a_lobe_that_is_only_half_in_sight_is_told_with_its_level():
    # Four in phase, 0.95 wavelengths apart: the next lobe would stand at sin θ = 1/0.95; towards
    # the zenith sin(4 · 0.95 π)/(4 sin(0.95 π)) is left, -0.55 dB.
    worked = work_out_design(AerialDesign("dipoles", 4, 0.95))
    level_db = 20 * math.log10(abs(math.sin(4 * 0.95 * math.pi) / (4 * math.sin(0.95 * math.pi))))
    assert [lobe.angle_deg for lobe in worked.grating_lobes] == pytest.approx([-90.0, 90.0], abs=0.01)
    assert [lobe.level_db for lobe in worked.grating_lobes] == pytest.approx([level_db] * 2, abs=1e-3)


def test_no_grating_lobe_under_the_clear_spacing_by_enough_nor_of_one_element():
    tilted = AerialDesign("dipoles", 4, 0.75, tilt_deg=1.0)
    assert clear_spacing_wavelengths(tilted) == pytest.approx(1.0 / (1.0 + math.sin(math.radians(1.0))))
    assert work_out_design(tilted).grating_lobes == ()
    assert work_out_design(AerialDesign("dipoles", 1)).grating_lobes == ()
    # A panel holds the zenith off.
    assert work_out_design(AerialDesign("panels", 4, 1.0, tilt_deg=1.5)).grating_lobes == ()


def test_grating_lobes_of_a_line_that_runs_sideways_are_bearings():
    line = AerialDesign("dipoles", 4, 2.0, polarization="vertical", direction="sideways", boresight_deg=40.0)
    worked = work_out_design(line)
    assert worked.aerial.beam_bearing_deg == pytest.approx(40.0, abs=0.01)
    # sin = ±1/2, ±1.
    found = sorted(lobe.angle_deg for lobe in worked.grating_lobes)
    assert found == pytest.approx([-90.0, -30.0, 30.0, 90.0], abs=0.01)
