"""Takes in the readings of a visit, judges them against all that is known, and lays out the next visit."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from combe.answers.expected_readings import expected_readings, reading_family, sheet_sites
from combe.answers.provenance import provenance
from combe.answers.spectrum import PointSpectrum, spectra_of
from combe.errors import RangeError
from combe.planning import ComplianceDistance, compliance_distance_m, radiated_powers
from combe.planning.visits import (
    Judgement,
    Reading,
    SeriesKey,
    SheetRow,
    Stations,
    Status,
    append_readings,
    judge_log,
    key_of,
    read_log,
    read_readings,
    refuse_logged,
    sheet_rows,
    sheet_text,
    worst,
)
from combe.project import Project
from combe.reception import USUAL_ANALYSER, Analyser
from combe.standards import ROUTINE_READINGS
from combe.stations import Station
from combe.version import __version__
from combe.words import tell

GROUND_REFLECTION: Final = 2.56
"""Power factor of a usual ground reflection, for the second distance that a sheet prints."""


@dataclass(frozen=True)
class VisitReport:
    """What came of a visit, or of a look into the log.

    ``taken`` are the readings that were read from a file, ``stored`` whether they went into the log.
    """

    project: Project
    log: Path
    taken: tuple[Reading, ...]
    stored: bool
    rows_left_blank: int
    judgements: tuple[Judgement, ...]
    status: Status
    provenance: Mapping[str, str]

    @property
    def first_day(self) -> datetime.date | None:
        """The day of the first reading that was taken; None where none was."""
        return min((reading.date for reading in self.taken), default=None)

    @property
    def last_day(self) -> datetime.date | None:
        """The day of the last reading that was taken; None where none was."""
        return max((reading.date for reading in self.taken), default=None)


@dataclass(frozen=True)
class StationSheet:
    """The blank sheet of one station, with the distances to keep from its aerial.

    ``exposure`` holds the distances in free space for the public and at work, ``exposure_reflected`` the same
    with a ground reflection; both are empty and ``exposure_fault`` says why where they cannot be worked out.
    ``spectrum`` is what an analyser should show.
    """

    station: Station
    rows: tuple[SheetRow, ...]
    exposure: tuple[ComplianceDistance, ...]
    exposure_reflected: tuple[ComplianceDistance, ...]
    exposure_fault: str = ""
    spectrum: tuple[PointSpectrum, ...] = ()

    @property
    def readings(self) -> tuple[SheetRow, ...]:
        """The rows in which a value is to be written."""
        return tuple(row for row in self.rows if row.row.scale != "check")

    @property
    def checks(self) -> tuple[SheetRow, ...]:
        """The rows that are to be found good or not."""
        return tuple(row for row in self.rows if row.row.scale == "check")


@dataclass(frozen=True)
class SheetReport:
    """The blank sheets of all relays of a study."""

    project: Project
    log: Path
    sheets: tuple[StationSheet, ...]
    provenance: Mapping[str, str]

    @property
    def table(self) -> str:
        """All sheets as one table to fill in."""
        return sheet_text([row for sheet in self.sheets for row in sheet.rows])


@contextlib.contextmanager
def kept_told(log: Path, stored: bool, taken: bool = True) -> Iterator[None]:
    """Have whatever fails from here on say what became of the readings that were taken in before."""
    try:
        yield
    except BaseException as error:
        if taken and stored:
            error.add_note(f"the readings are stored in {log}; make the page with --log")
        elif taken:
            error.add_note("nothing was stored")
        raise


def visit_report(
    project: Project,
    readings: Path,
    log: Path,
    *,
    store: bool = True,
    today: datetime.date | None = None,
) -> VisitReport:
    """Read a file of readings, store it, and judge what it holds.

    All rows are checked before any is stored, and once more, against the log, when no one else may write.

    Raises
    ------
    TableError
        With every fault of the file; the log is as it was.
    OutputError
        The log cannot be written.
    """
    path, day = log, today or datetime.date.today()
    names = station_names(project)
    known = read_log(path)
    found = read_readings(
        readings,
        names,
        today=day,
        known=known,
        family=reading_family(project),
        off_air=project.off_air,
    )
    expected = expected_readings(project)
    made = provenance(project)
    whole = (*known, *found.readings)
    if store:
        whole = _store(project, path, readings, found.readings, expected.values)
    keys = {key_of(reading) for reading in found.readings}
    with kept_told(path, store):
        judgements = _ordered(judge_log(whole, expected.values, keys, expected.air), names)
    return VisitReport(
        project=project,
        log=path,
        taken=found.readings,
        stored=store,
        rows_left_blank=found.rows_left_blank,
        judgements=judgements,
        status=worst(judgements),
        provenance=made,
    )


def log_report(project: Project, log: Path) -> VisitReport:
    """Judge the latest reading of every series in the log.

    Raises
    ------
    StudyError
        The study has no log yet.
    TableError
        The file is no log of visits.
    """
    path = log
    known = read_log(path)
    if not known:
        advice = "take some in with: combe visit STUDY READINGS.csv"
        raise project.error([f"no reading is in the log {path} yet; {advice}"])
    expected = expected_readings(project)
    judgements = _ordered(judge_log(known, expected.values, air=expected.air), station_names(project))
    made = provenance(project)
    return VisitReport(project, path, (), False, 0, judgements, worst(judgements), made)


def sheet_report(
    project: Project, log: Path, *, aerial_size_m: float | None = None, analyser: Analyser = USUAL_ANALYSER
) -> SheetReport:
    """Lay out the blank sheet of each relay for its next visit.

    Parameters
    ----------
    aerial_size_m
        Greatest length of the transmitting aerial [m], for the near-field caution.
    analyser
        With which what the sheet shows of the spectrum is compared.

    Raises
    ------
    TableError
        The file is no log of visits.
    RangeError
        An aerial size that is not possible.
    """
    path = log
    expected = expected_readings(project)
    judgements = judge_log(read_log(path), expected.values, air=expected.air)
    stations = {station.name: station for station in project.stations}
    feeds = {feed.relay.name: feed for feed in expected.relays}
    sheets = tuple(
        replace(
            _station_sheet(
                stations[site.station],
                sheet_rows(site, expected.values, judgements, expected.air),
                aerial_size_m,
            ),
            spectrum=spectra_of(project, stations[site.station], feeds.get(site.station), analyser),
        )
        for site in sheet_sites(project)
    )
    return SheetReport(project, path, sheets, provenance(project))


def station_names(project: Project) -> Stations:
    """Return the stations of a study with the names of their services."""
    return {station.name: tuple(service.name for service in station.services) for station in project.stations}


def _store(
    project: Project,
    path: Path,
    source: Path,
    readings: tuple[Reading, ...],
    expected: Mapping[SeriesKey, float],
) -> tuple[Reading, ...]:
    places = {each.name: (each.longitude_deg, each.latitude_deg) for each in project.stations}

    def check(known: tuple[Reading, ...]) -> None:
        refuse_logged(source, readings, known)

    return append_readings(
        path,
        readings,
        places=places,
        expected=expected,
        program=tell("Combe {version__}", version__=__version__),
        check=check,
    )


def _station_sheet(station: Station, rows: tuple[SheetRow, ...], aerial_size_m: float | None) -> StationSheet:
    try:
        free, reflected = (_exposure(station, factor, aerial_size_m) for factor in (1.0, GROUND_REFLECTION))
    except RangeError as error:
        if error.name == "aerial_size_m":
            raise
        return StationSheet(station, rows, (), (), str(error))
    return StationSheet(station, rows, free, reflected)


def _exposure(station: Station, factor: float, aerial_size_m: float | None) -> tuple[ComplianceDistance, ...]:
    powers = radiated_powers(station.services)
    return tuple(
        compliance_distance_m(
            powers, audience=audience, reflection_factor=factor, aerial_size_m=aerial_size_m
        )
        for audience in ("public", "occupational")
    )


def _ordered(judgements: Iterable[Judgement], names: Collection[str]) -> tuple[Judgement, ...]:
    """Return judgements in the order of stations and of a visit through them, services within."""
    stations = list(names)

    def place(judgement: Judgement) -> tuple[int, int, str, str]:
        station = judgement.key.station
        known = stations.index(station) if station in stations else len(stations)
        row = ROUTINE_READINGS.index(judgement.row)
        return (known, row, judgement.key.test_point, judgement.key.service)

    return tuple(sorted(judgements, key=place))
