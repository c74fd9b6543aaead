"""How a project judges: interference between stations, the grid in which it looks, measured points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from combe.errors import RangeError, require_range
from combe.planning import SurveyPoint
from combe.project.given import Given

SummingMethod = Literal["log-normal", "k-lnm", "power sum", "multiplication"]


@dataclass(frozen=True)
class Interference:
    """How stations on the same, the next or a related channel count against one another.

    ``method`` None is that by which the television system is planned, ``time_percent`` None the time for
    which its interferers are exceeded.
    """

    counted: bool = True
    method: SummingMethod | None = None
    correlation: float = 0.0
    k: float = 1.0
    time_percent: float | None = None
    cross_polarization: bool = True

    def __post_init__(self) -> None:
        require_range("correlation", self.correlation, 0.0, 1.0)
        require_range("k", self.k, 0.1, 1.0)
        if self.time_percent is not None:
            require_range("time_percent of interference", self.time_percent, 1.0, 50.0)


@dataclass(frozen=True)
class GridWish:
    """The cells to be predicted: side [m], system (None: the UTM zone), and area (None: all terrain)."""

    cell_size_m: float = 90.0
    crs: str | None = None
    area_deg: tuple[float, float, float, float] | None = None

    def __post_init__(self) -> None:
        require_range("cell_size_m", self.cell_size_m, 5.0, 1000.0)


@dataclass(frozen=True)
class StatedError:
    """How far predictions are off, as standard deviations [dB]: common to an area, and of each place.

    None is what is known of the model. ``from_survey`` takes both from the project's own survey.
    """

    common_db: float | None = None
    place_db: float | None = None
    from_survey: bool = False

    def __post_init__(self) -> None:
        for name in ("common_db", "place_db"):
            value = getattr(self, name)
            if value is not None:
                require_range(f"{name} of the error", value, 0.0, 30.0)
        if self.from_survey and not (self.common_db is None and self.place_db is None):
            raise RangeError(
                "error from_survey", "true beside numbers", "either of the two",
                "take common_db and place_db out, or from_survey",
            )  # fmt: skip


@dataclass(frozen=True)
class Survey:
    """Measured field strengths, and whether their mean error is added to the fields of their station.

    ``kriged`` adds to the mean error what hangs together from place to place.
    """

    points: Given[tuple[SurveyPoint, ...]]
    apply_correction: bool = False
    kriged: bool = False
