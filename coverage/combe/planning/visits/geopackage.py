"""The layout of the visit log: the tables of a GeoPackage with one point layer, as the standard asks.

OGC 12-128 (GeoPackage 1.3, from memory; a reader of the format is tested): application_id and user_version
of the file, the tables gpkg_spatial_ref_sys, gpkg_contents and gpkg_geometry_columns, and points in the
GeoPackage binary form. Two triggers of ours keep the readings as they were written.
"""

from __future__ import annotations

import struct
from typing import Final

LAYER: Final = "visit_readings"
APPLICATION_ID: Final = 0x47504B47
USER_VERSION: Final = 10300
WGS_84_ID: Final = 4326

COLUMNS: Final = (
    ("date", "DATE NOT NULL"),
    ("station", "TEXT NOT NULL"),
    ("service", "TEXT NOT NULL"),
    ("test_point", "TEXT NOT NULL"),
    ("quantity", "TEXT NOT NULL"),
    ("value", "DOUBLE NOT NULL"),
    ("unit", "TEXT NOT NULL"),
    ("meter", "TEXT NOT NULL"),
    ("meter_calibrated_on", "DATE"),
    ("who", "TEXT NOT NULL"),
    ("weather", "TEXT NOT NULL"),
    ("note", "TEXT NOT NULL"),
    ("visit", "TEXT NOT NULL"),
    ("correction", "BOOLEAN NOT NULL"),
    ("expected", "DOUBLE"),
    ("entered_at", "DATETIME NOT NULL"),
    ("program", "TEXT NOT NULL"),
)
"""Columns of the layer behind its key and place, with their types. ``expected`` is the prediction of the
day it was entered, in the unit of the routine reading."""

LATER_COLUMNS: Final = (
    ("photos", "TEXT NOT NULL DEFAULT ''"),
    ("visit_note", "TEXT NOT NULL DEFAULT ''"),
)
"""Columns that logs of the first layout lack; they get them with the next append."""

_WGS_84_WKT: Final = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],'
    'AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",'
    '0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],'
    'AUTHORITY["EPSG","4326"]]'
)

_COLUMN_LINES: Final = ", ".join(f"{name} {kind}" for name, kind in (*COLUMNS, *LATER_COLUMNS))

STATEMENTS: Final = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    f"PRAGMA user_version = {USER_VERSION}",
    "CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, "
    "organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, "
    "description TEXT)",
    "INSERT INTO gpkg_spatial_ref_sys VALUES "
    "('Undefined cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined cartesian coordinates'), "
    "('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinates'), "
    f"('WGS 84 geodetic', {WGS_84_ID}, 'EPSG', {WGS_84_ID}, '{_WGS_84_WKT}', 'longitude, latitude')",
    "CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, "
    "identifier TEXT UNIQUE, description TEXT DEFAULT '', "
    "last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), "
    "min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER, "
    "CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id))",
    "CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, "
    "geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL, "
    "CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), "
    "CONSTRAINT uk_gc_table_name UNIQUE (table_name), "
    "CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name), "
    "CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id))",
    f"CREATE TABLE {LAYER} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, {_COLUMN_LINES})",
    f"INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES "
    f"('{LAYER}', 'features', '{LAYER}', 'readings of site visits, appended, never rewritten', {WGS_84_ID})",
    f"INSERT INTO gpkg_geometry_columns VALUES ('{LAYER}', 'geom', 'POINT', {WGS_84_ID}, 0, 0)",
    *(
        f"CREATE TRIGGER {LAYER}_no_{act.lower()} BEFORE {act} ON {LAYER} BEGIN SELECT RAISE(ABORT, "
        "'readings are appended, never rewritten; enter a correction'); END"
        for act in ("UPDATE", "DELETE")
    ),
)
"""What makes an empty log, in order; all inside one transaction."""

WIDENING: Final = tuple(f"ALTER TABLE {LAYER} ADD COLUMN {name} {kind}" for name, kind in LATER_COLUMNS)
"""What gives a log of the first layout its later columns; no row of it is rewritten."""


def point_bytes(longitude_deg: float, latitude_deg: float) -> bytes:
    """Return a point in the GeoPackage binary form: header, identifier of WGS 84, well-known binary."""
    return struct.pack("<2sBBiBIdd", b"GP", 0, 1, WGS_84_ID, 1, 1, longitude_deg, latitude_deg)
