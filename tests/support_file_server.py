"""A server of files in a process of its own, on this machine alone, which can be as bad as servers are.

The first part of a path says how it behaves (``plain``, ``busy``, ``page`` and so on), the rest is the file.
``/log`` gives what was asked so far, a line for each request.
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
import time
import urllib.request
from collections import Counter
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

LOG: list[str] = []
ASKED: Counter[str] = Counter()


class Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    folder = Path()

    def log_message(self, *words: object) -> None:
        pass

    def do_HEAD(self) -> None:
        self.do_GET()

    def do_GET(self) -> None:
        if self.path == "/log":
            self._send(200, "\n".join(LOG).encode(), {})
            return
        wanted = self.headers.get("Range", "-")
        LOG.append(f"{self.command} {self.path} {wanted}")
        ASKED[f"{self.command} {self.path}"] += 1
        manner, _, name = self.path.lstrip("/").partition("/")
        file = self.folder / name
        refusal = self._refusal(manner, name)
        if refusal:
            self._send(*refusal)
        elif not file.is_file():
            self._send(404, b"<html>not here</html>", {})
        else:
            self._file(file, manner, wanted)

    def _refusal(self, manner: str, name: str) -> tuple[int, bytes, dict[str, str]] | None:
        first = ASKED[f"{self.command} {self.path}"] == 1
        if manner == "busy" or (manner == "busy-once" and first):
            return 503, b"", {}
        if manner == "forbidden":
            return 403, b"", {}
        if manner == "elsewhere":
            return 302, b"", {"Location": f"http://localhost:{self.server.server_address[1]}/plain/{name}"}
        if manner == "moved":
            return 302, b"", {"Location": f"/plain/{name}"}
        if manner == "round":
            return 302, b"", {"Location": self.path}
        if manner == "page":
            return 200, b"<!DOCTYPE html><html>please log in</html>", {}
        if manner == "silent":
            time.sleep(1.5)
        return None

    def _file(self, file: Path, manner: str, wanted: str) -> None:
        content = file.read_bytes()
        state = {"ETag": f'"{file.stat().st_mtime_ns}"'}
        if wanted != "-" and manner != "whole":
            first, _, last = wanted.removeprefix("bytes=").partition("-")
            start, end = int(first), min(int(last) + 1 if last else len(content), len(content))
            told = {**state, "Content-Range": f"bytes {start}-{end - 1}/{len(content)}"}
            self._send(206, content[start:end], told, cut=manner == "cut")
            return
        first_time = ASKED[f"{self.command} {self.path}"] == 1
        self._send(200, content, state, cut=manner == "cut" or (manner == "cut-once" and first_time))

    def _send(self, status: int, content: bytes, headers: dict[str, str], *, cut: bool = False) -> None:
        self.send_response(status)
        for name, value in {"Content-Length": str(len(content)), **headers}.items():
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            with contextlib.suppress(OSError):
                self.wfile.write(content[: len(content) // 2] if cut else content)
        if cut:
            self.close_connection = True


@contextlib.contextmanager
def file_server(folder: Path) -> Iterator[str]:
    """Serve a folder from a process of its own; yield the address."""
    words = [sys.executable, str(Path(__file__)), str(folder)]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        yield f"http://127.0.0.1:{int(process.stdout.readline())}"
    finally:
        process.terminate()
        process.wait(10)
        process.stdout.close()


def asked(address: str) -> list[str]:
    """Return what a server was asked so far."""
    with urllib.request.urlopen(f"{address}/log", timeout=10) as answer:
        return answer.read().decode().splitlines()


if __name__ == "__main__":
    Handler.folder = Path(sys.argv[1])
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    print(server.server_address[1], flush=True)  # noqa: T201
    server.serve_forever()
