"""Texts that remember what they were made of, so that a page can tell them in another language.

A text of this kind is the English one wherever a text is wanted: in a terminal, in JSON, as a key. Pages ask
it for its template and values instead. No answer and no document knows of any language but English.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Protocol


class Language(Protocol):
    """What texts are told in."""

    def template(self, template: str) -> str:
        """Return a template in the language, with the same names of values."""

    def value(self, value: Any) -> Any:
        """Return a value of a template, so that it is written as the language writes it."""


class Told(str):
    """A text that can be told in another language."""

    def retold(self, language: Language) -> str:
        """Return the text in a language."""
        raise NotImplementedError

    def __add__(self, other: str) -> str:
        """Return both texts, one behind the other."""
        return chain(self, other)

    def __radd__(self, other: str) -> str:
        """Return both texts, one behind the other."""
        return chain(other, self)


class Sentence(Told):
    """A text made of a template and its values."""

    template: str
    values: Mapping[str, Any]

    def retold(self, language: Language) -> str:
        """Return the text in a language."""
        values = {name: language.value(value) for name, value in self.values.items()}
        return language.template(self.template).format(**values)


class Chain(Told):
    """Texts one behind the other."""

    parts: tuple[str, ...]

    def retold(self, language: Language) -> str:
        """Return the texts in a language."""
        return "".join(str(language.value(part)) for part in self.parts)


class Shaped(Told):
    """A text that something was done to that is done in each language anew: its first letter made great."""

    of: Told
    shape: Callable[[str], str]

    def retold(self, language: Language) -> str:
        """Return the text in a language."""
        return self.shape(self.of.retold(language))


class Name(str):
    """A text that its owner chose, which is the same in all languages."""


class Digits(str):
    """A number as it is written in English, with a point before its decimals."""


def tell(template: str, /, **values: Any) -> str:
    """Return a template with its values in place, as ``str.format`` does.

    >>> tell("{margin_db:.1f} dB at {place}", margin_db=4.25, place="Upper Combe")
    '4.2 dB at Upper Combe'
    """
    told = Sentence(template.format(**values))
    told.template, told.values = template, values
    return told


def tell_number(count: float, one: str, several: str, /, **values: Any) -> str:
    """Return one of two templates, as there is one of what is counted or not; ``count`` is a value of both.

    >>> tell_number(1, "{count} hill", "{count} hills"), tell_number(12, "{count} hill", "{count} hills")
    ('1 hill', '12 hills')
    """
    return tell(one if count == 1 else several, count=count, **values)


def chain(*parts: str) -> Told:
    """Return texts one behind the other."""
    told = Chain("".join(parts))
    told.parts = parts
    return told


def joined(separator: str, parts: Iterable[str]) -> str:
    """Return texts with a separator between them, as ``str.join`` does.

    >>> joined(" and ", ["a feed", "a mast"])
    'a feed and a mast'
    """
    every = tuple(parts)
    if not every:
        return ""
    if len(every) == 1 and isinstance(every[0], Told):
        return every[0]
    return chain(every[0], *(each for part in every[1:] for each in (separator, part)))


def shaped(text: str, shape: Callable[[str], str]) -> str:
    """Return a text that a function has shaped, which is done anew in each language."""
    if isinstance(text, Name):
        return Name(shape(text))
    told = Shaped(shape(text))
    told.of, told.shape = text if isinstance(text, Told) else chain(text), shape
    return told
