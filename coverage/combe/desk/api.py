"""The addresses of the desk: what each asks, and how the answer is sent.

Nothing is worked out here. A fault of a question is 422 with one line, an answer that a newer question made
useless 409, and what nobody foresaw 500 with one line and no trace of where it came from.
"""

from __future__ import annotations

import asyncio
import json
import os
import sys
import traceback
from collections.abc import Awaitable, Callable, Mapping
from concurrent.futures import Future
from typing import Any, Final

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse
from starlette.routing import Route

from combe.desk.events import Events
from combe.desk.protocol import Layer, Session, Stop
from combe.desk.questions import QuestionError, fields_of, json_object, number, query_of
from combe.desk.work import EndedError, Turn, Work, settings_of
from combe.errors import Cancelled, CombeError, quoted
from combe.publishing.as_json import plain
from combe.publishing.desk_page import render_opening
from combe.publishing.inline import policy_as_header
from combe.version import __version__

PAGE_RULES: Final = ("connect-src 'self'", "frame-ancestors 'none'")
"""What the page of the desk may do beyond any page, and what only a header can forbid."""

TRACEBACK_SWITCH: Final = "COMBE_TRACEBACK"
_MOST_SIGNS_OF_A_SURPRISE: Final = 300

Endpoint = Callable[[Request], Awaitable[Response]]
Settle = Callable[[Session, Stop, bool], Mapping[str, Any]]
"""Brings a session to a new state; the last tells whether its ranges are wanted with it."""

RANGES_LATER: Final = "later"


class Api:
    """The application over a session that is still being made when the first question comes."""

    def __init__(self, session: Future[Session], work: Work, events: Events, opening: Events) -> None:
        self._session, self._work, self._events, self._opening = session, work, events, opening
        session.add_done_callback(self._opened)
        self._search: asyncio.Task[None] | None = None
        self._searched = Turn("search for hills")

    def application(self) -> Starlette:
        """Return the application with all its addresses."""
        gets: dict[str, Endpoint] = {
            "/": self.page,
            "/api/state": self._told_by(lambda session: session.state()),
            "/api/layers": self._told_by(lambda session: session.layers()),
            "/api/layer/{key}": self.layer,
            "/api/marks": self._told_by(lambda session: session.marks()),
            "/api/explain": self.explain,
            "/api/feed": self.feed,
            "/api/hills": self._told_by(lambda session: session.hills()),
            "/api/events": self.events,
            "/api/opening": self.opening,
        }
        posts: dict[str, Endpoint] = {
            "/api/change": self.change,
            "/api/sketch": self.sketch,
            "/api/add": self.add,
            "/api/remove": self.remove,
            "/api/undo": self._settled_by("undo", lambda session, *how: session.undo(*how)),
            "/api/redo": self._settled_by("redo", lambda session, *how: session.redo(*how)),
            "/api/replay": self.replay,
            "/api/hills": self.search,
            "/api/variants": self.keep,
            "/api/variants/show": self.show,
            "/api/variants/remove": self.forget,
            "/api/save": self.save,
        }
        routes = [Route(path, _answered(asked), methods=["GET"]) for path, asked in gets.items()]
        routes += [Route(path, _answered(asked), methods=["POST"]) for path, asked in posts.items()]
        return Starlette(routes=routes, exception_handlers={HTTPException: _not_here})

    async def page(self, request: Request) -> Response:
        """Return the page, its policy in the header; one that tells how far the opening is until then."""
        query_of(request.query_params.multi_items(), "token")
        is_open = self._session.done()
        page = await self._ask(lambda session: session.page()) if is_open else render_opening()
        bare, policy = policy_as_header(page, *PAGE_RULES)
        return HTMLResponse(bare, headers={"Content-Security-Policy": policy})

    async def layer(self, request: Request) -> Response:
        """Return one layer."""
        (variant,) = query_of(request.query_params.multi_items(), optional=("variant",))
        key = request.path_params["key"]
        return _bytes(await self._ask(lambda session: session.layer(key, variant)))

    async def explain(self, request: Request) -> Response:
        """Explain a place."""
        names = ("longitude_deg", "latitude_deg")
        asked = query_of(request.query_params.multi_items(), *names)
        place = [number(name, text) for name, text in zip(names, asked, strict=True)]
        return _json(await self._ask(lambda session: session.explain(*place)))

    async def feed(self, request: Request) -> Response:
        """Return a relay's feed."""
        (station,) = query_of(request.query_params.multi_items(), "station")
        return _json(await self._ask(lambda session: session.feed(station or "")))

    async def events(self, request: Request) -> Response:
        """Open a stream of what the page is told."""
        query_of(request.query_params.multi_items())
        return StreamingResponse(self._events.stream(), media_type="text/event-stream")

    async def opening(self, request: Request) -> Response:
        """Open a stream of how far the opening of the study is, to its end."""
        query_of(request.query_params.multi_items())
        return StreamingResponse(self._opening.stream(), media_type="text/event-stream")

    def _opened(self, session: Future[Session]) -> None:
        """Tell who waits that the desk is open, or why it cannot be."""
        fault = session.exception()
        if fault is None:
            self._opening.tell("opened", {})
        else:
            self._opening.tell("failed", {"fault": _wrong(fault)[1]})
        self._opening.end()

    async def change(self, request: Request) -> Response:
        """Change a station."""
        edit = await _change_in(request)
        turn = Turn("change", settings_of(edit))
        return await self._settle(request, turn, lambda session, *how: session.edit(edit, *how))

    async def sketch(self, request: Request) -> Response:
        """Preview a change."""
        edit = await _change_in(request)
        async with self._work.turn(Turn("sketch")) as stop:
            return _bytes(await self._ask(lambda session: session.sketch(edit, stop)))

    async def add(self, request: Request) -> Response:
        """Add a relay."""
        edit = {"add": json_object(await request.body())}
        return await self._settle(request, Turn("relay"), lambda session, *how: session.edit(edit, *how))

    async def remove(self, request: Request) -> Response:
        """Take a station away."""
        (station,) = await _fields(request, station=str)
        edit = {"remove": station}
        return await self._settle(request, Turn("removal"), lambda session, *how: session.edit(edit, *how))

    async def replay(self, request: Request) -> Response:
        """Make other edits on the study of the file."""
        (edits,) = await _fields(request, edits=list)
        if not all(isinstance(edit, dict) for edit in edits):
            raise QuestionError('"edits" holds something else than objects; give a list of edits')
        return await self._settle(request, Turn("replay"), lambda session, *how: session.replay(edits, *how))

    async def keep(self, request: Request) -> Response:
        """Keep the present state."""
        (name,) = await _fields(request, name=str)
        return await self._settle(request, Turn("variant"), lambda session, *_: session.keep(name))

    async def show(self, request: Request) -> Response:
        """Make a variant the present state."""
        (name,) = await _fields(request, name=str)
        return await self._settle(request, Turn("variant"), lambda session, *how: session.show(name, *how))

    async def forget(self, request: Request) -> Response:
        """Remove a variant."""
        (name,) = await _fields(request, name=str)
        return await self._settle(request, Turn("variant"), lambda session, *_: session.forget(name))

    async def save(self, request: Request) -> Response:
        """Write a study file; while it is written nothing changes."""
        told = json_object(await request.body())
        path, overwrite = fields_of(told, {"path": str, "overwrite": bool}, overwrite=False)
        async with self._work.turn(Turn("study")):
            return _json(await self._ask(lambda session: session.save(path, overwrite)))

    async def search(self, request: Request) -> Response:
        """Begin the search for hills, which goes on; one that is at work is given up."""
        await _fields(request)
        session = await self._work.answer_of(self._session)
        self._searched.unwanted.set()
        self._searched, before = Turn("search for hills"), self._search
        self._search = asyncio.ensure_future(self._hills(session, self._searched, before))
        return _json({"state": "running"}, 202)

    async def _hills(self, session: Session, turn: Turn, before: asyncio.Task[None] | None) -> None:
        """Search when the search before has ended, and tell how far it is."""
        if before is not None:
            await asyncio.wait({before})

        def told(share: float) -> None:
            self._events.tell("hills", {"share": share})

        try:
            await self._work.in_thread(lambda: session.start_hills(told, self._work.stops(turn)))
            told(1.0)
        except (Cancelled, EndedError):
            return
        except Exception as error:
            _, fault = _wrong(error)
            self._events.tell("hills", {"fault": fault})

    async def _ask(self, question: Callable[[Session], Any]) -> Any:
        """Ask the session in a thread."""
        session = await self._work.answer_of(self._session)
        return await self._work.in_thread(lambda: question(session))

    async def _settle(self, request: Request, turn: Turn, settle: Settle) -> Response:
        """Bring the session to a new state, return that, and tell the pages that it is settled.

        With ``?ranges=later`` the state comes without the ranges of its people; ``/api/state`` has them.
        """
        (ranges,) = query_of(request.query_params.multi_items(), optional=("ranges",))
        if ranges not in (None, RANGES_LATER):
            raise QuestionError(f"ranges is {quoted(ranges)}; allowed: {RANGES_LATER}")
        async with self._work.turn(turn) as stop:
            state = await self._ask(lambda session: settle(session, stop, ranges is None))
        self._events.tell("settled", {"revision": state["revision"]})
        return _json(state)

    def _told_by(self, question: Callable[[Session], Any]) -> Endpoint:
        """Return what answers a question that has no parts."""

        async def asked(request: Request) -> Response:
            query_of(request.query_params.multi_items())
            return _json(await self._ask(question))

        return asked

    def _settled_by(self, kind: str, settle: Settle) -> Endpoint:
        """Return what brings about a new state without being told more."""

        async def asked(request: Request) -> Response:
            await _fields(request)
            return await self._settle(request, Turn(kind), settle)

        return asked


async def _change_in(request: Request) -> dict[str, Any]:
    """Return the change of a station that a body holds; what else it says, the study's own rules judge."""
    edit = json_object(await request.body())
    if not isinstance(edit.get("station"), str):
        raise QuestionError('a change needs "station"; give its name')
    return edit


async def _fields(request: Request, **wanted: type) -> list[Any]:
    return fields_of(json_object(await request.body()), wanted)


def _answered(asked: Endpoint) -> Endpoint:
    """Return an endpoint that answers with a fault instead of raising it."""

    async def endpoint(request: Request) -> Response:
        try:
            return await asked(request)
        except Exception as error:
            status, fault = _wrong(error)
            return _json({"fault": fault}, status)

    return endpoint


def _wrong(error: BaseException) -> tuple[int, str]:
    """Return the status and the one line for an error."""
    words = " ".join(str(error).split())
    if isinstance(error, EndedError):
        return 503, "the desk was ended; start it again with combe desk"
    if isinstance(error, Cancelled):
        return 409, words
    if isinstance(error, CombeError):
        return 422, words
    if os.environ.get(TRACEBACK_SWITCH) == "1":
        traceback.print_exception(error, file=sys.stderr)
    surprise = f"{type(error).__name__}{': ' + words if words else ''}"[:_MOST_SIGNS_OF_A_SURPRISE]
    return 500, f"this is a fault of Combe {__version__}, not of yours: {surprise}"


async def _not_here(request: Request, error: Exception) -> Response:
    """Answer for an address or a method that there is not."""
    assert isinstance(error, HTTPException)
    fault = f"there is no {request.method} {request.url.path} here"
    return _json({"fault": fault}, error.status_code)


def _json(told: Any, status: int = 200) -> Response:
    content = json.dumps(plain(told), allow_nan=False, separators=(",", ":"))
    return Response(content, status, media_type="application/json")


def _bytes(layer: Layer) -> Response:
    return Response(layer.codes, headers=layer.headers, media_type="application/octet-stream")
