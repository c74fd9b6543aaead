"""The document of fetched ground: what came, whose it is, what to know of it, and what the study says now."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Form, Table, Words
from combe.publishing.fields import flag, many, number, numbers, text, texts, whole
from combe.version import __version__
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.ground import Fetched, GroundReport
    from combe.study.ground_entries import Entered

_RASTERS: Final = many(
    "rasters",
    text("file", "file", lambda each: each.file.name),
    text("kind", "what", meaning="elevation, people or cover"),
    text("title", "data", "source.title"),
    text("source", get="source.name"),
    text("year", "year", "source.year"),
    text("resolution", "resolution", "source.resolution"),
    text(
        "vertical_datum", "heights above",
        lambda each: each.source.vertical_datum if each.kind == "elevation" else None,
        null="no heights", absent="-",
    ),
    flag("surface_model", get=lambda each: each.source.surface, meaning="trees and roofs are in the heights"),
    whole("files", "files", meaning="of its owner"),
    texts("missing", get="missing", meaning="tiles that are not there, taken as the table of sources says"),
    whole("bytes", get="bytes", meaning="of the raster"),
    text("sha256", get="sha256"),
    text("licence", get="source.licence"),
    text("credit", get="source.credit"),
    get="rasters",
)  # fmt: skip

FORM: Final = Form(
    "ground_fetch",
    (
        numbers("box_deg", get=lambda shown: list(shown.report.ask.box), meaning="west, south, east, north"),
        _RASTERS,
        number(
            "fetched_mb",
            get=lambda shown: shown.report.fetched_bytes / 1e6,
            meaning="asked of servers by this run [MB]",
        ),
        texts("entered", get="keys", meaning="keys written into the study"),
        texts("remarks", get="remarks", meaning="what to look at"),
    ),
    files=(("page", "without --html"),),
)


class _Shown:
    """A report with what was written into the study."""

    def __init__(self, report: GroundReport, entered: Entered | None) -> None:
        self.report, self.rasters = report, report.rasters
        self.keys = () if entered is None else entered.keys
        self.remarks = (*(() if entered is None else entered.remarks), *_remarks(report))


def document(report: GroundReport, study: Path | None, entered: Entered | None) -> Document:
    """Return the document of fetched ground."""
    shown = _Shown(report, entered)
    columns = ("file", "title", "year", "resolution", "vertical_datum", "files")
    credits = tuple(
        dict.fromkeys(
            tell("{title}: {credit}", title=e.source.title, credit=e.source.credit) for e in report.rasters
        )
    )
    folder = report.rasters[0].file.parent
    written = tell(
        "written: {folder}, {count} rasters and a record of each", folder=folder, count=len(report.rasters)
    )
    next_words = (written,) if study is None else (written, f"Next: combe check {shlex.quote(str(study))}")
    return Document(
        form=FORM,
        answer=shown,
        title="open data for a study",
        headline=_headline(report),
        parts=(
            Table("What came", _RASTERS.only(*columns), report.rasters, brief=True),
            Words(shown.remarks, "To know", listed=True),
            Words(credits, "Whom to credit", listed=True),
            *((Words(shown.keys, "Written into the study", listed=True),) if shown.keys else ()),
        ),
        made_by={"program": f"Combe {__version__}"},
        next_words=next_words,
    )


def _headline(report: GroundReport) -> tuple[str, ...]:
    west, south, east, north = report.ask.box
    names = joined(", ", [_raster_words(each) for each in report.rasters])
    return (
        tell(
            "Longitude {west:.3f}° to {east:.3f}°, latitude {south:.3f}° to {north:.3f}°: {names}.",
            west=west, east=east, south=south, north=north, names=names,
        ),
    )  # fmt: skip


def _raster_words(raster: Fetched) -> str:
    return tell("{what} of {data}", what=raster.kind, data=raster.source.title)


def _remarks(report: GroundReport) -> tuple[str, ...]:
    """Return what to know of the data, each once."""
    found: list[str] = []
    for each in report.rasters:
        found.append(
            tell(
                "{title}: {remark}",
                title=each.source.title,
                remark=each.source.remark or each.source.standing,
            )
        )
        if each.missing:
            names = joined(", ", each.missing)
            found.append(
                tell(
                    "{names}: there is no such tile, which was taken as {what}",
                    names=names,
                    what=each.source.missing,
                )
            )
    datums = {each.source.vertical_datum for each in report.of("elevation")}
    if len(datums) > 1:
        found.append(
            tell(
                "heights count from {datums}, which lie up to some metres apart; none was shifted",
                datums=joined(" and ", sorted(datums)),
            )
        )
    return tuple(dict.fromkeys(found))
