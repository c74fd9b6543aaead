"""The document of a new study: where it is, and what to do next."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Form, StudyNamed, Words
from combe.publishing.fields import texts
from combe.version import __version__

if TYPE_CHECKING:
    from combe.project import Project

FORM: Final = Form(
    "new", (texts("files", get=lambda files: [str(file.resolve()) for file in files], meaning="paths"),)
)


def document(project: Project, files: Sequence[Path]) -> Document:
    """Return the document of a new study and its files."""
    return Document(
        form=FORM,
        answer=files,
        title="a new study, with a comment at each key",
        headline=(
            "Its stations and people are invented: put in your own.",
            "A study of your own place is begun with: combe new DIR --at LON,LAT",
        ),
        parts=(Words(tuple(file.name for file in files), "Its files", listed=True),),
        study=StudyNamed(project.key, project.title),
        made_by={"program": f"Combe {__version__}"},
        next_words=(f"written: {project.source}", f"Next: combe check {shlex.quote(project.source)}"),
    )
