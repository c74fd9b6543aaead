"""Words every fault of a study file's keys: where it is, what is wrong, what to write instead."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from types import UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin

from pydantic import BaseModel, Discriminator, ValidationError
from pydantic.fields import FieldInfo

from combe.errors import did_you_mean, nearest
from combe.study.fault import Fault, Place, missing

_KINDS: Final[Mapping[str, str]] = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "finite_number": "a finite number",
    "tuple_type": "a list in square brackets",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "string_too_short": "text that is not empty",
}

_BOUNDS: Final[Mapping[str, tuple[str, str]]] = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}


def faults_of(error: ValidationError, root: type[BaseModel]) -> list[Fault]:
    """Return the faults in the order of the file's sections."""
    return [_fault(detail, root) for detail in error.errors(include_url=False) if not _is_echo(detail)]


def _is_echo(detail: Mapping[str, Any]) -> bool:
    """Tell whether a list only seems too short because faulty entries, named by themselves, do not count."""
    return bool(detail["type"] == "too_short" and len(detail["input"]) >= detail["ctx"]["min_length"])


def _fault(detail: Mapping[str, Any], root: type[BaseModel]) -> Fault:
    place = _place(detail["loc"], root)
    kind: str = detail["type"]
    if kind == "missing":
        return missing_key(root, place)
    if kind == "extra_forbidden":
        return _unknown_key(root, place)
    return Fault(place, _WORDINGS.get(kind, _other)(detail, root, place))


def _place(steps: Sequence[str | int], root: type[BaseModel]) -> Place:
    """Return the place in the file, without the steps that say of which kind a value is meant to be."""
    place: Place = ()
    is_kind = False
    for step in steps:
        if not is_kind:
            place = (*place, step)
        field = None if is_kind else field_at(root, place)
        is_kind = field is not None and _has_kinds(field.annotation)
    return place


def _has_kinds(annotation: Any) -> bool:
    """Tell whether a value may be of two kinds that are told apart before it is checked."""
    if any(isinstance(each, Discriminator) for each in getattr(annotation, "__metadata__", ())):
        return True
    return get_origin(annotation) in (Union, UnionType) and any(map(_has_kinds, get_args(annotation)))


def missing_key(root: type[BaseModel], place: Place, more: str = "") -> Fault:
    """Return the fault that a key is missing: what to write there, and ``more`` of it."""
    return missing(place, f"{_write(root, place)}{more}")


def _unknown_key(root: type[BaseModel], place: Place) -> Fault:
    given, known = str(place[-1]), _keys(_model_at(root, place[:-1]))
    near = nearest(given, known)
    meant = () if near is None else (*place[:-1], near)
    return Fault(place, f"is no key of a study; {did_you_mean(given, known)}", meant=meant)


def _literal(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    field = field_at(root, place)
    allowed = _literal_words(field.annotation) if field else []
    return f"{_given(detail)} is unknown; {did_you_mean(str(detail['input']), allowed)}"


def _bound(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    key, words = _BOUNDS[detail["type"]]
    return f"{_given(detail)} is out of range; write a number of {words} {detail['ctx'][key]:g}" + _meaning(
        field_at(root, place)
    )


def _wrong_kind(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    return f"{_given(detail)} is not {_KINDS[detail['type']]}; {_write(root, place)}"


def _length(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    count = detail["ctx"]
    bound = f"at least {count['min_length']}" if "min_length" in count else f"at most {count['max_length']}"
    return f"holds too {'few' if 'min_length' in count else 'many'} entries; write {bound}" + _meaning(
        field_at(root, place)
    )


def _too_long(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    del root, place
    return f"is too long; write at most {detail['ctx']['max_length']} characters"


def _refused(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    return f"{_given(detail)} {detail['ctx']['error']}; {_write(root, place)}"


def _other(detail: Mapping[str, Any], root: type[BaseModel], place: Place) -> str:
    return f"{_given(detail)} cannot be used; {_write(root, place)}"


_WORDINGS: Final[dict[str, Callable[[Mapping[str, Any], type[BaseModel], Place], str]]] = {
    "literal_error": _literal,
    "value_error": _refused,
    "too_short": _length,
    "too_long": _length,
    "string_too_long": _too_long,
    **dict.fromkeys(_BOUNDS, _bound),
    **dict.fromkeys(_KINDS, _wrong_kind),
}


def _given(detail: Mapping[str, Any]) -> str:
    """Return the value that stood in the file, shortened."""
    value = detail["input"]
    text = "a table" if isinstance(value, Mapping) else json.dumps(value, default=str, ensure_ascii=False)
    return text if len(text) <= 60 else text[:57] + "..."


def _write(root: type[BaseModel], place: Place) -> str:
    """Return what to write at a place: its table's heading, or an example with its meaning."""
    field = field_at(root, place)
    names = [step for step in place if isinstance(step, str)]
    if field is None:
        return "take it out, or write what the JSON Schema says"
    if _inner_model(field.annotation) is not None:
        heading = ".".join(names)
        many = get_origin(field.annotation) is tuple and not isinstance(place[-1], int)
        return f"write a [[{heading}]] table" if many else f"write a [{heading}] table"
    return f"write {names[-1]} = {_example(field)}" + _meaning(field)


def _example(field: FieldInfo) -> str:
    if field.examples:
        return json.dumps(field.examples[0], ensure_ascii=False)
    literals = _literal_words(field.annotation)
    if literals:
        return " or ".join(json.dumps(word) for word in literals)
    return json.dumps(field.default)


def _literal_words(annotation: Any) -> list[str]:
    """Return the words that a ``Literal`` allows, also inside ``Literal[...] | None``."""
    if get_origin(annotation) is Annotated:
        return _literal_words(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return [word for inner in get_args(annotation) for word in _literal_words(inner)]
    return [word for word in get_args(annotation) if isinstance(word, str)]


def _meaning(field: FieldInfo | None) -> str:
    return f" ({field.description})" if field and field.description else ""


def field_at(root: type[BaseModel], place: Sequence[str | int]) -> FieldInfo | None:
    """Return what the schema says of a place, or None where it has no such key."""
    names = [step for step in place if isinstance(step, str)]
    model: type[BaseModel] | None = _model_at(root, names[:-1])
    return None if model is None or not names else _fields(model).get(names[-1])


def _model_at(root: type[BaseModel], place: Sequence[str | int]) -> type[BaseModel] | None:
    model: type[BaseModel] | None = root
    for step in place:
        if isinstance(step, str) and model is not None:
            field = _fields(model).get(step)
            model = None if field is None else _inner_model(field.annotation)
    return model


def _fields(model: type[BaseModel]) -> dict[str, FieldInfo]:
    return {field.alias or name: field for name, field in model.model_fields.items()}


def _keys(model: type[BaseModel] | None) -> list[str]:
    return [] if model is None else list(_fields(model))


def _inner_model(annotation: Any) -> type[BaseModel] | None:
    """Return the table type inside an annotation such as ``tuple[Table, ...]`` or ``Table | None``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (tuple, Union, UnionType, Annotated):
        found = (_inner_model(inner) for inner in get_args(annotation))
        return next((model for model in found if model is not None), None)
    return None
