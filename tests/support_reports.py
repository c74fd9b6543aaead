"""Documents of every kind to be held against one another, and what is read out of their three outputs."""

from __future__ import annotations

import math
import re
import tempfile
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import combe.reports.aerial
import combe.reports.brief
import combe.reports.channels
import combe.reports.check
import combe.reports.cover
import combe.reports.delays
import combe.reports.evidence
import combe.reports.explain
import combe.reports.feed
import combe.reports.ground_inspect
import combe.reports.new
import combe.reports.own_study
import combe.reports.path
import combe.reports.retire
import combe.reports.sheet
import combe.reports.site
import combe.reports.site_hill
import combe.reports.survey
import combe.reports.visit
from combe.answers.brief import brief_report
from combe.answers.channels import channels_report
from combe.answers.check import check_report
from combe.answers.cover import cover_report
from combe.answers.delays import delays_report
from combe.answers.explain import explain_place
from combe.answers.feed import feed_report
from combe.answers.feed_advice import with_advice
from combe.answers.ground_inspect import inspect_report
from combe.answers.model_change import StationChange
from combe.answers.path import path_report
from combe.answers.retire import retire_report
from combe.answers.season_change import SeasonChange
from combe.answers.site_candidates import compared
from combe.answers.site_report import site_report
from combe.answers.spectrum import with_spectra
from combe.answers.survey import survey_report
from combe.answers.visit import SheetReport, sheet_report
from combe.evidence import EvidenceCase, EvidenceRow
from combe.evidence.run import EvidenceReport
from combe.planning.visits.readings import Reading
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.project import Project
from combe.publishing.document import Document, Facts, Table, all_parts
from combe.publishing.fields import Field
from combe.reception.screen import USUAL_ANALYSER
from combe.reception.ways import WayOfReceiving
from combe.stations.design import AerialDesign, work_out_design
from combe.study.own_study import own_study
from combe.study.project_of import load_project
from combe.terrain.samples import SRTM_SAMPLE, sample_folder
from support_brief import whole_brief
from support_compare import LONG, compared_studies, coordinations
from support_delays import VILLAGES, write_networked
from support_export import exported
from support_feed_study import ANALOGUE, DIGITAL, FAR_STATION, FEEDS, SECOND, untold
from support_flat import station_text, write_plain_study
from support_ground import fetched_ground
from support_study import SITING, STUDY, edited, write_study
from support_visits import half_yearly, laid_out, visited

HOSTILE = (
    " <script>alert(1)</script> ${alert(2)} {{ 7 * 7 }} {% raw %} `b` \" ' src=http://a.example \x1b[31m"
)
"""What no page, terminal or template may act on."""

DISTURBED = (("channel = 41", "channel = 27"), ("cell_size_m = 300", "cell_size_m = 900"))
"""Changes after which the relay radiates on a channel of the parent, and has no verdict but for its loop."""

OFFSET = ("channel = 22", "channel = 22, offset_twelfths = 8")
DATUM = ('vertical_datum = "EGM96"\n', "")
FAULTS = ("stations[0].services[0].erp_w: -1.0 is out of range; write more", f"title: {HOSTILE} is odd")
SAME = ('"Mux A", channel = 41', '"Mux A", channel = 22')
"""A change after which a relay keeps a channel."""

STATION = "Tarnbeacon-over-Nether-Wallop-and-the-Seven-Northern-Combes"
SERVICE = "Multiplex-of-the-Northern-Counties"
FEED_SAMPLES = {
    "feed": DIGITAL + FAR_STATION.format(channel=25, erp_w=0.003) + SECOND,
    "feed of long names": ANALOGUE.replace("Upper Combe", STATION).replace('"Four"', f'"{SERVICE}"')
    + FAR_STATION.format(channel=22, erp_w=20000.0),
    "feed on a kept channel": edited(SAME, ("isolation_db = 85.0", "isolation_db = 110.0"), text=DIGITAL),
    "feed that oscillates": edited(SAME, ("isolation_db = 85.0", "isolation_db = 60.0"), text=DIGITAL),
    "feed not judged": edited(SAME, ("image_rejection_db = 60.0\n", ""), text=untold(DIGITAL)),
}


TWO_DAYS = half_yearly([-50.0, -57.0])
"""Two readings, the later far from the earlier."""

SERVICES = ("Mux A", "Mux B", "Mux C", "Multiplex-of-the-Northern-Counties", "Regional 2")


def visit(folder: Path, **given: Any) -> Document:
    """Return the document of a visit, as after its page was written."""
    return combe.reports.visit.document(visited(**given)).with_files(page=folder / "visit.html")


def sheet(folder: Path, report: SheetReport) -> Document:
    """Return the document of a sheet, as after its files were written."""
    files = {"page": folder / "sheet.html", "table": folder / "sheet.csv"}
    return combe.reports.sheet.document(report).with_files(**files)


def visit_log() -> list[Reading]:
    """Return readings of several places, services and units, that stay, drift or are out."""
    return [
        reading
        for number, service in enumerate(SERVICES)
        for point, quantity, unit in (
            ("feeder", "level", "dBm"),
            ("output coupler", "intermodulation", "dB"),
            ("receiver", "BER after inner decoding", "ratio"),
        )
        for reading in half_yearly(
            [-50.123 - number * k * 0.7 if unit != "ratio" else 1.234e-5 for k in range(6)],
            service=service, test_point=point, quantity=quantity, unit=unit,
        )
    ]  # fmt: skip


HARMING = (
    ("cell_size_m = 300.0", "cell_size_m = 900.0\ncost_per_site = 40.0"),
    (
        '[[siting.services]]\nname = "Mux 1"\nchannel = 41',
        '[[siting.services]]\nname = "Mux 1"\nchannel = 27',
    ),
)
"""Changes after which hills harm viewers of the parent, and cost something."""


@cache
def samples() -> dict[str, Document]:
    """Return documents by a name that begins with their kind."""
    folder = Path(tempfile.mkdtemp())
    plain = load_project(write_study(folder / "plain"))
    coarse = load_project(write_study(folder / "coarse", edited(DISTURBED[1])))
    disturbed = load_project(write_study(folder / "disturbed", edited(*DISTURBED)))
    analogue = load_project(write_study(folder / "analogue", edited(OFFSET, DATUM, text=FEEDS["analogue"])))
    siting = edited(*HARMING, text=STUDY + SITING).replace("Parent Hill", LONG)
    site = site_report(load_project(write_study(folder / "siting", siting)), folder / "blocks")
    costs = {"Combe Relay": 1200.0}
    patterns = {f"{plane}_pattern": folder / f"{plane}.csv" for plane in ("horizontal", "vertical")}
    line = AerialDesign(kind="dipoles", count=4, tilt_deg=1.0)
    long = SheetSite("Combe Relay", SERVICES, splitter_ports=len(SERVICES))
    sheets = sheet_report(plain, folder / "visits.gpkg")
    survey = combe.reports.survey.document(survey_report(load_project(surveyed(folder / "surveyed"))))
    return {
        "aerial": combe.reports.aerial.document(work_out_design(line), line).with_files(**patterns),
        "aerial of a study": combe.reports.aerial.document(
            work_out_design(line), line, plain, "Combe Relay"
        ).with_files(**patterns),
        "new": combe.reports.new.document(plain, [folder / "plain" / "study.toml"]),
        "ground_fetch": fetched_ground(folder / "ground"),
        "own_study": combe.reports.own_study.document(
            own_study(-84.25, 36.6, country="US"), folder / "own" / "study.toml"
        ),
        "path": combe.reports.path.document(path_report(plain, "Parent Hill", "Combe Relay")),
        "path back": combe.reports.path.document(path_report(plain, "Combe Relay", "Parent Hill")),
        "check": combe.reports.check.document(check_report(plain)),
        "check analogue": combe.reports.check.document(check_report(analogue)),
        "check faulty": combe.reports.check.faulty(folder / "study.toml", FAULTS),
        "feed in short": combe.reports.feed.document(feed_report(plain)),
        **{name: feed_sample(folder / name, text) for name, text in FEED_SAMPLES.items()},
        "brief": combe.reports.brief.document(whole_brief(folder)).with_files(page=folder / "brief.html"),
        "brief of little": combe.reports.brief.document(brief_report(disturbed)),
        "ground inspect": combe.reports.ground_inspect.document(inspect_report(files_of_a_study(folder))),
        "channels": combe.reports.channels.document(channels_report(plain, channels=range(36, 50))),
        "channels that harm": combe.reports.channels.document(
            channels_report(load_project(flat(folder / "harmful", ("A", 53))), channels=(50, 53)), best=100
        ),
        "channels without a plan": combe.reports.channels.document(
            channels_report(load_project(flat(folder / "apart", ("A", 50), ("B", 53))), channels=(50,))
        ),
        "cover": combe.reports.cover.document(cover_report(coarse, feeds=True)),
        "cover disturbed": combe.reports.cover.document(cover_report(disturbed, feeds=True, unserved=True)),
        "cover by season": combe.reports.cover.document(cover_report(coarse), other_season=a_season(coarse)),
        "site": combe.reports.site.document(site),
        "hill": combe.reports.site_hill.document(site, 0),
        "compare": compared_studies(plain, coarse),
        "compare three": compared_studies(plain, coarse, disturbed),
        "hills": combe.reports.site_hill.comparison(site, compared(site.work, site.candidates, (1, 2))),
        **coordinations(plain, analogue),
        **delays(folder),
        "retire": combe.reports.retire.document(retire_report(coarse, 99.0)),
        "retire all": combe.reports.retire.document(retire_report(replace(coarse, running_costs=costs), 0.0)),
        "export": exported(folder / "files", coarse),
        "evidence": combe.reports.evidence.document(evidence(), every=True),
        "evidence folded": combe.reports.evidence.document(evidence()),
        "explain": combe.reports.explain.document(explain_place(plain, -84.20, 36.60)),
        "survey": survey.with_files(page=folder / "survey.html"),
        "survey kriged": combe.reports.survey.document(
            survey_report(load_project(surveyed(folder / "kriged", 'apply_correction = "kriged"', places=12)))
        ).with_files(page=folder / "kriged.html"),
        "visit": visit(folder, log=visit_log()),
        "sheet": sheet(folder, laid_out(long.station, sheet_rows(long, {}))),
        "sheet of two": sheet(folder, replace(sheets, sheets=sheets.sheets * 2)),
        "visit stored": visit(folder, log=TWO_DAYS, taken=TWO_DAYS, stored=True, rows_left_blank=3),
        "explain ways": combe.reports.explain.document(explain_place(several_ways(disturbed), -84.25, 36.64)),
        "cover ways": combe.reports.cover.document(cover_report(several_ways(coarse))),
        "explain disturbed": combe.reports.explain.document(explain_place(disturbed, -84.25, 36.64)),
    }


def files_of_a_study(folder: Path) -> list[Path]:
    """Return files of a study's ground, with one that has other names and a letter beyond UTF-8."""
    table = folder / "orte.csv"
    table.write_bytes("Ort;Lon;Lat;EW\nHöfen;-84,2;36,6;7\n".encode("windows-1252"))
    return [sample_folder() / SRTM_SAMPLE, sample_folder() / "demo" / "people.tif", table]


def a_season(project: Project) -> SeasonChange:
    """Return what another season might change of a coverage."""
    people = cover_report(project).all_services.people
    changes = tuple(StationChange(each.name, 1.26, -0.04, 9.0) for each in project.stations)
    return SeasonChange("leafless", people, changes)


def several_ways(project: Project) -> Project:
    """Return a project whose public receives on roofs, outdoors and in rooms."""
    names = ("fixed roof", "portable outdoor", "portable indoor")
    return replace(project, ways=tuple(WayOfReceiving(name) for name in names))


def delays(folder: Path) -> dict[str, Document]:
    """Return documents of delays that save a village, of a search cut short, and of a relay that may not."""
    between = load_project(write_networked(folder / "between"))
    served = {name: VILLAGES[name] for name in ("By West",)}
    relay = load_project(write_networked(folder / "repeated", relay=True, villages=served))
    return {
        "delays": combe.reports.delays.document(delays_report(between)),
        "delays cut short": combe.reports.delays.document(delays_report(between, 1)),
        "delays of a relay": combe.reports.delays.document(delays_report(relay)),
    }


def feed_sample(folder: Path, text: str) -> Document:
    """Return the document of a feed of which everything is asked."""
    project = load_project(write_study(folder, text))
    report = with_advice(feed_report(project, heights_m=(5.0, 15.0, 25.0), best_bearing=True))
    report = with_spectra(report, USUAL_ANALYSER)
    return combe.reports.feed.document(report)


def flat(folder: Path, *outputs: tuple[str, int]) -> Path:
    """Write a study in free space of a relay with some outputs before a parent on channel 53."""
    parents = (
        station_text("West", 734_000.0, 4_040_000.0, [("A", 30, 0.03), ("B", 36, 0.03)]),
        station_text("Old", 764_000.0, 4_052_000.0, [("C", 53, 0.03)]),
    )
    services = [(name, channel, 0.02) for name, channel in outputs]
    relay = station_text("East", 752_000.0, 4_040_000.0, services, parent="West")
    return write_plain_study(folder, *parents, relay)


def surveyed(folder: Path, section: str = "", *, places: int = 6) -> Path:
    """Write a study in free space with survey points: enough places for a correction of one station alone."""
    folder.mkdir(exist_ok=True)
    points = ["longitude_deg,latitude_deg,station,service,field_dbuv_m"]
    steps = range(1, places + 1)
    points += [f"{-84.20 - step / 100.0:.2f},36.58,Combe Relay,Mux 1,{70 + min(step, 9)}" for step in steps]
    points += ["-84.25,36.58,Parent Hill,Mux 1,80.25"]
    (folder / "points.csv").write_text("\n".join(points), encoding="utf-8")
    model = ("invented = true", 'invented = true\nmodel = "free-space"')
    table = ("[[stations]]", f'[survey]\npoints = "points.csv"\n{section}\n[[stations]]')
    return write_study(folder, edited(model, table))


def evidence() -> EvidenceReport:
    """Return figures that are met, missed and typed twice, alone and in a long table, with long names."""
    case = EvidenceCase(
        "ITU-R P.1812-8", "Validation set, geometry", "b2iseac_rural_land_10km_10m, 1 % of time",
        "Lbs_troposcatter_at_the_whole_time_db", 240.0123456789, "dB(µV/m)", 1e-9, "read",
        lambda: 240.0123456789,
    )  # fmt: skip
    beyond = replace(case, case="ν = 0", quantity="loss", expected=-6.0, unit="dB", tolerance=0.01)
    twice = replace(beyond, recommendation="Protection ratios", standing="typed twice from memory")
    rows = [
        EvidenceRow(case, 240.01234567891),
        EvidenceRow(beyond, -6.5),
        EvidenceRow(replace(beyond, case="ν = 1"), math.nan, "it was refused"),
        EvidenceRow(twice, -6.0),
        *(EvidenceRow(replace(case, case=f"row {n}", series="log"), case.expected) for n in range(30)),
    ]
    return EvidenceReport(tuple(rows), None)


def shown_rows(document: Document) -> list[tuple[tuple[Field, ...], Any]]:
    """Return what readers see of a document as pairs of fields and a row."""
    rows: list[tuple[tuple[Field, ...], Any]] = []
    for part in all_parts(document.parts):
        if isinstance(part, Facts):
            rows.append((part.fields, part.of))
        elif isinstance(part, Table):
            rows += [(tuple(field for field in part.fields if field.head), row) for row in part.rows]
    return rows


def numbers_by_key(value: Any, found: dict[str, list[float]] | None = None) -> dict[str, list[float]]:
    """Return all numbers of some JSON by their keys."""
    found = {} if found is None else found
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
        if isinstance(inner, dict | list):
            numbers_by_key(inner, found)
        elif isinstance(inner, int | float) and not isinstance(inner, bool):
            found.setdefault(str(key), []).append(float(inner))
    return found


def schema_faults(value: Any, schema: dict[str, Any], place: str = "$") -> list[str]:
    """Return where a value is not what a schema of ours says; of JSON Schema as much as ours use."""
    if "const" in schema:
        return [] if value == schema["const"] else [f"{place} is {value!r}"]
    types = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    if not any(_is(value, name) for name in types):
        return [f"{place} is {value!r} and no {types}"]
    if isinstance(value, list):
        return [
            fault
            for at, each in enumerate(value)
            for fault in schema_faults(each, schema["items"], f"{place}[{at}]")
        ]
    if not isinstance(value, dict):
        return []
    known, others = schema.get("properties", {}), schema.get("additionalProperties")
    faults = [f"{place} lacks {key}" for key in schema.get("required", ()) if key not in value]
    for key, inner in value.items():
        if key not in known and others is False:
            faults.append(f"{place} has {key}, which the schema does not know")
        else:
            faults += schema_faults(inner, known.get(key, others), f"{place}.{key}")
    return faults


def _is(value: Any, name: str) -> bool:
    if isinstance(value, bool):
        return name == "boolean"
    kinds: dict[str, Any] = {
        "object": dict,
        "array": list,
        "string": str,
        "integer": int,
        "number": int | float,
        "null": type(None),
        "boolean": bool,
    }
    return isinstance(value, kinds[name])


class PageReader(HTMLParser):
    """Reads the rows of tables and lists of facts from a page, as texts; signs of verdicts are left out."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.words, self.scripts, self._open = "", 0, ""
        self._span = 1
        self._over: list[tuple[int, str]] = []
        self.feed(page.partition("<body>")[2])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a row or a cell; a row has the cells over it that span it as well."""
        self.scripts += tag == "script"
        if tag in ("tr", "div"):
            self.rows.append([words for left, words in self._over if left and tag == "tr"])
            self._over = [(left - 1, words) for left, words in self._over if left > 1 and tag == "tr"]
        if tag in ("th", "td", "dt", "dd") and self.rows:
            self.rows[-1].append("")
            self._open, self._span = tag, int(dict(attrs).get("rowspan") or 1)
        if tag == "small" and self._open:
            self.rows[-1][-1] += "\n"

    def handle_endtag(self, tag: str) -> None:
        """End a cell."""
        if tag == self._open:
            self._open = ""
            if self._span > 1:
                self._over.append((self._span - 1, self.rows[-1][-1]))

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.words += data
        if self._open:
            self.rows[-1][-1] += re.sub("^[✓?✗~·] ", "", data)
