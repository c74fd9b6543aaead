"""Gathers what the feed page shows and writes it."""

from __future__ import annotations

from pathlib import Path

from combe.publishing.files import write_text_atomically
from combe.study.run_feed import FeedReport


def write_feed_page(report: FeedReport, path: Path) -> Path:
    """Write the feed page, whole or not at all, and return its path."""
    write_text_atomically(path, report.verdict)
    return path
