"""What joins study files and answers: a file checked with all that it names."""

from __future__ import annotations

from pathlib import Path

from combe.answers.check import CheckReport, check_report
from combe.answers.ground_check import open_parts
from combe.study.file import checked_study, read_study
from combe.study.project_of import project_of
from combe.study.sound_parts import parts_of_reading


def check_file(path: Path | str) -> CheckReport:
    """Read a study file and open everything it names.

    Raises
    ------
    StudyError
        With the faults of the file, and those of its rasters and places as far as the file lets them be
        looked for; alone where it is no TOML.
    """
    reading = read_study(path)
    found = open_parts(parts_of_reading(reading))
    if reading.content is None or reading.faults or found.faults:
        raise reading.error(found.faults)
    return check_report(project_of(checked_study(reading)), found)
