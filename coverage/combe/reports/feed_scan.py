"""What is said of a scan of the receiving aerial's height: its picture, its words, its tables, its JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from combe.publishing.document import Part, Table, Words
from combe.publishing.fields import UNITS, Field, Unit, flag, many, number, numbers, one, text
from combe.reports.chain_pictures import height_picture
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.scan import HeightScan

_METRES: Final = Unit("m", 1, 6)

_GROUND_RAYS: Final = many(
    "ground_reflection",
    text("service"),
    number("distance_km", get="ray.distance_km"),
    text("zone", null="no zones in the study"),
    number("grazing_deg", get="ray.grazing_deg"),
    number("path_difference_m", get="ray.path_difference_m", unit=_METRES),
    number("fresnel_from_km", get=lambda found: found.ray.fresnel_km[0]),
    number("fresnel_to_km", get=lambda found: found.ray.fresnel_km[1]),
    number("relief_m", get="ray.relief_m", unit=_METRES),
    number("allowed_relief_m", get="ray.allowed_relief_m", unit=_METRES, meaning="by Rayleigh's criterion"),
    number("blocked_km", get="ray.blocked_km", null="no ground stands in its way"),
    flag("nulls_expected", get="ray.expected"),
    numbers("null_height_m", unit=_METRES, meaning="if the ground reflects like a mirror"),
    numbers("lobe_height_m", unit=_METRES, meaning="as null_height_m"),
    get="ground_rays",
    meaning="the ray to the planned aerial; empty where the path is not clear",
)

SCAN: Final = one(
    "height_scan",
    numbers("height_m"),
    number("planned_height_m"),
    number("time_percent"),
    number("null_spacing_m", null="the parent's aerial is not over the plane through the ground"),
    _GROUND_RAYS,
    many(
        "services",
        text("name", get="service.name"),
        numbers("field_strength_dbuv_m", "field_dbuv_m"),
        numbers("field_strength_at_time_dbuv_m", "field_at_time_dbuv_m"),
        numbers("fade_db"), numbers("margin_db", null="what it enters is not known"),
        number("slope_db_per_m", unit=Unit("dB/m", 2, 6)), text("course"),
        number("best_height_m"), number("best_gain_db"),
    ),
    get="scan",
    null="not asked for",
)  # fmt: skip
"""The keys of a scan."""


def scan_parts(scan: HeightScan | None) -> list[Part]:
    """Return all that a scan found; nothing where none was asked for."""
    if scan is None:
        return []
    parts: list[Part] = [
        height_picture(scan, scan.short_words),
        Words(scan.words, "How the field goes with height", listed=True),
        _table(scan, "Field", "median of time", [each.field_dbuv_m for each in scan.services], "dbuv_m"),
    ]
    margins = [each.margin_db for each in scan.services if each.margin_db is not None]
    if len(margins) == len(scan.services):
        parts.append(
            _table(
                scan,
                "Margin",
                tell("{time_percent:g} % of time", time_percent=scan.time_percent),
                margins,
                "db",
            )
        )
    return parts


def _table(scan: HeightScan, what: str, when: str, found: Sequence[Sequence[float]], unit: str) -> Table:
    names = (each.service.name for each in scan.services)
    columns = (_column(0, "height", "m"), *(_column(at, name, unit) for at, name in enumerate(names, 1)))
    title = tell("{what} at each height of the receiving aerial, {when}", what=what, when=when)
    return Table(title, columns, tuple(zip(scan.height_m, *found, strict=True)))


def _column(at: int, head: str, unit: str) -> Field:
    def get(row: Any) -> Any:
        return row[at]

    return number("", head, get, unit=UNITS[unit], decimals=1)
