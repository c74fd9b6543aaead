"""Reads what the desk's page asks: bodies and addresses, with a one-line fault for what cannot be meant."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from combe.errors import CombeError, did_you_mean, quoted

Pairs = Sequence[tuple[str, str]]
"""Names and values of an address."""


class QuestionError(CombeError, ValueError):
    """A question that the page of the desk would not ask."""


def json_object(body: bytes) -> dict[str, Any]:
    """Return the object that a body holds; an empty body is an empty object."""
    try:
        told = json.loads(body or b"{}")
        # Python reads what JSON has not, and writes none of it: infinite numbers, and halves of signs.
        json.dumps(told, allow_nan=False, ensure_ascii=False).encode("utf-8")
    except (ValueError, RecursionError):
        raise QuestionError("the body is no JSON; send one object in UTF-8") from None
    if not isinstance(told, dict):
        raise QuestionError(f"the body is {_kind(told)}; send a JSON object")
    return told


def fields_of(given: Mapping[str, Any], wanted: Mapping[str, type], **defaults: object) -> list[Any]:
    """Return the values of the wanted fields, in their order; unknown and missing ones are a fault."""
    for name in given:
        if name not in wanted:
            raise QuestionError(f"{quoted(name)} is not asked for; {did_you_mean(name, wanted)}")
    return [_field(given, name, kind, defaults) for name, kind in wanted.items()]


def _field(given: Mapping[str, Any], name: str, kind: type, defaults: Mapping[str, object]) -> Any:
    if name not in given and name in defaults:
        return defaults[name]
    value = given.get(name)
    if name not in given or not isinstance(value, kind):
        was = _kind(value) if name in given else "missing"
        raise QuestionError(f"{quoted(name)} is {was}; give {_WORDS[kind]}")
    return value


def query_of(
    pairs: Sequence[tuple[str, str]], *wanted: str, optional: Sequence[str] = ()
) -> list[str | None]:
    """Return what an address asks by these names; an optional one may be missing."""
    given = dict(pairs)
    if len(given) < len(pairs):
        raise QuestionError("a name stands twice in the address; ask with each once")
    missing = dict.fromkeys(optional)
    return fields_of(given, dict.fromkeys((*wanted, *optional), str), **missing)


def number(name: str, text: str | None) -> float:
    """Return a number that an address tells."""
    try:
        value = float(text or "")
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise QuestionError(f"{quoted(name)} is {quoted(text or '')}; give a number")
    return value


_WORDS: Mapping[type, str] = {str: "a text", bool: "true or false", list: "a list", dict: "an object"}


def _kind(value: object) -> str:
    """Return what a value of JSON is, in words."""
    return _WORDS.get(type(value), "null" if value is None else "a number")
