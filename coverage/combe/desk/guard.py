"""Stands before the desk's server, and lets in only its own page.

The desk listens on this machine alone, and yet any page in any browser here can send requests to it, and any
user of the machine can. A foreign page is known by the name it asks for (``Host``, which also tells a name
that was made to point here) and by where it comes from (``Origin``); a foreign user does not know the token.
What changes anything needs a header of our own besides, which a browser sends for a foreign page only after
it has asked, and that question is refused.
"""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any, Final
from urllib.parse import parse_qs

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

TOKEN_HEADER: Final = "X-Combe-Token"
LARGEST_BODY_BYTES: Final = 1 << 20
"""No question of the page is near it."""

MOST_READ_BYTES: Final = 8 * LARGEST_BODY_BYTES

_NOTHING_LOADED: Final = "default-src 'none'; frame-ancestors 'none'"
_HEADERS: Final = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)
"""On every answer. The address of the page holds the token, so it is told to nobody and kept nowhere."""

_POLICY: Final = b"content-security-policy"


class Guard:
    """The server's application behind the checks."""

    def __init__(self, app: App, port: int, token: str) -> None:
        self._app, self._token = app, token.encode("ascii")
        self._hosts = [f"{name}:{port}".encode("ascii") for name in ("127.0.0.1", "localhost")]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            return
        safe_send = _with_headers(send)
        fault = self._fault(scope)
        if fault:
            await _refuse(safe_send, 403, fault)
            return
        body = await _small_body(scope, receive)
        if body is None:
            await _refuse(safe_send, 413, f"the body is over {LARGEST_BODY_BYTES} bytes")
            return
        await self._app(scope, _again(body, receive), safe_send)

    def _fault(self, scope: Scope) -> str:
        """Return why a request is refused; nothing where it may pass."""
        hosts, origins = _values(scope, "Host"), _values(scope, "Origin")
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return "this name is not the desk's; use the address that combe desk printed"
        if any(origin not in [b"http://" + host for host in self._hosts] for origin in origins):
            return "another page may not ask the desk"
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return "this method is not used here; allowed: GET, HEAD, POST"
        if not self._knows_the_token(scope):
            return "the token is missing or wrong; use the address that combe desk printed"
        if scope["method"] == "POST" and not _is_json(_values(scope, "Content-Type")):
            return "the content has to be of the type application/json"
        return ""

    def _knows_the_token(self, scope: Scope) -> bool:
        """Tell whether a request holds the token: the page in its address, all else in the header."""
        if scope["path"] == "/" and scope["method"] != "POST":
            asked = parse_qs(scope["query_string"].decode("latin-1"))
            given = [each.encode("utf-8") for each in asked.get("token", [])]
        else:
            given = _values(scope, TOKEN_HEADER)
        return len(given) == 1 and hmac.compare_digest(given[0], self._token)


def _values(scope: Scope, name: str) -> list[bytes]:
    """Return the values of a header, of which there may be several."""
    wanted = name.lower().encode("ascii")
    return [value for key, value in scope["headers"] if key.lower() == wanted]


def _is_json(types: list[bytes]) -> bool:
    return len(types) == 1 and types[0].partition(b";")[0].strip().lower() == b"application/json"


async def _small_body(scope: Scope, receive: Receive) -> bytes | None:
    """Return the whole body of a request; None where it is too large, told beforehand or not.

    One that is not much too large is read to its end all the same, for who is still sending hears no answer.
    """
    if any(int(value) > MOST_READ_BYTES for value in _values(scope, "Content-Length")):
        return None
    body, size, more = b"", 0, scope["method"] == "POST"
    while more and size <= MOST_READ_BYTES:
        message = await receive()
        part: bytes = message.get("body", b"")
        size += len(part)
        body = body + part if size <= LARGEST_BODY_BYTES else b""
        more = message.get("more_body", False)
    return body if size <= LARGEST_BODY_BYTES else None


def _again(body: bytes, receive: Receive) -> Receive:
    """Return what hands on a body that was read already, and then what else comes."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def from_here() -> Message:
        return waiting.pop() if waiting else await receive()

    return from_here


def _with_headers(send: Send) -> Send:
    """Return what sends an answer with the headers that each must have; a page's own policy stays."""

    async def safely(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = {name.lower(): value for name, value in message.get("headers", ())}
            policy = given.get(_POLICY, _NOTHING_LOADED.encode("ascii"))
            headers = {**given, **dict(_HEADERS), _POLICY: policy}
            message = {**message, "headers": list(headers.items())}
        await send(message)

    return safely


async def _refuse(send: Send, status: int, words: str) -> None:
    """Send one plain line."""
    line = f"{words}\n".encode()
    await send({"type": "http.response.start", "status": status, "headers": _plain(len(line))})
    await send({"type": "http.response.body", "body": line})


def _plain(length: int) -> Iterable[tuple[bytes, bytes]]:
    return [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", str(length).encode("ascii")),
        (b"connection", b"close"),
    ]
