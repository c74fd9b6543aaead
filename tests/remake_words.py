"""Makes the catalogues of pages anew: the template of all texts, and of each language its texts and bytes.

``python tests/remake_words.py`` brings every language's ``combe.po`` up to the texts of the code, marks those
that are new by leaving them empty, and compiles it; a test holds that none is empty. A new language begins
with an empty folder of its code in ``coverage/combe/publishing/languages``.
"""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from words_found import PACKAGE, texts_of_code

LANGUAGES: Final = PACKAGE / "publishing" / "languages"
_SOME_DAY: Final = datetime(2026, 1, 1, tzinfo=UTC)
_OF_ITS_HOUR: Final = (b'"POT-Creation', b'"PO-Revision', b'"Generated-By')
"""Lines of a file's head that differ from day to day, or from one version of babel to the next."""


def catalogue_of(code: str, told: Mapping[str, str]) -> Catalog:
    """Return the catalogue of a language: each text of the code, as it is told or empty."""
    catalogue = Catalog(
        locale=code,
        project="Combe",
        version="pages",
        header_comment=f"# Texts of the pages of Combe: {code}.",
        msgid_bugs_address="none",
        last_translator="the makers of Combe",
        language_team="the makers of Combe",
        fuzzy=False,
    )
    for text, places in sorted(texts_of_code().items()):
        catalogue.add(text, told.get(text, ""), locations=[(place, None) for place in sorted(places)])
    return catalogue


def told_in(code: str) -> dict[str, str]:
    """Return what a language's file tells; nothing where there is none."""
    path = LANGUAGES / code / "combe.po"
    if not path.is_file():
        return {}
    with path.open("rb") as file:
        return {str(each.id): str(each.string) for each in read_po(file, locale=code) if each.id}


def po_bytes(catalogue: Catalog) -> bytes:
    """Return a catalogue as its file, without what differs from day to day."""
    made = io.BytesIO()
    write_po(made, catalogue, width=110, omit_header=False, sort_output=True)
    lines = made.getvalue().splitlines(keepends=True)
    return b"".join(line for line in lines if not line.startswith(_OF_ITS_HOUR))


def mo_bytes(code: str) -> bytes:
    """Return the compiled catalogue of a language's file."""
    made = io.BytesIO()
    with (LANGUAGES / code / "combe.po").open("rb") as file:
        catalogue = read_po(file, locale=code)
    # Else the compiled head would tell the hour of each making.
    catalogue.creation_date = catalogue.revision_date = _SOME_DAY
    write_mo(made, catalogue)
    return made.getvalue()


def remake(code: str, more: Mapping[str, str] | None = None) -> int:
    """Write the files of a language; return how many texts it lacks."""
    told = {**told_in(code), **(more or {})}
    catalogue = catalogue_of(code, told)
    folder = LANGUAGES / code
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "combe.po").write_bytes(po_bytes(catalogue))
    (folder / "combe.mo").write_bytes(mo_bytes(code))
    return sum(not each.string for each in catalogue if each.id)


if __name__ == "__main__":
    added = json.loads(Path(sys.argv[2]).read_text("utf-8")) if len(sys.argv) > 2 else {}
    for language in sys.argv[1:2] or sorted(each.name for each in LANGUAGES.iterdir() if each.is_dir()):
        print(f"{language}: {remake(language, added)} texts are still to be told")
