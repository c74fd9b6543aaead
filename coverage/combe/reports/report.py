"""The report of any answer, for programs: the same three outputs that commands show."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from combe.errors import RangeError

if TYPE_CHECKING:
    from combe.publishing.document import Document


@dataclass(frozen=True)
class Report:
    """An answer as it is said: in a terminal, to programs, on a page. All three say the same.

    Examples
    --------
    >>> import combe
    >>> combe.report(combe.explain(combe.demo(), -84.34, 36.61)).text().splitlines()[1][:28]
    'Mux A: served by Larkcombe o'
    """

    document: Document

    def text(self, *, full: bool = False) -> str:
        """Return the answer in at most twelve lines, or all of it."""
        from combe.publishing.as_text import as_text

        return as_text(self.document, full=full)

    def json(self) -> str:
        """Return the answer for programs; its keys are in the help of the command."""
        from combe.publishing.as_json import as_json

        return as_json(self.document)

    def html(self, *, language: str = "en") -> str:
        """Return the answer as a page that needs nothing else, in a language.

        Raises
        ------
        RangeError
            There is no catalogue of that language.
        """
        from combe.publishing.as_html import as_html
        from combe.publishing.page_language import page_language, pages_in

        with pages_in(page_language(language)):
            return as_html(self.document)

    def write(self, folder: Path | str, *, language: str = "en") -> tuple[Path, Path]:
        """Write page and JSON into a folder, made if it is not there, and return their paths.

        Raises
        ------
        RangeError
            There is no catalogue of that language.
        OutputError
            A folder or file that cannot be written; nothing is half-written.
        """
        from combe.files import ensure_folder, write_text_atomically

        place = ensure_folder(Path(folder))
        page, data = place / f"{self.document.kind}.html", place / f"{self.document.kind}.json"
        write_text_atomically(page, self.html(language=language))
        write_text_atomically(data, self.json())
        return page, data


def report(answer: Any) -> Report:
    r"""Return the report of an answer.

    Raises
    ------
    RangeError
        For what is no answer.

    Examples
    --------
    >>> import combe
    >>> combe.report(combe.path(combe.demo(), "Tarnbeacon", "Larkcombe")).json().splitlines()[1]
    '  "format": "combe/path/1",'
    """
    kind = type(answer).__name__
    if kind not in _REPORTS:
        raise RangeError("answer", kind, ", ".join(_REPORTS))
    return Report(importlib.import_module(f"combe.reports.{_REPORTS[kind]}").document(answer))


_REPORTS: Final = {
    "PathReport": "path",
    "Explanation": "explain",
    "CheckReport": "check",
    "FeedReport": "feed",
    "CoverReport": "cover",
    "BriefReport": "brief",
    "CompareReport": "compare",
    "SiteReport": "site",
    "ChannelsReport": "channels",
    "CoordinateReport": "coordinate",
    "DelaysReport": "delays",
    "RetireReport": "retire",
    "VisitReport": "visit",
}
"""The file of reports/ that says each answer, by the answer's name, so that none is imported unasked."""
