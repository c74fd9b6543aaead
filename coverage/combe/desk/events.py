"""What the desk tells its page without being asked: server-sent events, one stream a page."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Mapping
from typing import Any, Final

ALIVE_EVERY_S: Final = 15.0
"""How often a silent stream sends a remark, by which a page that went away is found."""


class Events:
    """The streams that are open, and what each is still to send."""

    def __init__(self, *, last_first: bool = False) -> None:
        """``last_first`` has a new stream begin with what was told last, for who comes late."""
        self._last_first, self._last = last_first, ""
        self._streams: dict[asyncio.Queue[str | None], asyncio.AbstractEventLoop] = {}
        self._ended = False

    def tell(self, event: str, told: Mapping[str, Any]) -> None:
        """Tell all pages, from whatever thread."""
        words = f"event: {event}\ndata: {json.dumps(told, allow_nan=False)}\n\n"
        if self._last_first:
            self._last = words
        self._send(words)

    def end(self) -> None:
        """Close all streams."""
        self._ended = True
        self._send(None)

    def _send(self, words: str | None) -> None:
        for queue, loop in list(self._streams.items()):
            if not loop.is_closed():
                loop.call_soon_threadsafe(queue.put_nowait, words)

    async def stream(self) -> AsyncIterator[str]:
        """Yield what a page is to be told, from now on, until the end."""
        queue: asyncio.Queue[str | None] = asyncio.Queue()
        self._streams[queue] = asyncio.get_running_loop()
        try:
            if self._ended:
                queue.put_nowait(None)
            # What was told before the end is still sent.
            words: str | None = f": open\n\n{self._last}"
            while words is not None:
                yield words
                words = await _next(queue)
        finally:
            del self._streams[queue]


async def _next(queue: asyncio.Queue[str | None]) -> str | None:
    try:
        return await asyncio.wait_for(queue.get(), ALIVE_EVERY_S)
    except TimeoutError:
        return ": still here\n\n"
