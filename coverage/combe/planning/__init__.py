"""The planner's questions: people served."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.planning.coordinating import (
        SECTOR_DEG, ChannelSum, FieldThere, Held, Sector, channel_sums, highest_first, sectors_of,
    )
    from combe.planning.delay_search import (
        MOST_TRIALS, DelaysFound, Freedom, freedom_of, search_delays,
    )
    from combe.planning.exposure import (
        ComplianceDistance, RadiatedPower, compliance_distance_m, near_field_m, radiated_powers,
    )
    from combe.planning.grid_tiles import (
        TILE_BYTES, Layer, StationService, row_ranges, rows_a_tile, services_of,
    )
    from combe.planning.held_network import HeldNetwork
    from combe.planning.kriging import FEWEST_KRIGED, KrigedErrors, krige_errors
    from combe.planning.network import NetworkResult, NetworkTask, network_run, result_array
    from combe.planning.people_count import (
        ELSEWHERE, Census, Counts, DistrictPeople, Districts, Mask, PeopleCount, Standing,
        count_by_district, count_reach, count_standing, limited_by_interference, lost, newly_served,
        people_served, people_where, take_census,
    )
    from combe.planning.people_difference import (
        COUNTS, CountDifferences, Difference, Judged, count_differences,
    )
    from combe.planning.people_range import (
        HIGH_PERCENT, LOW_PERCENT, CountRanges, Homes, MarginError, PeopleRange, chance_of_more,
        count_ranges, homes_of, newly_served_draws, range_of, chance_served,
    )
    from combe.planning.people_steps import Margins, StepCounts, count_by_step
    from combe.planning.retiring import Closing, Dependence, depend_on, most_closed
    from combe.planning.settlements import UnservedSettlement, group_cells, units_of, unserved_settlements
    from combe.planning.survey import (
        FEWEST_PLACES, ErrorStatistics, LocalCorrection, SurveyError, SurveyPoint, by_distance,
        by_obstruction, by_station, error_statistics, errors_by_place, local_correction,
        place_errors_db, places_by_station, require_places,
    )
    from combe.planning.tile_judge import (
        DOUBTFUL, HARM, PREDICTED, SERVED, Harm, Victim, count_harm, flags_of, network_judge,
    )
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
