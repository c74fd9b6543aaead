"""The general-purpose library against which fields are held where it has the same Recommendation."""

from __future__ import annotations

import warnings
from typing import Any

import pytest


def pycraf_parts() -> tuple[Any, Any]:
    """Return pycraf's paths and astropy's units, or skip the test; both warn while they are loaded."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pathprof = pytest.importorskip("pycraf.pathprof", reason="pycraf is not installed")
        from astropy import units
    return pathprof, units
