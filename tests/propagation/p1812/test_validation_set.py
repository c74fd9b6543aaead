"""P.1812-8 against the Study Group 3 validation set.

Every final value and every intermediate of each log is a case of evidence (``combe.evidence.p1812_set``),
which tests/evidence runs; here is what that rests on: that the set is there, and is read as it stands.
"""

from __future__ import annotations

import numpy as np
import pytest

from combe.evidence.p1812_set import DB, read_log, read_profile
from support_p1812 import PUBLIC_SOURCE, found_set_ups, reference_folder

SET_UPS = found_set_ups()
ABSENT = f"no validation set of P.1812: get it from {PUBLIC_SOURCE}, set COMBE_REFERENCE_DATA"
NAMES = list(SET_UPS) or [pytest.param("", marks=pytest.mark.skip(reason=ABSENT))]

# The set's own table of results, copied by hand: frequency GHz, share of time, Lbfs, Ld50, Lba and Lb dB, and
# the field of 1 kW dB(µV/m); Lb to 1e-6, the others as printed with four decimals.
RESULTS = {
    "b2iseac_rural_land_1km_0": (0.0953, 1.0, 72.1474, 15.3425, 112.9858, 87.038543, 91.903315),
    "b2iseac_rural_land_10km_0": (0.0953, 1.0, 91.9953, 28.4955, 154.5673, 117.647583, 61.294275),
    "b2iseac_rural_land_10km_2": (0.0953, 50.0, 91.9953, 28.4955, 235.3395, 120.490852, 58.451006),
    "b2iseac_rural_land_100km_2": (0.0953, 50.0, 111.9821, 10.2346, 244.9125, 122.216703, 56.725155),
    "b2iseac_1": (0.0953, 10.0, 119.4069, 41.2797, 179.6564, 138.635142, 40.306716),
    "b2iseac_2": (0.0953, 50.0, 119.4069, 41.2797, 238.5948, 160.073457, 18.868401),
    "rburg_rural_noclutter_2": (0.0982, 50.0, 111.9057, 60.5392, 263.0331, 172.427424, 6.774806),
    "rburg_rural_with_clutter_2": (0.0982, 50.0, 111.9057, 72.6840, 263.0331, 182.081097, -2.878867),
    "rburg_urban_with_clutter_2": (0.5, 50.0, 126.0429, 84.6608, 255.6223, 203.856239, -10.516839),
    "rburg_urban_with_clutter_3": (1.0, 1.0, 132.0635, 91.3055, 182.9396, 182.937158, 16.422842),
}
COPIED = [name for name in RESULTS if name in SET_UPS] or NAMES


def test_the_validation_set_is_there() -> None:
    if not SET_UPS:
        pytest.skip(
            f"no validation set of P.1812 in {reference_folder()}: get it from {PUBLIC_SOURCE} "
            "and set COMBE_REFERENCE_DATA to the folder that holds p1812/profiles and p1812/logs"
        )
    assert len(SET_UPS) >= 18
    logs = (reference_folder() / "p1812" / "logs").glob("*_log.csv")
    named = {path.name.removesuffix("_log.csv") for path in logs}
    assert named == set(SET_UPS), "a log without its profile would drop out unseen"
    assert len(set(RESULTS) & set(SET_UPS)) >= 5


@pytest.mark.parametrize("name", COPIED)
def test_the_set_is_read_and_met_as_its_table_of_results_prints_it(name: str) -> None:
    """Neither the log's names nor the package's reader of it stand between these figures and the model."""
    ghz, percent, free_space, median, ducting, loss, field = RESULTS[name]
    asked, found = SET_UPS[name].asked(), SET_UPS[name].predict()
    assert (asked["frequency_mhz"], asked["time_percent"]) == (pytest.approx(1000.0 * ghz), percent)
    assert found.free_space_loss_db == pytest.approx(free_space, abs=6e-5)
    assert found.diffraction_median_db == pytest.approx(median, abs=6e-5)
    assert found.ducting_loss_db == pytest.approx(ducting, abs=6e-5)
    assert found.basic_transmission_loss_db == pytest.approx(loss, abs=2e-6)
    assert found.field_strength_dbuv_m == pytest.approx(field, abs=2e-6)


@pytest.mark.parametrize("name", NAMES)
def test_steps_fit_together(name: str) -> None:
    """The logged Lb0p and Ldp give Lbd even where the log's own Lbd row holds another number."""
    log = SET_UPS[name].log
    expected = log["Lb0p", "Eq (10)"] + log["Ldp (dB)", "Eq (41)"]
    assert SET_UPS[name].predict().basic_diffraction_db == pytest.approx(expected, abs=DB)


def test_a_log_is_read_by_label_and_equation(tmp_path) -> None:
    """The value is the last cell that is not empty; a label may come twice, or hold commas."""
    lines = (
        "# Parameter,Ref,,Value,", "hst (m),Eq (85),,1.5,", "hst (m),Eq (90a),,2.5,", "p (%),,,50,",
        "Ep (dBuV/m) wrt Ptx, Gtx, Grx,,,7.25,",
    )  # fmt: skip
    (tmp_path / "log.csv").write_text("\r\n".join(lines) + "\n", encoding="utf-8")
    log = read_log(tmp_path / "log.csv")
    assert (log["hst (m)", "Eq (85)"], log["hst (m)", "Eq (90a)"], log["p (%)", ""]) == (1.5, 2.5, 50.0)
    assert 7.25 in log.values()


def test_a_profile_is_read_between_its_marks(tmp_path) -> None:
    lines = (
        "dN,45", "{Begin of Profile},,", "Number of Points,2,", "0,10.5,2,3,4", "0.5,11,2,0,1,",
        "{End of Profile}", "9,9,9,9,9",
    )  # fmt: skip
    (tmp_path / "profile.csv").write_text("\r\n".join(lines) + "\n", encoding="utf-8")
    found = read_profile(tmp_path / "profile.csv")
    expected = {
        "distance_km": [0.0, 0.5],
        "height_m": [10.5, 11.0],
        "clutter_height_m": [3.0, 0.0],
        "zone": [4.0, 1.0],
    }
    assert set(found) == set(expected)
    for key, values in expected.items():
        np.testing.assert_array_equal(found[key], values)
