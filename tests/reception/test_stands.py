"""What a service stands of one more interferer: at that level it is just served, a hair above no longer."""

import numpy as np
import pytest

from combe.reception.emission import Disturber, Emission, partners_from
from combe.reception.judges import Fields, Judges, Rules, fields_at, judge_emission, make_judges
from combe.reception.protection_ratios import Channel
from combe.reception.stands import stands_dbuv_m

HOME, RIVAL, OTHER = 0, 1, 2
SIGMA_DB = 5.5


def emissions(sigma_db: float = SIGMA_DB) -> list[Emission]:
    """Return a station, its rival, and a newcomer beside it, at which the aerials of its viewers look too."""
    channel = Channel("DVB", 546.0, 8.0)
    return [
        Emission(name, "Mux 1", channel, "horizontal", x_m, 0.0, 45.0, 19.0, sigma_db)
        for name, x_m in (("Home", 0.0), ("Rival", 20_000.0), ("Other", 0.0))
    ]


def judges(method: str = "schwartz-yeh", *, rival: bool = True, sigma_db: float = SIGMA_DB) -> Judges:
    own = [Disturber(RIVAL, 19.0, 19.0, False)] if rival else []
    rules = Rules(method=method, neglect_db=0.0)
    return make_judges(emissions(sigma_db)[:OTHER], rules, partners_from([own, []]))


def heard(wanted_dbuv_m: np.ndarray, rival_dbuv_m: float) -> Fields:
    count = wanted_dbuv_m.size
    fields = np.stack([wanted_dbuv_m, np.full(count, rival_dbuv_m)])
    return fields_at(np.full(count, 5000.0), np.full(count, 1000.0), fields, fields)


def margin_db(method: str, wanted_dbuv_m: float, rival_dbuv_m: float, other_dbuv_m: float) -> float:
    """Return the margin with the newcomer as a station among others, at ratios of 0 dB."""
    own = [Disturber(RIVAL, 19.0, 19.0, False), Disturber(OTHER, 0.0, 0.0, False)]
    asked = make_judges(emissions(), Rules(method=method, neglect_db=0.0), partners_from([own, [], []]))
    fields = np.array([wanted_dbuv_m, rival_dbuv_m, other_dbuv_m])[:, None]
    judged = judge_emission(asked, fields_at([5000.0], [1000.0], fields, fields), HOME)
    return float(judged.margin_db[0, 0])


@pytest.mark.parametrize("rival_dbuv_m", [-np.inf, 20.0, 35.0])
@pytest.mark.parametrize("method", ["schwartz-yeh", "k-lnm", "power sum", "multiplication"])
def test_it_is_the_level_at_which_the_margin_is_nought(method: str, rival_dbuv_m: float) -> None:
    asked, wanted = judges(method), np.array([60.0, 66.0, 80.0])
    found = stands_dbuv_m(asked, heard(wanted, rival_dbuv_m), HOME, SIGMA_DB).ravel()
    for level, field in zip(found, wanted, strict=True):
        if level == -np.inf:
            assert margin_db(method, field, rival_dbuv_m, -np.inf) < 0.0
            continue
        assert margin_db(method, field, rival_dbuv_m, level - 0.01) >= 0.0
        assert margin_db(method, field, rival_dbuv_m, level + 0.01) < 0.0
    assert np.isfinite(found[-1])


def test_one_alone_without_scatter_stands_what_is_left_of_the_power() -> None:
    # Noise of the minimum field and the nuisance add up to the wanted field.
    found = stands_dbuv_m(judges(rival=False, sigma_db=0.0), heard(np.array([55.0]), -np.inf), HOME, 0.0)
    assert found[0, 0] == pytest.approx(10.0 * np.log10(10.0**5.5 - 10.0**4.5), abs=0.02)


def test_who_is_not_served_can_lose_nothing() -> None:
    found = stands_dbuv_m(judges(), heard(np.array([40.0, 45.0]), -np.inf), HOME, SIGMA_DB)
    assert found.ravel().tolist() == [-np.inf, -np.inf]
