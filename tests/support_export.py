"""An export as a document, for the tests that hold documents of every kind against one another."""

from __future__ import annotations

from pathlib import Path

import combe.reports.export
from combe.answers.export import export_report
from combe.project import Project
from combe.publishing.document import Document
from combe.reports.export_files import write_export_files
from combe.reports.export_styles import COVERAGE_STEPS_DB


def exported(folder: Path, project: Project) -> Document:
    """Return the document of an export, as after its files were written."""
    report = export_report(project, COVERAGE_STEPS_DB)
    return combe.reports.export.document(report, write_export_files(report, folder))
