"""What columns are called elsewhere: for suggestions alone, nothing is taken for another by its name.

Common practice of tables in several languages; no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

OTHER_NAMES: Final[Mapping[str, tuple[str, ...]]] = {
    "longitude_deg": (
        "lon", "long", "lng", "longitude", "longitud", "longitudine", "lange", "laenge", "lengte", "x_deg",
        "x_wgs84", "geo_lon", "wgs84_lon", "point_x", "geogr_lange",
    ),
    "latitude_deg": (
        "lat", "latitude", "latitud", "latitudine", "breite", "breedte", "y_deg", "y_wgs84", "geo_lat",
        "wgs84_lat", "point_y", "geogr_breite",
    ),
    "easting_m": (
        "x", "easting", "east", "e", "ost", "ostwert", "rechtswert", "rechts", "utm_x", "utm_e", "x_coord",
        "xcoord", "x_koord", "coord_x", "e_lv95", "e_koord", "este", "est",
    ),
    "northing_m": (
        "y", "northing", "north", "n", "nord", "nordwert", "hochwert", "hoch", "utm_y", "utm_n", "y_coord",
        "ycoord", "y_koord", "coord_y", "n_lv95", "n_koord", "norte",
    ),
    "grid_reference": ("grid_ref", "gridref", "ngr", "os_grid", "grid", "osgr", "national_grid"),
    "people": (
        "pop", "population", "persons", "inhabitants", "residents", "einwohner", "ew", "ewz", "bevolkerung",
        "bevoelkerung", "habitants", "habitantes", "poblacion", "populacao", "popolazione", "residenti",
        "inwoners", "tot_p", "pop_tot", "total_pop", "obs_value", "t", "folkmangd",
        "obyvatel", "obyvatele", "obyvatelstvo", "lakosok", "nepesseg", "befolkning",
        "vaesto", "asukkaat", "nufus", "populatie", "prebivalci", "stanovnika", "ludnosc", "ppp",
    ),
    "name": (
        "name", "site", "site_name", "station", "station_name", "transmitter", "place", "town", "village",
        "nom", "nombre", "nome", "naam", "ort", "ortsname", "standort", "sender", "gemeinde", "label",
        "municipality", "commune", "settlement", "lau_name", "gen",
    ),
    "role": ("role", "kind", "type", "station_type", "class", "typ"),
    "aerial_height_m": (
        "height", "height_m", "h", "agl", "height_agl", "aerial_height", "antenna_height", "ant_height",
        "hagl", "h_agl", "antenna_height_m", "hauteur", "altura", "antennenhohe", "hohe", "mast_height",
    ),
    "polarization": ("pol", "polarisation", "polarization", "polarizacion", "polarizzazione"),
    "service": ("service", "mux", "multiplex", "bouquet", "programme", "program", "ensemble", "network"),
    "channel": ("channel", "ch", "chan", "kanal", "canal", "canale", "uhf_channel", "rf_channel", "k"),
    "erp_w": (
        "erp", "power", "erp_w", "power_w", "erp_watt", "erp_watts", "leistung", "puissance", "potencia",
        "par",
    ),
    "erp_kw": ("erp_kw", "power_kw", "kw", "leistung_kw", "par_kw"),
    "erp_dbw": ("erp_dbw", "power_dbw", "dbw", "par_dbw"),
    "erp_dbm": ("erp_dbm", "power_dbm", "dbm"),
    "erp_dbk": ("erp_dbk", "power_dbk", "dbk"),
    "eirp_w": ("eirp", "eirp_w", "pire"),
    "eirp_kw": ("eirp_kw", "pire_kw"),
    "eirp_dbw": ("eirp_dbw", "pire_dbw"),
    "eirp_dbm": ("eirp_dbm", "pire_dbm"),
    "eirp_dbk": ("eirp_dbk",),
    "feed_from": ("parent", "feed", "fed_from", "fed_by", "source", "parent_station", "mutter", "input_from"),
    "station": ("station", "site", "transmitter", "tx", "sender", "emetteur"),
    "field_dbuv_m": (
        "field", "field_strength", "fs", "e_field", "dbuv_m", "dbuv", "feldstarke", "level_dbuv_m",
        "e_dbuv_m",
    ),
    "height_m": ("height", "h", "height_agl", "aerial_height", "h_agl", "hohe"),
    "date": ("date", "day", "datum", "fecha", "data", "measured_on"),
    "note": ("note", "notes", "remark", "remarks", "comment", "bemerkung"),
}  # fmt: skip
"""Other names by ours, in small letters, with _ between words and without accents."""
