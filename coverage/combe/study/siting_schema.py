"""The section of a study file that asks where a relay should stand."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from combe.study.section import OMNI, Name, Section, Shares, Text
from combe.study.television_schema import OwnTelevisionSection

Bearing = Annotated[float, Field(ge=0.0, le=360.0)]


class SitingServiceSection(Section):
    """One service that the relay radiates."""

    name: Name = Field(description="service of the parent that is re-radiated", examples=["Mux 1"])
    channel: int = Field(ge=1, description="output channel", examples=[41])
    erp_w: float = Field(
        gt=0.0, le=10_000_000.0, description="effective radiated power over a dipole [W]", examples=[10.0]
    )


class SitingFeedSection(Section):
    """The receiving side of the relay, wherever it stands."""

    from_: tuple[Name, ...] = Field(
        default=(),
        alias="from",
        strict=False,
        description="stations that may be received; without it every parent that radiates all services",
        examples=[["Parent Hill"]],
    )
    aerial_height_m: float = Field(
        default=12.0, ge=1.0, le=500.0, description="receiving aerial above ground [m]"
    )
    aerial_gain_dbi: float = Field(
        default=14.0, ge=-10.0, le=40.0, description="gain of the receiving aerial [dBi]"
    )
    feeder_loss_db: float = Field(default=2.0, ge=0.0, le=60.0, description="loss of the feeder [dB]")
    splitter_loss_db: float = Field(default=0.0, ge=0.0, le=40.0, description="loss of splitters [dB]")
    noise_figure_db: float = Field(
        default=6.0, ge=0.0, le=30.0, description="noise figure of the receiver [dB]"
    )
    required_margin_db: float = Field(
        default=10.0, ge=0.0, le=60.0, description="margin that has to stand over the required C/N [dB]"
    )
    time_percent: Shares = Field(
        default=99.0,
        description="share of an average year for which the margin has to stand [%], 50 to 99.999; a list of "
        "several is judged at the greatest",
    )
    fade_allowance_db: float = Field(
        default=0.0,
        ge=0.0,
        le=40.0,
        description="an extra allowance on top of the fade for that time [dB]",
    )
    required_cn_db: float | None = Field(
        default=None,
        ge=-10.0,
        le=60.0,
        description="required C/N of the receiver [dB]; without it that of the television mode",
        examples=[20.0],
    )


class SitingLimitSection(Section):
    """The most that may be radiated towards a sector, such as a border."""

    from_deg: Bearing = Field(
        description="first true bearing of the sector, clockwise [degrees]", examples=[80.0]
    )
    to_deg: Bearing = Field(description="last true bearing of the sector [degrees]", examples=[120.0])
    erp_w: float = Field(gt=0.0, le=10_000_000.0, description="greatest ERP into it [W]", examples=[1.0])


class SitingSection(Section):
    """Where should a relay stand? For combe site: what it radiates, and where a mast may be."""

    television: OwnTelevisionSection | None = Field(
        default=None,
        description="television system and mode of the relay, where they are not those of the study",
    )
    aerial_height_m: float = Field(
        default=20.0, ge=1.0, le=500.0, description="transmitting aerial above ground [m]"
    )
    polarization: Literal["horizontal", "vertical"] = Field(
        default="vertical", description="polarization radiated"
    )
    patterns: tuple[Text, ...] = Field(
        default=(OMNI,),
        strict=False,
        min_length=1,
        max_length=8,
        description="omni, or CSV files of bearing_deg,relative_db, each tried at every azimuth_step_deg",
        examples=[["omni"]],
    )
    vertical_pattern: Text = Field(
        default=OMNI, description="omni, or a CSV file of elevation_deg,relative_db", examples=["pattern.csv"]
    )
    azimuth_step_deg: float = Field(
        default=15.0, ge=1.0, le=180.0, description="steps by which patterns are turned [degrees]"
    )
    keep_power: bool = Field(
        default=False,
        description="true if erp_w is that of omni, so that a pattern's directivity raises the ERP",
    )
    cell_size_m: float | None = Field(
        default=None,
        ge=5.0,
        le=1000.0,
        description="side of the cells tried [m]; without it that of the grid",
        examples=[90.0],
    )
    reach_km: float = Field(
        default=60.0, ge=1.0, le=300.0, description="people farther from a hill are not looked at [km]"
    )
    before: Literal["parents", "all stations"] = Field(
        default="parents", description="who serves already, so that others are unserved"
    )
    search: Literal["every hill", "best first"] = Field(
        default="every hill",
        description="every hill gives the map and sets of sites; best first finds the list alone, sooner",
    )
    list_length: int = Field(default=10, ge=1, le=100, description="hills in the list")
    apart_m: float = Field(
        default=1000.0, ge=0.0, le=100_000.0, description="a hill nearer to a better one is not listed [m]"
    )
    sites: int = Field(default=3, ge=1, le=50, description="sites of the largest set that is chosen together")
    share_percent: float | None = Field(
        default=None,
        ge=1.0,
        le=100.0,
        description="the fewest sites, or cheapest, for this share of all who could be served [%]",
        examples=[90.0],
    )
    relays_feed_relays: bool = Field(
        default=False, description="true to look for further sites that only a chosen site feeds"
    )
    above_valley_m: float = Field(
        default=30.0, ge=0.0, le=3000.0, description="least height over the lowest ground around [m]"
    )
    valley_radius_m: float = Field(
        default=1000.0, ge=50.0, le=20_000.0, description="how far around that ground is sought [m]"
    )
    steepest_deg: float | None = Field(
        default=None, ge=0.0, le=90.0, description="steepest ground for a mast [degrees]", examples=[25.0]
    )
    keep_off_m: float = Field(
        default=0.0, ge=0.0, le=100_000.0, description="least distance from stations of the study [m]"
    )
    inside: Text | None = Field(
        default=None,
        description="polygons in which a mast has to stand: GeoPackage or GeoJSON",
        examples=["allowed.gpkg"],
    )
    outside: Text | None = Field(
        default=None, description="polygons in which no mast may stand", examples=["protected.gpkg"]
    )
    border: Text | None = Field(
        default=None, description="polygon of the country; masts stand inside", examples=["border.gpkg"]
    )
    access: Text | None = Field(
        default=None, description="roads or power lines, any features", examples=["roads.gpkg"]
    )
    access_within_m: float | None = Field(
        default=None,
        ge=0.0,
        le=100_000.0,
        description="greatest distance from those [m]",
        examples=[500.0],
    )
    cost_per_site: float = Field(default=0.0, ge=0.0, le=1e12, description="cost of a site, any currency")
    cost_per_access_km: float = Field(
        default=0.0, ge=0.0, le=1e12, description="cost of each kilometre to the nearest access"
    )
    services: tuple[SitingServiceSection, ...] = Field(
        strict=False, min_length=1, description="what the relay radiates"
    )
    feed: SitingFeedSection = Field(default=SitingFeedSection(), description="how the relay receives")
    limits: tuple[SitingLimitSection, ...] = Field(
        default=(), strict=False, description="sectors into which less may be radiated"
    )


_FILE_KEYS: Final = ("vertical_pattern", "inside", "outside", "border", "access")


def siting_files(section: SitingSection) -> list[str]:
    """Return the names of the files that the section names, each once."""
    names = [*section.patterns, *(getattr(section, key) for key in _FILE_KEYS)]
    return [name for name in dict.fromkeys(names) if name is not None and name != OMNI]


def with_files_named(section: SitingSection, names: dict[str, str]) -> SitingSection:
    """Return the section with its files called by other names."""
    new = {key: names.get(name, name) for key in _FILE_KEYS if (name := getattr(section, key)) is not None}
    patterns = tuple(names.get(name, name) for name in section.patterns)
    return section.model_copy(update=new | {"patterns": patterns})
