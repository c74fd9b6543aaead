"""Tests of the evidence page."""

import html
from dataclasses import replace

import pytest

from combe.publishing.cautions import CAUTIONS
from combe.publishing.evidence_page import (
    EvidenceBlock,
    EvidenceGroup,
    EvidenceLine,
    EvidencePage,
    StandingCount,
    render_evidence_page,
)

HOSTILE = " <script>alert(1)</script> ${alert(3)} `b` \" ' src=http://a.example"
LINE = EvidenceLine("ν = 0", "loss", "6.033", "6.0329", "−0.0001", "0.001", "dB", "read", True)


def evidence_page(word: str = "", met: bool = True) -> EvidencePage:
    line = replace(LINE, case=f"ν = 0{word}", met=met, problem="" if met else f"refused{word}")
    blocks = (
        EvidenceBlock(f"P.1 §4{word}", (line, LINE)),
        EvidenceBlock(f"log{word}", (line,), folded=True, summary=f"log: 1 figure{word}"),
    )
    return EvidencePage(
        f"Evidence{word}",
        f"Figures{word}",
        (StandingCount("read", f"in a text{word}", 3, 3 if met else 1),),
        (EvidenceGroup(f"ITU-R P.1{word}", blocks),),
        (f"Left out{word}",),
        (f"Combe{word}",),
    )


def test_page_holds_figures_counts_and_cautions():
    words = html.unescape(render_evidence_page(evidence_page()))
    for text in ("6.033", "6.0329", "−0.0001", "ν = 0", "P.1 §4", "✓ 3 met", "log: 1 figure", *CAUTIONS):
        assert text in words
    assert "missed" not in words.partition("<body>")[2]
    assert "<details open>" not in words.partition("<footer")[0]


def test_look_ups_typed_twice_are_counted_apart():
    twice = replace(LINE, standing="typed twice from memory", checked=False)
    counts = (
        StandingCount("typed twice from memory", "no check", 5, 5, checked=False),
        *evidence_page().counts,
    )
    groups = (EvidenceGroup("ITU-R P.1", (EvidenceBlock("§4", (LINE, twice, twice)),)),)
    words = html.unescape(render_evidence_page(replace(evidence_page(), counts=counts, groups=groups)))
    assert "✓ 1 met" in words
    assert "✓ 2 look-ups alike" in words
    total, apart = words.index("all that are checked"), words.index("no check")
    assert total < apart
    assert "<td>3</td><td>3</td>" in words[total:apart]
    assert "<td>5</td><td>5</td>" in words[apart:]


def test_missed_figures_are_counted_named_and_unfolded():
    words = html.unescape(render_evidence_page(evidence_page(met=False)))
    for text in ("✗ 1 of 3 met", "✗ missed", "refused", "<details open>"):
        assert text in words


@pytest.mark.browser
def test_page_opens_without_network_and_hostile_names_do_nothing(open_html):
    opened = open_html(render_evidence_page(evidence_page(HOSTILE, met=False)), ready=False)
    tab = opened.page
    tab.wait_for_load_state()
    assert opened.complaints == []
    assert [url for url in opened.requests if not url.startswith(("file://", "data:"))] == []
    assert tab.locator("h1").text_content() == f"Evidence{HOSTILE}"
    assert tab.locator("main script").count() == 0
    tab.click(".contents a")
    assert tab.locator("section h2").first.is_visible()
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
