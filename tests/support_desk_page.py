"""The made-up desk before a browser: a small server of its answers, and its page opened in a tab."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, Final
from urllib.parse import parse_qs, unquote, urlsplit

from combe.publishing.map_page import layer_data
from support_desk import Desk, LateError, RefusedError

TOKEN = "a-word-that-lets-in"
RELAY: Final = "[aria-label='Relay Lowgate, move with the arrow keys']"
PICTURE: Final = """() => {
    const { width, height } = combe.coverage;
    const pixels = combe.coverage.getContext("2d").getImageData(0, 0, width, height).data;
    return new Uint32Array(pixels.buffer).reduce((sum, one) => (Math.imul(sum, 31) + one) | 0, 7);
}"""


class Handler(BaseHTTPRequestHandler):
    """Answers for the desk of its server, under the headers that the real one sends."""

    server: Any
    protocol_version = "HTTP/1.1"

    def log_message(self, *_: object) -> None:
        """Keep quiet."""

    def do_GET(self) -> None:
        asked = urlsplit(self.path)
        if asked.path == "/":
            self.page()
        elif self.lets_in():
            self.answer(asked.path, {key: values[0] for key, values in parse_qs(asked.query).items()}, {})

    def do_POST(self) -> None:
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])) or b"{}")
        if self.lets_in():
            self.answer(urlsplit(self.path).path, {}, body)

    def lets_in(self) -> bool:
        if self.headers["X-Combe-Token"] == TOKEN:
            return True
        self.send(403, b"no token", {"Content-Type": "text/plain"})
        return False

    def page(self) -> None:
        html = self.server.desk.html()
        self.send(
            200,
            html.encode(),
            {"Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": policy(html)},
        )

    def answer(self, path: str, query: dict[str, str], body: dict[str, Any]) -> None:
        desk: Desk = self.server.desk
        desk.asked.append((unquote(path), body or query))
        if path == "/api/events":
            self.events()
            return
        try:
            found = answered(desk, unquote(path), query, body, self.command == "POST")
        except LateError:
            self.send(409, b'{"fault": "a newer change came"}', {"Content-Type": "application/json"})
            return
        except RefusedError as fault:
            self.send(422, json.dumps({"fault": str(fault)}).encode(), {"Content-Type": "application/json"})
            return
        if isinstance(found, tuple):
            self.send(200, found[0], {**found[1], "Content-Type": "application/octet-stream"})
        else:
            self.send(200, json.dumps(found).encode(), {"Content-Type": "application/json"})

    def events(self) -> None:
        desk: Desk = self.server.desk
        self.send_response(200)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Connection", "close")
        self.end_headers()
        at = len(desk.told)
        while not self.server.over:
            with desk.news:
                desk.news.wait(0.2)
                lines, at = desk.told[at:], len(desk.told)
            try:
                self.wfile.write("".join(lines or [": still here\n\n"]).encode())
            except OSError:
                return  # the page has gone

    def send(self, status: int, data: bytes, headers: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in {**headers, "Content-Length": str(len(data))}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(data)


def answered(desk: Desk, path: str, query: dict[str, str], body: dict[str, Any], post: bool) -> Any:
    name = path.removeprefix("/api/")
    if name.startswith("layer/"):
        variant = query.get("variant")
        layers = desk.layers(desk.kept[variant] if variant else None)
        key = name.removeprefix("layer/")
        found = layers[:2] if key == "story" else tuple(one for one in layers if one.key == key)
        if not found:
            raise RefusedError(f"there is no layer {key}")
        return desk.story(found)
    ways: dict[str, Any] = {
        "state": desk.state,
        "layers": lambda: [layer_data(layer) for layer in desk.layers()],
        "marks": lambda: {"states": "".join(map(str, desk.states()))},
        "change": lambda: desk.change(body),
        "sketch": lambda: desk.sketch(body),
        "undo": lambda: desk.go(-1),
        "redo": lambda: desk.go(1),
        "add": lambda: desk.settle(desk.added(body), {"add": body}),
        "remove": lambda: desk.settle(
            [one for one in desk.now if one["name"] != body["station"]], {"remove": body}
        ),
        "replay": lambda: desk.replay(body["edits"]),
        "feed": lambda: {"html": desk.feed_html(query["station"]), "verdict": "passes"},
        "explain": lambda: {"html": '<dl class="facts"><div><dt>field</dt><dd>61 dB(µV/m)</dd></div></dl>'},
        "hills": desk.start_hills if post else desk.hills,
        "save": lambda: desk.save(body),
        "variants": lambda: desk.keep(body["name"]),
        "variants/show": lambda: desk.settle(desk.kept[body["name"]], {"show": body["name"]}),
        "variants/remove": lambda: desk.drop(body["name"]),
    }
    return ways[name]()


def policy(html: str) -> str:
    """Return the policy that the desk's server sends with its page."""

    def hashes(kind: str) -> str:
        blocks = re.findall(rf"<{kind}>(.*?)</{kind}>", html, re.DOTALL)
        return " ".join(
            f"'sha256-{base64.b64encode(hashlib.sha256(block.encode()).digest()).decode()}'"
            for block in blocks
        )

    return (
        f"default-src 'none'; script-src 'self' {hashes('script')}; style-src 'self' {hashes('style')}; "
        "img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )


@contextmanager
def running_desk(word: str = "") -> Iterator[tuple[Desk, str]]:
    """Run the desk, and give it with the page's address."""
    server: Any = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    server.desk, server.over = Desk(word), False
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server.desk, f"http://127.0.0.1:{server.server_address[1]}/?token={TOKEN}"
    finally:
        server.over = True
        server.shutdown()
        server.server_close()


class Opened:
    """A desk with its page open, and what the page complained of."""

    def __init__(self, desk: Desk, tab: Any, address: str) -> None:
        self.desk, self.tab, self.address = desk, tab, address
        self.complaints: list[str] = []
        tab.on("pageerror", lambda error: self.complaints.append(str(error)))
        tab.on("console", self.heard)
        tab.on("dialog", lambda dialog: (self.complaints.append(dialog.message), dialog.dismiss()))
        self.open(address)

    def heard(self, line: Any) -> None:
        # A refused or outdated edit is an answer like others, and pixels are read by these tests alone.
        ours = any(word in line.text for word in ("422", "409", "willReadFrequently"))
        if line.type in ("error", "warning") and not ours:
            self.complaints.append(line.text)

    def open(self, address: str) -> None:
        self.tab.goto(address)
        self.tab.wait_for_selector("body[data-ready=yes]", timeout=30_000)

    def reaches(self, revision: int) -> None:
        """Wait until a state is shown whole."""
        self.tab.wait_for_function(
            "(wanted) => combe.desk.state.revision >= wanted && !document.body.dataset.busy", arg=revision
        )

    def bodies(self, path: str) -> list[Any]:
        return [body for asked, body in self.desk.asked if asked == path]

    def station(self, name: str = "Lowgate") -> dict[str, Any]:
        return next(one for one in self.desk.now if one["name"].startswith(name))

    def picture(self) -> int:
        """Return a number that tells one painted coverage from another."""
        return self.tab.evaluate(PICTURE)

    def said(self) -> str:
        return self.tab.locator("#desk-said").inner_text()

    def unfold(self, part: str) -> None:
        self.tab.evaluate("(id) => { document.getElementById(id).open = true; }", part)


def opened_on(chromium: Any, word: str = "", **screen: Any) -> Iterator[Opened]:
    with running_desk(word) as (desk, address):
        context = chromium.new_context(viewport={"width": 1300, "height": 900}, **screen)
        opened = Opened(desk, context.new_page(), address)
        yield opened
        context.close()
        assert opened.complaints == []


def kept_variants(page: Opened) -> None:
    """Keep the study as it is, and with a weak relay."""
    page.unfold("variants-part")
    for name in ("first", "weak"):
        page.tab.locator("#variant-name").fill(name)
        page.tab.locator("#variant-name").press("Enter")
        page.tab.get_by_role("button", name=f"Show {name}").wait_for()
        page.tab.evaluate("combe.change({ station: 'Lowgate', erp_w: { 'Multiplex 1': 0.2 } })")
