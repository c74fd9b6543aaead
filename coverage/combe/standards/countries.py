"""Television country by country: system, channels, usual mode, polarization and air, each with its standing.

A row is a country, or a part of one where the air differs much. It holds what is usual, to begin a study
with; the licence of a station says what holds. What is not known is None: no row says anything by a guess.

Modes marked ``read`` are those met most often in public tables for the scans of receivers (state of January
2023, with entries since 2012, so some are out of date). Refractivity is ``computed`` from the annual maps of
ITU-R P.452 at one inland place of each row: a suggestion, for coasts differ. All else is from memory, and a
climate is our own suggestion for most of the country.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.errors import RangeError, nearest
from combe.standards.cited import Confidence

MODES_FROM: Final = "public scan tables of receivers, January 2023"
REFRACTIVITY_FROM: Final = "annual maps of ITU-R P.452 at one inland place"


class UsualMode(NamedTuple):
    """A mode as it is mostly radiated; ``transform`` and ``guard_interval`` are empty where not known."""

    modulation: str
    code_rate: str
    transform: str
    guard_interval: str
    confidence: Confidence
    note: str = ""


class Practice(NamedTuple):
    """A system of the table of television systems, with its usual mode; ``former`` where it was given up."""

    system: str
    mode: UsualMode | None = None
    former: bool = False


class Country(NamedTuple):
    """What is usual in a country, or in a part of it.

    Parameters
    ----------
    code, alpha_3 : str
        ISO 3166-1, two and three letters; those of a part are followed by its name, as in ``AU-north``.
    name : str
        In English, with the part.
    practices : tuple of Practice
        The first is what a relay would radiate now; none where no system of the table is in use.
    channel_raster : str
        A row of the table of rasters.
    uhf_channels : (int, int) or None
        First and last channel of television in UHF.
    parents, relays : str or None
        Polarization radiated mostly; None where both are, or it is not known.
    polarization : str
        The same in words; empty where not known.
    delta_n, n0 : float or None
        Refractivity: fall in the lowest kilometre, value at the sea [N-units]; None where it differs much.
    climate : str or None
        Typical climate for fades; None where the country has several.
    receive_height_m : float
        Of viewers' aerials.
    note : str
        What else to know.
    """

    code: str
    alpha_3: str
    name: str
    practices: tuple[Practice, ...]
    channel_raster: str
    uhf_channels: tuple[int, int] | None
    parents: str | None
    relays: str | None
    polarization: str
    delta_n: float | None
    n0: float | None
    climate: str | None
    receive_height_m: float = 10.0
    note: str = ""


def _mode(words: str, confidence: Confidence = "read", note: str = "") -> UsualMode:
    """Return a mode from modulation, code rate, transform and guard interval; a dash is not known."""
    modulation, rate, transform, guard = (
        "" if word == "-" else word.replace("_", " ") for word in words.split()
    )
    return UsualMode(modulation, rate, transform, guard, confidence, note)


def _t(words: str = "", note: str = "", *, system: str = "DVB-T", former: bool = False) -> Practice:
    return Practice(system, _mode(words, note=note) if words else None, former)


def _t2(words: str = "", *, system: str = "DVB-T2") -> Practice:
    return Practice(system, _mode(words) if words else None)


def _only(system: str) -> tuple[Practice, ...]:
    return (Practice(system),)


_VSB: Final = (Practice("ATSC", UsualMode("8-VSB", "2/3", "", "", "from memory", "its only mode")),)
_ATSC_3: Final = "ATSC 3.0 is on the air as well, of which there is no table here"
_VHF_7: Final = "channels 5 to 12 of VHF as well, 7 MHz wide"
_BRAZIL: Final = (Practice("ISDB-T", _mode("64-QAM 3/4 mode_3 1/8", "from memory", "or guard 1/16")),)
_AUSTRALIA: Final = (_t("64-QAM 3/4 8k 1/16", "or 2/3 and 1/8", system="DVB-T 7 MHz"),)
_OF_POLARIZATION: Final[Mapping[str, tuple[str | None, str | None]]] = MappingProxyType(
    {
        "horizontal": ("horizontal", "horizontal"),
        "horizontal, some vertical": ("horizontal", "horizontal"),
        "horizontal, some elliptical": ("horizontal", "horizontal"),
        "horizontal, relays vertical": ("horizontal", "vertical"),
        "horizontal in cities, vertical in the country": ("horizontal", "vertical"),
        "horizontal and vertical": (None, None),
        "": (None, None),
    }
)
_H: Final = "horizontal"
_H_SOME_V: Final = "horizontal, some vertical"
_H_SOME_E: Final = "horizontal, some elliptical"
_RELAYS_V: Final = "horizontal, relays vertical"
_BOTH: Final = "horizontal and vertical"

_E8: Final = ("8 MHz UHF", (21, 48))
_E8_VHF: Final = ("8 MHz VHF and UHF", (21, 60))
_A6: Final = ("6 MHz UHF", (14, 51))
_A6_TO_36: Final = ("6 MHz VHF and UHF", (14, 36))
_ISDB_T: Final = ("6 MHz UHF ISDB-T", (14, 51))
_ISDB_T_VHF: Final = ("6 MHz VHF and UHF ISDB-T", (14, 51))
_AU7: Final = ("7 MHz VHF and UHF Australia", (28, 51))

_TEMPERATE: Final = "temperate"
_CONTINENTAL: Final = "continental"
_MARITIME: Final = "maritime"
_TROPICAL: Final = "humid tropical"
_DESERT: Final = "desert"


def _row(
    codes: str,
    name: str,
    practices: tuple[Practice, ...],
    band: tuple[str, tuple[int, int] | None],
    polarization: str,
    air: tuple[float, float],
    climate: str | None,
    note: str = "",
    *,
    feet: bool = False,
) -> Country:
    """Return a row; ``feet`` where planning counts viewers' aerials at 30 ft."""
    code, alpha_3 = codes.split()
    parents, relays = _OF_POLARIZATION[polarization]
    return Country(
        code, alpha_3, name, practices, *band, parents, relays, polarization, *air, climate,
        9.1 if feet else 10.0, note,
    )  # fmt: skip


# fmt: off
_ROWS: Final = (
    _row("GB GBR", "United Kingdom", (_t("64-QAM 2/3 8k 1/32", "or 3/4"), _t2("256-QAM 2/3 32k 1/128")),
         _E8, _RELAYS_V, (42.0, 325.0), _MARITIME),
    _row("IE IRL", "Ireland", (_t("64-QAM 3/4 8k 1/32"),), _E8, _BOTH, (42.0, 326.0), _MARITIME),
    _row("FR FRA", "France", (_t("64-QAM 2/3 8k 1/32", "or 3/4 and 1/8"), _t2()),
         _E8, _H_SOME_V, (41.0, 327.0), _TEMPERATE, "DVB-T2 has begun"),
    _row("ES ESP", "Spain", (_t("64-QAM 2/3 8k 1/4"), _t2("256-QAM 5/6 - 1/128")),
         _E8, _H, (41.0, 327.0), _TEMPERATE, "DVB-T2 has begun"),
    _row("PT PRT", "Portugal", (_t("64-QAM 2/3 8k 1/4"),), _E8, _H, (46.0, 332.0), _MARITIME),
    _row("IT ITA", "Italy", (_t("64-QAM 2/3 8k 1/32"), _t2()), _E8, _BOTH, (44.0, 329.0), _TEMPERATE,
         f"on the way from DVB-T to DVB-T2; {_VHF_7}"),
    _row("DE DEU", "Germany", (_t2(),), _E8, _BOTH, (37.0, 323.0), _TEMPERATE),
    _row("NL NLD", "Netherlands", (_t2(),), _E8, _BOTH, (40.0, 324.0), _MARITIME),
    _row("AT AUT", "Austria", (_t2(),), _E8, _H, (38.0, 323.0), _TEMPERATE),
    _row("CH CHE", "Switzerland", (), _E8, _BOTH, (38.0, 323.0), _TEMPERATE,
         "no national network since 2019; the air is that of Austria's row"),
    _row("CZ CZE", "Czechia", (_t2(), _t("64-QAM 2/3 8k 1/8", former=True)),
         _E8, _H, (36.0, 322.0), _CONTINENTAL),
    _row("PL POL", "Poland", (_t2(), _t("64-QAM 5/6 8k -", "or 3/4", former=True)),
         _E8, _BOTH, (37.0, 321.0), _CONTINENTAL, _VHF_7),
    _row("HU HUN", "Hungary", (_t("64-QAM 3/4 8k 1/4"), _t2()), _E8, _H, (37.0, 322.0), _CONTINENTAL,
         "DVB-T2 has begun; the air is that of Romania's row"),
    _row("HR HRV", "Croatia", (Practice("DVB-T2", _mode("256-QAM 2/3 32k 19/256", note="or 64-QAM")),),
         _E8, _BOTH, (38.0, 323.0), _TEMPERATE, "the air is that of Serbia's row"),
    _row("RS SRB", "Serbia", (_t2(),), _E8, _H, (38.0, 323.0), _CONTINENTAL),
    _row("RO ROU", "Romania", (_t2(), _t("64-QAM 2/3 8k 1/16", former=True)),
         _E8, _H, (37.0, 322.0), _CONTINENTAL),
    _row("GR GRC", "Greece", (_t("64-QAM 3/4 8k 1/8"),), _E8, _BOTH, (47.0, 329.0), _TEMPERATE),
    _row("SE SWE", "Sweden", (_t("64-QAM 2/3 8k 1/8"), _t2()), _E8, _H, (38.0, 318.0), _CONTINENTAL, _VHF_7),
    _row("FI FIN", "Finland", (_t2("- - 32k 19/256"),), _E8, _H, (37.0, 315.0), _CONTINENTAL, _VHF_7),
    _row("NO NOR", "Norway", (_t("64-QAM 2/3 8k 1/8"),), _E8, _H, (40.0, 319.0), _MARITIME),
    _row("DK DNK", "Denmark", (_t2(), _t("64-QAM 2/3 8k 1/4", former=True)),
         _E8, _BOTH, (40.0, 322.0), _MARITIME),
    _row("UA UKR", "Ukraine", (_t2("256-QAM 3/5 32k 1/16"),), _E8, _H, (37.0, 319.0), _CONTINENTAL),
    _row("RU RUS", "Russia", (_t2("64-QAM 4/5 32k -"),), _E8_VHF, _H, (38.0, 318.0), _CONTINENTAL,
         "the air is that of Moscow"),
    _row("TR TUR", "Turkey", (Practice("PAL B/G"), _t2()), _E8, _H, (32.0, 323.0), None,
         "analogue; DVB-T2 is planned"),
    _row("IL ISR", "Israel", (_t("16-QAM 2/3 8k 1/4"), _t2()), _E8, _BOTH, (45.0, 331.0), _TEMPERATE),
    _row("SA SAU", "Saudi Arabia", (_t2(),), _E8, _H, (30.0, 299.0), _DESERT,
         "the air is that of Riyadh; the Gulf has a far greater delta_n, some 69"),
    _row("AE ARE", "United Arab Emirates", (_t2(),), _E8, _H, (69.0, 341.0), _DESERT,
         "the air is that of the coast"),
    _row("IR IRN", "Iran", (_t("64-QAM 2/3 8k 1/8"),), _E8, _H, (44.0, 325.0), None,
         "the air is that of Tehran"),
    _row("KZ KAZ", "Kazakhstan", (_t2(),), _E8_VHF, _H, (36.0, 317.0), _CONTINENTAL),
    _row("IN IND", "India", (_t2(),), _E8, _H, (45.0, 349.0), None, f"the public network; {_VHF_7}"),
    _row("LK LKA", "Sri Lanka", _only("PAL B/G"), _E8, _H, (62.0, 386.0), _TROPICAL, f"analogue; {_VHF_7}"),
    _row("TH THA", "Thailand", (_t2(),), _E8, _H, (57.0, 381.0), _TROPICAL),
    _row("VN VNM", "Vietnam", (_t2("64-QAM 3/4 - -"),), _E8, _BOTH, (49.0, 376.0), _TROPICAL),
    _row("MY MYS", "Malaysia", (_t2(),), _E8, _BOTH, (59.0, 383.0), _TROPICAL),
    _row("ID IDN", "Indonesia", (_t2("64-QAM 4/5 - 1/16"),), _E8, _H, (62.0, 377.0), _TROPICAL,
         "the air is that of Java"),
    _row("PH PHL", "Philippines", _only("ISDB-T"), _ISDB_T, _H, (47.0, 375.0), _TROPICAL),
    _row("CN CHN", "China", _only("DTMB"), ("8 MHz VHF and UHF China", None), _H, (42.0, 332.0), None,
         "channels have numbers of their own; the air is that of Xi'an"),
    _row("HK HKG", "Hong Kong", _only("DTMB"), _E8, _BOTH, (49.0, 363.0), _TROPICAL),
    _row("TW TWN", "Taiwan", (_t("16-QAM 2/3 8k 1/4", system="DVB-T 6 MHz"),), ("6 MHz UHF", (24, 51)),
         _H, (49.0, 362.0), _TROPICAL, "which channel is the last is not known; 51 is the end of the band"),
    _row("JP JPN", "Japan", (Practice("ISDB-T Japan", _mode("64-QAM 3/4 mode_3 1/8", "from memory")),),
         ("6 MHz UHF ISDB-T Japan", (13, 52)), _RELAYS_V, (43.0, 328.0), _TEMPERATE),
    _row("KR KOR", "South Korea", _VSB, _A6, _H, (41.0, 323.0), _CONTINENTAL, _ATSC_3),
    _row("MN MNG", "Mongolia", (_t2(),), _E8, _H, (33.0, 321.0), _CONTINENTAL),
    _row("AU-south-east AUS-south-east", "Australia, south-east", _AUSTRALIA, _AU7,
         "horizontal in cities, vertical in the country", (42.0, 327.0), _TEMPERATE),
    _row("AU-north AUS-north", "Australia, north", _AUSTRALIA, _AU7, _BOTH, (61.0, 373.0), _TROPICAL),
    _row("NZ NZL", "New Zealand", (_t("64-QAM 3/4 8k 1/16"),), ("8 MHz UHF", (26, 48)), _H_SOME_V,
         (42.0, 328.0), _MARITIME),
    _row("PG PNG", "Papua New Guinea", (Practice("PAL B/G"), _t()), _E8, "", (60.0, 383.0), _TROPICAL,
         f"analogue; DVB-T has begun; {_VHF_7}"),
    _row("FJ FJI", "Fiji", (_t2(),), _E8, "", (44.0, 362.0), _TROPICAL),
    _row("ZA ZAF", "South Africa", (_t2("256-QAM 3/5 32k 1/16"),), _E8, _H_SOME_V, (35.0, 329.0), None),
    _row("BW BWA", "Botswana", _only("ISDB-T 8 MHz"), _E8, "", (38.0, 334.0), _DESERT),
    _row("ZM ZMB", "Zambia", (_t2(),), _E8, "", (40.0, 351.0), None),
    _row("TZ TZA", "Tanzania", (_t2(),), _E8, "", (36.0, 359.0), None),
    _row("KE KEN", "Kenya", (_t2(),), _E8, _H, (35.0, 360.0), None),
    _row("UG UGA", "Uganda", (_t2(),), _E8, "", (38.0, 360.0), _TROPICAL),
    _row("ET ETH", "Ethiopia", (_t2(),), _E8, "", (44.0, 357.0), None),
    _row("NG NGA", "Nigeria", (_t2(),), _E8, "", (46.0, 356.0), None, "the air is that of the north"),
    _row("GH GHA", "Ghana", (_t2(),), _E8, "", (49.0, 369.0), _TROPICAL),
    _row("CI CIV", "Côte d'Ivoire", (_t2(),), _E8, "", (52.0, 376.0), _TROPICAL),
    _row("SN SEN", "Senegal", (_t2(),), _E8, "", (75.0, 357.0), None, "the air is that of the coast"),
    _row("MA MAR", "Morocco", (_t(),), _E8, _H, (46.0, 329.0), None),
    _row("DZ DZA", "Algeria", (_t(), _t2()), _E8, _H, (49.0, 330.0), None),
    _row("EG EGY", "Egypt", (_t2(),), _E8, _H, (45.0, 327.0), _DESERT),
    _row("US-east USA-east", "United States, east", _VSB, _A6_TO_36, _H_SOME_E, (37.0, 322.0),
         _CONTINENTAL, _ATSC_3, feet=True),
    _row("US-south-west USA-south-west", "United States, south-west", _VSB, _A6_TO_36, _H_SOME_E,
         (28.0, 315.0), _DESERT, _ATSC_3, feet=True),
    _row("CA-east CAN-east", "Canada, east", (Practice("ATSC", _mode("8-VSB 2/3 - -")),), _A6_TO_36, _H,
         (37.0, 318.0), _CONTINENTAL, feet=True),
    _row("MX MEX", "Mexico", _VSB, _A6_TO_36, _H, (36.0, 348.0), None, feet=True),
    _row("CU CUB", "Cuba", (), _A6, "", (54.0, 374.0), _TROPICAL,
         "DTMB in channels of 6 MHz, of which there is no table here"),
    _row("DO DOM", "Dominican Republic", _VSB, ("6 MHz VHF and UHF", (14, 51)), "", (52.0, 375.0), _TROPICAL),
    _row("CR CRI", "Costa Rica", _only("ISDB-T"), _ISDB_T_VHF, _H, (55.0, 383.0), _TROPICAL),
    _row("PA PAN", "Panama", (_t(system="DVB-T 6 MHz"),), _A6, "", (54.0, 384.0), _TROPICAL),
    _row("CO COL", "Colombia", (_t2(system="DVB-T2 6 MHz"),), ("6 MHz UHF", (14, 36)), _H, (37.0, 368.0),
         _TROPICAL, "carriers of 473 to 557 MHz were read, channels 14 to 28"),
    _row("PE PER", "Peru", _only("ISDB-T"), _ISDB_T, _H, (51.0, 357.0), None),
    _row("BR-south-east BRA-south-east", "Brazil, south-east", _BRAZIL, _ISDB_T_VHF, _H_SOME_E,
         (45.0, 356.0), _TROPICAL),
    _row("BR-amazon BRA-amazon", "Brazil, Amazon", _BRAZIL, _ISDB_T_VHF, _H, (55.0, 378.0), _TROPICAL),
    _row("AR ARG", "Argentina", _only("ISDB-T"), _ISDB_T, _H, (48.0, 335.0), None),
    _row("CL CHL", "Chile", _only("ISDB-T"), _ISDB_T, _H, (52.0, 332.0), None),
    _row("UY URY", "Uruguay", _only("ISDB-T"), _ISDB_T, _H, (49.0, 338.0), _TEMPERATE),
)
# fmt: on

COUNTRIES: Final[Mapping[str, Country]] = MappingProxyType({row.code: row for row in _ROWS})
"""Rows by their code of two letters, with the part of the country behind it where there is one."""


def country_named(given: str) -> Country:
    """Return the row of a country by its ISO 3166-1 code of two or three letters, or by its name.

    A part of a country stands behind the code, as in ``AU-north``. Of a country that has parts, the whole has
    what all its parts share; their air is not known of the whole. Letter case does not matter.

    Raises
    ------
    RangeError
        For a country without a row, with what is near.

    Examples
    --------
    >>> country_named("gbr").name
    'United Kingdom'
    >>> country_named("AU-north").delta_n, country_named("AU").delta_n
    (61.0, None)
    """
    wanted = " ".join(given.casefold().split())
    for row in _ROWS:
        if wanted in (row.code.casefold(), row.alpha_3.casefold(), row.name.casefold()):
            return row
    parts = [row for row in _ROWS if wanted in _wholes(row)]
    if parts:
        return _whole(parts)
    raise RangeError("country", given, _near(given), "where there is no row, the system alone will do")


def _wholes(row: Country) -> Iterable[str]:
    """Return what the whole country is called of which a row is a part."""
    ends = ((row.code, "-"), (row.alpha_3, "-"), (row.name, ","))
    return [text.partition(end)[0].casefold() for text, end in ends if end in text]


def _whole(parts: Sequence[Country]) -> Country:
    """Return what the parts of a country share, without their air."""
    first = parts[0]
    shared = {
        key: getattr(first, key) if all(getattr(each, key) == getattr(first, key) for each in parts) else None
        for key in ("parents", "relays", "polarization")
    }
    habits = ", ".join(f"{each.polarization} in {each.code}" for each in parts)
    by_part = ", ".join(f"{each.code} delta_n {each.delta_n:g} and n0 {each.n0:g}" for each in parts)
    return first._replace(
        code=first.code.partition("-")[0],
        alpha_3=first.alpha_3.partition("-")[0],
        name=first.name.partition(",")[0],
        delta_n=None,
        n0=None,
        climate=None,
        parents=shared["parents"],
        relays=shared["relays"],
        polarization=shared["polarization"] or "",
        note="; ".join(
            filter(
                None,
                (
                    first.note,
                    "" if shared["polarization"] else f"polarization is {habits}",
                    f"the air differs over the country: {by_part}",
                ),
            )
        ),
    )


def _near(given: str) -> str:
    """Return the code of the country that is meant, or all codes."""
    by_name = {row.name: row for row in _ROWS}
    near = nearest(given, by_name) if len(given) > len("AAA") else None
    if near is not None:
        return f"{by_name[near].code} for {near}"
    return ", ".join(sorted(row.code for row in _ROWS))
