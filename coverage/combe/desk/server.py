"""Runs the desk's server: its socket, its token, and an end that waits for nothing."""

from __future__ import annotations

import os
import secrets
import socket
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from contextlib import suppress
from types import FrameType
from typing import Final

import uvicorn

from combe.desk.api import Api
from combe.desk.events import Events
from combe.desk.guard import Guard
from combe.desk.protocol import Session
from combe.desk.work import Work
from combe.errors import RangeError

_LOOPBACK: Final = "127.0.0.1"
"""As a number: the name may mean another address elsewhere."""


class Desk:
    """A server that has its address, and does not answer yet."""

    def __init__(self, port: int) -> None:
        self._socket = _listening(port)
        self._port: int = self._socket.getsockname()[1]
        self._token = secrets.token_urlsafe(24)
        self.place = f"http://{_LOOPBACK}:{self._port}/"
        self.address = f"{self.place}?token={self._token}"

    def __enter__(self) -> Desk:
        """Hold the address while a block runs."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let the address go."""
        self._socket.close()

    def serve(self, opened: Callable[[Callable[[str], None]], Session]) -> None:
        """Make the session and answer, until an interrupt; raise what keeps the session from being made.

        ``opened`` makes the session, and is given what it may tell in words how far that is.
        """
        work, events, opening = Work(), Events(), Events(last_first=True)
        session = work.started(lambda: opened(lambda words: opening.tell("opening", {"words": words})))
        guard = Guard(Api(session, work, events, opening).application(), self._port, self._token)
        server = _Server(_config(guard), work, (events, opening))
        session.add_done_callback(server.end_without_session)
        # One that comes before the server listens for it means the same.
        with suppress(KeyboardInterrupt):
            server.run(sockets=[self._socket])
        _raise_fault_of(session)
        if not work.all_ended():
            _leave()


class _Server(uvicorn.Server):
    """A server that lets go of all work at an interrupt, and then ends as if nothing were amiss."""

    def __init__(self, config: uvicorn.Config, work: Work, events: Sequence[Events]) -> None:
        super().__init__(config)
        self._work, self._events = work, events

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Begin to end; the signal is not raised again afterwards, as the library's own would do."""
        del sig, frame
        self.force_exit = self.should_exit
        self.should_exit = True
        self._work.stop()

    def end_without_session(self, session: Future[Session]) -> None:
        """End where the session could not be made."""
        if session.exception() is not None:
            self.should_exit = True

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Let all who wait go before connections are waited for."""
        self._work.end()
        for each in self._events:
            each.end()
        await super().shutdown(sockets)


def _config(guard: Guard) -> uvicorn.Config:
    """Return the server's settings: quiet, and with nothing that is not used."""
    return uvicorn.Config(
        guard,
        loop="asyncio",
        http="h11",
        ws="none",
        lifespan="off",
        interface="asgi3",
        log_config=None,
        log_level="critical",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=1,
    )


def _listening(port: int) -> socket.socket:
    """Return a socket of this machine alone; raise RangeError where another program has the port."""
    # asyncio sends small answers at once only on a socket that says it speaks TCP; else each takes 40 ms.
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        # There it would let two programs share the port; here it lets a desk come back to its own at once.
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((_LOOPBACK, port))
        found.listen()
    except OSError:
        found.close()
        advice = "name another, or none and a free one is taken"
        raise RangeError("port", port, "one that no other program has", advice) from None
    return found


def _raise_fault_of(session: Future[Session]) -> None:
    if session.done() and (fault := session.exception()) is not None:
        raise fault


def _leave() -> None:
    """End the process at once: work that cannot be told to stop would keep it.

    What it held is let go by the system, and what it left half-done the next run clears away.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)
