"""What a map shows: stations, feed paths, people and layers of field strength."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.publishing.geotiff import check_shape
from combe.publishing.map_lines import ContextMarks, ContourMarks
from combe.publishing.page_about import PageAbout
from combe.publishing.recount import Recount
from combe.publishing.station_card import StationCard

if TYPE_CHECKING:
    from combe.planning import PeopleCount
    from combe.terrain import StudyGrid

PEOPLE_STATES: Final = ("served before", "newly served", "unserved", "no prediction", "lost")
"""What can be said of the people at a place, in the order in which pages list it."""

_KEY: Final = re.compile(r"[a-z][a-z0-9-]{0,99}")
_TAKEN_KEYS: Final = ("story", "height", "shade")

STATION_ROLES: Final = ("parent", "relay")
LAYER_KINDS: Final = ("field", "missing", "margin", "gain", "difference", "classes")
PATTERNS: Final = ("plain", "rising", "falling", "crossed", "dotted", "bare")
"""How the ground of a class is filled, besides its colour; what is bare shows the ground alone."""


@dataclass(frozen=True)
class StationMark:
    """A station as a map shows it; ``services`` is a short text such as "ch 21, 24, 27 · 10 W ERP".

    ``card`` is what is told when its mast is chosen.
    """

    name: str
    role: str
    longitude_deg: float
    latitude_deg: float
    aerial_height_m: float
    services: str = ""
    card: StationCard | None = None

    def __post_init__(self) -> None:
        """Check the role and the place."""
        _check_choice("role of a station", self.role, STATION_ROLES)
        _check_place(self.longitude_deg, self.latitude_deg)


@dataclass(frozen=True)
class FeedPath:
    """The path over which a relay hears its parent; ``verdict`` is "passes", "fails" or empty."""

    parent: str
    relay: str
    longitude_deg: tuple[float, ...]
    latitude_deg: tuple[float, ...]
    verdict: str = ""

    def __post_init__(self) -> None:
        """Check that there are two places or more."""
        if len(self.longitude_deg) != len(self.latitude_deg) or len(self.longitude_deg) < 2:
            raise RangeError(
                "number of places of a feed path", len(self.longitude_deg), "2 or more, as many of each"
            )
        for longitude, latitude in zip(self.longitude_deg, self.latitude_deg, strict=True):
            _check_place(longitude, latitude)


@dataclass(frozen=True)
class PeopleMark:
    """People of one place (a settlement or some population cells) and whether they are served."""

    longitude_deg: float
    latitude_deg: float
    people: float
    state: str
    name: str = ""

    def __post_init__(self) -> None:
        """Check place, number and state."""
        _check_choice("state of people", self.state, PEOPLE_STATES)
        _check_place(self.longitude_deg, self.latitude_deg)
        if not self.people >= 0:
            raise RangeError("people", self.people, "0 or more")


@dataclass(frozen=True)
class PlaceMark:
    """A settlement of its own name, and its people."""

    name: str
    longitude_deg: float
    latitude_deg: float
    people: float

    def __post_init__(self) -> None:
        """Check the place."""
        _check_place(self.longitude_deg, self.latitude_deg)


@dataclass(frozen=True)
class ShareScale:
    """How a layer's field tells the share of places served: need and deviation of a normal scatter.

    ``classes`` holds pairs of a share [%] and the median field [dB(µV/m)] that serves it, rising;
    ``planning_percent`` is the share of the layer's own threshold.
    """

    at_a_place_dbuv_m: float
    deviation_db: float
    planning_percent: float
    classes: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        """Check the deviation and the order of the classes."""
        if not self.deviation_db > 0.0:
            raise RangeError("deviation over places", self.deviation_db, "over 0 dB")
        fields = [field for _, field in self.classes]
        if not fields or fields != sorted(fields):
            raise RangeError("classes of shares", self.classes, "one or more, with rising fields")


@dataclass(frozen=True)
class MapClass:
    """One class of ground of a layer: the number of its cells, what it is called, and how it is filled.

    ``people`` live there; None where nobody is counted.
    """

    code: int
    words: str
    colour: str
    pattern: str = "plain"
    people: float | None = None

    def __post_init__(self) -> None:
        """Check the number and the pattern."""
        _check_choice("pattern of a class", self.pattern, PATTERNS)
        if self.code < 1:
            raise RangeError("number of a class", self.code, "1 or more; cells without a prediction are NaN")


@dataclass(frozen=True)
class MapLayer:
    """Field strength of one service of one station (or the weakest of all its services) over the study grid.

    ``field_dbuv_m`` has shape (rows, columns), row 0 north, NaN where there is no prediction;
    ``threshold_dbuv_m`` is the planning minimum; ``frequency_mhz`` that of a single field. ``key`` is a word
    of small letters, digits and hyphens. ``service`` reads "All services" for the weakest of all. With
    ``shares`` the page shows the layer as shares of places served.

    A layer that ``shows`` "missing" holds instead by how many dB a cell is short, with a threshold of 0 dB
    and less than that where nothing is missing; one that shows "margin" holds the dB over the minimum, where
    several services with minima of their own are told together, with a threshold of 0 dB. One that shows
    "gain" holds what a network on one frequency gains [dB], and less than 0 where that is too little to tell;
    one that shows "difference" the margin [dB] where one plan serves and another does not, under 0 elsewhere.
    One that shows "classes" holds the number of each cell's class, and ``classes`` has these.
    """

    key: str
    title: str
    station: str
    role: str
    service: str
    field_dbuv_m: npt.NDArray[np.floating]
    threshold_dbuv_m: float
    description: str = ""
    shares: ShareScale | None = None
    shows: str = "field"
    classes: tuple[MapClass, ...] = ()
    frequency_mhz: float | None = None

    def __post_init__(self) -> None:
        """Check the key, the role, the threshold and the array."""
        if not _KEY.fullmatch(self.key) or self.key in _TAKEN_KEYS:
            allowed = f"small letters, digits and hyphens, a letter first, none of {', '.join(_TAKEN_KEYS)}"
            raise RangeError("key of a layer", repr(self.key), allowed)
        _check_choice("role of a layer's station", self.role, STATION_ROLES)
        _check_choice("what a layer shows", self.shows, LAYER_KINDS)
        if bool(self.classes) != (self.shows == "classes"):
            raise RangeError(
                "classes of a layer", len(self.classes), "some where it shows classes, else none"
            )
        if not np.isfinite(self.threshold_dbuv_m):
            raise RangeError("threshold_dbuv_m", self.threshold_dbuv_m, "a finite number")
        if self.field_dbuv_m.ndim != 2:
            raise RangeError("dimensions of field_dbuv_m", self.field_dbuv_m.ndim, "2: (rows, columns)")


class Sight(NamedTuple):
    """What a page draws the ground between a mast and a place by: how the air bends, how high aerials are."""

    effective_radius_km: float
    receive_height_m: float


@dataclass(frozen=True)
class MapDistrict:
    """A district with its people in all services; ``rings`` are longitudes and latitudes [degrees] (n, 2)."""

    name: str
    people: PeopleCount
    rings: tuple[npt.NDArray[np.float64], ...] = ()


@dataclass(frozen=True)
class MapPage:
    """All that one map page shows; one that shows something else than coverage has no layers.

    ``before_keys`` and ``after_keys`` name the layers of the first view: a cell is served before when any of
    the first reaches its minimum, newly served when only one of the second does. ``people_rows`` are the
    people of each service by its name, first those that the headline tells of. ``street_tiles`` adds a switch
    for street tiles from the network, off at first; without it the page can ask the network for nothing.
    ``left_out`` says which layers the page does not have, ``feed_notes`` which relays count though their feed
    does not pass. ``sure`` says between which numbers the people of the headline lie. ``people_words`` are
    what readers see of a state of people, where not the state itself. With ``recount`` the page counts its
    people at every threshold of its slider; else it says that they stand at the planning minimum. ``harm``
    says what relays take from the viewers of other stations. ``districts`` are counted apart, and
    ``districts_left_out`` says which are not here. ``about`` is what the page tells of itself, ``index`` the
    file that it links back to. With ``sight`` the ground is drawn towards a place that is clicked.
    ``places`` are settlements that can be found by their names, beside what else has one. ``context`` and
    ``contours`` are drawn under the marks, so that one knows the place; ``credits`` say on the printed sheet
    whose ground and whose lines it shows.
    """

    title: str
    subtitle: str
    grid: StudyGrid
    heights_m: npt.NDArray[np.floating]
    layers: tuple[MapLayer, ...]
    before_keys: tuple[str, ...]
    after_keys: tuple[str, ...]
    people: tuple[PeopleMark, ...] = ()
    people_rows: tuple[tuple[str, PeopleCount], ...] = ()
    stations: tuple[StationMark, ...] = ()
    feeds: tuple[FeedPath, ...] = ()
    provenance: tuple[str, ...] = ()
    invented_note: str = ""
    ramp: str = "batlow"
    street_tiles: bool = False
    left_out: str = ""
    sure: str = ""
    feed_notes: tuple[str, ...] = ()
    people_words: Mapping[str, str] = field(default_factory=dict)
    recount: Recount | None = None
    harm: str = ""
    about: PageAbout | None = None
    index: str = ""
    sight: Sight | None = None
    places: tuple[PlaceMark, ...] = ()
    credits: tuple[str, ...] = ()
    context: tuple[ContextMarks, ...] = ()
    contours: ContourMarks | None = None
    districts: tuple[MapDistrict, ...] = ()
    districts_left_out: str = ""

    def __post_init__(self) -> None:
        """Check shapes and keys."""
        check_shape("heights_m", self.heights_m.shape, self.grid)
        keys = [layer.key for layer in self.layers]
        if len(set(keys)) != len(keys):
            raise RangeError("keys of the layers", keys, "each layer with its own key")
        for layer in self.layers:
            check_shape(f"layer {layer.key}", layer.field_dbuv_m.shape, self.grid)
        if self.recount and len(self.recount.rows) != len(self.people_rows):
            raise RangeError(
                "rows of a recount", len(self.recount.rows), f"{len(self.people_rows)}, as counted"
            )
        if self.recount and len(self.recount.districts) != len(self.districts):
            raise RangeError(
                "districts of a recount", len(self.recount.districts), f"{len(self.districts)}, as shown"
            )
        for key in (*self.before_keys, *self.after_keys):
            _check_choice("layer of the first view", key, tuple(keys))


def _check_choice(name: str, given: str, allowed: tuple[str, ...]) -> None:
    """Raise RangeError unless the word is one of those allowed."""
    if given not in allowed:
        raise RangeError(name, repr(given), ", ".join(allowed))


def _check_place(longitude_deg: float, latitude_deg: float) -> None:
    """Raise RangeError unless the place is on the Earth."""
    if not -180 <= longitude_deg <= 180:
        raise RangeError("longitude_deg", longitude_deg, "-180 to 180")
    if not -90 <= latitude_deg <= 90:
        raise RangeError("latitude_deg", latitude_deg, "-90 to 90")
