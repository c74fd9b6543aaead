"""Finds the Study Group 3 validation set of ITU-R P.1812, which the package reads for its evidence.

The set is public: repository eeveetza/Py1812 on GitHub. Point COMBE_REFERENCE_DATA at a
folder that holds p1812/profiles and p1812/logs.
"""

from __future__ import annotations

import os
from pathlib import Path

from combe.evidence.p1812_set import SetUp, set_ups

PUBLIC_SOURCE = "the public repository eeveetza/Py1812 (folder with validation profiles and logs)"
_BESIDE = Path(__file__).resolve().parents[2] / "shared" / "reference_data"


def reference_folder() -> Path:
    """Return the folder of reference data, which may not be there."""
    return Path(os.environ.get("COMBE_REFERENCE_DATA") or _BESIDE)


def found_set_ups() -> dict[str, SetUp]:
    """Return every set-up found, by a name such as ``b2iseac_0``."""
    return {each.name: each for each in set_ups(reference_folder())}
