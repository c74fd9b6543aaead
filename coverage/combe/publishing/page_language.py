"""The languages of pages: a catalogue of each, and how it writes numbers.

Texts are English until a page is made; then each is told by the catalogue of the page's language. What the
catalogue does not hold stays English. The terminal, JSON, keys and names of files are English always.
"""

from __future__ import annotations

import gettext
import hashlib
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any, Final

from combe.digits import THIN_SPACE
from combe.errors import RangeError
from combe.publishing.text import encode, encode_data
from combe.words import Digits, Name, Told

Lookup = Callable[[str], str]

_LITERAL: Final = r'("(?:[^"\\\n]|\\.)*")'
_TOLD_IN_SCRIPT: Final = re.compile(
    rf"\btell\(\s*{_LITERAL}|\btellNumber\([^\",]+,\s*{_LITERAL},\s*{_LITERAL}"
)
"""Texts of a script that go through its catalogue; of what is counted there are two."""


@dataclass(frozen=True)
class PageLanguage:
    """A language that pages are told in: its code, its own name, its catalogue and its decimal sign."""

    code: str
    name: str
    decimal: str = "."
    lookup: Lookup = field(default=str, compare=False, repr=False)

    def template(self, template: str) -> str:
        """Return a template or a whole text in the language; as it is where the catalogue lacks it."""
        # The catalogue holds its own head under the empty text.
        return self.lookup(template) if template else ""

    def value(self, value: Any) -> Any:
        """Return a value as it is written in the language."""
        match value:
            case str():
                return self.words(value)
            case float() if self.decimal != ".":
                return _Number(value).written(self.decimal)
            case _:
                return value

    def words(self, text: str) -> str:
        """Return a text in the language."""
        match text:
            case Told():
                return text.retold(self)
            case Digits():
                return self.number(text)
            case Name():
                return str(text)
            case _:
                return self.template(text)

    def number(self, written: str) -> str:
        """Return a number that is written in English as the language writes it."""
        return written.replace(".", self.decimal)

    def script_head(self, script: str) -> str:
        """Return the lines that stand before a script: its texts in the language, and the decimal sign."""
        told = {text: self.template(text) for text in texts_of_script(script)}
        words = encode_data({text: words for text, words in told.items() if words != text})
        return f"const page_words = {words}, page_decimal = {json.dumps(self.decimal)};\n"


def texts_of_script(script: str) -> list[str]:
    """Return the texts of a script that go through a catalogue.

    >>> texts_of_script('tell("{size} m", { size }) + tellNumber(hills, "{count} hill", "{count} hills")')
    ['{size} m', '{count} hill', '{count} hills']
    """
    found = (literal for literals in _TOLD_IN_SCRIPT.findall(script) for literal in literals if literal)
    return [json.loads(literal) for literal in found]


class _Number(float):
    """A number that is formatted with another decimal sign."""

    decimal: str

    def written(self, decimal: str) -> _Number:
        """Return the number with its sign."""
        self.decimal = decimal
        return self

    def __format__(self, spec: str) -> str:
        """Return the number as it is written, with thin spaces between thousands."""
        return float(self).__format__(spec).replace(",", THIN_SPACE).replace(".", self.decimal)


ENGLISH: Final = PageLanguage("en", "English")

_CURRENT: ContextVar[PageLanguage] = ContextVar("language of pages", default=ENGLISH)


def current_language() -> PageLanguage:
    """Return the language in which pages are made now."""
    return _CURRENT.get()


@contextmanager
def pages_in(language: PageLanguage) -> Iterator[None]:
    """Make all pages within in a language."""
    token = _CURRENT.set(language)
    try:
        yield
    finally:
        _CURRENT.reset(token)


def in_page_language(text: str) -> str:
    """Return a text in the language in which pages are made now."""
    return _CURRENT.get().words(text)


def told_html(text: str) -> str:
    """Return a text in the language in which pages are made now, as HTML."""
    return encode(in_page_language(text))


def retold(text: str) -> str:
    """Return a text in the language of pages if it was made of a template, or is a number.

    Other texts stay as they are: where names stand among them that somebody chose, none is looked up.
    """
    return in_page_language(text) if isinstance(text, Told | Digits) else text


def retold_data(data: Any) -> Any:
    """Return the data of a page with each text that was made of a template in the language of pages.

    Keys stay, for scripts ask by them.
    """
    match data:
        case str():
            return retold(data)
        case dict():
            return {key: retold_data(value) for key, value in data.items()}
        case list() | tuple():
            return [retold_data(value) for value in data]
        case _:
            return data


def language_codes() -> tuple[str, ...]:
    """Return the codes of the languages that pages can be told in, English first."""
    found = (each.name for each in _catalogues().iterdir() if each.joinpath("combe.mo").is_file())
    return ("en", *sorted(found))


def catalogues_hash() -> str:
    """Return a hash of all catalogues, which changes when any of their texts does."""
    parts = hashlib.sha256()
    for code in language_codes()[1:]:
        parts.update(_catalogues().joinpath(code, "combe.mo").read_bytes())
    return parts.hexdigest()


@cache
def page_language(code: str) -> PageLanguage:
    """Return a language by its code.

    Raises
    ------
    RangeError
        There is no catalogue of that language.
    """
    if code == "en":
        return ENGLISH
    if code not in language_codes():
        raise RangeError("language of pages", code, ", ".join(language_codes()))
    from babel import Locale
    from babel.numbers import get_decimal_symbol

    locale = Locale.parse(code)
    with _catalogues().joinpath(code, "combe.mo").open("rb") as file:
        catalogue = gettext.GNUTranslations(file)
    name = str(locale.get_display_name(locale)).capitalize()
    return PageLanguage(code, name, get_decimal_symbol(locale), catalogue.gettext)


def _catalogues() -> Any:
    return files("combe.publishing").joinpath("languages")
