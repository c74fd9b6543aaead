"""What every document says of the study that was asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from combe.publishing.document import StudyNamed

if TYPE_CHECKING:
    from combe.project import Project


def study_named(project: Project, made_by: Mapping[str, str]) -> StudyNamed:
    """Return the name of a study, with the sentence that marks it as invented where it is."""
    return StudyNamed(project.key, project.title, project.note, made_by.get("invented", ""))


def network_sentence(project: Project) -> tuple[str, ...]:
    """Return that a question knows of no networks on one frequency, where the study has any."""
    if not project.networks:
        return ()
    return ("Networks on one frequency are not counted here: on one channel each disturbs the other.",)


def way_sentence(project: Project) -> tuple[str, ...]:
    """Return by which way of receiving all is judged; nothing where the public has aerials on roofs alone."""
    plain = len(project.ways) == 1 and not project.way.portable
    return () if plain else (f"All is for {project.way.name}.",)
