"""What documents say alike of the study that was asked, and of its feeds that do not pass."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from combe.publishing.document import StudyNamed, Words
from combe.publishing.text import capital
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.feed import FeedStanding
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
    return () if plain else (tell("All is for {name}.", name=project.way.name),)


def unfed_sentences(standings: Iterable[FeedStanding]) -> tuple[str, ...]:
    """Return a sentence for each relay whose feed does not pass, or is not judged."""
    return tuple(tell("{words}.", words=capital(each.words)) for each in standings if each.words)


def unfed_part(standings: Iterable[FeedStanding], *, brief: bool = False) -> tuple[Words, ...]:
    """Return those sentences as a part of a document; nothing where every feed passes."""
    told = unfed_sentences(standings)
    return (Words(told, "Feeds that do not pass", listed=True, brief=brief),) if told else ()


def unfed_headline(standings: Iterable[FeedStanding]) -> tuple[str, ...]:
    """Return the names of the relays whose feeds do not pass; nothing where every feed passes."""
    unfed = [each.relay for each in standings if each.words]
    return (
        (tell("Feeds do not pass, and count as if they did: {unfed}.", unfed=joined(", ", unfed)),)
        if unfed
        else ()
    )
