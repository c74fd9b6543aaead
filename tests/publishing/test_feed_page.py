"""Tests of the feed page."""

import dataclasses
import html
import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.publishing.cautions import CAUTIONS
from combe.publishing.feed_page import BudgetRow, FeedPage, FeedRelay, FeedService, render_feed_page
from combe.publishing.profile_diagram import profile_svg

HOSTILE = " <script>alert(1)</script> ${alert(3)} `b` \" ' src=http://a.example"


def feed_page(word: str = "") -> FeedPage:
    x = np.linspace(0, 12.0, 60)
    svg = profile_svg(
        x,
        200 + 30 * np.sin(x),
        tx_height_amsl_m=280.0,
        rx_height_amsl_m=240.0,
        frequency_mhz=490.0,
        effective_radius_km=8500.0,
        edge_index=20,
        tx_name=f"Highmoor{word}",
        rx_name=f"Lowgate{word}",
    )
    services = tuple(
        FeedService(
            f"Multiplex {number}{word}",
            18 + 3 * number,
            (
                BudgetRow(f"Free-space loss{word}", 107.8, "dB"),
                BudgetRow("Margin", margin, "dB", strong=True),
            ),
            "passes" if margin >= 6 else "fails",
            f"Because{word}.",
        )
        for number, margin in ((1, 18.3), (2, -2.5))
    )
    relay = FeedRelay(
        f"Lowgate{word}", f"Highmoor{word}", services, ((svg, f"Profile{word}"),), f"12 km{word}"
    )
    return FeedPage(
        f"Feeds{word}", f"Off-air{word}", (relay,), (f"Terrain: invented{word}",), f"Invented{word}"
    )


def test_page_holds_budgets_verdicts_and_cautions():
    words = html.unescape(render_feed_page(feed_page()))
    for text in ("Lowgate receives Highmoor", "107.8", "18.3", "−2.5", "✓ passes", "✗ fails", *CAUTIONS):
        assert text in words
    assert "data:image/svg+xml;base64," in words
    assert "<details open>" in words


def test_a_relay_passes_when_each_service_does():
    relay = feed_page().relays[0]
    assert relay.verdict == "fails"
    assert dataclasses.replace(relay, services=relay.services[:1]).verdict == "passes"


def test_bad_content():
    row = BudgetRow("Margin", math.nan, "dB")
    with pytest.raises(RangeError, match="verdict is 'perhaps'; allowed: passes, not judged, fails"):
        FeedService("M", 21, (row,), "perhaps")
    services = (FeedService("M", 21, (row,), "passes"), FeedService("N", 24, (), "passes"))
    with pytest.raises(RangeError, match="budget lines of relay Lowgate is different"):
        FeedRelay("Lowgate", "Highmoor", services)
    with pytest.raises(RangeError, match="services of relay Lowgate is 0"):
        FeedRelay("Lowgate", "Highmoor", ())


@pytest.mark.browser
def test_page_opens_without_network_and_hostile_names_do_nothing(open_html):
    opened = open_html(render_feed_page(feed_page(HOSTILE)), ready=False)
    tab = opened.page
    tab.wait_for_load_state()
    assert opened.complaints == []
    assert [url for url in opened.requests if not url.startswith(("file://", "data:"))] == []
    assert tab.locator("h1").text_content() == f"Feeds{HOSTILE}"
    assert tab.eval_on_selector(".profile", "one => one.naturalWidth") > 300
    assert tab.locator("main script").count() == 0
