"""A document as JSON for programs; and, of the same fields, the help on its keys and its JSON Schema.

Around the fields of a form stand the keys of every document (FRAME). A number that does not exist is null.
People, decibels, distances and angles are rounded, but never so that a value and its limit, or a sum and its
parts, contradict one another.
"""

from __future__ import annotations

import datetime
import json
import math
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from combe.publishing.document import Document, Form
from combe.publishing.fields import Field, Mark, text, texts

FRAME: Final = (
    text("format", meaning="name and version of this form of answer"),
    text("study", meaning="path", null="no study was asked"),
    text("title", meaning="of the study", null="no study was asked, or it could not be read"),
    texts("headline", meaning="the answer in words"),
)
"""What every document begins with; a form that has a key of its own of that name keeps it."""

MADE: Final = (
    Field("provenance", "named", meaning="what made the answer, in words, by name"),
    texts("cautions"),
)
"""What every document ends with."""

_OPENED: Final = {"list": "[]{", "object": "{", "named": "{NAME{"}
_CLOSED: Final = {"list": "}", "object": "}", "named": "}}"}
_ALONE: Final = {"texts": "[]", "numbers": "[]", "named": "{}"}
"""How the help shows what holds several values: objects with their keys, others without."""

_SCHEMA: Final = "https://json-schema.org/draft/2020-12/schema"
_SAME_DB: Final = 1e-9
"""What a sum of decibels may differ by from its parts and still be their sum."""


def as_json(document: Document) -> str:
    """Return the document as the text of one JSON object."""
    return json.dumps(as_object(document), indent=2, allow_nan=False)


def as_object(document: Document) -> dict[str, Any]:
    """Return the document in JSON's own types."""
    study = document.study
    frame = {
        "format": document.form.name,
        "study": study.key if study else None,
        "title": (study.title or None) if study else None,
        "headline": document.headline,
    }
    files = {key: document.files.get(key) for key, _ in document.form.files}
    own = _object(document.form.fields, document.answer)
    paths = {key: path.resolve() if path else None for key, path in files.items()}
    made = {"provenance": document.made_by, "cautions": document.cautions}
    found: dict[str, Any] = plain({**frame, **own, **paths, **made})
    return found


def plain(value: Any) -> Any:
    """Return the value in JSON's own types: no NaN, no numpy numbers, paths and days as text."""
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if isinstance(value, Path | datetime.date):
        return str(value)
    # Asked by its manner and not its type: whoever prints JSON need not load numpy for it.
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _object(fields: Sequence[Field], row: Any) -> dict[str, Any]:
    """Return some fields of a row, its numbers rounded together."""
    keyed = [field for field in fields if field.key]
    exact = {field.key: plain(field.of(row)) for field in keyed if field.kind in ("number", "numbers")}
    found = {
        field.key: _rounded(exact[field.key], field.unit.kept)
        if field.key in exact
        else _value(field, field.of(row))
        for field in keyed
    }
    for field in keyed:
        if field.total:
            found[field.key] = _sum_of_rounded(field, keyed, row, exact, found)
    return _beside_their_limits(keyed, exact, found)


def _value(field: Field, value: Any) -> Any:
    if value is None:
        return None
    match field.kind:
        case "object":
            return _object(field.fields, value)
        case "list":
            return [_object(field.fields, row) for row in value]
        case "named" if field.fields:
            return {name: _object(field.fields, row) for name, row in value.items()}
        case "mark":
            return value.words if isinstance(value, Mark) else str(value)
        case "whole":
            return int(value)
        case _:
            return value


def _rounded(value: Any, decimals: int | None) -> Any:
    """Return numbers with so many decimals and no −0; all others as they are."""
    if isinstance(value, list):
        return [_rounded(each, decimals) for each in value]
    if value is None or decimals is None:
        return value
    # Adding 0 makes 0 of −0.
    return round(float(value), decimals) + 0.0


def _sum_of_rounded(
    field: Field, beside: Sequence[Field], row: Any, exact: dict[str, Any], found: dict[str, Any]
) -> Any:
    """Return a number as the sum of its rounded parts, where it is the sum of its parts at all."""
    true, kept = exact[field.key], field.unit.kept
    parts: list[Any] = []
    rounded: list[Any] = []
    for key in field.total:
        first, _, inner = key.partition(".")
        if not inner:
            parts.append(exact[first])
            rounded.append(found[first])
            continue
        holder = next(each for each in beside if each.key == first)
        (column,) = holder.only(inner)
        parts += [plain(column.of(each)) for each in holder.of(row)]
        rounded += [each[inner] for each in found[first]]
    if true is None or None in parts or kept is None or abs(sum(parts) - true) > _SAME_DB:
        return found[field.key]
    return round(sum(rounded), kept) + 0.0


def _beside_their_limits(
    fields: Sequence[Field], exact: dict[str, Any], found: dict[str, Any]
) -> dict[str, Any]:
    """Take back what rounding put on the other side of a limit."""
    # A number that is taken back may be the limit of another, so this goes on until nothing changes; each
    # number is taken back once at most.
    pairs = [field for field in fields if field.limit is not None and exact.get(field.key) is not None]
    changed = True
    while changed:
        changed = False
        for field in pairs:
            key, limit = field.key, field.limit
            over = limit.key if isinstance(limit, Field) else None
            if over is not None and exact.get(over) is None:
                continue
            true, shown = (exact[over], found[over]) if over is not None else (limit, limit)
            if _side(found[key], shown) != _side(exact[key], true):
                changed = (found[key], shown) != (exact[key], true)
                found[key] = exact[key]
                if over is not None:
                    found[over] = exact[over]
    return found


def _side(value: Any, limit: Any) -> int:
    return int(value > limit) - int(value < limit)


# The description: help on the keys, and the schema. Both are made without an answer.


def all_fields(form: Form) -> tuple[Field, ...]:
    """Return the fields of every document of a form, with those of the frame and its files."""
    own = {field.key for field in form.fields}
    files = tuple(text(key, meaning="path", null=null) for key, null in form.files)
    frame = tuple(field for field in FRAME if field.key not in own)
    return (*frame, *(field for field in form.fields if field.key), *files, *MADE)


def key_lines(form: Form, width: int = 96) -> list[str]:
    """Return the keys of a form's JSON in lines, as the help shows them: objects in braces, further in.

    >>> from combe.publishing.fields import many, number, text
    >>> form = Form("hill", (many("hills", text("name"), number("margin_db", null="unknown")),))
    >>> for line in key_lines(form)[-3:]: print(line)
    headline[] (the answer in words),
    hills[]{name, margin_db (null: unknown)},
    provenance{} (what made the answer, in words, by name), cautions[]
    """
    return _packed(all_fields(form), width, "")


def _packed(fields: Sequence[Field], width: int, end: str) -> list[str]:
    """Return keys with as many in a line as there is room for; one with keys in it begins a line."""
    lines: list[str] = []
    fresh = True
    for at, field in enumerate(fields):
        comma = "," if at < len(fields) - 1 else end
        told = f"{_told(field)}{comma}"
        if not fresh and not _spread(field) and len(lines[-1]) + 1 + len(told) <= width:
            lines[-1] += f" {told}"
        elif _spread(field) and len(told) > width:
            start = f"{field.key}{_OPENED[field.kind]}"
            inner = _packed([each for each in field.fields if each.key], width - 2, "")
            said = _said(field)
            lines += [start, *(f"  {line}" for line in inner)]
            end_words = f"{lines.pop()}{_CLOSED[field.kind]}{f' ({said})' if said else ''}{comma}"
            lines += textwrap.wrap(end_words, width, subsequent_indent="    ", break_on_hyphens=False)
        else:
            lines += textwrap.wrap(told, width, subsequent_indent="  ", break_on_hyphens=False)
        fresh = _spread(field)
    return lines


def _spread(field: Field) -> bool:
    """Return whether the help tells the keys in a field."""
    return bool(field.fields) and not field.like


def _told(field: Field) -> str:
    inner = field.like or ", ".join(_told(each) for each in field.fields if each.key)
    opened = _OPENED.get(field.kind, "") if inner else _ALONE.get(field.kind, "")
    said = _said(field)
    closed = _CLOSED.get(field.kind, "") if inner else ""
    return f"{field.key}{opened}{inner}{closed}{f' ({said})' if said else ''}"


def _said(field: Field) -> str:
    return "; ".join(filter(None, (field.meaning, f"null: {field.null}" if field.null else "")))


def json_schema(*forms: Form) -> dict[str, Any]:
    """Return the JSON Schema of what a form's documents print; of several forms, any of them."""
    schemas = [_form_schema(form) for form in forms]
    return {"$schema": _SCHEMA, **(schemas[0] if len(schemas) == 1 else {"oneOf": schemas})}


def _form_schema(form: Form) -> dict[str, Any]:
    schema = _object_schema(all_fields(form))
    schema["properties"]["format"] = {"const": form.name}
    return {"title": form.name, **schema}


def _object_schema(fields: Sequence[Field]) -> dict[str, Any]:
    keyed = [field for field in fields if field.key]
    return {
        "type": "object",
        "properties": {field.key: _field_schema(field) for field in keyed},
        "required": [field.key for field in keyed],
        "additionalProperties": False,
    }


def _field_schema(field: Field) -> dict[str, Any]:
    match field.kind:
        case "number":
            schema: dict[str, Any] = {"type": "number"}
        case "whole":
            schema = {"type": "integer"}
        case "flag":
            schema = {"type": "boolean"}
        case "texts":
            schema = {"type": "array", "items": {"type": "string"}}
        case "numbers":
            schema = {"type": "array", "items": {"type": ["number", "null"]}}
        case "object":
            schema = _object_schema(field.fields)
        case "list":
            schema = {"type": "array", "items": _object_schema(field.fields)}
        case "named":
            inner = _object_schema(field.fields) if field.fields else {"type": "string"}
            schema = {"type": "object", "additionalProperties": inner}
        case _:
            schema = {"type": "string"}
    if field.null:
        schema["type"] = [schema["type"], "null"]
    said = [field.meaning, f"[{field.unit.name}]" if field.unit.name else ""]
    said += [f"null: {field.null}"] if field.null else []
    described = "; ".join(filter(None, said))
    return {**schema, "description": described} if described else schema
