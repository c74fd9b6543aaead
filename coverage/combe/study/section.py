"""What all sections of a study file share: strictness, and the kinds of text they hold."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

OMNI = "omni"
"""What a pattern key says when the aerial radiates alike in all directions."""

Text = Annotated[str, Field(min_length=1, max_length=200)]


def _printable(name: str) -> str:
    if not (name.isprintable() and name.strip()):
        raise ValueError("is not printable text on one line")
    return name


Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_printable)]


class Section(BaseModel):
    """A table of the study file: unknown keys, wrong types and numbers that are not finite are faults."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)
