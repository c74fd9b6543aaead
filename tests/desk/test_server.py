"""The desk's server in a process of its own: its answers, whose turn it is, what it stops, how it ends."""

from __future__ import annotations

import base64
import hashlib
import json
import signal
import socket
import sys
import time

import pytest

from combe.desk.guard import LARGEST_BODY_BYTES
from support_cli import complaint
from support_desk_server import CLEARED, SLOWLY_S, event_of, meanwhile, served
from support_study import write_study

LONG = {"seconds": SLOWLY_S}


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("study"))


@pytest.fixture(scope="module")
def desk(study, tmp_path_factory):
    with served(study, tmp_path_factory.mktemp("caches")) as open_desk:
        yield open_desk


@pytest.fixture
def empty(desk):
    """Return the desk with no edits, and nothing at work."""
    assert desk.ask("/api/replay", {"edits": []})[0] == 200
    return desk


def begun(desk):
    """Return how many pieces of work were begun since the desk was opened."""
    return len(desk.ask("/api/state")[1]["begun"])


def asked_meanwhile(desk, path, told):
    """Ask beside the test; return the list that the status and answer come into, and what to wait for."""
    answers = []
    return answers, meanwhile(lambda: answers.append(desk.ask(path, told)[:2]))


def begun_meanwhile(desk, path, told):
    """Ask for work beside the test, and return the same when it was begun."""
    before, until_s = begun(desk), time.monotonic() + 20
    asked = asked_meanwhile(desk, path, told)
    while begun(desk) == before:
        assert time.monotonic() < until_s
        time.sleep(0.01)
    return asked


def test_the_page_comes_with_its_policy_as_a_header(desk):
    assert desk.ask("/api/marks")[0] == 200, "it is open now"
    status, page, headers = desk.ask(f"/?token={desk.token}", Host=desk.host)
    assert status == 200
    assert headers["content-type"] == "text/html; charset=utf-8"
    assert b"<p>the desk</p>" in page
    assert b"Content-Security-Policy" not in page
    policy = headers["content-security-policy"].split("; ")
    (style,) = page.split(b"<style>")[1:]
    digest = base64.b64encode(hashlib.sha256(style.split(b"</style>")[0]).digest()).decode()
    assert {f"style-src 'sha256-{digest}'", "script-src 'none'", "default-src 'none'"} < set(policy)
    assert {"connect-src 'self'", "frame-ancestors 'none'"} < set(policy)
    assert "server" not in headers


@pytest.mark.parametrize(
    ("path", "told", "answer"),
    [
        ("/api/layers", None, [{"key": "story"}]),
        ("/api/marks", None, {"states": "012"}),
        ("/api/explain?longitude_deg=-84.2&latitude_deg=36.5", None, {"place": [-84.2, 36.5]}),
        ("/api/feed?station=Combe%20Relay", None, {"verdict": "Combe Relay"}),
        ("/api/hills", None, {"state": "none"}),
        ("/api/variants", {"name": "a"}, {"revision": 0, "kept": "a"}),
        ("/api/variants/show", {"name": "a"}, {"revision": 0, "shown": "a"}),
        ("/api/variants/remove", {"name": "a"}, {"revision": 0, "forgotten": "a"}),
        ("/api/save", {"path": "a.toml"}, {"path": "a.toml", "overwrite": False}),
        ("/api/save", {"path": "a.toml", "overwrite": True}, {"path": "a.toml", "overwrite": True}),
    ],
)
def test_what_is_asked_reaches_the_one_who_knows(desk, path, told, answer):
    assert desk.ask(path, told)[:2] == (200, answer)


def test_edits_of_each_kind_reach_the_one_who_knows(empty):
    empty.ask("/api/change", {"station": "A", "tilt_deg": 1.0})
    empty.ask("/api/add", {"name": "B"})
    status, state, _ = empty.ask("/api/remove", {"station": "A"})
    edits = [{"station": "A", "tilt_deg": 1.0}, {"add": {"name": "B"}}, {"remove": "A"}]
    assert (status, state["revision"], state["edits"]) == (200, 3, edits)
    assert empty.ask("/api/undo", {})[1]["edits"] == edits[:2]
    assert empty.ask("/api/redo", b"")[1]["edits"] == edits[:1]
    assert empty.ask("/api/replay", {"edits": edits})[1]["edits"] == edits


def test_a_number_that_does_not_exist_is_null(desk):
    assert desk.ask("/api/state")[1]["nan"] is None


def test_layers_are_bytes_with_headers(desk):
    for path, told, content, header in (
        ("/api/layer/story", None, b"story None", ("x-combe-base", "7")),
        ("/api/layer/story?variant=a%20b", None, b"story a b", ("x-combe-base", "7")),
        ("/api/sketch", {"station": "A"}, b"\x01\x02", ("x-combe-sketch", '{"of": "all"}')),
    ):
        status, body, headers = desk.ask(path, told)
        assert (status, body, headers["content-type"]) == (200, content, "application/octet-stream")
        assert header in headers.items()


FAULTS = [
    ("/api/change", b"{", "the body is no JSON; send one object in UTF-8"),
    ("/api/change", b"\xff", "the body is no JSON; send one object in UTF-8"),
    ("/api/change", b"[" * 200_000, "the body is no JSON; send one object in UTF-8"),
    ("/api/change", b'{"station": "A", "tilt_deg": NaN}', "the body is no JSON; send one object in UTF-8"),
    ("/api/change", b'{"station": "A", "tilt_deg": 1e999}', "the body is no JSON; send one object in UTF-8"),
    ("/api/change", b'{"station": "\\ud800"}', "the body is no JSON; send one object in UTF-8"),
    ("/api/change", b"[]", "the body is a list; send a JSON object"),
    ("/api/change", b"null", "the body is null; send a JSON object"),
    ("/api/change", {"add": {}}, 'a change needs "station"; give its name'),
    ("/api/sketch", {"station": 1}, 'a change needs "station"; give its name'),
    ("/api/change", {"station": "Nowhere"}, 'station is "Nowhere"; allowed: one of the study; two lines'),
    ("/api/remove", {}, '"station" is missing; give a text'),
    ("/api/remove", {"station": 3}, '"station" is a number; give a text'),
    ("/api/remove", {"station": "A", "why": 1}, '"why" is not asked for; allowed: station'),
    ("/api/undo", {"steps": 2}, '"steps" is not asked for; nothing is allowed here'),
    ("/api/replay", {"edits": {}}, '"edits" is an object; give a list'),
    ("/api/replay", {"edits": [1]}, '"edits" holds something else than objects; give a list of edits'),
    ("/api/save", {"path": "a", "overwrit": True}, '"overwrit" is not asked for; did you mean "overwrite"?'),
    ("/api/save", {"path": "a", "overwrite": 1}, '"overwrite" is a number; give true or false'),
    ("/api/layer/none", None, "layer is none; allowed: story"),
    ("/api/state?x=1", None, '"x" is not asked for; nothing is allowed here'),
    ("/api/layer/a?variant=a&variant=b", None, "a name stands twice in the address; ask with each once"),
    ("/api/explain?longitude_deg=1", None, '"latitude_deg" is missing; give a text'),
    ("/api/explain?longitude_deg=1&latitude_deg=x", None, '"latitude_deg" is "x"; give a number'),
    ("/api/explain?longitude_deg=inf&latitude_deg=1", None, '"longitude_deg" is "inf"; give a number'),
]


@pytest.mark.parametrize(("path", "told", "fault"), FAULTS)
def test_a_fault_of_the_question_is_one_line_and_changes_nothing(empty, path, told, fault):
    assert empty.ask(path, told)[:2] == (422, {"fault": fault})
    assert empty.ask("/api/state")[1]["edits"] == []


def test_an_address_or_a_method_that_is_not_there(desk):
    assert desk.ask("/api/nothing")[:2] == (404, {"fault": "there is no GET /api/nothing here"})
    assert desk.ask("/api/undo")[:2] == (405, {"fault": "there is no GET /api/undo here"})
    assert desk.ask("/api/state", {})[:2] == (405, {"fault": "there is no POST /api/state here"})


def test_what_nobody_foresaw_is_one_line_and_no_trace(desk):
    status, answer, _ = desk.ask("/api/change", {"station": "Surprise"})
    assert status == 500
    assert answer["fault"].endswith("not of yours: ZeroDivisionError: two lines")
    assert set(answer) == {"fault"}


def test_the_guard_stands_before_it(desk):
    assert desk.ask("/api/state", **{"X-Combe-Token": "wrong"})[0] == 403
    assert desk.ask("/api/state", Host="evil.example")[0] == 403
    assert desk.ask("/api/undo", {}, Origin="null")[0] == 403
    assert desk.ask("/api/change", b" " * (LARGEST_BODY_BYTES + 1))[0] == 413
    assert desk.ask("/api/state")[0] == 200


def test_a_newer_change_of_the_same_settings_stops_the_older(empty):
    older, answered = begun_meanwhile(empty, "/api/change", {"station": "A", **LONG})
    newer = {"station": "A", "seconds": 0.0}
    assert empty.ask("/api/change", newer)[1]["edits"] == [newer]
    answered.join(20)
    ((status, answer),) = older
    assert status == 409
    assert set(answer) == {"fault"}


def test_a_change_that_waits_is_not_begun_once_a_newer_one_came(empty):
    first, first_answered = begun_meanwhile(empty, "/api/change", {"station": "A", "seconds": 0.5, "deaf": 1})
    second, second_answered = asked_meanwhile(empty, "/api/change", {"station": "B", **LONG})
    time.sleep(0.1)
    before = begun(empty)
    assert empty.ask("/api/change", {"station": "B", "seconds": 0.0})[0] == 200
    first_answered.join(20)
    second_answered.join(20)
    assert first[0][0] == 200
    assert second[0][0] == 409
    assert begun(empty) == before + 1


@pytest.mark.parametrize(
    "other",
    [{"station": "B", "seconds": 0.0}, {"station": "A", "tilt_deg": 1.0}, {"station": "A", "erp_w": {}}],
)
def test_a_change_of_something_else_waits_its_turn_and_loses_nothing(empty, other):
    first, answered = begun_meanwhile(empty, "/api/change", {"station": "A", "seconds": 0.3})
    state = empty.ask("/api/change", other)[1]
    answered.join(20)
    assert first[0][0] == 200
    assert state["edits"] == [{"station": "A", "seconds": 0.3}, other]
    assert state["most_at_work"] == 1


def test_a_newer_sketch_or_change_stops_a_sketch(empty):
    for path in ("/api/sketch", "/api/change", "/api/undo"):
        older, answered = begun_meanwhile(empty, "/api/sketch", {"station": "A", **LONG})
        assert empty.ask(path, {} if path == "/api/undo" else {"station": "A"})[0] == 200
        answered.join(20)
        assert older[0][0] == 409


def test_a_sketch_stops_no_change(empty):
    older, answered = begun_meanwhile(empty, "/api/change", {"station": "A", "seconds": 0.3})
    assert empty.ask("/api/sketch", {"station": "A", "seconds": 0.0})[0] == 200
    answered.join(20)
    assert older[0][0] == 200


def test_questions_are_answered_while_the_state_is_worked_on(empty):
    older, answered = begun_meanwhile(empty, "/api/change", {"station": "A", **LONG})
    assert empty.ask("/api/marks")[0] == 200
    assert not older
    empty.ask("/api/change", {"station": "A", "seconds": 0.0})
    answered.join(20)


def test_every_page_is_told_of_a_new_state(empty):
    with empty.stream() as stream, empty.stream() as another:
        state = empty.ask("/api/change", {"station": "A"})[1]
        assert event_of(stream) == event_of(another) == ("settled", {"revision": state["revision"]})
    assert empty.ask("/api/change", {"station": "A"})[0] == 200, "pages that went away are no trouble"


def test_the_page_is_told_how_far_a_search_is_and_a_new_one_gives_it_up(empty):
    before = begun(empty)
    with empty.stream() as stream:
        for _ in range(2):
            assert empty.ask("/api/hills", {})[:2] == (202, {"state": "running"})
            assert event_of(stream) == ("hills", {"share": 0.25})
    assert begun(empty) == before + 2


def test_a_small_answer_is_not_held_back(desk):
    """Without the protocol named for the socket each takes the 40 ms of a delayed acknowledgement."""
    connection, spent_s = desk.connection(), []
    for _ in range(15):
        start_s = time.perf_counter()
        connection.request("GET", "/api/marks", headers={"X-Combe-Token": desk.token})
        connection.getresponse().read()
        spent_s.append(time.perf_counter() - start_s)
    connection.close()
    assert sorted(spent_s)[len(spent_s) // 2] < 0.035


@pytest.mark.skipif(sys.platform != "linux", reason="this machine has one address of its own only")
def test_it_listens_at_its_own_address_alone(desk):
    port = int(desk.host.partition(":")[2])
    with pytest.raises(ConnectionRefusedError), socket.create_connection(("127.0.0.2", port), timeout=5):
        pass


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such signals")
@pytest.mark.parametrize("deaf", [False, True])
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_at_once_with_work_at_hand_and_streams_open(study, tmp_path, number, deaf):
    with served(study, tmp_path) as desk, desk.stream() as stream:
        assert "end it with Ctrl-C" in desk.process.stdout.readline()
        kept = desk.connection()
        kept.request("GET", "/api/marks", headers={"X-Combe-Token": desk.token})
        kept.getresponse().read()
        desk.ask("/api/hills", {})
        answers, answered = begun_meanwhile(desk, "/api/change", {"station": "A", "deaf": deaf, **LONG})
        begun_s = time.monotonic()
        assert desk.end(number) == (0, "" if deaf else CLEARED, "")
        assert time.monotonic() - begun_s < SLOWLY_S / 3
        answered.join(20)
        # Work that listens may be told to stop before those who wait for it are let go.
        assert answers[0][0] in ((503,) if deaf else (409, 503))
        assert b"hills" in stream.read(), "a stream that is cut off, and not ended, raises IncompleteRead"
        kept.close()


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such signals")
def test_it_ends_at_once_while_the_study_is_opened(study, tmp_path):
    with served(study, tmp_path, way="slow") as desk:
        answers, answered = asked_meanwhile(desk, "/api/state", None)
        time.sleep(0.5)
        assert desk.process.stdout.readline()
        assert desk.end(signal.SIGINT) == (0, "", "")
        answered.join(20)
        assert answers[0][0] == 503


@pytest.mark.parametrize(
    ("way", "line"),
    [("faulty", " has 2 faults\n  one\n  two\n"), ("surprising", "ZeroDivisionError: of the session; ")],
)
def test_a_study_that_cannot_be_opened_ends_it(study, tmp_path, way, line):
    with served(study, tmp_path, way=way) as desk:
        errors = desk.process.communicate(timeout=20)[1]
    assert desk.process.returncode == 2
    assert line in errors
    assert "Traceback" not in errors


def test_a_second_desk_of_a_study_tells_where_the_first_is(desk, study, tmp_path):
    caches = desk.caches
    with served(study, caches) as second:
        errors = second.process.communicate(timeout=20)[1]
    assert (second.process.returncode, second.address) == (2, "")
    assert errors.startswith(f"combe: study {study} is in use on the desk at http://{desk.host}/ (process ")
    assert desk.token not in errors


def test_a_port_that_is_taken_is_one_line(desk, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    port = desk.host.partition(":")[2]
    other = write_study(tmp_path / "other")
    told = complaint("desk", other, "--port", port)
    assert told.startswith(f"port is {port}; allowed: one that no other program has; name another, or none")


def test_the_port_that_is_asked_for_and_the_first_line_as_json(study, tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with served(study, tmp_path, "--port", str(port), "--json") as desk:
        told = json.loads(desk.address)
    assert told["address"].startswith(f"http://127.0.0.1:{port}/?token=")
    assert told["study"] == str(study)
