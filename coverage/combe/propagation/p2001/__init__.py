"""Recommendation ITU-R P.2001-4: the loss of one path for any share of an average year, fades included.

One module per attachment. A path is drawn (``path``) for the air of one share of time (``conditions``) and
priced by four sub-models: normal propagation near the surface, ducting, troposcatter, sporadic E; their
losses are joined (``combination``). ``predict_path`` does all of it and checks. Equations are cited where
they stand, by the numbers of the Recommendation.

Symbols
-------
dt path length · Hts Hrs aerials above sea level · f frequency (GHz) · p q percentages of time not exceeded
and exceeded · λ wavelength (0.2998/f m) · Nd1kmp gradient of the lowest kilometre · ae ap Cp effective radii
(median; for p) and curvature · φmn latitude of the middle · ω sea share · dlt dlr θt θr horizons · Htea Hrea
Hm smooth surface and roughness · Htep Hrep aerials over the surface of diffraction · Lbfs Ld A1 Agsur Q0ca
Q0ra normal propagation · Lba ducting · Lbs A2 Ags troposcatter · Lbe sporadic E · Lbm1 to Lbm4 sub-models ·
Lb basic transmission loss.

Range of validity
-----------------
30 MHz to 50 GHz · 0.00001 to 99.99999 % of time · aerials above the ground and up to 8000 m above sea level ·
paths with eleven points or more and a loss of 20 dB or more. The Recommendation holds itself best from 3 km
to at least 1000 km, and sets no hard bound.

Choices, and deviations
-----------------------
- The equations were read as written out from the public code of Working Party 3M, in its order of operations;
  the Recommendation's own text was not at hand.
- One climate stands for the whole path, where the Recommendation reads its maps in up to seven places (the
  middle, quarters, ends and legs of scatter). So the loss is the same both ways, save that the last of equal
  horizons along the way is taken, from both ends (P.1812: the nearest).
- Rain counts where the climate tells of it. Where it does not, it is left out, and the result says so: under
  1 GHz this errs on the side of deeper fades, by some 0.3 dB; above, fades are not those of the place.
- A leg of scatter that has no length has no fade by rain; the public code ends at 5 dB there, because every
  comparison with NaN is false. The loss of scatter does not count on such paths.
- Losses of sporadic E are joined in a form that cannot overflow. Nothing changes below 3000 dB.
- The loss over the spherical Earth may be below 0 beyond the horizon, where that of P.526 stops at 0 in this
  house. Only its excess over another loss enters, so Ld is the same.
"""

from combe.propagation.p2001.climate import Climate
from combe.propagation.p2001.conditions import make_conditions
from combe.propagation.p2001.face import predict_path
from combe.propagation.p2001.gases import oxygen_db_km
from combe.propagation.p2001.kernel import LossesAsked, fill_losses_db
from combe.propagation.p2001.maps import MAP_FORMS, RAIN_MAPS, DigitalMaps, check_map
from combe.propagation.p2001.rain_attenuation import rain_law
from combe.propagation.p2001.result import PathLoss
from combe.propagation.p2001.typical import TYPICAL_CLIMATES, USUAL_CLIMATE, typical_words

__all__ = [
    "MAP_FORMS",
    "RAIN_MAPS",
    "TYPICAL_CLIMATES",
    "USUAL_CLIMATE",
    "Climate",
    "DigitalMaps",
    "LossesAsked",
    "PathLoss",
    "check_map",
    "fill_losses_db",
    "make_conditions",
    "oxygen_db_km",
    "predict_path",
    "rain_law",
    "typical_words",
]
