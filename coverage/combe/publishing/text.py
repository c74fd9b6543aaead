"""Makes any text safe to put in a page, in a page's data, in a picture or in a table cell."""

from __future__ import annotations

import html
import itertools
import json
import re
import unicodedata
from typing import Any, Final

from combe.digits import THIN_SPACE, spoken

_ALSO_UNSAFE: Final = {ord(sign): f"&#{ord(sign)};" for sign in "\\`${}=\n\r\t\u2028\u2029"}
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_LONG: Final = re.compile(r"\S{17,}")
_PIECE: Final = re.compile(r"\S{1,15}[-_/.]|\S{1,16}")
"""A word longer than a printed column has room for; its pieces, at the joints of the word first."""

_SPACE: Final = re.compile(rf"[^\S{THIN_SPACE}]+")


def plain(text: object) -> str:
    """Return the text without control characters, which no page, picture or XML file may hold."""
    return _CONTROL.sub("\ufffd", str(text))


def shortened(text: object, most: int) -> str:
    """Return the text as :func:`plain` does, no wider than so many signs; an ellipsis says where it was cut.

    Signs of scripts that are written wide, such as Chinese, count as two.

    >>> shortened("Upper Combe", 8), shortened("谷谷谷谷", 6)
    ('Upper C…', '谷谷…')
    """
    words = plain(text)
    if width_of(words) <= most:
        return words
    widths = itertools.accumulate(map(width_of, words))
    return "".join(sign for sign, end in zip(words, widths, strict=True) if end < most).rstrip() + "…"


def width_of(text: str) -> int:
    """Return how many signs wide a text is in a terminal."""
    return sum(2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text)


def in_lines(text: str, most: int) -> list[str]:
    """Return the text in lines no wider than so many signs; a wider word is broken, at a joint if it has one.

    Numbers with narrow spaces between thousands stay in one piece.

    >>> in_lines("as far as 谷谷谷谷 go", 6)
    ['as far', 'as', '谷谷谷', '谷 go']
    """
    lines, most = [""], max(most, 2)
    for word in _SPACE.split(text.strip()):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if width_of(joined) <= most:
            lines[-1] = joined
            continue
        lines += [word] if lines[-1] else []
        lines[-1] = word
        while width_of(lines[-1]) > most:
            ends = itertools.accumulate(map(width_of, lines[-1]))
            fit = max(sum(end <= most for end in ends), 1)
            joint = max(lines[-1].rfind(sign, 0, fit) for sign in "-_/.") + 1
            fit = joint if joint > fit // 2 else fit
            lines[-1:] = [lines[-1][:fit], lines[-1][fit:]]
    return lines


def encode(text: object) -> str:
    """Return the text as HTML that shows it and does nothing else.

    Beyond ``<>&"'`` the signs that template languages and script strings act on (backslash, backtick,
    dollar, braces, equals, line ends) become numeric entities, so the result is safe inside an element,
    inside a quoted attribute and inside whatever a page library builds from it.
    """
    return html.escape(plain(text), quote=True).translate(_ALSO_UNSAFE)


def breakable(text: object) -> str:
    """Return the text as :func:`encode` does, its long words with places where a line may end.

    So a column is never wider than a sheet of paper allows, and no shorter word is ever broken.
    """
    words, at, shown = plain(text), 0, ""
    for found in _LONG.finditer(words):
        pieces = _PIECE.findall(found.group())
        shown += encode(words[at : found.start()]) + "<wbr>".join(map(encode, pieces))
        at = found.end()
    return shown + encode(words[at:])


def encode_data(data: Any) -> str:
    """Return ``data`` as JSON that cannot end the script element that holds it.

    Raises
    ------
    ValueError
        A number is NaN or infinite; write None where there is no value.
    """
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def number(value: float, decimals: int = 0) -> str:
    """Return a number for readers: thin spaces, a true minus sign but before 0, a dash for NaN."""
    return spoken(value, decimals)
