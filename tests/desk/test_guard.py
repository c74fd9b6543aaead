"""The guard of the desk: whom it refuses, whom it lets in, and what stands on every answer."""

from __future__ import annotations

import asyncio

import pytest

from combe.desk.guard import LARGEST_BODY_BYTES, MOST_READ_BYTES, Guard

PORT, TOKEN = 8123, "a-token"
HERE = f"127.0.0.1:{PORT}"
KNOWN = {"Host": HERE, "X-Combe-Token": TOKEN}
POSTED = {**KNOWN, "Content-Type": "application/json"}


async def _application(scope, receive, send):
    """Answer 200 with the body that came."""
    message = await receive()
    assert not message["more_body"]
    await send({"type": "http.response.start", "status": 200, "headers": [(b"cache-control", b"public")]})
    await send({"type": "http.response.body", "body": message["body"] or b"passed"})


def answer(method="GET", target="/api/state", headers=KNOWN, chunks=(b"",), more_headers=()):
    """Return status, headers and body of what the guard answers; the body comes in these chunks."""
    path, _, query = target.partition("?")
    given = [(name.lower().encode(), value.encode()) for name, value in [*headers.items(), *more_headers]]
    scope = {"type": "http", "method": method, "path": path, "query_string": query.encode(), "headers": given}
    waiting = [{"type": "http.request", "body": each, "more_body": True} for each in chunks]
    if waiting:
        waiting[-1]["more_body"] = False
    sent = []

    async def receive():
        return waiting.pop(0)

    async def send(message):
        sent.append(message)

    asyncio.run(Guard(_application, PORT, TOKEN)(scope, receive, send))
    assert len(waiting) > 0 or len(chunks) < 100
    start, *rest = sent
    told = {name.decode(): value.decode() for name, value in start["headers"]}
    return start["status"], told, b"".join(each["body"] for each in rest)


@pytest.mark.parametrize("host", [HERE, f"localhost:{PORT}"])
def test_the_page_of_the_desk_passes(host):
    assert answer(target=f"/?token={TOKEN}", headers={"Host": host})[0] == 200
    own = {"Host": host, "Origin": f"http://{host}"}
    assert answer(headers={**KNOWN, **own})[0] == 200
    assert answer("POST", "/api/change", {**POSTED, **own}, [b'{"a"', b":1}"])[::2] == (200, b'{"a":1}')
    assert answer("HEAD")[0] == 200


REFUSED = {
    "no token": ("GET", "/api/state", {"Host": HERE}),
    "a wrong token": ("GET", "/api/state", {**KNOWN, "X-Combe-Token": TOKEN + "x"}),
    "a token that is no ASCII": ("GET", "/api/state", {**KNOWN, "X-Combe-Token": "é"}),
    "the token in the address of a question": ("GET", f"/api/state?token={TOKEN}", {"Host": HERE}),
    "a page without token": ("GET", "/", {"Host": HERE}),
    "a page with a wrong token": ("GET", "/?token=a", {"Host": HERE}),
    "a page with an empty token": ("GET", "/?token=", {"Host": HERE}),
    "a page with two tokens": ("GET", f"/?token={TOKEN}&token={TOKEN}", {"Host": HERE}),
    "any other path": ("GET", "/other", {"Host": HERE}),
    "a doubled stroke": ("GET", f"//?token={TOKEN}", {"Host": HERE}),
    "no host": ("GET", "/api/state", {"X-Combe-Token": TOKEN}),
    "a name that was made to point here": ("GET", "/api/state", {**KNOWN, "Host": f"evil.example:{PORT}"}),
    "another port": ("GET", "/api/state", {**KNOWN, "Host": "127.0.0.1:80"}),
    "no port": ("GET", "/api/state", {**KNOWN, "Host": "127.0.0.1"}),
    "a foreign origin": ("GET", "/api/state", {**KNOWN, "Origin": "http://evil.example"}),
    "the origin null": ("GET", "/api/state", {**KNOWN, "Origin": "null"}),
    "the origin over https": ("GET", "/api/state", {**KNOWN, "Origin": f"https://{HERE}"}),
    "a foreign origin for the page": ("GET", f"/?token={TOKEN}", {"Host": HERE, "Origin": "null"}),
    "what a browser asks beforehand": ("OPTIONS", "/api/change", {"Host": HERE, "Origin": f"http://{HERE}"}),
    "that with a token": ("OPTIONS", "/api/change", POSTED),
    "other methods": ("PUT", "/api/change", POSTED),
    "a form": ("POST", "/api/change", {**KNOWN, "Content-Type": "text/plain"}),
    "no type": ("POST", "/api/change", KNOWN),
    "a change with the token in its address": (
        *("POST", f"/?token={TOKEN}"),
        {"Host": HERE, "Content-Type": "application/json"},
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused(case):
    status, told, body = answer(*REFUSED[case])
    assert status == 403
    assert told["content-type"].startswith("text/plain")
    assert body.endswith(b"\n")
    assert body.count(b"\n") == 1
    assert TOKEN.encode() not in body


@pytest.mark.parametrize("name", ["Host", "X-Combe-Token"])
def test_a_header_that_comes_twice_is_refused(name):
    assert answer(more_headers=[(name, KNOWN[name])])[0] == 403


def test_a_second_origin_is_looked_at_too():
    own = {**KNOWN, "Origin": f"http://{HERE}"}
    assert answer(headers=own)[0] == 200
    assert answer(headers=own, more_headers=[("Origin", "http://evil.example")])[0] == 403


def test_a_body_that_says_it_is_far_too_large_is_not_read():
    status, _, body = answer("POST", "/api/x", {**POSTED, "Content-Length": str(MOST_READ_BYTES + 1)}, [])
    assert status == 413
    assert body.count(b"\n") == 1


def test_a_body_that_grows_too_large_is_refused_when_it_was_sent():
    half = b" " * (LARGEST_BODY_BYTES // 2)
    assert answer("POST", "/api/x", POSTED, [half, half])[::2] == (200, half + half)
    assert answer("POST", "/api/x", POSTED, [half, half, b" ", b" "])[0] == 413


def test_a_body_that_never_ends_is_given_up():
    chunk = b" " * LARGEST_BODY_BYTES
    assert answer("POST", "/api/x", POSTED, [chunk] * 100)[0] == 413


@pytest.mark.parametrize("headers", [KNOWN, {"Host": HERE}])
def test_what_stands_on_every_answer(headers):
    _, told, _ = answer(headers=headers)
    assert told["x-content-type-options"] == "nosniff"
    assert told["referrer-policy"] == "no-referrer"
    assert told["cross-origin-opener-policy"] == told["cross-origin-resource-policy"] == "same-origin"
    assert told["cache-control"] == "no-store"
    assert told["content-security-policy"] == "default-src 'none'; frame-ancestors 'none'"
    assert not [name for name in told if name.startswith("access-control")]
