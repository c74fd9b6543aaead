"""Tables of other people: any encoding, columns of any name, places in any system; nothing is guessed."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.tables.angles import angle_in
    from combe.tables.by_hand import (
        EARLIEST, FORMULA_STARTS, LONGEST_CELL, choice_in, date_in, number_in, raise_faults, read_rows,
        text_in,
    )
    from combe.tables.cells import CellError, plain_number, shown
    from combe.tables.columns import (
        PLACE, Columns, Layout, find_columns, layout_of, likely_columns, mapping_text, suggested,
    )
    from combe.tables.grid_letters import grid_place_m, grid_system
    from combe.tables.kinds import (
        PEOPLE_COLUMNS, POINT_COLUMNS, STATION_COLUMNS, SURVEY_COLUMNS, TABLES, TELLING,
    )
    from combe.tables.places import crs_named, to_degrees
    from combe.tables.powers import erp_in_w, with_power
    from combe.tables.table import ReadTable, TableRow, read_table
    from combe.tables.text_file import Records, look_at_text, read_records
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
