"""The brief on paper: the demo's, and one of all that there is, take two sheets of A4 before the appendix."""

from __future__ import annotations

import ctypes
import importlib
import io
from dataclasses import replace
from functools import cache

import pypdfium2
import pypdfium2.raw as raw
import pytest

import combe
import combe.reports.brief
from combe.errors import MissingLibraryError, PageError
from combe.planning import Harm
from combe.publishing import as_pdf as module
from combe.publishing.as_html import as_html
from combe.publishing.as_pdf import as_pdf, pdf_of, write_pdf
from combe.publishing.cautions import CAUTIONS
from support_reports import samples

A4_POINTS = (595, 842)
APPENDIX = "Appendix: what this rests on"
LONG = "Tarnbeacon-over-Nether-Wallop-and-the-Seven-Northern-Combes"
SERVICE = "Multiplex-of-the-Northern-Counties"


@cache
def demo_brief():
    """Return the brief of the demo."""
    return combe.reports.brief.document(combe.brief(combe.demo()))


@pytest.fixture
def printer():
    """Let a test go by where the libraries that set the type of PDFs are not on the machine."""
    try:
        importlib.import_module("weasyprint")
    except OSError as error:
        pytest.skip(f"WeasyPrint cannot start: {error}")


def sheets(content):
    """Return the words of each sheet, after a look at its size."""
    found = pypdfium2.PdfDocument(io.BytesIO(content))
    assert {tuple(round(side) for side in page.get_size()) for page in found} == {A4_POINTS}
    return [page.get_textpage().get_text_range() for page in found]


def alternatives_of(page):
    """Return what is said of each element of a page to those who cannot see it; empty for most."""
    tree = raw.FPDF_StructTree_GetForPage(page)
    roots = [
        raw.FPDF_StructTree_GetChildAtIndex(tree, at) for at in range(raw.FPDF_StructTree_CountChildren(tree))
    ]
    found = []
    while roots:
        element = roots.pop()
        size = raw.FPDF_StructElement_GetAltText(element, None, 0)
        text = ctypes.create_string_buffer(size)
        raw.FPDF_StructElement_GetAltText(element, text, size)
        found.append(text.raw.decode("utf-16-le").rstrip("\0"))
        count = raw.FPDF_StructElement_CountChildren(element)
        children = [raw.FPDF_StructElement_GetChildAtIndex(element, at) for at in range(count)]
        roots += [each for each in children if each]
    return found


def check_sheets(words):
    """Check that two sheets stand before the appendix, with the cautions at the end of the second."""
    assert ["Brief for a decision" in each for each in words].index(True) == 0
    assert [APPENDIX in each for each in words].index(True) == 2
    second = "".join(words[1].split())
    for caution in CAUTIONS:
        assert "".join(caution.split()) in second
    assert "How this was made" not in words[0] + words[1]
    assert "How this was made" in "".join(words[2:])


@pytest.mark.parametrize("name", ["demo", "brief", "brief of little"])
def test_two_sheets_stand_before_the_appendix(name, printer):
    document = demo_brief() if name == "demo" else samples()[name]
    check_sheets(sheets(as_pdf(document)))


def crowded():
    """Return a brief of many relays and long names, of which everything wants more room than there is."""
    report = samples()["brief"].answer.report
    (exposure,), (relay,) = report.exposures, report.costs.relays
    harm = Harm(LONG, LONG, SERVICE, 27, 9, 40.0, 25.0, 15.0, 0.0)
    second = replace(report.project.station("Combe Relay"), name=LONG)
    project = report.project.with_station(second, feed=report.project.feeds["Combe Relay"])
    lacking = f"{LONG}: the relay radiates Mux 1 on channel 27, which it receives, and nobody knows how far "
    return replace(
        report,
        project=replace(project, note="Who made what of it, when and why, and what is still to do. " * 6),
        cover=replace(report.cover, harm=(harm,) * 9),
        feeds=tuple(replace(each, relay=LONG) for each in report.feeds * 9),
        lacking=tuple(f"{lacking * 2}{number}" for number in range(9)),
        exposures=tuple(replace(exposure, relay=f"{LONG} {number}") for number in range(40)),
        costs=replace(report.costs, relays=(replace(relay, relay=LONG),) * 40),
        settlements=tuple(replace(each, name=LONG) for each in report.settlements),
        measuring=tuple(replace(each, name=LONG) for each in report.measuring),
        in_doubt=tuple(replace(each, name=LONG) for each in report.in_doubt),
    )


def test_many_relays_and_long_names_take_no_more_sheets(printer):
    check_sheets(sheets(as_pdf(combe.reports.brief.document(crowded()))))


@pytest.mark.browser
@pytest.mark.parametrize("name", ["demo", "brief", "crowded"])
def test_a_browser_prints_the_same_sheets(name, open_html):
    made = {"demo": demo_brief, "crowded": lambda: combe.reports.brief.document(crowded())}
    document = made[name]() if name in made else samples()[name]
    tab = open_html(as_html(document), ready=False).page
    check_sheets(sheets(tab.pdf(prefer_css_page_size=True)))


def test_the_pdf_is_tagged_and_the_same_twice(printer):
    first = as_pdf(samples()["brief of little"])
    assert as_pdf(samples()["brief of little"]) == first
    page = pypdfium2.PdfDocument(io.BytesIO(first))[0]
    assert raw.FPDFCatalog_IsTagged(page.pdf)
    described = [words for words in alternatives_of(page) if words]
    assert len(described) == 1, "the map is described to those who cannot see it"
    assert described[0].startswith("Map of ")


def test_the_words_of_the_map_are_seen_in_the_pdf(printer):
    # Where a rim is drawn over letters, what is left of them is the colour of paper.
    page = pypdfium2.PdfDocument(io.BytesIO(as_pdf(samples()["brief of little"])))[0]
    shown = page.render(scale=2).to_numpy()
    assert (shown.min(axis=2) < 60).mean() > 0.005


def test_nothing_is_fetched(printer):
    with pytest.raises(PageError, match="would be fetched"):
        pdf_of('<html lang="en"><title>x</title><img alt="x" src="https://example.org/a.png"></html>')


def test_without_the_library_one_line_says_what_to_install(tmp_path, monkeypatch, printer):
    def gone(name):
        raise ImportError(name)

    monkeypatch.setattr(module, "import_module", gone)
    with pytest.raises(MissingLibraryError, match=r"a PDF needs WeasyPrint.*combe\[pdf\]"):
        write_pdf(samples()["brief of little"], tmp_path / "a.pdf")
    assert not list(tmp_path.iterdir())
    monkeypatch.setattr(module, "import_module", importlib.import_module)
    write_pdf(samples()["brief of little"], tmp_path / "b" / "a.pdf")
    assert (tmp_path / "b" / "a.pdf").read_bytes().startswith(b"%PDF")


def test_only_an_appendix_moves_how_a_page_was_made():
    plain = as_html(samples()["check"])
    assert 'class="sheets"' not in plain
    assert "Cautions, and how this page was made" in plain
    section = replace(samples()["brief"].parts[-1], appendix=False)
    document = replace(samples()["brief"], parts=(*samples()["brief"].parts[:-1], section))
    assert 'class="appendix"' not in as_html(document)
    assert 'class="appendix"' in as_html(samples()["brief"])
