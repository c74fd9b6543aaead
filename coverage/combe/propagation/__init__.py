"""What air and hills do to a wave: ITU-R Recommendations as pure kernels."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.propagation.effective_earth import CRITICAL_DELTA_N, effective_radius_km
    from combe.propagation.p525 import free_space_kernel, free_space_loss_db
    from combe.propagation.p841 import MONTH_MINUTES, worst_month_percent
    from combe.propagation.p2001 import Climate
    from combe.propagation.p2109 import building_entry_loss_db, entry_statistics
    from combe.propagation.summary import (
        PathSummary, horizon_slopes, largest_fresnel, lowered_smooth_ends, smooth_ends,
    )
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
