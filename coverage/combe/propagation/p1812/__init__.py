"""Recommendation ITU-R P.1812-8 (09/2025): path-specific prediction, one module per sub-model.

A path is summarised (``summarise_exact``), then priced (``basic_loss``, or quicker and without intermediates
``basic_loss_db``); ``predict_path`` does both and checks. Sections and equations are cited at each function:
sections as in the contents page of -8, equations as the logs of the Study Group 3 validation set number them
(an earlier edition; from memory where the logs name none). The set's expected values are the same for the
code of -6 and of -8.

Symbols
-------
d distance · hts hrs terminal heights above sea level · f frequency (GHz) · p time percentage · pL location
percentage · λ wavelength (0.2998/f m) · ΔN lapse of refractivity · N0 sea-level refractivity · ae aβ
effective radii (median; for β0 % of time) · φ latitude · dtm dlm longest land and inland stretch · ω sea
share · dct dcr distances to the coast · dlt dlr θt θr θ horizons · hst hsr hstd hsrd hte hre hm smooth
surface and roughness · β0 β incidence of ducts · Fi Fj Fk weights of time, angle, distance · Lbfs Lb0p Lb0β
line of sight · Lbulla Lbulls Ldsph Ld50 Ldβ Ldp diffraction · Lbs troposcatter · Lba ducting · Lminb0p
Lminbap Lbda Lbam Lbc combination · Lloc location · Lb basic transmission loss · Ep field strength for 1 kW
e.r.p.

Range of validity
-----------------
30 to 6000 MHz · 1 to 50 % of time · 1 to 99 % of locations · aerials 1 to 3000 m above ground · paths of 0.25
to 3000 km with five points or more. Nearer than 0.25 km nothing is claimed.

Choices where the Recommendation leaves one, and deviations
-----------------------------------------------------------
- A profile point stands for the ground half way to its neighbours, so ω, dtm and dlm have boundaries midway
  between points of different zones, as in the Study Group 3 validation set.
- Of several equal horizons the one nearest to the aerial is taken.
- Fi at p = 50 % is I(0.5)/I(β0/100), some 1e-9, not 0: the rational inverse normal gives this, and the
  validation set keeps it. (C0 is 2.515516698; rounded to 2.515517 it would be 100 times as much.)
- Ldsph is not let below 0. It enters only as max(Ldsph − Lbulls, 0), so no loss is changed.
- Ducting and troposcatter are added as logarithms of sums in a form that cannot overflow.
- Building entry loss (§4.8) is not built: relays and their viewers use aerials outdoors.
- The sums of §4.7 for the deviation over places are offered apart (``location.location_sigma_db``).
"""

from combe.propagation.p1812.checks import check_number, profile_arrays
from combe.propagation.p1812.combination import (
    angle_factor,
    distance_factor,
    ducting_minimum_db,
    notional_minimum_db,
    with_ducting_db,
    with_troposcatter_db,
)
from combe.propagation.p1812.conditions import BETA_RADIUS_KM, P1812Conditions, make_conditions
from combe.propagation.p1812.ducting import ducting_floor_db
from combe.propagation.p1812.ducting_incidence import ducting_incidence_percent, inland_factor
from combe.propagation.p1812.face import predict_path
from combe.propagation.p1812.horizons import angle_mrad, horizons, sight_slope
from combe.propagation.p1812.line_of_sight import focusing_db, free_space_slant_loss_db
from combe.propagation.p1812.location import location_correction_db, location_sigma_db
from combe.propagation.p1812.loss import P1812Loss, basic_loss
from combe.propagation.p1812.normal import inverse_normal
from combe.propagation.p1812.quick_loss import BegunLoss, basic_loss_db, begin_loss, finish_loss_db
from combe.propagation.p1812.result import PathLoss
from combe.propagation.p1812.summary import P1812Summary, summarise_exact
from combe.propagation.p1812.troposcatter import troposcatter_loss_db
from combe.propagation.p1812.zones import COASTAL, INLAND, NO_COAST_KM, SEA, ZONE_NAMES, coast_distances_km

__all__ = [
    "BETA_RADIUS_KM",
    "COASTAL",
    "INLAND",
    "NO_COAST_KM",
    "SEA",
    "ZONE_NAMES",
    "BegunLoss",
    "P1812Conditions",
    "P1812Loss",
    "P1812Summary",
    "PathLoss",
    "angle_factor",
    "angle_mrad",
    "basic_loss",
    "basic_loss_db",
    "begin_loss",
    "check_number",
    "coast_distances_km",
    "distance_factor",
    "ducting_floor_db",
    "ducting_incidence_percent",
    "ducting_minimum_db",
    "finish_loss_db",
    "focusing_db",
    "free_space_slant_loss_db",
    "horizons",
    "inland_factor",
    "inverse_normal",
    "location_correction_db",
    "location_sigma_db",
    "make_conditions",
    "notional_minimum_db",
    "predict_path",
    "profile_arrays",
    "sight_slope",
    "summarise_exact",
    "troposcatter_loss_db",
    "with_ducting_db",
    "with_troposcatter_db",
]
