"""Asks web servers for files, whole or in parts: bounded, patient, and only where it was told to ask.

A redirect is followed on the same host alone, so that whoever answers is who was asked. What may pass by
itself (a server that is busy, a line that breaks) is tried again after a pause; what does not is one error.
"""

from __future__ import annotations

import re
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path
from threading import Event
from typing import Any, Final, NamedTuple
from urllib.parse import urljoin, urlsplit

import urllib3

from combe.errors import Cancelled, FetchError
from combe.version import __version__

_PASSING: Final = frozenset({408, 425, 429, 500, 502, 503, 504})
_REDIRECTS: Final = frozenset({301, 302, 303, 307, 308})
_MOST_REDIRECTS: Final = 3
_LONGEST_PAUSE_S: Final = 60.0
_CHUNK_BYTES: Final = 1 << 18
_RANGE: Final = re.compile(r"bytes (\d+)-(\d+)/(\d+)")
_TOO_FEW: Final = "the line broke before all of it came"


class NotThere(FetchError):  # noqa: N818 (an answer as good as any)
    """The server says that it has no such file: 404, and nothing else."""


class Part(NamedTuple):
    """Bytes of a file, where they begin, how many the whole file has, and which state of it they are of."""

    content: bytes
    start: int
    total: int
    state: str


class _Broken(Exception):  # noqa: N818 (never seen outside)
    """What may pass by itself: why, and how long the server asks to wait."""

    def __init__(self, why: str, wait_s: float = 0.0) -> None:
        self.why, self.wait_s = why, wait_s
        super().__init__(why)


@dataclass
class Web:
    """A careful asker of web servers; threads may share one.

    Attributes
    ----------
    connect_s, read_s
        How long to wait for a connection, and for each further piece of an answer.
    tries
        How often the same is asked where the fault may pass.
    pause_s
        The first pause between two tries; each is twice the one before.
    stop
        Set to give up what is going on.
    requests
        How many requests were sent.
    """

    connect_s: float = 20.0
    read_s: float = 120.0
    tries: int = 4
    pause_s: float = 1.0
    stop: Event = field(default_factory=Event)
    requests: int = 0

    def size(self, address: str) -> int | None:
        """Return how many bytes a file has; None where the server does not tell.

        Raises
        ------
        NotThere
            There is no such file.
        FetchError
            Any other fault.
        """
        found: int | None = self._patiently(address, self._size)
        return found

    def part(self, address: str, start: int, end: int, state: str = "") -> Part | None:
        """Return the bytes from ``start`` to before ``end``; None where the server sends whole files only.

        With ``state``, the file has to be the one of which earlier parts were.
        """
        found: Part | None = self._patiently(address, lambda each: self._part(each, start, end, state))
        return found

    def download(self, address: str, target: Path, expected: int | None = None) -> None:
        """Fetch a whole file to ``target``, from where an earlier try stopped.

        What has come so far stands beside it as ``.part``, and its state as ``.part.state``; the name itself
        appears only when all is there.
        """
        self._patiently(address, lambda each: self._download(each, target, expected))

    def _patiently(self, address: str, ask: Any) -> Any:
        why = ""
        for number in range(self.tries):
            try:
                return ask(address)
            except _Broken as fault:
                why, wait_s = fault.why, max(fault.wait_s, self.pause_s * 2**number)
            if number < self.tries - 1 and self.stop.wait(min(wait_s, _LONGEST_PAUSE_S)):
                raise Cancelled("fetching")
        raise FetchError(address, f"{why}, {self.tries} times", "try again later: what has come is kept")

    def _size(self, address: str) -> int | None:
        with self._answer("HEAD", address, {}) as answer:
            _check_status(address, answer, {HTTPStatus.OK})
            return _length(answer)

    def _part(self, address: str, start: int, end: int, state: str) -> Part | None:
        wanted = {"Range": f"bytes={start}-{end - 1}"}
        with self._answer("GET", address, wanted) as answer:
            _check_status(address, answer, {HTTPStatus.OK, HTTPStatus.PARTIAL_CONTENT})
            if answer.status == HTTPStatus.OK:
                return None
            told = _RANGE.fullmatch(answer.headers.get("Content-Range", ""))
            if not told or int(told[1]) != start:
                raise FetchError(address, "the server sends other bytes than were asked for")
            total, found = int(told[3]), _state(answer)
            if state and found != state:
                raise FetchError(address, "the file was changed meanwhile", "fetch it again")
            content = b"".join(self._pieces(answer))
        if len(content) != min(end, total) - start:
            raise _Broken(_TOO_FEW)
        return Part(content, start, total, found)

    def _download(self, address: str, target: Path, expected: int | None) -> None:
        part, note = target.with_name(f"{target.name}.part"), target.with_name(f"{target.name}.part.state")
        held = part.stat().st_size if part.exists() and note.exists() else 0
        state = note.read_text("utf-8") if held else ""
        wanted = {"Range": f"bytes={held}-", "If-Range": state} if held and state else {}
        with self._answer("GET", address, wanted) as answer:
            allowed = {HTTPStatus.OK, HTTPStatus.PARTIAL_CONTENT, HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE}
            _check_status(address, answer, allowed)
            if answer.status == HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE:
                _forget(part, note)
                raise _Broken("the server does not go on where an earlier try stopped")
            goes_on = answer.status == HTTPStatus.PARTIAL_CONTENT
            start, total = self._beginning(address, answer, held, goes_on)
            note.write_text(_strong(answer), "utf-8")
            with part.open("r+b" if goes_on else "wb") as file:
                file.seek(start)
                file.truncate()
                for piece in self._pieces(answer):
                    file.write(piece)
                size = file.tell()
        whole = total if total is not None else expected
        if whole is not None and size < whole:
            raise _Broken(_TOO_FEW)
        if whole is not None and size > whole:
            _forget(part, note)
            raise FetchError(address, f"{size} bytes came and {whole} were announced")
        part.replace(target)
        _forget(part, note)

    @staticmethod
    def _beginning(address: str, answer: Any, held: int, goes_on: bool) -> tuple[int, int | None]:
        """Return where the bytes of an answer begin in the file, and how many it has in all."""
        if not goes_on:
            return 0, _length(answer)
        told = _RANGE.fullmatch(answer.headers.get("Content-Range", ""))
        if not told or int(told[1]) != held:
            raise FetchError(address, "the server sends other bytes than were asked for")
        return held, int(told[3])

    def _pieces(self, answer: Any) -> Iterator[bytes]:
        """Yield the bytes of an answer as they come."""
        try:
            for piece in answer.stream(_CHUNK_BYTES, decode_content=False):
                if self.stop.is_set():
                    raise Cancelled("fetching")
                yield piece
        except (urllib3.exceptions.HTTPError, OSError) as fault:
            raise _Broken(_why(fault)) from None

    @contextmanager
    def _answer(self, method: str, address: str, headers: Mapping[str, str]) -> Iterator[Any]:
        """Yield an answer whose content is still to be read, after redirects on the same host."""
        here = address
        for _ in range(_MOST_REDIRECTS + 1):
            answer = self._ask(method, here, headers)
            try:
                if answer.status not in _REDIRECTS:
                    yield answer
                    return
                here = _followed(address, here, answer.headers.get("Location", ""))
            finally:
                # What is left unread would be taken for the next answer, so its connection is not used again.
                answer.close()
                answer.release_conn()
        raise FetchError(address, "it is redirected again and again")

    def _ask(self, method: str, address: str, headers: Mapping[str, str]) -> Any:
        if self.stop.is_set():
            raise Cancelled("fetching")
        self.requests += 1
        own = {"User-Agent": f"combe/{__version__}", "Accept-Encoding": "identity"}
        timeout = urllib3.Timeout(connect=self.connect_s, read=self.read_s)
        try:
            return self._pool(address).request(
                method, address, headers={**own, **headers}, timeout=timeout, retries=False, redirect=False,
                preload_content=False,
            )  # fmt: skip
        except urllib3.exceptions.LocationValueError as fault:
            raise FetchError(address, f"it is no address ({fault})") from None
        except (urllib3.exceptions.HTTPError, OSError) as fault:
            raise _Broken(_why(fault)) from None

    def _pool(self, address: str) -> Any:
        """Return what keeps connections: to the host itself, or to the proxy that the system names for it."""
        parts = urlsplit(address)
        proxy = urllib.request.getproxies().get(parts.scheme)
        if proxy and not urllib.request.proxy_bypass(parts.hostname or ""):
            return urllib3.ProxyManager(proxy)
        return _POOL


_POOL: Final = urllib3.PoolManager(num_pools=8, maxsize=4)


def _followed(first: str, here: str, target: str) -> str:
    """Return where a redirect leads, which has to be the host that was asked."""
    there = urljoin(here, target)
    asked, led = urlsplit(here), urlsplit(there)
    same = asked.hostname == led.hostname and (asked.port == led.port or led.scheme == "https")
    if (
        not target
        or not same
        or led.scheme not in ("http", "https")
        or (asked.scheme, led.scheme) == ("https", "http")
    ):
        host = led.netloc.rpartition("@")[2] or "nowhere"
        raise FetchError(
            first,
            f"it is redirected to {host}, and only the host that was named is asked",
            "name the new address in a file of sources, if you trust it",
        )
    return there


def _check_status(address: str, answer: Any, allowed: set[HTTPStatus]) -> None:
    status = int(answer.status)
    if status in allowed:
        return
    if status in _PASSING:
        raise _Broken(f"the server answers {_named(status)}", _asked_to_wait_s(answer))
    if status == HTTPStatus.NOT_FOUND:
        raise NotThere(address, "there is no such file (404)")
    raise FetchError(address, f"the server answers {_named(status)}")


def _named(status: int) -> str:
    with suppress(ValueError):
        return f"{status} {HTTPStatus(status).phrase}"
    return str(status)


def _asked_to_wait_s(answer: Any) -> float:
    told = answer.headers.get("Retry-After", "")
    return float(told) if told.isdecimal() else 0.0


def _length(answer: Any) -> int | None:
    told = answer.headers.get("Content-Length", "")
    return int(told) if told.isdecimal() else None


def _state(answer: Any) -> str:
    """Return what tells one state of a file from another."""
    return str(answer.headers.get("ETag") or answer.headers.get("Last-Modified") or "")


def _strong(answer: Any) -> str:
    """Return a state that a server accepts for going on: none that it calls weak."""
    state = _state(answer)
    return "" if state.startswith("W/") else state


def _forget(*files: Path) -> None:
    for file in files:
        file.unlink(missing_ok=True)


def _why(fault: Exception) -> str:
    """Return what went wrong on the way, in plain words."""
    for kind, words in _FAULTS:
        if isinstance(fault, kind):
            return words
    return " ".join(str(fault).split())[:200] or type(fault).__name__


_FAULTS: Final = (
    (urllib3.exceptions.ConnectTimeoutError, "nobody answers there"),
    (urllib3.exceptions.ReadTimeoutError, "the server went silent"),
    (urllib3.exceptions.NameResolutionError, "there is no such host, or no network"),
    (urllib3.exceptions.NewConnectionError, "nobody answers there"),
    (urllib3.exceptions.SSLError, "its certificate or encryption is not accepted"),
    (urllib3.exceptions.ProtocolError, _TOO_FEW),
    (TimeoutError, "the server went silent"),
)
