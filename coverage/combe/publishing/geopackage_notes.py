"""Adds to a GeoPackage what makes it speak for itself: styles of layers, words on columns, what made it.

Styles are in the table ``layer_styles``, from which QGIS takes the default of a layer when it opens it; words
on columns in ``gpkg_data_columns``, the schema extension of OGC 12-128r18, section F.9.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from combe.publishing.gis_styles import VectorStyle, vector_qml, vector_sld
from combe.publishing.text import plain

_FIXED_DATE: Final = "2000-01-01T00:00:00.000Z"
"""As in the rest of the file: the same study gives the same bytes."""

_LONGEST_NAME: Final = 30
"""Signs that the name of a style has room for."""

_STYLES: Final = """
CREATE TABLE layer_styles (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT(256), f_table_schema TEXT(256),
    f_table_name TEXT(256), f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, styleSLD TEXT,
    useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30), update_time DATETIME
)"""
_COLUMNS: Final = """
CREATE TABLE gpkg_data_columns (
    table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT,
    mime_type TEXT, constraint_name TEXT,
    CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name), CONSTRAINT gdc_tn UNIQUE (table_name, name)
)"""
_CONSTRAINTS: Final = """
CREATE TABLE gpkg_data_column_constraints (
    constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC,
    min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
    CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value)
)"""
_ABOUT: Final = "CREATE TABLE about (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, name TEXT, words TEXT)"
_EXTENSION: Final = "http://www.geopackage.org/spec121/#extension_schema"


@dataclass(frozen=True)
class LayerNotes:
    """What is said of a layer: in a sentence, of its columns by their names, and how it is drawn."""

    words: str
    columns: Mapping[str, str] = field(default_factory=dict)
    style: VectorStyle | None = None


def add_notes(base: sqlite3.Connection, notes: Mapping[str, LayerNotes], about: Mapping[str, str]) -> None:
    """Add notes on layers, and the table ``about``, to the open data base of a GeoPackage."""
    _add_table(base, "layer_styles", "how layers are drawn", _STYLES)
    _add_table(base, "about", "what made this file", _ABOUT)
    base.execute(_COLUMNS)
    base.execute(_CONSTRAINTS)
    base.executemany(
        "INSERT INTO gpkg_extensions VALUES (?, NULL, 'gpkg_schema', ?, 'read-write')",
        [("gpkg_data_columns", _EXTENSION), ("gpkg_data_column_constraints", _EXTENSION)],
    )
    base.executemany("INSERT INTO about (name, words) VALUES (?, ?)", _texts(about.items()))
    for layer, each in notes.items():
        _describe(base, layer, each)


def _add_table(base: sqlite3.Connection, name: str, words: str, statement: str) -> None:
    """Make a table without places and list it, that other programs show it."""
    base.execute(statement)
    base.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)"
        " VALUES (?, 'attributes', ?, ?, ?)",
        (name, name, words, _FIXED_DATE),
    )


def _describe(base: sqlite3.Connection, layer: str, notes: LayerNotes) -> None:
    base.execute("UPDATE gpkg_contents SET description = ? WHERE table_name = ?", (plain(notes.words), layer))
    base.executemany(
        "INSERT INTO gpkg_data_columns VALUES (?, ?, ?, ?, ?, NULL, NULL)",
        [(layer, name, name, name.replace("_", " "), words) for name, words in _texts(notes.columns.items())],
    )
    if notes.style is not None:
        base.execute(
            "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column,"
            " styleName, styleQML, styleSLD, useAsDefault, description, owner, ui, update_time)"
            " VALUES ('', '', ?, 'geom', ?, ?, ?, 1, ?, '', NULL, ?)",
            (
                layer,
                layer[:_LONGEST_NAME],
                vector_qml(notes.style),
                vector_sld(notes.style, layer),
                plain(notes.words),
                _FIXED_DATE,
            ),
        )


def _texts(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    return [(plain(name), plain(words)) for name, words in pairs]
