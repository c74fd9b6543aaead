"""The files of a study: itself and all that it names, with their sizes and hashes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from combe.files import is_regular
from combe.project.given import InputFile
from combe.project.project import Project
from combe.study.file import Study, beside, load_study
from combe.study.new import files_named


def files_of(project: Project) -> tuple[InputFile, ...]:
    """Return the files of the study that a project was made from; none where it was made from no study."""
    known = bool(project.key) and is_regular(Path(project.key))
    return named_files(load_study(project.key)) if known else ()


def named_files(study: Study) -> tuple[InputFile, ...]:
    """Return the study file, the table of its stations, and every file that it names, each once."""
    own = [study.path.name, *([study.rows.name] if study.rows else [])]
    names = [*own, *files_named(study.content), *_climate_maps(study)]
    return tuple(_file(name, beside(study, name)) for name in dict.fromkeys(names))


def _climate_maps(study: Study) -> Iterator[str]:
    """Yield the files in the folder of climate maps, which a study names as a whole."""
    folder = study.content.air.climate_maps
    if folder is not None:
        for path in sorted(beside(study, folder).iterdir()):
            yield f"{folder}/{path.name}"


def _file(name: str, path: Path) -> InputFile:
    try:
        with path.open("rb") as file:
            return InputFile(name, path.stat().st_size, hashlib.file_digest(file, "sha256").hexdigest())
    except OSError:
        return InputFile(name, None, "")
