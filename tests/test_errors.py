"""Checks that errors are of the root class and of a builtin, carry their values and fit on one line."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from combe import errors

EXAMPLES = [
    (errors.RangeError("erp_w", -1.0, "more than 0"), ValueError, "erp_w is -1.0; allowed: more than 0"),
    (errors.RangeError("p", 60, "1 to 50", "use 50"), ValueError, "p is 60; allowed: 1 to 50; use 50"),
    (errors.ProfileError("4 heights but 5 distances"), ValueError, "4 heights but 5 distances"),
    (
        errors.RasterError("a.tif", "it has no CRS", "give one"),
        OSError,
        "raster a.tif: it has no CRS; give one",
    ),
    (
        errors.FetchError("http://127.0.0.1/a.tif", "it is cut short", "ask again"),
        OSError,
        "cannot fetch http://127.0.0.1/a.tif: it is cut short; ask again",
    ),
    (
        errors.TerrainGapError("a.tif", "7.1 E 46.2 N", "add a tile"),
        LookupError,
        "no terrain height at 7.1 E 46.2 N (tile a.tif); add a tile",
    ),
    (
        errors.PatternError("p.csv", "gap", "add rows"),
        ValueError,
        "aerial pattern p.csv: gap; add rows",
    ),
    (errors.TableError("h.csv", "no header", "add it"), ValueError, "table h.csv: no header; add it"),
    (errors.ChannelError(70, "21 to 69"), ValueError, "channel 70 is unknown; allowed: 21 to 69"),
    (errors.StudyError("s.toml", ["a: x"]), ValueError, "study s.toml has 1 fault: a: x"),
    (errors.StudyError("s.toml", ["a: x", "b: y"]), ValueError, "study s.toml has 2 faults: a: x | b: y"),
    (errors.OutputError("out", "read-only"), OSError, "cannot write out: read-only"),
    (errors.StoreError("f", "it is gone", "run again"), OSError, "stored result f: it is gone; run again"),
    (
        errors.MissingLibraryError("abc", "a table", "get it"),
        ImportError,
        "a table needs abc, which is not installed; get it",
    ),
    (
        errors.MemoryNeedError("a grid of 9 cells", 512.4, 256.0, "take fewer"),
        MemoryError,
        "a grid of 9 cells: would take about 512 MiB of memory; allowed: 256, all that this machine has; "
        "take fewer",
    ),
    (errors.InUseError("study s", "at x", "go there"), OSError, "study s is in use at x; go there"),
    (errors.Cancelled("it"), RuntimeError, "it was given up, for nobody waits for it any more"),
    (errors.PageError("unknown link"), RuntimeError, "unknown link"),
]


@pytest.mark.parametrize(
    ("error", "builtin", "text"),
    EXAMPLES,
    ids=[f"{type(e).__name__}-{i}" for i, (e, _, _) in enumerate(EXAMPLES)],
)
def test_error(error: Exception, builtin: type[Exception], text: str) -> None:
    assert isinstance(error, errors.CombeError)
    assert isinstance(error, builtin)
    assert str(error) == text
    assert "\n" not in str(error)


def test_every_error_of_the_module_is_shown_here() -> None:
    children = {
        each
        for each in vars(errors).values()
        if isinstance(each, type) and issubclass(each, errors.CombeError) and each is not errors.CombeError
    }
    assert children == {type(error) for error, _, _ in EXAMPLES}


def test_errors_carry_their_values() -> None:
    error = errors.RangeError("erp_w", -1.0, "more than 0")
    assert (error.name, error.given, error.allowed) == ("erp_w", -1.0, "more than 0")
    assert errors.RasterError("a.tif", "x").path == Path("a.tif")
    assert errors.StudyError("s.toml", ["a", "b"]).faults == ("a", "b")


@pytest.mark.parametrize("value", [1, 2.5, 10, np.float64(3.0), np.int64(4)])
def test_require_range_lets_pass(value: object) -> None:
    errors.require_range("x", value, 1.0, 10.0)


@pytest.mark.parametrize("value", [0.999, 11, math.nan, math.inf, -math.inf, "5", None, True, 10**400, 1j])
def test_require_range_refuses(value: object) -> None:
    with pytest.raises(errors.RangeError, match=r"^x is .*; allowed: 1 to 10; think again$"):
        errors.require_range("x", value, 1.0, 10.0, "think again")
