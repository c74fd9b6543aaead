"""A desk without a study: a session that works as slowly as it is told, and a server of it in a process."""

from __future__ import annotations

import atexit
import http.client
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from combe.desk.protocol import Layer, Stop
from combe.errors import Cancelled, RangeError, RasterError, StudyError
from combe.publishing.inline import page_of

CLEARED = "cleared away\n"
"""What a desk prints last that ends in the usual way."""

SLOWLY_S = 30.0
"""How long work takes that is to be stopped; a test that waits for its end fails."""


SOON_S = 3.0
"""How long an opening takes that a test waits for."""


class FakeSession:
    """Keeps the edits that it got, and whether two came at once."""

    def __init__(self) -> None:
        self.edits: list[Any] = []
        self.at_work, self.most_at_work = 0, 0
        self.begun: list[str] = []

    def page(self) -> str:
        return page_of("Desk", "p { color: black }", "<p>the desk</p>")

    def state(self) -> dict[str, Any]:
        return {"revision": len(self.edits), "edits": self.edits, "begun": self.begun, "nan": float("nan")}

    def _work(self, name: str, seconds: float, stop: Stop | None) -> None:
        """Work in small steps, and look before each whether to go on; None: it looks at nothing."""
        self.begun.append(name)
        self.at_work += 1
        self.most_at_work = max(self.most_at_work, self.at_work)
        try:
            until = time.monotonic() + seconds
            while time.monotonic() < until:
                if stop is not None and stop():
                    raise Cancelled("the work")
                time.sleep(0.005)
        finally:
            self.at_work -= 1

    def edit(self, edit: Any, stop: Stop, _ranges: bool = True) -> dict[str, Any]:
        if edit.get("station") == "Nowhere":
            raise RangeError("station", '"Nowhere"', "one of the study", "two\nlines")
        if edit.get("station") == "Surprise":
            raise ZeroDivisionError("two\nlines")
        self._work(json.dumps(edit), edit.get("seconds", 0.0), None if edit.get("deaf") else stop)
        self.edits.append(edit)
        return {**self.state(), "most_at_work": self.most_at_work}

    def undo(self, stop: Stop, _ranges: bool = True) -> dict[str, Any]:
        self._work("undo", 0.0, stop)
        if not self.edits:
            raise RangeError("undo", 0, "something to undo")
        self.edits.pop()
        return self.state()

    redo = undo

    def replay(self, edits: Any, stop: Stop, _ranges: bool = True) -> dict[str, Any]:
        self._work("replay", 0.0, stop)
        self.edits = list(edits)
        return self.state()

    def sketch(self, edit: Any, stop: Stop) -> Layer:
        self._work("sketch", edit.get("seconds", 0.0), stop)
        return Layer(b"\x01\x02", {"X-Combe-Sketch": json.dumps({"of": "all"})})

    def layers(self) -> list[dict[str, Any]]:
        return [{"key": "story"}]

    def layer(self, key: str, variant: str | None) -> Layer:
        if key == "none":
            raise RangeError("layer", key, "story")
        return Layer(f"{key} {variant}".encode(), {"X-Combe-Base": "7"})

    def marks(self) -> dict[str, Any]:
        return {"states": "012"}

    def explain(self, longitude_deg: float, latitude_deg: float) -> dict[str, Any]:
        return {"place": [longitude_deg, latitude_deg]}

    def feed(self, station: str) -> dict[str, Any]:
        return {"verdict": station}

    def start_hills(self, told: Any, stop: Stop) -> None:
        told(0.25)
        self._work("hills", SLOWLY_S, stop)

    def hills(self) -> dict[str, Any]:
        return {"state": "none"}

    def keep(self, name: str) -> dict[str, Any]:
        return {"revision": 0, "kept": name}

    def show(self, name: str, stop: Stop, _ranges: bool = True) -> dict[str, Any]:
        self._work("show", 0.0, stop)
        return {"revision": 0, "shown": name}

    def forget(self, name: str) -> dict[str, Any]:
        return {"revision": 0, "forgotten": name}

    def save(self, path: str, overwrite: bool) -> dict[str, Any]:
        return {"path": path, "overwrite": overwrite}


def open_session(study: Path, told: Any) -> FakeSession:
    """Open a session in place of the real one, in the way that the environment names."""
    way = os.environ.get("COMBE_FAKE_DESK", "")
    told("halfway there")
    if way == "slow":
        time.sleep(SLOWLY_S)
    if way in ("soon", "late fault"):
        time.sleep(SOON_S)
    if way == "late fault":
        raise RasterError("ground.tif", "gone <b>away</b>")
    if way == "faulty":
        raise StudyError(study, ["one", "two"])
    if way == "surprising":
        raise ZeroDivisionError("of the session")
    # Python says nothing when it leaves at once, with work that cannot be stopped.
    atexit.register(print, CLEARED, end="")
    return FakeSession()


COMMAND = """
import sys
import support_desk_server
sys.modules["combe.desk.session"] = support_desk_server
from combe.cli import group
group(sys.argv[1:], prog_name="combe")
"""
"""The command with the session of this file."""


class Served:
    """A desk in a process of its own."""

    def __init__(self, process: subprocess.Popen[str], caches: Path) -> None:
        self.process, self.caches = process, caches
        self.address = process.stdout.readline().strip() if process.stdout else ""
        place, _, self.token = self.address.partition("/?token=")
        self.host = place.removeprefix("http://")

    def connection(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection(self.host, timeout=20)

    def ask(self, path: str, told: Any = None, **headers: str) -> tuple[int, Any, dict[str, str]]:
        """Get an address, or post what is told as JSON; return status, what came, and its headers."""
        known = {"X-Combe-Token": self.token, **headers}
        body = None
        if told is not None:
            known |= {"Content-Type": "application/json"}
            body = told if isinstance(told, bytes) else json.dumps(told).encode()
        connection = self.connection()
        try:
            connection.request("GET" if body is None else "POST", path, body, known)
            answer = connection.getresponse()
            content = answer.read()
        finally:
            connection.close()
        is_json = answer.headers.get_content_type() == "application/json"
        return answer.status, json.loads(content) if is_json else content, dict(answer.headers)

    @contextmanager
    def stream(self, path: str = "/api/events") -> Iterator[http.client.HTTPResponse]:
        """Have the stream of events open while the block runs."""
        connection = self.connection()
        connection.request("GET", path, headers={"X-Combe-Token": self.token})
        try:
            with connection.getresponse() as answer:
                assert answer.headers["content-type"].startswith("text/event-stream")
                assert (answer.readline(), answer.readline()) == (b": open\n", b"\n")
                yield answer
        finally:
            connection.close()

    def end(self, number: int) -> tuple[int, str, str]:
        """Send a signal, and return exit code, what else was printed, and the errors."""
        self.process.send_signal(number)
        printed, errors = self.process.communicate(timeout=20)
        return self.process.returncode, printed, errors


def event_of(stream: http.client.HTTPResponse) -> tuple[str, Any]:
    """Return the next event of a stream."""
    name, data, blank = (stream.readline().decode() for _ in range(3))
    assert blank == "\n"
    return name.removeprefix("event: ").strip(), json.loads(data.removeprefix("data: "))


@contextmanager
def served(study: Path, caches: Path, *options: str, way: str = "") -> Iterator[Served]:
    """Serve a study with the session of this file while the block runs."""
    process = subprocess.Popen(
        [sys.executable, "-c", COMMAND, "desk", str(study), "--no-open", *options],
        cwd=Path(__file__).parent,
        env={**os.environ, "XDG_CACHE_HOME": str(caches), "COMBE_FAKE_DESK": way},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    with process:
        try:
            yield Served(process, caches)
        finally:
            process.kill()


def meanwhile(function: Any, *arguments: Any) -> threading.Thread:
    """Start a function beside the test."""
    thread = threading.Thread(target=function, args=arguments, daemon=True)
    thread.start()
    return thread
