"""A document as a PDF: its page printed by WeasyPrint, tagged for those who hear it, the same bytes twice."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from combe.errors import MissingLibraryError, PageError
from combe.files import write_bytes_atomically
from combe.publishing.as_html import as_html

if TYPE_CHECKING:
    from combe.publishing.document import Document

_ADVICE: Final = 'install it with: pip install "combe[pdf]"'
_OWN_DATA: Final = "data:"


def write_pdf(document: Document, path: Path) -> None:
    """Write a document as PDF, whole or not at all.

    Raises
    ------
    MissingLibraryError
        WeasyPrint is not installed; it comes with the extra ``pdf``.
    PageError
        The page asks for something that would have to be fetched.
    OutputError
        The file cannot be written.
    """
    write_bytes_atomically(path, as_pdf(document))


def as_pdf(document: Document) -> bytes:
    """Return a document as PDF; errors as :func:`write_pdf`."""
    return pdf_of(as_html(document))


def pdf_of(page: str) -> bytes:
    """Return a page of ours as PDF; errors as :func:`write_pdf`."""
    printer = _printer()
    refused: list[str] = []
    with _quiet():
        made = printer.HTML(string=page, url_fetcher=_fetcher(refused)).write_pdf(pdf_variant="pdf/ua-1")
    # WeasyPrint leaves out what it may not fetch, and says so in its log alone.
    if refused:
        raise PageError(f"page asks for {refused[0]}, which would be fetched; put the content itself in")
    found: bytes = made
    return found


def require_printer() -> None:
    """Raise MissingLibraryError where no PDF can be made, before anybody waits for what is to be in it."""
    _printer()


def _printer() -> Any:
    try:
        return import_module("weasyprint")
    except (ImportError, OSError):
        # It is there and cannot start where the libraries that set its type are not.
        raise MissingLibraryError("WeasyPrint", "a PDF", _ADVICE) from None


def _fetcher(refused: list[str]) -> Any:
    """Return what gives WeasyPrint the pictures that lie in the page, and refuses all else.

    From version 70 on this is a class with a method; before, it was a function.
    """
    kind: Any = import_module("weasyprint.urls").URLFetcher

    class OwnDataOnly(kind):  # type: ignore[misc]
        """Takes ``data:`` links."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            """Return what a link holds."""
            if not url.startswith(_OWN_DATA):
                refused.append(url[:100])
                raise ValueError(f"{url[:100]} is not in the page")
            return super().fetch(url, headers)

    return OwnDataOnly()


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what WeasyPrint remarks on rules for screens, which it leaves out, off the terminal."""
    log = logging.getLogger("weasyprint")
    level, log.level = log.level, logging.CRITICAL
    try:
        yield
    finally:
        log.level = level
