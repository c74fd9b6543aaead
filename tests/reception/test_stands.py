"""What a service stands of one more interferer: at that level it is just served, a hair above no longer."""

import numpy as np
import pytest

from combe.reception.emission import Emission, Partners
from combe.reception.judge_cells import Fields, Judges, Rules, make_judges, margin_of_named
from combe.reception.protection import Channel
from combe.reception.stands import Heard, stands_dbuv_m

HOME, RIVAL, OTHER = 0, 1, 2


def judges(method: str = "schwartz-yeh", *, rival: bool = True, sigma_db: float = 5.5) -> Judges:
    def emission(name: str, x_m: float) -> Emission:
        channel = Channel("DVB", 546.0, 8.0)
        return Emission(name, "Mux 1", channel, "horizontal", x_m, 0.0, 45.0, 19.0, sigma_db)

    pairs = [(RIVAL, 19.0, 19.0, False)] if rival else []
    pairs.append((OTHER, 0.0, 0.0, False))
    columns = list(zip(*pairs, strict=True))
    count = len(pairs)
    partners = Partners(
        np.array([0, count, count, count]), np.array(columns[0]), np.array(columns[1]), np.array(columns[2]),
        np.array(columns[3]),
    )  # fmt: skip
    return make_judges(
        [emission("Home", 0.0), emission("Rival", 20_000.0), emission("Other", 0.0)],
        Rules(method=method, neglect_db=0.0),
        partners,
    )


def heard(wanted_dbuv_m: np.ndarray, rival_dbuv_m: float) -> Heard:
    count = wanted_dbuv_m.size
    fields = np.stack([wanted_dbuv_m, np.full(count, rival_dbuv_m)])
    return Heard(np.full(count, 5000.0), np.full(count, 1000.0), fields, fields)


def margin_db(asked: Judges, wanted_dbuv_m: float, rival_dbuv_m: float, other_dbuv_m: float) -> float:
    fields = np.array([wanted_dbuv_m, rival_dbuv_m, other_dbuv_m]).reshape(3, 1, 1)
    named = np.zeros((1, 1), dtype=np.int16)
    margin, _ = margin_of_named(asked, Fields(np.array([5000.0]), np.array([1000.0]), fields, fields), named)
    return float(margin[0, 0])


@pytest.mark.parametrize("rival_dbuv_m", [-np.inf, 20.0, 35.0])
@pytest.mark.parametrize("method", ["schwartz-yeh", "k-lnm", "power sum", "multiplication"])
def test_it_is_the_level_at_which_the_margin_is_nought(method: str, rival_dbuv_m: float) -> None:
    asked, wanted = judges(method), np.array([60.0, 66.0, 80.0])
    found = stands_dbuv_m(asked, heard(wanted, rival_dbuv_m), HOME, OTHER)
    for level, field in zip(found, wanted, strict=True):
        if level == -np.inf:
            assert margin_db(asked, field, rival_dbuv_m, -np.inf) < 0.0
            continue
        assert margin_db(asked, field, rival_dbuv_m, level - 0.01) >= 0.0
        assert margin_db(asked, field, rival_dbuv_m, level + 0.01) < 0.0
    assert np.isfinite(found[-1])


def test_one_alone_without_scatter_stands_what_is_left_of_the_power() -> None:
    # Noise of the minimum field and the nuisance add up to the wanted field.
    found = stands_dbuv_m(judges(rival=False, sigma_db=0.0), heard(np.array([55.0]), -np.inf), HOME, OTHER)
    assert found[0] == pytest.approx(10.0 * np.log10(10.0**5.5 - 10.0**4.5), abs=0.02)


def test_who_is_not_served_can_lose_nothing() -> None:
    found = stands_dbuv_m(judges(), heard(np.array([40.0, 45.0]), -np.inf), HOME, OTHER)
    assert found.tolist() == [-np.inf, -np.inf]
