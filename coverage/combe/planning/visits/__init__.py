"""Visits to a station: readings, their log, what they say of its health, and the sheet for the next visit."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.planning.visits.air import AirSpread
    from combe.planning.visits.entry import Bounds, Entry, WrittenUnit, entry_of
    from combe.planning.visits.judge import (
        DAYS_A_YEAR, Against, Comparison, Judgement, Status, judge_log, judge_series, worst,
    )
    from combe.planning.visits.judgement_words import difference_words, drift_words, tolerance_words
    from combe.planning.visits.log import append_readings, read_log
    from combe.planning.visits.reading_file import (
        COLUMNS, OPTIONAL_COLUMNS, SHEET_COLUMNS, Stations, read_readings, refuse_logged,
    )
    from combe.planning.visits.readings import Reading, SeriesKey, key_of
    from combe.planning.visits.sheet import (
        SheetRow, SheetSite, sheet_cells, sheet_rows, sheet_text, tolerated,
    )
    from combe.planning.visits.units import shown
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
