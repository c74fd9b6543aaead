"""Field strength: the exact path and the sweep over an area."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.prediction.area import Area, one_raster, survey_area
    from combe.prediction.clearance import Clearance, ClearanceOverTime, clearance_over_time
    from combe.prediction.conditions import MEDIAN_PERCENT, Conditions, describe, shortest_path_km
    from combe.prediction.coverage import FieldMap, predict_coverage
    from combe.prediction.field_store import (
        FIELD, FieldMemory, FieldStore, StationFields, array_hash, content_hash, field_key,
        field_map_in, open_store, program_salt, station_fields, trim_store, usual_folder,
    )
    from combe.prediction.ground_reflection import (
        Reflection, TwoRays, fitted_line, lobe_heights_m, null_heights_m, reflection,
    )
    from combe.prediction.filled_ways import cells_across_fills
    from combe.prediction.over_time import (
        RAREST_PERCENT, SHARES_PERCENT, YEAR_MINUTES, PathOverTime, ShareOfYear,
    )
    from combe.prediction.path import PathPrediction, predict_path
    from combe.prediction.pricing import SHORTEST_KM
    from combe.prediction.sealed_file import (
        HeldArrays, SealedFile, open_sealed, read_part, read_rows, write_sealed,
    )
    from combe.prediction.straight import (
        Aerials, IntArray, Line, Places, Way, apart_km, height_on, line_of, places_of, steps_between,
        true_bearing_deg,
    )
    from combe.prediction.straight_pricing import (
        FREE_SPACE, P1812, Setting, free_loss_db, make_setting, service_air, service_loss_db,
        summarise_profile,
    )
    from combe.prediction.straight_samples import Scratch, complete_profile, new_scratch
    from combe.prediction.straight_ways import StraightLosses, directions, straight_losses
    from combe.prediction.targets import Targets, find_targets, predict_targets
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
