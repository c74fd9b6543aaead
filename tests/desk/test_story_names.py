"""The whole desk before hostile names and foreign pages, and by the rules of axe-core."""

from __future__ import annotations

import json
import re
import urllib.parse
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

import pytest

from support_desk_server import Served
from support_story import DeskTab, open_desk, written_study

pytestmark = pytest.mark.browser

HOSTILE: Final = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(2)>",
    "${alert(3)} {{ 7 * 7 }} {% raw %}",
    "`b` \" ' \\ src=http://a.example",
    "</style></select><svg onload=alert(4)>",
    "__proto__",
    "[[data]] &lt;b&gt; &#0;",
    "javascript:alert(5)",
    "?variant=a&key=b#c/../%2e%2e",
)
"""What no page may act on, and no address or table may mistake for its own."""

VERY_COARSE_M: Final = 960.0
RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
REBOUND: Final = "rebound.example"
ASKED_FROM_ELSEWHERE: Final = """async ([host, token, station]) => {
    const tried = (path, rest = {}) =>
        fetch(`http://${host}${path}`, rest).then((answer) => answer.type, () => "refused");
    const body = JSON.stringify({ station, aerial_height_m: 77 });
    const headers = { "X-Combe-Token": token, "Content-Type": "application/json" };
    return [
        await tried("/api/state", { headers }),
        await tried("/api/change", { method: "POST", headers, body }),
        await tried(`/?token=${token}`),
        await tried("/api/change", { method: "POST", mode: "no-cors", body }),
    ];
}"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the demo with hostile names for its stations and services."""
    path = written_study(tmp_path_factory.mktemp("desk") / "valley", VERY_COARSE_M)
    text = path.read_text(encoding="utf-8")
    named = dict(zip(("Tarnbeacon", "Larkcombe", "Mux A", "Mux B", "Mux C"), HOSTILE, strict=False))
    for plain, hostile in named.items():
        text = text.replace(f'"{plain}"', json.dumps(hostile))
    path.write_text(re.sub(r"^speaks_of = .*\n", "", text, flags=re.MULTILINE), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def desk(chromium: Any, study: Path) -> Iterator[Served]:
    del chromium  # without a browser there is nothing to serve
    with open_desk(study) as served:
        yield served


@pytest.fixture
def page(chromium: Any, desk: Served) -> Iterator[DeskTab]:
    context = chromium.new_context(viewport={"width": 1400, "height": 900})
    opened = DeskTab(context.new_page(), desk.address)
    yield opened
    context.close()
    assert opened.complaints == []


def as_shown(texts: list[str]) -> list[str]:
    """Return texts without the room that a browser may give to spaces."""
    return [" ".join(text.split()) for text in texts]


def test_hostile_names_are_shown_as_they_are_written(page: DeskTab, desk: Served) -> None:
    parent, relay = HOSTILE[:2]
    for at, name in enumerate(HOSTILE[2:]):
        place = {"longitude_deg": -84.30 + 0.01 * at, "latitude_deg": 36.55}
        assert desk.ask("/api/add", {"name": name, **place, "like": relay})[0] == 200
    for name in HOSTILE:
        page.keep(name)
    tab = page.tab
    tab.wait_for_function("(many) => combe.desk.state.stations.length === many", arg=len(HOSTILE))
    for selector, wanted in (
        ("#station-list b", HOSTILE),
        (".station-name b", HOSTILE),
        ("#edit-station option", HOSTILE),
        ("#feed-list b", HOSTILE[1:]),
        ("#variant-table thead th", ("Variant", *HOSTILE)),
        ("#swipe-left option", ("as it is now", *HOSTILE)),
        ("#people-table tbody th", ("All services", *HOSTILE[2:5])),
    ):
        assert as_shown(tab.locator(selector).all_text_contents()) == list(wanted), selector
    page.choose(parent)
    assert tab.locator("#remove").text_content() == f"Take {parent} away"
    assert tab.locator("label", has_text=f"{HOSTILE[2]}, channel").count() == 1
    assert tab.locator("img, svg svg, .work script, .panel script").count() == 0


def test_hostile_names_lead_to_their_own_feeds_layers_and_variants(page: DeskTab, desk: Served) -> None:
    relay = HOSTILE[1]
    status, feed, _ = desk.ask(f"/api/feed?{urlencoded(station=relay)}")
    assert (status, feed["verdict"]) == (200, "passes")
    assert "<script>" not in feed["html"]
    page.keep(HOSTILE[8])
    status, codes, headers = desk.ask(f"/api/layer/story?{urlencoded(variant=HOSTILE[8])}")
    assert (status, headers["x-combe-steps-per-unit"].isdigit()) == (200, True)
    assert len(codes) == 2 * 2 * page.tab.evaluate("() => combe.data.cells.rows * combe.data.cells.columns")
    page.tab.get_by_role("button", name=f"Read the feed of {relay}").click()
    page.tab.wait_for_selector("#sheet:not([hidden]) #sheet-answer table")
    assert relay in page.tab.locator("#sheet-answer").inner_text()


def urlencoded(**query: str) -> str:
    return urllib.parse.urlencode(query)


@pytest.mark.parametrize("width", [390, 1400])
def test_no_serious_fault_for_those_who_see_or_move_little(page: DeskTab, width: int) -> None:
    page.keep("one")
    page.tab.set_viewport_size({"width": width, "height": 844})
    page.tab.evaluate("document.querySelectorAll('.work details').forEach((part) => { part.open = true; })")
    page.tab.locator("#swipe").click()
    page.tab.wait_for_selector("#swipe-frame:not([hidden])")
    page.tab.context.new_cdp_session(page.tab).send("Runtime.evaluate", {"expression": RULES})
    found = page.tab.evaluate("axe.run()")
    assert len(found["passes"]) > 8
    grave = [rule for rule in found["violations"] if rule["impact"] in ("serious", "critical")]
    assert [(rule["id"], rule["nodes"][0]["target"]) for rule in grave] == []


def test_a_wrong_token_a_foreign_origin_and_a_foreign_name_are_refused(desk: Served) -> None:
    change = {"station": HOSTILE[1], "aerial_height_m": 60.0}
    before = desk.ask("/api/state")[1]
    for headers in (
        {"X-Combe-Token": "x" * len(desk.token)},
        {"Origin": "http://other.example"},
        {"Origin": "null"},
        {"Host": f"{REBOUND}:{desk.host.partition(':')[2]}"},
    ):
        status, told, _ = desk.ask("/api/change", change, **headers)
        assert status == 403, headers
        assert told.count(b"\n") == 1
    assert desk.ask("/?token=wrong")[0] == 403
    assert desk.ask("/api/state")[1] == before


def test_a_foreign_page_in_the_same_browser_reads_and_changes_nothing(chromium: Any, desk: Served) -> None:
    """Even with the token: what it posts without asking first is refused for where it comes from."""
    before = desk.ask("/api/state")[1]
    tab = chromium.new_context().new_page()
    tab.route("http://other.example/", lambda route: route.fulfill(body="<p>another page</p>"))
    tab.goto("http://other.example/")
    said = tab.evaluate(ASKED_FROM_ELSEWHERE, [desk.host, desk.token, HOSTILE[1]])
    assert said in (["refused"] * 4, ["refused"] * 3 + ["opaque"])
    assert desk.ask("/api/state")[1] == before
    tab.context.close()


def test_a_name_that_was_made_to_point_here_is_refused(
    chromium: Any, chromium_command: list[str], desk: Served
) -> None:
    path, *flags = chromium_command
    made = f"--host-resolver-rules=MAP {REBOUND} 127.0.0.1"
    browser = chromium.browser_type.launch(executable_path=path, args=[*flags, made])
    tab = browser.new_page()
    address = desk.address.replace("127.0.0.1", REBOUND)
    answer = tab.goto(address)
    assert answer.status == 403
    assert "this name is not the desk's" in tab.locator("body").inner_text()
    browser.close()
