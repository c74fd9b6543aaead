"""What we build: sites, aerials, patterns and transmitters."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.errors import LONGEST_SIGNAL_NAME, require_choice, require_distinct, require_name
    from combe.stations.aerial import Minimum
    from combe.stations.design import (
        AerialDesign, WorkedOutAerial, clear_spacing_wavelengths, line_direction, radiator_of,
        work_out_design,
    )
    from combe.stations.elements import described_element, half_wave_dipole
    from combe.stations.linear_array import (
        aperture_beamwidth_deg, aperture_gain_dbi, aperture_null_deg, array_factor_db, design_array,
    )
    from combe.stations.output_chain import (
        OutputBudget, OutputStage, amplifier_power_for_erp_w, output_budget,
    )
    from combe.stations.pattern import (
        Pattern, PatternKind, main_bearings_deg, pattern_gain_db, read_pattern, write_pattern,
    )
    from combe.stations.radiation import gain_dbd, gain_dbi
    from combe.stations.stacking import dipole_panel, dipole_trough, stacked, stacking_gain_db
    from combe.stations.transmitter import (
        Polarization, Service, Station, erp_towards_dbw, horizontal_gain_db, vertical_gain_db,
    )
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
