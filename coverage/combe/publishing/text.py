"""Makes any text safe to put in a page, its data, a picture, a table cell, or the name of a file."""

from __future__ import annotations

import html
import itertools
import json
import re
import sys
import unicodedata
from collections.abc import Sequence
from functools import partial
from typing import Any, Final

from combe.digits import THIN_SPACE, spoken
from combe.words import shaped

_ALSO_UNSAFE: Final = {ord(sign): f"&#{ord(sign)};" for sign in "\\`${}=\n\r\t\u2028\u2029"}
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_LONG: Final = re.compile(r"\S{17,}")
_PIECE: Final = re.compile(r"\S{1,15}[-_/.]|\S{1,16}")
"""A word longer than a printed column has room for; its pieces, at the joints of the word first."""

_SPACE: Final = re.compile(rf"[^\S{THIN_SPACE}]+")


def plain(text: object) -> str:
    """Return the text without control characters, which no page, picture or XML file may hold."""
    return _CONTROL.sub("\ufffd", str(text))


def capital(words: str) -> str:
    """Return words that begin with a capital, and are else as they are."""
    return shaped(words, _capital)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def shortened(text: object, most: int) -> str:
    """Return the text as :func:`plain` does, no wider than so many signs; an ellipsis says where it was cut.

    Signs of scripts that are written wide, such as Chinese, count as two.

    >>> shortened("Upper Combe", 8), shortened("谷谷谷谷", 6)
    ('Upper C…', '谷谷…')
    """
    return shaped(text if isinstance(text, str) else str(text), partial(_cut, most))


def _cut(most: int, text: str) -> str:
    words = plain(text)
    if width_of(words) <= most:
        return words
    widths = itertools.accumulate(map(width_of, words))
    # One sign short of the width: the ellipsis takes that place.
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
            # A joint in the first half would leave a ragged stump; then the word is cut where the line ends.
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
    # Inside JSON these are the same signs, but "</script" and "<!--" no longer stand there.
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def number(value: float, decimals: int = 0) -> str:
    """Return a number for readers: thin spaces, a true minus sign but before 0, a dash for NaN."""
    return spoken(value, decimals)


_MOST_SIGNS: Final = 80
_MOST_BYTES: Final = 120
"""With what stands before and behind a stem, a name stays under the 255 bytes that file systems take."""

_KEPT: Final = ("L", "M", "N")
"""General categories of Unicode: letters, marks on letters, numbers."""

_RESERVED: Final = {"con", "prn", "aux", "nul"} | {f"{port}{n}" for port in ("com", "lpt") for n in range(10)}
"""Names that Windows keeps for devices, whatever the ending."""


def file_stems(names: Sequence[Sequence[str]]) -> list[str]:
    """Return one file name stem for each row of names, no two alike, safe on any file system.

    Letters and numbers of any script stay, small ones where the script has such; all else becomes ``-``.
    Names that a file system without capitals, or with another form of the same letter, would take for one
    another have the same stem, and are told apart by a number.

    >>> file_stems([["Lärche", "Mux 1"], ["LÄRCHE", "Mux 1"], ["谷", "一"]])
    ['lärche_mux-1', 'lärche_mux-1~2', '谷_一']
    """
    stems: list[str] = []
    for row in names:
        stem = _shortened("_".join(_safe(name) for name in row))
        stem = f"x-{stem}" if stem in _RESERVED else stem
        # Whoever was numbered before counts too: three alike become a, a~2, a~3.
        count = sum(other == stem or other.startswith(f"{stem}~") for other in stems)
        stems.append(f"{stem}~{count + 1}" if count else stem)
    return stems


def _safe(name: str) -> str:
    """Return a name in letters, numbers and ``-`` alone; ``x`` where nothing is left of it."""
    # Normal form, small letters, and normal form again, since casefold may take letters apart.
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    # Signs that the file system cannot write become "?", and that a hyphen.
    known = folded.encode(sys.getfilesystemencoding(), "replace").decode(sys.getfilesystemencoding())
    signs = [_sign(sign) for sign in known if unicodedata.category(sign) != "Cf"]
    return "-".join("".join(signs).split()) or "x"


def _sign(sign: str) -> str:
    """Return a sign that may stand in a file name, and a space for any other."""
    return sign if unicodedata.category(sign)[0] in _KEPT else " "


def _shortened(stem: str) -> str:
    """Return as much of a stem as file systems take."""
    # The limit of file systems is in bytes; what is left of a sign that was cut in two goes.
    return stem[:_MOST_SIGNS].encode()[:_MOST_BYTES].decode(errors="ignore")
