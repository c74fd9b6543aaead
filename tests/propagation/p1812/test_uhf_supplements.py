"""P.1812-8 at UHF on the official profiles: from a run of the Study Group 3 reference code, not official."""

from __future__ import annotations

import pytest

from combe.propagation.p1812 import predict_path
from support_p1812 import PUBLIC_SOURCE, case_names, read_case

FREQUENCIES_MHZ = (474.0, 600.0, 858.0)
SUPPLEMENTS = {
    ("b2iseac_rural_land_10km", 1.0): (138.489263, 141.580866, 146.270450),
    ("b2iseac_rural_land_10km", 50.0): (141.334774, 144.426353, 149.115868),
    ("b2iseac_rural_land_1km_eqdist", 1.0): (110.146410, 112.995005, 117.439378),
    ("b2iseac_rural_land_1km_eqdist", 50.0): (111.542345, 114.556890, 119.170190),
    ("rburg_rural_noclutter", 1.0): (143.778106, 144.826742, 148.302537),
    ("rburg_rural_noclutter", 50.0): (175.369251, 178.538391, 183.220093),
}


@pytest.mark.parametrize(("profile", "time_percent"), SUPPLEMENTS)
def test_uhf(profile: str, time_percent: float) -> None:
    if f"{profile}_0" not in case_names():
        pytest.skip(f"no validation set of P.1812: get it from {PUBLIC_SOURCE}, set COMBE_REFERENCE_DATA")
    case = read_case(f"{profile}_0")
    asked = case.asked | {"time_percent": time_percent, "tx_height_m": 60.0, "rx_height_m": 10.0}
    for frequency_mhz, expected in zip(FREQUENCIES_MHZ, SUPPLEMENTS[profile, time_percent], strict=True):
        found = predict_path(*case.arrays, **(asked | {"frequency_mhz": frequency_mhz}))
        assert found.basic_transmission_loss_db == pytest.approx(expected, abs=1e-5)


def test_the_mixed_path_with_vertical_polarization() -> None:
    """Check the published set-up b2iseac_vertical_2: the profile of b2iseac, the other polarization."""
    if "b2iseac_2" not in case_names():
        pytest.skip(f"no validation set of P.1812: get it from {PUBLIC_SOURCE}, set COMBE_REFERENCE_DATA")
    case = read_case("b2iseac_2")
    found = predict_path(*case.arrays, **(case.asked | {"polarization": "vertical"}))
    assert found.diffraction_median_db == pytest.approx(40.5254, abs=5e-5)
    assert found.diffraction_beta_db == pytest.approx(14.2331, abs=5e-5)
    assert found.basic_transmission_loss_db == pytest.approx(159.481885, abs=2e-6)
    assert found.field_strength_dbuv_m == pytest.approx(19.459973, abs=2e-6)
