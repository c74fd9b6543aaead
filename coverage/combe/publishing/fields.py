"""What an answer consists of: each value with its key, unit, meaning and place, written once per question.

A field says how a value is read from the answer, and what it is. The JSON of an answer, the help on its keys,
its JSON Schema, and the columns of its tables in a terminal and on a page are all made of the same fields.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, NamedTuple

from combe.digits import apart, spoken, telling
from combe.errors import RangeError
from combe.words import Digits, chain, joined

Kind = Literal[
    "text", "whole", "number", "flag", "mark", "texts", "numbers", "object", "list", "named", "blank"
]
"""What a value is; a ``list`` holds objects, ``named`` has objects or texts under the answer's own names.

A ``blank`` is no value but room on paper in which to write one.
"""

Getter = str | Callable[[Any], Any]
"""How a value is read: attributes with dots between, of which None gives None, or a function of the row."""


class Mark(NamedTuple):
    """A verdict in a cell: ``look`` is one of LOOKS, ``words`` are what readers see."""

    look: str
    words: str


LOOKS: Final = {"passes": "✓", "not judged": "?", "fails": "✗", "drifts": "~", "noted": "·"}
"""How a verdict looks, and its sign; a page tells it by shape as well as by colour."""


class Unit(NamedTuple):
    """A unit as readers see it, the decimals they see, and those that JSON keeps (None: as computed)."""

    name: str
    decimals: int
    kept: int | None = None


NO_UNIT: Final = Unit("", 1)

_KEPT_DB: Final = 6
"""As :mod:`combe.digits` has it: nearer to a limit than six decimals tell, a level counts as the limit."""

UNITS: Final[dict[str, Unit]] = {
    "dbuv_m": Unit("dB(µV/m)", 1, _KEPT_DB),
    "dbuv": Unit("dBµV", 1, _KEPT_DB),
    "dbm": Unit("dBm", 1, _KEPT_DB),
    "dbw": Unit("dBW", 1, _KEPT_DB),
    "dbi": Unit("dBi", 1, _KEPT_DB),
    "dbd": Unit("dBd", 1, _KEPT_DB),
    "db": Unit("dB", 1, _KEPT_DB),
    "people": Unit("", 0, 3),
    "mhz": Unit("MHz", 1),
    "khz": Unit("kHz", 1),
    "km": Unit("km", 2, 6),
    "m": Unit("m", 0),
    "deg": Unit("°", 1, 7),
    "w": Unit("W", 1),
    "s": Unit("s", 1),
    "us": Unit("µs", 1, 6),
    "percent": Unit("%", 1),
}
"""By the last word of a key, or the last two: units stand in names."""

_PEOPLE: Final = UNITS["people"]._replace(name="")


@dataclass(frozen=True)
class Field:
    """One value of an answer.

    Parameters
    ----------
    key : str
        Its key in JSON, with the unit; nothing for what only readers are shown.
    kind : Kind
        What it is.
    head : str
        What readers see before or over it; nothing where it is not for readers.
    get : str or callable
        How it is read from a row; nothing where the attribute is called as the key.
    meaning, null : str
        What the help and the schema add to the key; when it is null.
    unit : Unit
        Of a number; from its key, unless told.
    decimals : int, optional
        That readers see; those of the unit, unless told.
    limit : float or Field, optional
        What the number is held against; no rounding puts it on the other side.
    total : tuple of str
        Keys beside it, or of objects in a list beside it (``edges.loss_db``), of which it may be the sum.
        Where it is, the rounded numbers add up as well.
    absent : str
        What readers see where it is null.
    signed : bool
        Whether readers see a plus before a number over 0.
    right : bool
        Whether texts stand to the right in their column, as numbers do.
    under : str or callable
        What readers see below the value, smaller, where there is anything.
    once : bool
        Whether rows below one another that share the cell show it once.
    fields : tuple of Field
        Of the objects in it.
    like : str
        What the help says in place of these, where it tells them elsewhere.
    """

    key: str
    kind: Kind
    head: str = ""
    get: Getter = ""
    meaning: str = ""
    null: str = ""
    unit: Unit = NO_UNIT
    decimals: int | None = None
    limit: float | Field | None = None
    total: tuple[str, ...] = ()
    absent: str = "–"
    signed: bool = False
    right: bool = False
    under: Getter = ""
    once: bool = False
    fields: tuple[Field, ...] = ()
    like: str = ""

    def __post_init__(self) -> None:
        """Check that no two values have the same key, and that one of them can be told at all."""
        keys = [each.key for each in self.fields if each.key]
        if len(set(keys)) < len(keys):
            raise RangeError(f"keys in {self.key}", ", ".join(keys), "each once")
        if not self.key and not self.head:
            raise RangeError("field", "without key and head", "a key for JSON, a head for readers, or both")

    def of(self, row: Any) -> Any:
        """Return the value in a row."""
        return read(row, self.get or self.key)

    @property
    def shown_decimals(self) -> int:
        """How many decimals readers see."""
        return self.unit.decimals if self.decimals is None else self.decimals

    def only(self, *keys: str) -> tuple[Field, ...]:
        """Return some of the fields in it, in the order asked."""
        there = {each.key: each for each in self.fields}
        return tuple(there[key] for key in keys)


def read(row: Any, get: Getter) -> Any:
    """Return what a getter finds in a row.

    >>> read({"edge": {"loss_db": 6.0}}, "edge.loss_db"), read({"edge": None}, "edge.loss_db")
    (6.0, None)
    """
    if callable(get):
        return get(row)
    for name in get.split("."):
        if row is None:
            return None
        row = row[name] if isinstance(row, Mapping) else getattr(row, name)
    return row


def text(key: str, head: str = "", get: Getter = "", **more: Any) -> Field:
    """Return a field of words."""
    return Field(key, "text", head, get, **more)


def whole(key: str, head: str = "", get: Getter = "", **more: Any) -> Field:
    """Return a field of a whole number."""
    return Field(key, "whole", head, get, **more)


def number(key: str, head: str = "", get: Getter = "", **more: Any) -> Field:
    """Return a field of a number; its unit is that of its key, unless ``unit`` is told."""
    unit = more.pop("unit", None) or unit_of(key)
    return Field(key, "number", head, get, unit=unit, **more)


def people(key: str, head: str = "", get: Getter = "", **more: Any) -> Field:
    """Return a field of a number of people whose head says so, with no unit below it."""
    return Field(key, "number", head, get, unit=_PEOPLE, **more)


def flag(key: str, head: str = "", get: Getter = "", **more: Any) -> Field:
    """Return a field of yes or no."""
    return Field(key, "flag", head, get, **more)


def mark(key: str, head: str, get: Getter = "", **more: Any) -> Field:
    """Return a field of a verdict: a :class:`Mark`, whose words are the value, or one of LOOKS."""
    return Field(key, "mark", head, get, **more)


def texts(key: str, head: str = "", get: Getter = "", **more: Any) -> Field:
    """Return a field of several texts."""
    return Field(key, "texts", head, get, **more)


def numbers(key: str, get: Getter = "", **more: Any) -> Field:
    """Return a field of a row of numbers."""
    return Field(key, "numbers", "", get, unit=more.pop("unit", None) or unit_of(key), **more)


def one(key: str, *fields: Field, get: Getter = "", **more: Any) -> Field:
    """Return a field of one object."""
    return Field(key, "object", get=get, fields=fields, **more)


def many(key: str, *fields: Field, get: Getter = "", **more: Any) -> Field:
    """Return a field of a list of objects."""
    return Field(key, "list", get=get, fields=fields, **more)


def named(key: str, *fields: Field, get: Getter = "", **more: Any) -> Field:
    """Return a field of objects, or without fields of texts, each under a name of its own."""
    return Field(key, "named", get=get, fields=fields, **more)


def blank(head: str, sign: str = "") -> Field:
    """Return room to write in, on paper; ``sign`` stands in it, such as a box to tick."""
    return Field("", "blank", head, lambda _: sign)


def unit_of(key: str) -> Unit:
    """Return the unit in which a key ends; none where it ends in no unit.

    >>> unit_of("field_strength_dbuv_m").name, unit_of("distance_km").name, unit_of("share").name
    ('dB(µV/m)', 'km', '')
    """
    words = key.split("_")
    # The longer ending first: a key in dbuv_m ends in m as well.
    known = (UNITS.get("_".join(words[-count:])) for count in (2, 1))
    first = UNITS["people"] if words[0] == "people" else None
    return next((unit for unit in (*known, first) if unit), NO_UNIT)


def as_told(field: Field, head: str) -> Field:
    """Return a field under another head, for another table."""
    return replace(field, head=head)


def within(where: Getter, fields: Sequence[Field]) -> tuple[Field, ...]:
    """Return fields that are read from what a getter finds in a row, for tables of rows in rows.

    >>> (name,) = within("station", (text("name", "station"),))
    >>> cells((name,), {"station": {"name": "Tarnbeacon"}})
    ['Tarnbeacon']
    """
    return tuple(replace(field, get=_through(where, field)) for field in fields)


def _through(where: Getter, field: Field) -> Getter:
    return lambda row: field.of(read(row, where))


# What readers see. Terminal and page take their cells from here, so they cannot say different numbers.


def cells(fields: Sequence[Field], row: Any) -> list[str]:
    """Return what readers see of a row; a value and its limit have as many decimals as tell them apart.

    What stands under a value is a second line of its cell.
    """
    shown = {id(field): _cell(field, field.of(row)) for field in fields}
    for field in fields:
        if isinstance(field.limit, Field):
            pair = field.of(row), field.limit.of(row)
            if None in pair or any(map(math.isnan, pair)):
                continue
            pair_shown = apart(*pair, field.shown_decimals)
            for each, words in zip((field, field.limit), pair_shown, strict=True):
                # Only ever more decimals: a value beside several limits has as many as the nearest of them
                # asks for.
                if id(each) in shown and len(words) > len(_bare(shown[id(each)])):
                    shown[id(each)] = spoken(float(words), len(words.partition(".")[2]))
    return [_with_below(shown[id(field)], field, row) for field in fields]


def _with_below(words: str, field: Field, row: Any) -> str:
    below = read(row, field.under) if field.under else ""
    return chain(words, "\n", _told(below)) if below else words


def _bare(words: str) -> str:
    """Return a number without the spaces between its thousands."""
    return "".join(words.split())


def _cell(field: Field, value: Any) -> str:
    if value is None or (field.kind == "number" and math.isnan(value)):
        return field.absent
    match field.kind:
        case "number":
            return _number(field, float(value))
        case "whole":
            return spoken(int(value))
        case "flag":
            return "yes" if value else "no"
        case "texts":
            return joined(", ", map(_told, value))
        case "mark":
            return value.words if isinstance(value, Mark) else _told(value)
        case _:
            return _told(value)


def _told(value: Any) -> str:
    """Return a value as a text; one that is a text keeps what it was made of."""
    return value if isinstance(value, str) else str(value)


def _number(field: Field, value: float) -> str:
    decimals = field.shown_decimals
    if isinstance(field.limit, float) and math.isfinite(value):
        decimals = len(telling(value, field.limit, decimals).partition(".")[2])
    words = spoken(value, decimals)
    return Digits(f"+{words}") if field.signed and value > 0.0 and words[0].isdigit() else words


def fact(field: Field, row: Any) -> str:
    """Return what readers see of a value that stands alone, with its unit."""
    (words,) = cells((field,), row)
    space = "" if field.unit.name == "°" else " "
    if words == field.absent or not field.unit.name:
        return words
    return chain(words, space, field.unit.name)


def is_number(field: Field) -> bool:
    """Return whether a column of the field stands to the right."""
    return field.right or field.kind in ("number", "whole")
