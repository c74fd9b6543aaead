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
import combe.reports.check
import combe.reports.evidence
import combe.reports.explain
import combe.reports.new
import combe.reports.path
from combe.answers.check import check_report
from combe.answers.explain import explain_place
from combe.answers.path import path_report
from combe.evidence import EvidenceCase, EvidenceRow
from combe.evidence.run import EvidenceReport
from combe.publishing.document import Document, Facts, Table, all_parts
from combe.publishing.fields import Field
from combe.stations.design import AerialDesign, work_out_design
from combe.study.project_of import load_project
from support_feed_study import FEEDS
from support_study import edited, write_study

HOSTILE = (
    " <script>alert(1)</script> ${alert(2)} {{ 7 * 7 }} {% raw %} `b` \" ' src=http://a.example \x1b[31m"
)
"""What no page, terminal or template may act on."""

DISTURBED = (("channel = 41", "channel = 27"), ("cell_size_m = 300", "cell_size_m = 900"))
"""Changes after which the relay radiates on a channel of the parent, and has no verdict but for its loop."""

OFFSET = ("channel = 22", "channel = 22, offset_twelfths = 8")
DATUM = ('vertical_datum = "EGM96"\n', "")
FAULTS = ("stations[0].services[0].erp_w: -1.0 is out of range; write more", f"title: {HOSTILE} is odd")


@cache
def samples() -> dict[str, Document]:
    """Return documents by a name that begins with their kind."""
    folder = Path(tempfile.mkdtemp())
    plain = load_project(write_study(folder / "plain"))
    disturbed = load_project(write_study(folder / "disturbed", edited(*DISTURBED)))
    analogue = load_project(write_study(folder / "analogue", edited(OFFSET, DATUM, text=FEEDS["analogue"])))
    patterns = {f"{plane}_pattern": folder / f"{plane}.csv" for plane in ("horizontal", "vertical")}
    line = AerialDesign(kind="dipoles", count=4, tilt_deg=1.0)
    return {
        "aerial": combe.reports.aerial.document(work_out_design(line), line).with_files(**patterns),
        "aerial of a study": combe.reports.aerial.document(
            work_out_design(line), line, plain, "Combe Relay"
        ).with_files(**patterns),
        "new": combe.reports.new.document(plain, [folder / "plain" / "study.toml"]),
        "path": combe.reports.path.document(path_report(plain, "Parent Hill", "Combe Relay")),
        "path back": combe.reports.path.document(path_report(plain, "Combe Relay", "Parent Hill")),
        "check": combe.reports.check.document(check_report(plain)),
        "check analogue": combe.reports.check.document(check_report(analogue)),
        "check faulty": combe.reports.check.faulty(folder / "study.toml", FAULTS),
        "evidence": combe.reports.evidence.document(evidence(), every=True),
        "evidence folded": combe.reports.evidence.document(evidence()),
        "explain": combe.reports.explain.document(explain_place(plain, -84.20, 36.60)),
        "explain disturbed": combe.reports.explain.document(explain_place(disturbed, -84.25, 36.64)),
    }


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
        self.feed(page.partition("<body>")[2])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a row or a cell."""
        del attrs
        self.scripts += tag == "script"
        if tag in ("tr", "div"):
            self.rows.append([])
        if tag in ("th", "td", "dt", "dd") and self.rows:
            self.rows[-1].append("")
            self._open = tag

    def handle_endtag(self, tag: str) -> None:
        """End a cell."""
        if tag == self._open:
            self._open = ""

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.words += data
        if self._open:
            self.rows[-1][-1] += re.sub("^[✓?✗~·] ", "", data)
