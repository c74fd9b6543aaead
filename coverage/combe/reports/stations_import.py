"""The document of stations that are taken in: which they are, what could not be read, what was written."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, Any, Final

from combe.publishing.document import Document, Form, StudyNamed, Table, Words
from combe.publishing.fields import Mark, flag, many, number, text, texts, whole
from combe.version import __version__
from combe.words import Name, joined, tell, tell_number

if TYPE_CHECKING:
    from combe.study.stations_import import StationsImport

_MOST_FAR: Final = 3


def _services(station: Any) -> list[str]:
    return [
        f"{each.get('name')} {each.get('channel', '?')} {each['erp_w']:g} W"
        if isinstance(each.get("erp_w"), float)
        else f"{each.get('name')}"
        for each in station["services"]
    ]


def _known(key: str) -> Any:
    return lambda station: value if isinstance(value := station.get(key), float) else None


_STATIONS: Final = many(
    "stations",
    text("name", "station", lambda each: Name(each["name"])),
    text("role", "role", lambda each: Name(each.get("role", "")) or None, null="not told"),
    number("longitude_deg", "longitude", _known("longitude_deg"), decimals=5, null="not told"),
    number("latitude_deg", "latitude", _known("latitude_deg"), decimals=5, null="not told"),
    number("aerial_height_m", "height", _known("aerial_height_m"), null="not told"),
    texts("services", "services", lambda each: [Name(one) for one in _services(each)],
          meaning="name, channel, ERP"),
    get="stations",
)  # fmt: skip


FORM: Final = Form(
    "stations_import",
    (
        text("table", get=lambda made: str(made.source)),
        text("study_table", get=lambda made: str(made.target)),
        flag("written", get="written"),
        whole("rows", "rows", "rows", meaning="that could be read"),
        whole("count", "stations", lambda made: len(made.stations)),
        whole("services", "services", lambda made: _count(made)),
        texts("faults", get=lambda made: list(made.faults)),
        whole("fault_count", "faults", lambda made: len(made.faults)),
        texts("far", get=lambda made: list(made.far), meaning="stations over 300 km from all of the study"),
        _STATIONS,
    ),
)


def document(made: StationsImport) -> Document:
    """Return the document of an import."""
    about = made.study.content.study
    return Document(
        form=FORM,
        answer=made,
        title="stations of a table",
        headline=tuple(_headline(made)),
        verdict=Mark("fails", "not written") if made.faults else None,
        parts=(
            *((Words(made.faults, "Could not be taken", listed=True, brief=True),) if made.faults else ()),
            Table("Stations", _STATIONS.fields, made.stations, brief=not made.faults),
        ),
        study=StudyNamed(str(made.study.path.resolve()), about.title),
        made_by={"program": f"Combe {__version__}"},
        next_words=_next(made),
    )


def _count(made: StationsImport) -> int:
    return sum(len(each["services"]) for each in made.stations)


def _headline(made: StationsImport) -> list[str]:
    what = tell(
        "{name}: {stations} with {services}",
        name=Name(made.source.name),
        stations=tell_number(len(made.stations), "{count} station", "{count} stations"),
        services=tell_number(_count(made), "{count} service", "{count} services"),
    )
    if made.faults:
        faults = tell_number(len(made.faults), "{count} fault", "{count} faults")
        lines = [tell("{what}; {faults}, and nothing is written.", what=what, faults=faults)]
    elif made.written:
        lines = [tell("{what}, now in {table}.", what=what, table=Name(made.target.name))]
    else:
        lines = [tell("{what}; nothing is written yet.", what=what)]
    if made.far:
        names = joined(
            ", ", [*map(Name, made.far[:_MOST_FAR]), *(["…"] if len(made.far) > _MOST_FAR else [])]
        )
        far = tell_number(len(made.far), "{count} station lies", "{count} stations lie")
        lines.append(
            tell(
                "Caution: {far} over 300 km from all others of the study ({names}): is crs another, or are "
                "columns exchanged?",
                far=far,
                names=names,
            )
        )
    return lines


def _next(made: StationsImport) -> tuple[str, ...]:
    if made.written:
        study = shlex.quote(str(made.study.path))
        return (f"written: {made.target}", f"Next: combe check {study}")
    return () if made.faults else ("To write them: the same command with --write",)
