"""The keys of a section that names a table: what a stranger's calls its columns, and how it is written."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from combe.study.section import Text

_MOST_COLUMNS = 100

Columns = Annotated[dict[Text, Text | int], Field(max_length=_MOST_COLUMNS)]
Decimal = Literal[",", "."]


def columns_field(example: dict[str, str], of: str = "the table") -> Any:
    """Return the key that says which column of a table is which."""
    return Field(
        default=None,
        description=f"what {of} calls its columns, ours first; a number where it has no header",
        examples=[example],
    )


def crs_field() -> Any:
    """Return the key for the system of a table's places."""
    return Field(
        default=None,
        description="system of easting_m and northing_m, or of degrees that are not WGS 84; of a CSV",
        examples=["EPSG:25832"],
    )


def encoding_field() -> Any:
    """Return the key for the encoding of a text."""
    return Field(
        default=None,
        description="encoding of a CSV that is neither UTF-8 nor marked UTF-16",
        examples=["windows-1252"],
    )


def decimal_field() -> Any:
    """Return the key for the sign before decimals."""
    return Field(
        default=None,
        description="sign before decimals, where the numbers of a table do not tell",
        examples=[","],
    )


def layer_field() -> Any:
    """Return the key for one of several layers."""
    return Field(default=None, description="of a GeoPackage with several layers", examples=["stations"])
