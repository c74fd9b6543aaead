"""Kriged errors: against the exact answer, fading with distance, surer near places measured, or refused."""

import sys

import numpy as np
import pytest
from scipy.sparse import csr_array

from combe.errors import MissingLibraryError, RangeError
from combe.planning.kriging import FEWEST_KRIGED, krige_errors
from combe.planning.people_range import Homes, MarginError, count_ranges
from combe.planning.survey import SurveyError, SurveyPoint

pytest.importorskip("sklearn")


def survey(x_km, y_km, errors_db, station="Relay"):
    """Return survey errors at places of a grid, and where these lie [m]."""
    errors, places = [], {}
    for number, (x, y, error) in enumerate(zip(x_km, y_km, errors_db, strict=True)):
        point = SurveyPoint(number + 2, -84.0 + number / 1000.0, 36.0, station, "Mux 1", 60.0 + error, 10.0)
        errors.append(SurveyError(point, 60.0, 3.0, 0.0, True))
        places[point.place] = (1000.0 * x, 1000.0 * y)
    return errors, places


def shadowed(seed=4, count=80, mean_db=0.0, smooth_db=6.0, length_km=1.5, alone_db=1.5, side_km=6.0):
    """Return a survey drawn from the model itself, and the part that hangs together over more places."""
    random = np.random.default_rng(seed)
    x, y = random.uniform(0.0, side_km, (2, 2 * count))
    away = np.hypot(x[:, None] - x, y[:, None] - y)
    covariance = smooth_db**2 * np.exp(-away / length_km) + 1e-9 * np.eye(x.size)
    latent = mean_db + np.linalg.cholesky(covariance) @ random.normal(size=x.size)
    measured = latent + random.normal(0.0, alone_db, x.size)
    return (x[:count], y[:count], measured[:count]), (x[count:], y[count:], measured[count:])


def kriged(x, y, errors_db, prior_db=4.0):
    return krige_errors("Relay", *survey(x, y, errors_db), prior_db, "points.csv")


def test_the_fit_finds_what_the_errors_were_drawn_from():
    known, _ = shadowed(count=250, side_km=12.0)
    found = kriged(*known)
    assert found.kind == "kriged"
    # What is each place's own can hardly be told from what fades within less than the places are apart.
    assert np.hypot(found.smooth_db, found.alone_db) == pytest.approx(np.hypot(6.0, 1.5), rel=0.2)
    assert found.length_km == pytest.approx(1.5, rel=0.6)


def test_what_is_expected_is_the_conditional_mean_and_deviation():
    """By the joint normal distribution of the errors measured and those asked, inverted as it stands."""
    known, asked = shadowed()
    found = kriged(*known)
    x, y, measured = (np.array(each) for each in known)

    def covariance(one, other):
        away = np.hypot(one[0][:, None] - other[0], one[1][:, None] - other[1])
        return found.prior_db**2 + found.smooth_db**2 * np.exp(-away / found.length_km)

    inverse = np.linalg.inv(covariance((x, y), (x, y)) + found.alone_db**2 * np.eye(x.size))
    between = covariance(asked[:2], (x, y))
    variance = np.diag(covariance(asked[:2], asked[:2]) - between @ inverse @ between.T)
    asked_m = 1000.0 * asked[0], 1000.0 * asked[1]
    np.testing.assert_allclose(found.correction_db(*asked_m), between @ inverse @ measured, atol=1e-6)
    np.testing.assert_allclose(found.deviation_db(*asked_m), np.sqrt(variance), atol=1e-6)
    left = covariance(asked[:2], asked[:2]) - between @ inverse @ between.T
    common = found.in_common_db(1000.0 * asked[0], 1000.0 * asked[1])
    assert common == pytest.approx(np.sqrt(left.mean()), abs=1e-9)
    assert common < found.prior_db


def test_places_that_were_not_measured_are_predicted_better():
    known, asked = shadowed(mean_db=3.0, side_km=4.0)
    found = kriged(*known)
    left = asked[2] - found.correction_db(1000.0 * asked[0], 1000.0 * asked[1])
    assert np.sqrt(np.mean(left**2)) < 0.8 * np.std(asked[2])
    assert np.sqrt(np.mean(left**2)) == pytest.approx(found.left_out_db, rel=0.35)
    assert found.left_out_db < found.mean_left_out_db < found.uncorrected_db


def test_the_error_left_out_is_that_of_kriging_without_the_place():
    (x, y, measured), _ = shadowed(count=15)
    found = kriged(x, y, measured)
    away = np.hypot(x[:, None] - x, y[:, None] - y)
    whole = found.prior_db**2 + found.smooth_db**2 * np.exp(-away / found.length_km)
    left = []
    for out in range(x.size):
        kept = np.delete(np.arange(x.size), out)
        inverse = np.linalg.inv(whole[np.ix_(kept, kept)] + found.alone_db**2 * np.eye(kept.size))
        left.append(measured[out] - whole[out, kept] @ inverse @ measured[kept])
    assert found.left_out_db == pytest.approx(np.sqrt(np.mean(np.square(left))), rel=1e-6)


def test_far_away_only_the_common_error_is_left():
    known, _ = shadowed(mean_db=4.0)
    found = kriged(*known)
    near_m, far_m = (1000.0 * known[0][0], 1000.0 * known[1][0]), (1e6, 1e6)
    near, far = (float(found.correction_db(*each)) for each in (near_m, far_m))
    assert far == pytest.approx(found.mean_error_db)
    assert abs(near - known[2][0]) < abs(far - known[2][0])
    assert found.smooth_db < found.deviation_db(*far_m) < np.hypot(found.smooth_db, found.prior_db)
    assert found.deviation_db(*near_m) < 0.6 * found.deviation_db(*far_m)


def test_a_mean_alone_is_taken_where_nothing_hangs_together():
    random = np.random.default_rng(12)
    x, y = random.uniform(0.0, 6.0, (2, 60))
    kinds = [kriged(x, y, 4.0 + random.normal(0.0, 5.0, 60)).kind for _ in range(6)]
    assert "none" not in kinds
    assert kinds.count("mean") >= 3
    found = next(each for each in (kriged(x, y, np.full(60, 4.0) + 0.01 * random.normal(size=60)),))
    assert found.correction_db(1e6, 0.0) == pytest.approx(4.0, abs=0.05)


def test_nothing_is_corrected_where_it_does_not_help():
    random = np.random.default_rng(5)
    x, y = random.uniform(0.0, 6.0, (2, 40))
    errors = random.normal(0.0, 6.0, 40)
    found = kriged(x, y, errors - errors.mean())
    assert (found.kind, found.corrects) == ("none", False)
    assert found.left_out_db > 0.95 * found.uncorrected_db
    assert found.words.startswith(
        "Relay not corrected, since it does not help (40 survey places of points.csv"
    )


def test_the_words_of_a_correction():
    known, _ = shadowed(mean_db=3.0)
    found = kriged(*known)
    assert found.words == (
        f"Relay {found.mean_error_db:+.1f} dB and errors kriged over {found.length_km:.2g} km (80 survey "
        f"places of points.csv; {found.left_out_db:.1f} dB left where each place is predicted from the "
        f"others, {found.uncorrected_db:.1f} dB uncorrected)"
    )


def test_too_few_places_too_large_an_error_and_no_library(monkeypatch):
    x = np.arange(FEWEST_KRIGED, dtype=float)
    with pytest.raises(RangeError, match=r"survey places of Relay in points\.csv is 9; allowed: 10 or more"):
        kriged(x[1:], x[1:], np.zeros(FEWEST_KRIGED - 1))
    with pytest.raises(
        RangeError, match=r"mean error of Relay is \+12\.0 dB; allowed: up to 10 dB; so large"
    ):
        kriged(x, x, np.full(FEWEST_KRIGED, 12.0))
    monkeypatch.setitem(sys.modules, "sklearn.gaussian_process", None)
    with pytest.raises(MissingLibraryError, match=r'apply_correction = "kriged" needs scikit-learn'):
        kriged(x, x, np.arange(FEWEST_KRIGED, dtype=float))


def test_two_runs_give_the_same_numbers():
    known, _ = shadowed(count=30)
    assert kriged(*known) == kriged(*known)


def test_the_range_after_a_survey_holds_eight_times_in_ten():
    """True errors as kriging takes them, 40 places measured, people counted by the corrected margins."""
    random = np.random.default_rng(6)
    side = 24
    grid_y, grid_x = (0.25 * (each.ravel() + 0.5) for each in np.mgrid[0:side, 0:side])
    people = random.gamma(0.5, 20.0, side * side)
    margin = random.normal(2.0, 6.0, side * side)
    homes = Homes(csr_array(people[None]))
    away = np.hypot(grid_x[:, None] - grid_x, grid_y[:, None] - grid_y)
    root = np.linalg.cholesky(16.0 * np.exp(-away / 1.5) + 1e-9 * np.eye(side * side))
    held, narrower = [], []
    for _ in range(60):
        latent = random.normal(0.0, 2.5) + root @ random.normal(size=side * side)
        truth = latent + random.normal(0.0, 2.0, side * side)
        at = random.choice(side * side, 40, replace=False)
        found = kriged(grid_x[at], grid_y[at], truth[at], prior_db=2.5)
        cells_m = 1000.0 * grid_x, 1000.0 * grid_y
        common = found.in_common_db(*cells_m)
        own = np.sqrt(np.maximum(found.deviation_db(*cells_m) ** 2 - common**2, 0.0) + found.alone_db**2)
        corrected = margin + (found.correction_db(*cells_m) if found.corrects else 0.0)
        (after,) = count_ranges(homes, corrected, corrected, MarginError(common, own))
        (before,) = count_ranges(homes, margin, margin, MarginError(2.5, np.hypot(4.0, 2.0)))
        count = float(people[margin + truth >= 0.0].sum())
        held.append(after.served.low <= count <= after.served.high)
        narrower.append((after.served.high - after.served.low) / (before.served.high - before.served.low))
    # Of 60 draws the share has a deviation of 5 %.
    assert np.mean(held) == pytest.approx(0.8, abs=0.13)
    assert np.median(narrower) < 0.8
