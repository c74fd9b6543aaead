"""What all sections of a study file share: strictness, and the kinds of text they hold."""

from __future__ import annotations

import math
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, PlainValidator, WithJsonSchema
from pydantic_core import PydanticKnownError

OMNI = "omni"
"""What a pattern key says when the aerial radiates alike in all directions."""

Text = Annotated[str, Field(min_length=1, max_length=200)]


def _printable(name: str) -> str:
    if not (name.isprintable() and name.strip()):
        raise ValueError("is not printable text on one line")
    return name


Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_printable)]

_SHARES_PERCENT: Final = (50.0, 99.999)
_MOST_SHARES: Final = 10


def _shares(value: Any) -> float | tuple[float, ...]:
    """Return one share of an average year, or the shares of a list; faults are worded as those of numbers."""
    if not isinstance(value, list | tuple):
        return _share(value)
    if not 0 < len(value) <= _MOST_SHARES:
        kind, key, bound = (
            ("too_long", "max_length", _MOST_SHARES) if value else ("too_short", "min_length", 1)
        )
        context = {"field_type": "List", key: bound, "actual_length": len(value)}
        raise PydanticKnownError(kind, context)  # type: ignore[arg-type]
    return tuple(map(_share, value))


def _share(value: Any) -> float:
    low, high = _SHARES_PERCENT
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise PydanticKnownError("float_type")
    if not math.isfinite(value):
        raise PydanticKnownError("finite_number")
    if value < low:
        raise PydanticKnownError("greater_than_equal", {"ge": low})
    if value > high:
        raise PydanticKnownError("less_than_equal", {"le": high})
    return float(value)


_SHARE_SCHEMA: Final = {"type": "number", "minimum": _SHARES_PERCENT[0], "maximum": _SHARES_PERCENT[1]}
Shares = Annotated[
    float | tuple[float, ...],
    PlainValidator(_shares),
    WithJsonSchema(
        {
            "anyOf": [
                _SHARE_SCHEMA,
                {"type": "array", "items": _SHARE_SCHEMA, "minItems": 1, "maxItems": _MOST_SHARES},
            ]
        }
    ),
]
"""Shares of an average year [%], one or a list."""


class Section(BaseModel):
    """A table of the study file: unknown keys, wrong types and numbers that are not finite are faults."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)
