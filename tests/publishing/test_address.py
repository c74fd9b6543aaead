"""The view in the map page's address: a link shows the layer, threshold and place that its sender saw."""

import pytest

import support_map_page as support
from combe.publishing.map_page import render_map

pytestmark = pytest.mark.browser

AT_PLACE = "36.69000,-84.36000"
PIXEL_DEG = 360.0 / (256 * 2**14)
AT = "#layer=relay-2&over=3.5&at=36.69000,-84.36000&zoom=14"


@pytest.fixture(scope="module")
def rendered():
    return render_map(support.map_page())


def follow(tab, address):
    """Follow an address of the page that is open."""
    tab.evaluate("(address) => { location.hash = address; }", address)
    tab.wait_for_timeout(50)


def view(tab):
    return tab.evaluate("() => ({ ...combe.viewNow(), key: combe.state.key, excess: combe.state.excess })")


def kept(tab, wanted):
    """Wait until the address is as wanted; a map lies on whole pixels, so its middle does so nearly."""
    start, _, end = wanted.partition(AT_PLACE)
    tab.wait_for_function(
        "([a, b]) => location.hash.startsWith(a) && location.hash.endsWith(b)", arg=[start, end]
    )
    told = tab.evaluate("location.hash")
    if AT_PLACE in wanted:
        assert place(told.split("at=")[1].split("&")[0]) == pytest.approx((36.69, -84.36), abs=PIXEL_DEG)
    else:
        assert told == wanted


def place(words):
    return tuple(map(float, words.split(",")))


def test_the_first_view_has_no_address_of_its_own(rendered, open_html):
    tab = open_html(rendered).page
    tab.wait_for_timeout(400)
    assert tab.evaluate("location.hash") == ""


def test_what_is_chosen_stands_in_the_address(rendered, open_html):
    tab = open_html(rendered).page
    tab.select_option("#show", "parent-3")
    kept(tab, "#layer=parent-3")
    tab.locator("#excess").fill("4.5")
    tab.locator("#excess").dispatch_event("change")
    kept(tab, "#layer=parent-3&over=4.5")
    tab.evaluate("() => combe.map.setView([36.69, -84.36], 14, { animate: false })")
    kept(tab, "#layer=parent-3&over=4.5&at=36.69000,-84.36000&zoom=14")
    tab.locator("#reset").click()
    tab.select_option("#show", "story")
    kept(tab, "#at=36.69000,-84.36000&zoom=14")


def test_an_address_shows_its_view_at_once_and_when_it_is_followed(rendered, open_html, tmp_path):
    path = tmp_path / "page.html"
    tab = open_html(rendered).page
    first = view(tab)
    follow(tab, AT)
    seen = view(tab)
    assert (seen["key"], seen["excess"], seen["zoom"]) == ("relay-2", 3.5, "14")
    assert place(seen["at"]) == pytest.approx((36.69, -84.36), abs=PIXEL_DEG)
    follow(tab, "")
    assert view(tab)["key"] == first["key"]
    tab.goto("about:blank")
    tab.goto(path.as_uri() + AT)
    tab.wait_for_selector("body[data-ready=yes]")
    assert view(tab) == seen


@pytest.mark.parametrize(
    "address",
    [
        "#layer=none&over=900&at=91,0&zoom=99",
        "#layer=<script>alert(1)</script>&over=1e3&at=1;2&zoom=-1",
        "#over=&at=&zoom=&layer=",
        "#%%%&&==",
        "#over=NaN&at=NaN,NaN&zoom=Infinity",
    ],
)
def test_what_no_page_wrote_is_left_out(rendered, open_html, address):
    opened = open_html(rendered)
    before = view(opened.page)
    follow(opened.page, address)
    assert view(opened.page) == before
    assert opened.complaints == []


def test_a_page_that_is_printed_keeps_its_address(rendered, open_html):
    tab = open_html(rendered).page
    follow(tab, AT)
    tab.pdf()
    tab.wait_for_timeout(400)
    kept(tab, AT)
