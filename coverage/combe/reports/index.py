"""The index of a folder of pages: what each of them answers, with a link, and the files that lie beside them.

It is made of what the folder holds and not of what a run wrote: a page that was made by another run, or that
somebody took away, is listed as it is there now.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from combe.files import write_text_atomically
from combe.publishing.as_html import as_html
from combe.publishing.document import Document, Form, Part, StudyNamed, Table
from combe.publishing.fields import many, text, texts
from combe.publishing.page_about import INDEX_NAME, PageAbout, read_about
from combe.words import joined, tell, tell_number

INDEX_KIND: Final = "index"

_KINDS: Final = (
    "brief", "map", "cover", "feed", "site", "hill", "hills", "compare", "compare_map", "visit", "sheet",
    "survey",
)  # fmt: skip
"""The order in which a reader wants them; all others come behind, by their names."""

_FILES: Final = {
    ".tif": "rasters (GeoTIFF)",
    ".gpkg": "layers (GeoPackage)",
    ".geojson": "layers (GeoJSON)",
    ".kml": "layers (KML)",
    ".csv": "tables (CSV)",
    ".json": "answers for programs (JSON)",
    ".pdf": "pages for print (PDF)",
}
_MOST_NAMES: Final = 12


@dataclass(frozen=True)
class ListedPage:
    """A page that lies in the folder or one below, and what it tells of itself."""

    file: str
    about: PageAbout

    @property
    def order(self) -> tuple[int, str]:
        """Return where the page stands in the list."""
        at = _KINDS.index(self.about.kind) if self.about.kind in _KINDS else len(_KINDS)
        return at, self.file


@dataclass(frozen=True)
class ListedFiles:
    """The files of one sort that lie beside the pages."""

    sort: str
    names: tuple[str, ...]

    @property
    def told(self) -> str:
        """Return some of the names, and how many more there are."""
        more = len(self.names) - _MOST_NAMES
        return joined(", ", self.names[:_MOST_NAMES]) + (
            tell(" and {more} more", more=more) if more > 0 else ""
        )


@dataclass(frozen=True)
class FolderIndex:
    """What a folder holds."""

    pages: tuple[ListedPage, ...]
    files: tuple[ListedFiles, ...]

    @property
    def studies(self) -> tuple[str, ...]:
        """The titles of the studies whose pages are here."""
        return tuple(dict.fromkeys(page.about.study for page in self.pages if page.about.study))

    @property
    def invented(self) -> str:
        """The sentences that say what of the studies is invented."""
        return joined(" ", dict.fromkeys(page.about.invented for page in self.pages if page.about.invented))


_PAGE: Final = (
    text("name", "page", "about.name"),
    text("study", "study", "about.study"),
    text("answer", "what it answers", "about.answer"),
    text("file", meaning="path from the index"),
)
_FILE: Final = (text("sort", "files"), texts("names"), text("", "names", "told"))

FORM: Final = Form(INDEX_KIND, (many("pages", *_PAGE), many("files", *_FILE)))


def write_index(folder: Path) -> Path:
    """Write the index of a folder's pages, whole or not at all, and return its path.

    One that is there as it would be written is left as it is: a full disk takes no file, and needs none then.

    Raises
    ------
    OutputError
        A folder that cannot be read or written.
    """
    index = folder / INDEX_NAME
    made = as_html(document(folder_index(folder)))
    if not _holds(index, made):
        write_text_atomically(index, made)
    return index


def _holds(path: Path, text: str) -> bool:
    """Return whether a file holds just this text; one that cannot be read does not."""
    try:
        return path.read_bytes() == text.encode("utf-8")
    except OSError:
        return False


def folder_index(folder: Path) -> FolderIndex:
    """Return what a folder holds: its pages and those one folder below, and the files beside them."""
    pages = (ListedPage(path.relative_to(folder).as_posix(), about) for path, about in _pages(folder))
    return FolderIndex(tuple(sorted(pages, key=lambda page: page.order)), tuple(_files(folder)))


def _pages(folder: Path) -> Iterator[tuple[Path, PageAbout]]:
    for path in (*folder.glob("*.html"), *folder.glob("*/*.html")):
        about = read_about(path)
        if about is not None and about.kind != INDEX_KIND:
            yield path, about


def _files(folder: Path) -> Iterator[ListedFiles]:
    for suffix, sort in _FILES.items():
        names = sorted(path.name for path in folder.glob(f"*{suffix}") if not path.name.startswith("."))
        if names:
            yield ListedFiles(sort, tuple(names))


def document(found: FolderIndex) -> Document:
    """Return the document of an index."""
    studies = found.studies
    columns = FORM["pages"].only("name", *(("study",) if len(studies) > 1 else ()), "answer")
    pages = Table("Pages", columns, found.pages, link="file")
    parts: tuple[Part, ...] = (pages,)
    if found.files:
        parts += (Table("Files beside them", (_FILE[0], _FILE[2]), found.files),)
    count = len(found.pages)
    return Document(
        form=FORM,
        answer=found,
        title="pages of this folder",
        headline=(
            tell_number(
                count,
                "{count} page, each by itself and for anybody to open.",
                "{count} pages, each by itself and for anybody to open.",
            ),
        ),
        parts=parts,
        study=StudyNamed("", joined(", ", studies), invented=found.invented) if studies else None,
    )
