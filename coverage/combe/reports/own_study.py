"""The document of the study of one's own place: what was written, how sure it is, and what to do next."""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Form, StudyNamed, Table, Words
from combe.publishing.fields import flag, many, text, texts
from combe.version import __version__

if TYPE_CHECKING:
    from combe.study.own_study import OwnStudy


@dataclass(frozen=True)
class Written:
    """A new study and its file."""

    own: OwnStudy
    path: Path


FORM: Final = Form(
    "own_study",
    (
        texts("files", get=lambda written: [str(written.path.resolve())], meaning="paths"),
        many(
            "values",
            text("section", "in"),
            text("key", "key"),
            text("value", "value", get=lambda each: _value(each.value), meaning="as text"),
            flag("known", meaning="false for a key that stands as a comment, to be filled in"),
            text("standing", "how sure"),
            get="own.values",
            meaning="what the study has, in its order",
        ),
        texts("remarks", get="own.remarks", meaning="what else is known of television there"),
    ),
)

_SHOWN: Final = FORM["values"].only("key", "value", "standing")


def document(own: OwnStudy, path: Path) -> Document:
    """Return the document of a study that was written."""
    known = tuple(each for each in own.values if each.known and each.section != "study")
    unknown = tuple(each.key for each in own.values if not each.known)
    here = shlex.quote(str(path))
    return Document(
        form=FORM,
        answer=Written(own, path),
        title="a new study, in which each value says how sure it is",
        headline=(
            "It claims nothing yet: no ground, no people, no station.",
            *own.remarks[:1],
            *((f"Not known, and left as comments to fill in: {', '.join(unknown)}.",) if unknown else ()),
        ),
        parts=(
            Table("What it says", _SHOWN, known),
            Words(own.remarks[1:], "Television there"),
        ),
        study=StudyNamed(str(path.resolve()), own.title),
        made_by={"program": f"Combe {__version__}"},
        next_words=(f"written: {path}", f"Next: combe ground fetch {here}"),
    )


def _value(value: object) -> str:
    return ", ".join(map(repr, value)) if isinstance(value, list) else str(value)
