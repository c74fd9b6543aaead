"""The one form of an answer that every output takes: title, answer in words, parts, and what made it.

A document is made once per answer (``reports/``) and shown three ways: ``as_text``, ``as_json``, ``as_html``.
None of them computes, and each takes its numbers from the same fields.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from combe.errors import RangeError
from combe.publishing.cautions import CAUTIONS
from combe.publishing.fields import LOOKS, Field, Getter, Mark


@dataclass(frozen=True)
class Form:
    """What every document of a kind holds: the fields of its JSON, and the files that may be written.

    ``files`` are pairs of a key and when it is null; their values are paths. The keys of FRAME stand in every
    document beside these.
    """

    kind: str
    fields: tuple[Field, ...]
    files: tuple[tuple[str, str], ...] = ()

    @property
    def name(self) -> str:
        """The name of the format, with its version."""
        return f"combe/{self.kind}/1"

    def __getitem__(self, key: str) -> Field:
        """Return a field by its key, through lists and objects: ``form["services.constructions"]``."""
        first, *rest = key.split(".")
        found = next(each for each in self.fields if each.key == first)
        for name in rest:
            found = next(each for each in found.fields if each.key == name)
        return found


@dataclass(frozen=True)
class StudyNamed:
    """The study that was asked; ``invented`` is the sentence that says so, or nothing."""

    key: str
    title: str
    note: str = ""
    invented: str = ""


@dataclass(frozen=True)
class Words:
    """Sentences, each a paragraph or, with ``listed``, an item of a list; one that is a Mark has its look."""

    lines: tuple[str | Mark, ...]
    title: str = ""
    listed: bool = False
    brief: bool = False


@dataclass(frozen=True)
class Facts:
    """Values with their names, one a line: some fields of one row."""

    fields: tuple[Field, ...]
    of: Any
    title: str = ""
    brief: bool = False


@dataclass(frozen=True)
class Table:
    """Some fields of several rows.

    Parameters
    ----------
    title : str
        What stands over it; ``note`` under the title.
    fields : tuple of Field
        Its columns.
    rows : tuple
        What the fields are read from.
    brief : bool
        Whether it belongs to the answer that a terminal shows at first, as far as there is room.
    unless_zero : bool or tuple of str
        Heads of columns that are left out where nothing but 0 would be shown.
    strong : callable, optional
        Whether a row is a result.
    group : str or callable, optional
        What a line over all rows of a kind says; rows of a kind stand together.
    summary : tuple of Mark or str
        Where there is one, a page shows the table only on demand, under these words.
    folded : bool
        Whether that is so at first.
    across : str or callable, optional
        Where given, the fields are the lines of the table, and each row is a column, of this name.
    link : str or callable, optional
        The file beside the page to which the first cell of a row leads.
    """

    title: str
    fields: tuple[Field, ...]
    rows: tuple[Any, ...]
    note: str = ""
    brief: bool = False
    unless_zero: tuple[str, ...] = ()
    strong: Callable[[Any], bool] | None = None
    group: Getter | None = None
    summary: str = ""
    verdict: Mark | None = None
    folded: bool = False
    across: Getter | None = None
    link: Getter | None = None


@dataclass(frozen=True)
class Picture:
    """A picture for a page: ``make`` draws it as SVG, ``words`` describe it to those who cannot see it.

    ``inline`` puts the SVG into the page itself, where the page's style reaches it; for pictures of our own
    making alone, whose texts are safe.
    """

    make: Callable[[], str]
    words: str
    title: str = ""
    note: str = ""
    inline: bool = False


@dataclass(frozen=True)
class Room:
    """An empty frame on paper, in which to write so many lines."""

    title: str
    lines: int


@dataclass(frozen=True)
class Filling:
    """A form that is filled in on the page itself: ``data`` is what its script builds it from."""

    title: str
    data: Mapping[str, Any]


@dataclass(frozen=True)
class Section:
    """Parts under a heading, ``verdict`` beside it; ``beside`` lays them side by side where there is room.

    ``framed`` draws a line around what nobody should overlook; ``new_sheet`` begins a sheet of paper. An
    ``appendix`` stands behind the cautions of a page, which then has how it was made there too.
    """

    title: str
    parts: tuple[Part, ...]
    verdict: Mark | None = None
    note: str = ""
    beside: bool = False
    framed: bool = False
    new_sheet: bool = False
    appendix: bool = False


Part = Words | Facts | Table | Picture | Room | Filling | Section


@dataclass(frozen=True)
class Document:
    """One answer, ready to be shown.

    Parameters
    ----------
    form : Form
        What kind of answer this is, and its fields.
    answer : object
        What the fields are read from.
    title : str
        What was asked, in words that may stand after "study: "; begins with a small letter, no name.
    headline : tuple of str
        The answer in words, a sentence or two a line.
    parts : tuple
        What stands below the answer.
    study : StudyNamed, optional
        The study that was asked.
    verdict : Mark, optional
        Where the question has one.
    made_by : mapping of str to str
        What made the answer: model, air, terrain, system, by name.
    files : mapping of str to Path
        Files that were written, by the keys of the form.
    beside : mapping of str to tuple of Path
        Files that were written beside these, by what they are called when there are many; fields name them.
    of_this_run : tuple of str
        What was found done and how long the rest took; no page has it, since two runs leave the same pages.
    next_words : tuple of str
        Commands or lines for a file, which a terminal shows as they are.
    back : tuple of str
        The file beside the page to which its page leads back, and the words of the link; or nothing.
    """

    form: Form
    answer: Any
    title: str
    headline: tuple[str, ...]
    parts: tuple[Part, ...] = ()
    study: StudyNamed | None = None
    verdict: Mark | None = None
    made_by: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, Path] = field(default_factory=dict)
    beside: Mapping[str, tuple[Path, ...]] = field(default_factory=dict)
    of_this_run: tuple[str, ...] = ()
    next_words: tuple[str, ...] = ()
    back: tuple[str, str] | tuple[()] = ()
    cautions: tuple[str, ...] = CAUTIONS

    def __post_init__(self) -> None:
        """Check the files and the verdict."""
        known = [key for key, _ in self.form.files]
        for key in self.files:
            if key not in known:
                raise RangeError(f"file of a {self.form.kind} document", key, ", ".join(known) or "none")
        if self.verdict is not None and self.verdict.look not in LOOKS:
            raise RangeError("look of a verdict", self.verdict.look, ", ".join(LOOKS))

    @property
    def kind(self) -> str:
        """The kind of the answer: the name of its question."""
        return self.form.kind

    def with_files(self, **files: Path) -> Document:
        """Return the document with more files, by their keys."""
        return replace(self, files={**self.files, **files})


def all_parts(parts: tuple[Part, ...]) -> Iterator[Part]:
    """Return the parts with those in sections, in order."""
    for part in parts:
        yield part
        if isinstance(part, Section):
            yield from all_parts(part.parts)
