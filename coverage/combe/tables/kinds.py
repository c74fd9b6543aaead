"""The tables that a study names, by the columns that each must have."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

STATION_COLUMNS: Final = (
    "name",
    "role",
    "longitude_deg",
    "latitude_deg",
    "aerial_height_m",
    "polarization",
    "service",
    "channel",
    "erp_w",
)
SURVEY_COLUMNS: Final = ("longitude_deg", "latitude_deg", "station", "service", "field_dbuv_m")
PEOPLE_COLUMNS: Final = ("longitude_deg", "latitude_deg", "people")
POINT_COLUMNS: Final = ("longitude_deg", "latitude_deg")

TABLES: Final[Mapping[str, tuple[str, ...]]] = {
    "survey points": SURVEY_COLUMNS,
    "stations": STATION_COLUMNS,
    "people at points": PEOPLE_COLUMNS,
    "points": POINT_COLUMNS,
}
"""Those with the most telling columns first."""

TELLING: Final[Mapping[str, tuple[str, ...]]] = {
    "survey points": ("field_dbuv_m",),
    "stations": ("channel", "erp_w"),
    "people at points": ("people",),
    "points": (),
}
"""Columns without which a table is none of its kind."""
