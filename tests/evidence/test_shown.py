"""Evidence in words: digits, signs, and long tables summed up by their worst figure."""

from __future__ import annotations

import math

import pytest

from combe.errors import RangeError
from combe.evidence import EvidenceCase, EvidenceRow
from combe.evidence.run import of_recommendation
from combe.evidence.shown import by_source, in_series, shown, shown_series


def row(
    expected: float, computed: float, tolerance: float = 0.001, series: str = "", case: str = "a"
) -> EvidenceRow:
    about = EvidenceCase(
        "ITU-R P.1", "source", case, "loss", expected, "dB", tolerance, "read", float, series
    )
    return EvidenceRow(about, computed)


@pytest.mark.parametrize(
    ("expected", "computed", "tolerance", "words"),
    [
        (16.345, 16.3448, 0.001, ("16.345", "16.3448", "−0.0002", "0.001")),
        (114.51, 114.51, 0.001, ("114.510", "114.5100", "0", "0.001")),
        (20.0, 20.0, 0.0, ("20", "20", "0", "exact")),
        (-16.0, -16.0 + 1e-15, 0.01, ("−16.00", "−16.000", "0", "0.01")),
        (7.635522669e-10, 7.635522669e-10, 1e-9, ("7.635522669e−10", "7.635522669e−10", "0", "1e−09")),
        (1.0, math.nan, 0.1, ("1.0", "–", "–", "0.1")),
    ],
)
def test_digits(expected: float, computed: float, tolerance: float, words: tuple[str, ...]) -> None:
    found = shown(row(expected, computed, tolerance))
    assert (found.expected, found.computed, found.difference, found.tolerance) == words


def test_a_series_is_summed_up_by_the_row_that_comes_nearest_to_failing() -> None:
    rows = [
        row(1.0, 1.0, series="log", case="first"),
        row(1.0, 1.0005, series="log", case="second"),
        row(1.0, 1.002, 0.1, series="log", case="third"),
        row(2.0, 2.0),
        row(3.0, 3.0),
    ]
    series = in_series(rows)
    assert [(each.name, len(each.rows)) for each in series] == [("log", 3), ("", 1), ("", 1)]
    whole = shown_series(series[0])
    assert (whole.case, whole.quantity, whole.met) == ("log: 3 figures, 3 met", "worst: second, loss", True)
    assert shown_series(series[1]) == shown(rows[3])


def test_a_missed_row_is_the_worst_and_the_series_is_missed() -> None:
    rows = [row(1.0, 1.00099, series="log"), row(5.0, 4.0, 0.9, series="log", case="missed")]
    (series,) = in_series(rows)
    whole = shown_series(series)
    assert (whole.case, whole.met) == ("log: 2 figures, 1 met", False)
    assert whole.quantity == "worst: missed, loss"


def test_an_exact_series_has_no_worst() -> None:
    (series,) = in_series([row(1.0, 1.0, 0.0, "table"), row(2.0, 2.0, 0.0, "table", "b")])
    assert shown_series(series).quantity == "all exact, such as: a, loss"


def test_rows_of_a_recommendation_and_by_source() -> None:
    rows = [row(1.0, 1.0), row(2.0, 2.0)]
    cases = tuple(each.case for each in rows)
    assert of_recommendation(cases, "p.1") == of_recommendation(cases, "") == cases
    assert by_source(rows) == {"source": rows}
    with pytest.raises(RangeError, match=r"recommendation is 'P\.2'; allowed: ITU-R P\.1; a part of a name"):
        of_recommendation(cases, "P.2")
