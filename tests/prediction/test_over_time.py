"""A path over the shares of an average year, against fades of ITU-R P.2001-4 on paths in line of sight."""

from __future__ import annotations

import numpy as np
import pytest

from combe.errors import ProfileError, RangeError
from combe.prediction.over_time import YEAR_MINUTES, PathOverTime, ShareOfYear
from combe.propagation.p2001 import Climate, predict_path
from combe.terrain import TerrainProfile
from support_p2001 import HUMID, TEMPERATE

FADES = [
    (TEMPERATE, 17.0, 112.64, (2.40, 4.25, 6.74)),
    (TEMPERATE, 30.0, 117.62, (3.01, 5.61, 9.51)),
    (TEMPERATE, 45.0, 121.19, (5.98, 11.54, 19.45)),
    (TEMPERATE, 60.0, 131.49, (9.86, 18.13, 29.97)),
    (HUMID, 17.0, 112.64, (2.64, 4.77, 7.76)),
    (HUMID, 30.0, 117.62, (3.41, 6.60, 11.67)),
    (HUMID, 45.0, 121.19, (7.33, 14.98, 25.86)),
    (HUMID, 60.0, 130.18, (13.35, 25.53, 41.05)),
]
"""Climate, length [km], median loss [dB], and fades [dB] for 99, 99.9 and 99.99 % of the year.

Flat inland ground at 100 m, masts of 150 and 30 m, 600 MHz, horizontal, about 50° N: the reference code of
the Recommendation with climates of one value each.
"""

SHARES = (99.0, 99.9, 99.99)


def path(length_km: float = 30.0, climate: Climate = TEMPERATE, points: int | None = None) -> PathOverTime:
    """Return flat ground with points every 100 m, about 50° N along a parallel."""
    count = round(10.0 * length_km) + 1 if points is None else points
    east_deg = length_km / (111.195 * np.cos(np.radians(50.0)))
    profile = TerrainProfile(
        np.linspace(0.0, length_km, count),
        np.full(count, 100.0),
        np.linspace(10.0, 10.0 + east_deg, count),
        np.full(count, 50.0),
    )
    return PathOverTime(profile, 150.0, 30.0, 600.0, "horizontal", climate)


@pytest.mark.parametrize(("climate", "length_km", "median_db", "fades_db"), FADES)
def test_fades_in_line_of_sight(
    climate: Climate, length_km: float, median_db: float, fades_db: tuple[float, ...]
) -> None:
    found = path(length_km, climate)
    assert found.at(50.0).basic_transmission_loss_db == pytest.approx(median_db, abs=0.01)
    assert [found.fade_db(share) for share in SHARES] == pytest.approx(fades_db, abs=0.01)


def test_fade_and_rise_are_changes_of_the_loss() -> None:
    found = path()
    profile = found.profile
    losses = {
        share: predict_path(
            profile.distance_km, profile.height_m, 4, frequency_mhz=600.0, time_percent=share,
            tx_height_m=150.0, rx_height_m=30.0, tx_longitude_deg=float(profile.lon_deg[0]),
            tx_latitude_deg=50.0, rx_longitude_deg=float(profile.lon_deg[-1]), rx_latitude_deg=50.0,
            climate=TEMPERATE, polarization="horizontal",
        ).basic_transmission_loss_db
        for share in (0.1, 50.0, 99.9)
    }  # fmt: skip
    assert found.fade_db(99.9) == losses[99.9] - losses[50.0]
    assert found.enhancement_db(0.1) == losses[50.0] - losses[0.1] > 1.0
    assert found.fade_db(50.0) == found.enhancement_db(50.0) == 0.0


def test_the_rarer_the_more() -> None:
    found = path(45.0, HUMID)
    fades = [found.fade_db(share) for share in (50.0, 90.0, 99.0, 99.9, 99.99, 99.999)]
    rises = [found.enhancement_db(share) for share in (50.0, 10.0, 1.0, 0.1, 0.01, 0.001)]
    for each in (fades, rises):
        assert each == sorted(each)
        assert each[0] == 0.0 < each[1]


@pytest.mark.parametrize("share", [55.0, 90.0, 99.0, 99.9, 99.99])
def test_the_share_within_a_fade_is_the_way_back(share: float) -> None:
    found = path()
    back = found.share_within(found.fade_db(share))
    assert not back.bounded
    # Fades lie on a lattice of 0.005 dB, so near shares have one fade: the greatest of them is found.
    assert back.percent >= share - 1e-3 * (100.0 - share)
    assert found.fade_db(back.percent) <= found.fade_db(share)
    assert found.fade_db(back.percent) == pytest.approx(found.fade_db(share), abs=0.006)


def test_a_share_that_lies_beyond_is_bounded() -> None:
    found = path()
    assert found.share_within(80.0) == ShareOfYear(99.999, bounded=True)
    assert found.share_within(-0.1) == ShareOfYear(50.0, bounded=True)
    assert found.share_within(found.fade_db(99.999)) == ShareOfYear(99.999, bounded=True)


def test_the_share_for_any_demand_that_falls_with_the_fade() -> None:
    """A ratio of 30 dB and an echo that rises as the fade opens the gain, against 20 dB: found by trying."""
    found = path(45.0)

    def stands(fade_db: float) -> bool:
        noise, echo = 10.0 ** (-(30.0 - fade_db) / 10.0), 10.0 ** (-(28.0 - fade_db) / 10.0)
        return -10.0 * np.log10(noise + echo) >= 20.0

    share = found.share_for(stands)
    assert not share.bounded
    # 1/R = 10^−3 + 10^−2.8 = 2.58489 10^−3, 25.8756 dB: a fade of 5.8756 dB is stood.
    assert share.percent == pytest.approx(found.share_within(5.8756).percent, abs=1e-4)
    assert found.share_for(lambda _: False) == ShareOfYear(50.0, bounded=True)
    assert found.share_for(lambda _: True) == ShareOfYear(99.999, bounded=True)


def test_minutes_of_the_year_that_are_left() -> None:
    assert pytest.approx(365.25 * 24.0 * 60.0) == YEAR_MINUTES
    assert ShareOfYear(99.9, bounded=False).minutes_without == pytest.approx(525.96)


def test_what_it_refuses() -> None:
    found = path()
    with pytest.raises(RangeError, match=r"time_percent of a fade is 49\.9; allowed: 50 to 99\.999"):
        found.fade_db(49.9)
    with pytest.raises(RangeError, match=r"time_percent of an enhancement is 50\.1; allowed: 0\.001 to 50"):
        found.enhancement_db(50.1)
    with pytest.raises(RangeError, match=r"time_percent is 99\.9999; allowed: 0\.001 to 99\.999"):
        found.at(99.9999)
    with pytest.raises(ProfileError, match="11 or more points"):
        path(points=10).fade_db(99.0)
