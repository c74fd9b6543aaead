"""What the heights of an elevation file are counted in and from, as far as the file itself declares it.

A file may declare its unit of height twice: by the vertical axis of its CRS, and by the unit of its band.
Both are read; where they differ nothing is guessed.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, Final, NamedTuple

import pyproj

from combe.errors import RasterError

_FOOT_M: Final = 0.3048
_SURVEY_FOOT_M: Final = 1200.0 / 3937.0
"""International foot (exact, 1959) and US survey foot (1200/3937 m)."""

_METRES_A_UNIT: Final[dict[str, float]] = {
    **dict.fromkeys(("m", "metre", "meter", "metres", "meters"), 1.0),
    **dict.fromkeys(("dm", "decimetre", "decimeter"), 0.1),
    **dict.fromkeys(("cm", "centimetre", "centimeter"), 0.01),
    **dict.fromkeys(("mm", "millimetre", "millimeter"), 0.001),
    **dict.fromkeys(("ft", "foot", "feet", "international foot"), _FOOT_M),
    **dict.fromkeys(
        ("us-ft", "ftus", "us ft", "us survey foot", "us survey feet", "foot_us"), _SURVEY_FOOT_M
    ),
}
_LENGTHS: Final = "m, dm, cm, mm, ft, US survey foot"


class HeightUnit(NamedTuple):
    """One unit of a file's heights [m], and its name; no name where it is the metre."""

    metres: float
    name: str


def height_unit(dataset: Any, path: Path, crs: pyproj.CRS) -> HeightUnit:
    """Return what one unit of an open raster's heights is, the metre where it declares none.

    Raises
    ------
    RasterError
        A unit that is no length, or two declarations that contradict each other.
    """
    by_axis, by_band = _unit_of_axis(crs, path), _unit_of_band(dataset, path)
    if by_axis is None or by_band is None:
        return by_axis or by_band or HeightUnit(1.0, "")
    # The two feet differ by two in a million, 2 cm on the highest mountain, and are often taken for one
    # another: that is no contradiction.
    if not math.isclose(by_axis.metres, by_band.metres, rel_tol=1e-5):
        raise RasterError(
            path,
            f"its CRS counts heights in {by_axis.name or 'metres'}, its band in {by_band.name or 'metres'}",
            "correct the one that is wrong (gdal_edit.py -a_srs, or the unit of the band)",
        )
    return by_axis


def _unit_of_axis(crs: pyproj.CRS, path: Path) -> HeightUnit | None:
    """Return the unit of the vertical axis, None where the CRS has none."""
    # Heights are the second part of a compound CRS, and the third axis of one that is not.
    axes = crs.sub_crs_list[1].axis_info if crs.is_compound else crs.axis_info[2:]
    if not axes:
        return None
    factor, name = float(axes[0].unit_conversion_factor), str(axes[0].unit_name)
    if not 0.0 < factor < math.inf:
        raise RasterError(path, f"its heights count in {name!r}", f"allowed: {_LENGTHS}")
    return HeightUnit(factor, "" if factor == 1.0 else name)


def _unit_of_band(dataset: Any, path: Path) -> HeightUnit | None:
    """Return the unit that the band names, None where it names none."""
    named = str(dataset.units[0] or "").strip()
    if not named:
        return None
    metres = _METRES_A_UNIT.get(" ".join(named.lower().replace("_", " ").split()))
    if metres is None:
        raise RasterError(path, f"its numbers count in {named[:40]!r}, no length", f"allowed: {_LENGTHS}")
    return HeightUnit(metres, "" if metres == 1.0 else named)


def check_datum(path: Path, crs: pyproj.CRS, stated: str) -> None:
    """Raise RasterError where a file counts from the ellipsoid and the study says from something else.

    Between the two lie up to 106 m, and no height is shifted here.
    """
    from_ellipsoid = not crs.is_compound and len(crs.axis_info) == 3
    if not from_ellipsoid or stated == "unknown" or "ellipsoid" in stated.lower():
        return
    raise RasterError(
        path,
        f"its CRS {crs.name} counts heights from the ellipsoid, vertical_datum of the study is {stated!r}",
        "shift the heights to that datum first (gdalwarp with -s_srs and -t_srs), or say that they count from"
        " the ellipsoid",
    )
