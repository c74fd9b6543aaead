"""The shape of a study file: every section and key, its unit, its bounds and an example of it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from combe.study.array_schema import ArraySection
from combe.study.climate_schema import ClimateWritten
from combe.study.coordination_schema import CoordinationSection
from combe.study.cover_schema import ClutterSection
from combe.study.feed_schema import FeedSection, OutputSection
from combe.study.map_schema import MapSection
from combe.study.reception_schema import ReceptionSection
from combe.study.section import OMNI, Name, Section, Text
from combe.study.siting_schema import SitingSection
from combe.study.survey_schema import ErrorSection, SurveySection
from combe.study.table_schema import (
    Columns,
    Decimal,
    columns_field,
    crs_field,
    decimal_field,
    encoding_field,
    layer_field,
)
from combe.study.television_schema import OwnTelevisionSection, TelevisionSection
from combe.study.terrain_schema import TerrainSection
from combe.study.zones_schema import ZonesSection

Longitude = Annotated[float, Field(ge=-180.0, le=180.0)]
EasternLongitude = Annotated[float, Field(ge=-180.0, le=360.0)]
"""An eastern edge, past 180 where an area crosses the antimeridian."""

Latitude = Annotated[float, Field(ge=-90.0, le=90.0)]


class AboutSection(Section):
    """What the study is called, whether it is invented, and which model predicts."""

    title: Text = Field(description="what the pages are headed with", examples=["Relay for Long Combe"])
    note: str = Field(default="", max_length=2000, description="free text, printed on the pages")
    invented: bool = Field(
        default=False,
        description="true if stations or people are invented; every page then says so",
        examples=[True],
    )
    speaks_of: tuple[Text, ...] | None = Field(
        default=None,
        strict=False,
        description="what note and invented were written of: stations, files; with #MARK of place or content "
        "that check tells; a fault where the study holds others",
        examples=[["Parent Hill", "people.tif"]],
    )
    model: Literal["p1812", "p526", "free-space"] = Field(
        default="p1812",
        description="propagation model: ITU-R P.1812, P.526 diffraction over P.525, or P.525 alone",
    )


class GridSection(Section):
    """The cells in which coverage is predicted."""

    cell_size_m: float = Field(default=90.0, ge=5.0, le=1000.0, description="side of a cell [m]")
    crs: Text = Field(
        default="auto",
        description="projected system of the grid; auto is the UTM zone of its centre",
        examples=["EPSG:32616"],
    )
    area_deg: tuple[Longitude, Latitude, EasternLongitude, Latitude] | None = Field(
        default=None,
        strict=False,
        description="west, south, east, north [degrees]; without it the whole terrain",
        examples=[[-84.35, 36.50, -84.10, 36.70]],
    )


class AirSection(Section):
    """The state of the atmosphere."""

    delta_n: float | None = Field(
        default=None,
        ge=0.0,
        le=150.0,
        description="fall of refractivity in the lowest kilometre, median [N-units/km] (ITU-R P.453)",
        examples=[45.0],
    )
    effective_radius_km: float | None = Field(
        default=None,
        ge=1000.0,
        le=1_000_000.0,
        description="effective Earth radius [km], in place of delta_n; without either, delta_n 45 for p1812 "
        "and 8500 km for the others",
        examples=[8500.0],
    )
    n0: float = Field(
        default=325.0,
        ge=200.0,
        le=500.0,
        description="sea-level refractivity [N-units], for p1812",
    )
    time_percent: float = Field(
        default=50.0,
        ge=1.0,
        le=50.0,
        description="time for which the fields that combe path shows are exceeded [%], for p1812; service is "
        "always judged for the time of the planning standard",
    )
    climate: ClimateWritten | None = Field(
        default=None,
        description="typical climate for fades over the year (ITU-R P.2001): temperate, continental, "
        "maritime, humid tropical or desert; or a table [air.climate] of its numbers; temperate unless given",
        examples=["temperate"],
    )
    climate_maps: Text | None = Field(
        default=None,
        description="folder of the digital maps of ITU-R P.2001-4, in place of climate",
        examples=["p2001_maps"],
    )


class PeopleSection(Section):
    """Who lives where: a raster, or points, or districts that count their people."""

    raster: Text | None = Field(
        default=None,
        description="population raster, counts per cell, relative to the study file",
        examples=["people.tif"],
    )
    points: Text | None = Field(
        default=None,
        description="people at places, in place of the raster: CSV of longitude_deg,latitude_deg,people,name "
        "or GeoPackage or GeoJSON of points",
        examples=["people.csv"],
    )
    districts: Text | None = Field(
        default=None,
        description="GeoPackage or GeoJSON of polygons, a name each, by which people are counted; without "
        "raster and points their own people, spread evenly",
        examples=["districts.gpkg"],
    )
    density_per_km2: bool = Field(
        default=False,
        description="true if raster, or districts, hold people per square kilometre and not counts",
        examples=[False],
    )
    columns: Columns | None = columns_field(
        {"longitude_deg": "lon", "latitude_deg": "lat", "people": "POP"}, "points"
    )
    crs: Text | None = crs_field()
    encoding: Text | None = encoding_field()
    decimal: Decimal | None = decimal_field()
    layer: Text | None = layer_field()
    district_columns: Columns | None = columns_field({"name": "NAME", "people": "POP"}, "districts")


class ServiceSection(Section):
    """One service (multiplex) of a station."""

    name: Name = Field(description="the relay's service of one name re-radiates it", examples=["Mux 1"])
    channel: int = Field(ge=1, description="channel number of the channel raster", examples=[27])
    erp_w: float = Field(
        gt=0.0,
        le=10_000_000.0,
        description="effective radiated power over a dipole [W]; of analogue vision at peak sync",
        examples=[100.0],
    )
    offset_twelfths: int | None = Field(
        default=None,
        ge=-12,
        le=12,
        description="625 lines: vision carrier off its nominal frequency, in 1/12 of the line frequency",
        examples=[8],
    )
    precision_offset: bool | None = Field(
        default=None, description="625 lines: true if that carrier is held within 1 Hz", examples=[False]
    )
    offset_khz: float | None = Field(
        default=None,
        ge=-10.0,
        le=10.0,
        description="525 lines: vision carrier off its nominal frequency, -10, 0 or 10 [kHz]",
        examples=[10.0],
    )
    television: OwnTelevisionSection | None = Field(
        default=None,
        description="television system and mode of this service, where they are not those of the station",
    )


class StationSection(Section):
    """A parent or a relay."""

    name: Name = Field(description="name of the station", examples=["Parent Hill"])
    role: Literal["parent", "relay"] = Field(description="a relay re-radiates what its feed receives")
    on_air: bool = Field(
        default=True,
        description="false to keep it in the file and leave it, and the relays that it feeds, out of all",
        examples=[True],
    )
    longitude_deg: Longitude = Field(
        description="longitude, east positive [degrees, WGS 84]", examples=[-84.25]
    )
    latitude_deg: Latitude = Field(description="latitude, north positive [degrees, WGS 84]", examples=[36.6])
    aerial_height_m: float = Field(
        ge=1.0, le=500.0, description="transmitting aerial above ground [m]", examples=[30.0]
    )
    polarization: Literal["horizontal", "vertical"] = Field(description="polarization radiated")
    television: OwnTelevisionSection | None = Field(
        default=None,
        description="television system and mode of its services, where they are not those of the study",
    )
    horizontal_pattern: Text = Field(
        default=OMNI, description="omni, or a CSV file of bearing_deg,relative_db", examples=["pattern.csv"]
    )
    bearing_deg: float = Field(
        default=0.0,
        ge=0.0,
        le=360.0,
        description="where 0 of horizontal_pattern looks, clockwise from true north [degrees]",
        examples=[20.0],
    )
    vertical_pattern: Text = Field(
        default=OMNI, description="omni, or a CSV file of elevation_deg,relative_db", examples=["pattern.csv"]
    )
    tilt_deg: float = Field(
        default=0.0,
        ge=-10.0,
        le=30.0,
        description="how far vertical_pattern is turned down, alike in all directions [degrees]",
        examples=[1.5],
    )
    running_cost: float | None = Field(
        default=None,
        ge=0.0,
        le=1e12,
        description="what it costs in a year, in any one currency, for combe retire",
        examples=[2500.0],
    )
    services: tuple[ServiceSection, ...] = Field(
        strict=False, min_length=1, description="what the station radiates"
    )
    feed: FeedSection | None = Field(default=None, description="how the relay receives; relays only")
    output: OutputSection | None = Field(
        default=None, description="amplifier, combiner, feeder and aerial gain behind the ERP"
    )
    array: ArraySection | None = Field(
        default=None, description="the transmitting aerial by its design, for combe aerial"
    )


class NetworkSection(Section):
    """Stations in a table, beside those of this file: one row for each service of each station."""

    stations: Text = Field(
        description="CSV or GeoPackage of name, role, longitude_deg, latitude_deg, aerial_height_m, "
        "polarization, service, channel, erp_w, and feed_from and so on for relays",
        examples=["stations.csv"],
    )
    columns: Columns | None = columns_field({"name": "Site", "erp_kw": "ERP"})
    crs: Text | None = crs_field()
    encoding: Text | None = encoding_field()
    decimal: Decimal | None = decimal_field()
    layer: Text | None = layer_field()


class InterferenceSection(Section):
    """How stations on the same, the next or a related channel count against one another."""

    counted: bool = Field(
        default=True,
        description="false to judge every service against noise alone, whatever else is on the air",
    )
    method: Literal["log-normal", "k-lnm", "power sum", "multiplication"] | None = Field(
        default=None,
        description="how interfering fields are summed: log-normal (Schwartz and Yeh), k-lnm (Fenton and "
        "Wilkinson with k), power sum (medians as powers), or the simplified multiplication; without it "
        "log-normal, and for ATSC power sum",
        examples=["log-normal"],
    )
    correlation: float = Field(
        default=0.0,
        ge=0.0,
        le=1.0,
        description="correlation of any two fields over the places of a cell; 0 with k-lnm",
    )
    k: float = Field(default=1.0, ge=0.1, le=1.0, description="factor of the variance in k-lnm")
    time_percent: float | None = Field(
        default=None,
        ge=1.0,
        le=50.0,
        description="time for which an interfering field is exceeded [%], p1812 only; without it as the "
        "television system plans",
        examples=[1.0],
    )
    cross_polarization: bool = Field(
        default=True,
        description="whether viewers' aerials hold off the other polarization",
    )


class SfnSection(Section):
    """Stations that are one network on one frequency: what receivers can use of their signals adds."""

    members: tuple[Name, ...] = Field(
        strict=False,
        min_length=2,
        description="names of the stations; services of one name on one channel are one signal",
        examples=[["Parent Hill", "Village Relay"]],
    )
    size: Text | None = Field(
        default=None,
        description="size of the transform of the mode, such as 8k or 32k, or mode 3 of ISDB-T; without "
        "it the usual of the system",
        examples=["32k"],
    )
    guard_interval: Text | None = Field(
        default=None,
        description="guard interval of the mode, a part of the useful symbol; without it the usual",
        examples=["1/8"],
    )
    pilot_pattern: Text | None = Field(
        default=None, description="pilot pattern of DVB-T2, PP1 to PP8", examples=["PP2"]
    )
    window: Literal["best C/I", "first signal", "strongest signal"] = Field(
        default="best C/I", description="where receivers put the window of their guard interval"
    )
    static_delay_us: dict[str, Annotated[float, Field(ge=-1e6, le=1e6)]] = Field(
        default={},
        description="by how much a station waits before it radiates, by its name [µs]",
        examples=[{"Parent Hill": 12.0}],
    )
    processing_delay_us: dict[str, Annotated[float, Field(ge=0.0, le=1e6)]] = Field(
        default={},
        description="what a relay on its parent's channel takes from input to output, by its name [µs]; 8 "
        "unless given",
        examples=[{"Village Relay": 6.0}],
    )


class StudyFile(Section):
    """One study: terrain and what stands on it, grid, air, television, people and stations."""

    study: AboutSection
    terrain: TerrainSection
    clutter: ClutterSection | None = None
    zones: ZonesSection | None = None
    grid: GridSection = GridSection()
    air: AirSection = AirSection()
    television: TelevisionSection = TelevisionSection()
    reception: ReceptionSection = ReceptionSection()
    interference: InterferenceSection = InterferenceSection()
    sfn: tuple[SfnSection, ...] = Field(default=(), strict=False)
    people: PeopleSection | None = None
    error: ErrorSection = ErrorSection()
    survey: SurveySection | None = None
    siting: SitingSection | None = None
    coordination: CoordinationSection | None = None
    map: MapSection | None = None
    network: NetworkSection | None = None
    stations: tuple[StationSection, ...] = Field(default=(), strict=False)


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of the study file, for editors that complete and check TOML."""
    schema = StudyFile.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Combe study"} | schema
