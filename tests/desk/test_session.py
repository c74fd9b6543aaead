"""A study at work on the desk: each state is what the command says of the study that the edits make."""

import json
from itertools import pairwise

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.exposure import exposure_of
from combe.answers.live_cover import never
from combe.desk import views
from combe.desk.session import MOST_VARIANTS, SKETCHED_CELLS, open_session
from combe.desk.settled import FaultError
from combe.errors import Cancelled, CombeError, RangeError
from combe.publishing.as_json import as_object
from combe.reports import cover
from combe.study.edit import edited as table_edited
from combe.study.file import checked_table, load_study, read_study
from combe.study.project_of import project_of
from support_study import SITING, STUDY, edited, write_study

RELAY, PARENT = "Combe Relay", "Parent Hill"
PEOPLE = ("all_services", "services", "harm", "by_system", "ways")
EAST = {"station": RELAY, "longitude_deg": -84.19}
STRONG = {"station": RELAY, "erp_w": {"Mux 1": 60.0}}


@pytest.fixture
def path(tmp_path):
    return write_study(tmp_path)


@pytest.fixture
def session(path):
    return open_session(path)


def of_the_command(path, *edits):
    """Return the JSON that ``combe cover`` prints of the study with some edits."""
    study, table = load_study(path), read_study(path).table
    for edit in edits:
        table = table_edited(table, edit)
    return as_object(cover.document(cover_report(project_of(checked_table(study, table)), feeds=True)))


def assert_says(state, wanted):
    for key in PEOPLE:
        assert state[key] == wanted[key], key
    for one, other in zip(state["feeds"], wanted["feeds"], strict=True):
        assert one["verdict"] == other["verdict"]
        assert [each["reason"] for each in one["services"]] == [each["reason"] for each in other["services"]]


def without_ranges(state):
    return {key: value for key, value in state["all_services"].items() if key != "ranges"}


def test_a_desk_begins_with_the_study_of_the_file(session, path):
    state = session.state()
    assert_says(state, of_the_command(path))
    told = [state[key] for key in ("format", "undo", "redo", "changed", "edits", "variants", "hills")]
    assert told == ["combe/desk/1", 0, 0, False, [], [], None]
    json.dumps(state, allow_nan=False)


def test_each_edit_says_what_the_command_would(session, path):
    edits = [
        EAST,
        STRONG,
        {"station": PARENT, "aerial_height_m": 90.0, "polarization": "vertical"},
        {"add": {"name": "Second", "longitude_deg": -84.25, "latitude_deg": 36.62, "like": RELAY}},
        {"station": "Second", "channel": {"Mux 1": 27}},
        {"remove": RELAY},
    ]
    for count in range(1, len(edits) + 1):
        state = session.edit(edits[count - 1], never)
        assert_says(state, of_the_command(path, *edits[:count]))
        assert (state["undo"], state["redo"], state["changed"]) == (count, 0, True)


def test_stations_are_told_as_the_study_writes_them(session):
    state = session.edit(STRONG, never)
    parent, relay = state["stations"]
    assert (parent["name"], parent["role"], parent["aerial_height_m"]) == (PARENT, "parent", 60.0)
    assert parent["parent"] is None
    assert [each["erp_w"] for each in relay["services"]][:1] == [60.0]
    assert relay["parent"] == PARENT
    assert relay["ground_m"] > 100.0
    assert relay["exposure_distance_m"] > 1.0
    assert relay["exposure_caution"] == exposure_of(session._now.project.stations[1])[0].caution
    budgets = [each.budget for each in session._now.report.feeds.relays[0].services]
    for told, budget in zip(state["feeds"][0]["services"], budgets, strict=True):
        assert told["margin_db"] == pytest.approx(budget.margin_db, abs=0.005)
        assert told["required_margin_db"] == 10.0


def test_a_station_off_the_air_is_still_told(session, path):
    state = session.edit({"station": RELAY, "on_air": False}, never)
    relay = state["stations"][1]
    assert (relay["on_air"], relay["radiates"]) == (False, False)
    assert relay["services"][0]["people_served"] is None
    assert (relay["exposure_distance_m"], relay["silenced_by"]) == (None, None)
    assert state["all_services"] == of_the_command(path, {"remove": RELAY})["all_services"]


def test_a_station_that_nothing_feeds_names_the_one_that_is_off_the_air(session):
    second = {"name": "Second", "longitude_deg": -84.25, "latitude_deg": 36.62, "like": RELAY}
    third = {"name": "Third", "longitude_deg": -84.26, "latitude_deg": 36.63, "like": RELAY}
    session.edit({"add": {**second, "parent": RELAY}}, never)
    session.edit({"add": {**third, "parent": "Second"}}, never)
    state = session.edit({"station": RELAY, "on_air": False}, never)
    told = {each["name"]: (each["radiates"], each["silenced_by"]) for each in state["stations"]}
    assert told == {
        PARENT: (True, None), RELAY: (False, None), "Second": (False, RELAY), "Third": (False, RELAY),
    }  # fmt: skip


def test_the_numbers_of_the_file_stay_until_it_is_saved(session):
    first = session.state()
    assert first["file"]["all_services"] == without_ranges(first)
    assert first["file"]["services"][0].keys() >= {"name", "people_served", "people_newly_served"}
    margin_db = first["file"]["feeds"][0]["services"][0]["margin_db"]
    assert margin_db == first["feeds"][0]["services"][0]["margin_db"]
    state = session.edit({**EAST, **STRONG}, never)
    assert state["file"] == first["file"] != views.numbers_of_file(session._now)
    session.save("study.toml", overwrite=True)
    assert session.state()["file"]["all_services"] == without_ranges(state)
    assert session.undo(never)["file"]["all_services"] == without_ranges(state)


def test_undo_and_redo_go_without_end(session):
    first = session.state()
    edits = [{"station": RELAY, "aerial_height_m": height_m} for height_m in (25.0, 30.0, 35.0)]
    states = [first, *(session.edit(edit, never) for edit in edits)]
    back = [session.undo(never) for _ in edits]
    again = [session.redo(never) for _ in edits]
    for found, wanted in zip(back + again, [*states[2::-1], *states[1:]], strict=True):
        assert_says(found, wanted)
        assert found["edits"] == wanted["edits"]
    assert [each["undo"] for each in back + again] == [2, 1, 0, 1, 2, 3]
    revisions = [each["revision"] for each in states + back + again]
    assert revisions == sorted(set(revisions))


def test_a_new_edit_ends_what_could_be_made_again(session):
    session.edit(EAST, never)
    session.undo(never)
    assert session.edit(STRONG, never)["redo"] == 0
    with pytest.raises(RangeError, match="made again"):
        session.redo(never)


def test_nothing_can_be_undone_at_the_start(session):
    with pytest.raises(RangeError, match="undone"):
        session.undo(never)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        ({"station": "Combe Realy", "aerial_height_m": 30.0}, "did you mean"),
        ({"station": RELAY, "aerial_height_m": -3.0}, "aerial_height_m"),
        ({"station": RELAY, "longitude_deg": 10.0}, "Combe Relay|place|grid|terrain"),
        ({"station": RELAY, "channel": {"Mux 1": 9999}}, "channel"),
        ({"remove": "Nobody"}, "Nobody"),
    ],
)
def test_an_edit_at_fault_leaves_all_as_it_was(session, edit, words):
    before = session.state()
    with pytest.raises(CombeError, match=words) as told:
        session.edit(edit, never)
    assert str(session._study.path) not in str(told.value)
    assert session.state() == before


def test_faults_of_an_edit_are_told_by_names_in_one_line(session):
    edit = {"station": RELAY, "aerial_height_m": -3.0, "channel": {"Mux 1": 9999}}
    words = f"^{RELAY}: aerial_height_m: -3.*; {RELAY}, Mux 1: channel: channel 9999"
    for asked in (session.edit, session.sketch):
        with pytest.raises(FaultError, match=words):
            asked(edit, never)


def test_an_edit_that_is_given_up_leaves_all_as_it_was(session):
    before = session.state()
    with pytest.raises(Cancelled):
        session.edit(EAST, lambda: True)
    assert session.state() == before
    assert session.edit(EAST, never)["undo"] == 1


def test_changes_of_one_station_in_a_row_are_one_edit_of_the_address(session, path):
    session.edit(EAST, never)
    session.edit(STRONG, never)
    state = session.edit({"station": RELAY, "erp_w": {"Mux 1": 80.0}, "aerial_height_m": 25.0}, never)
    assert state["edits"] == [EAST | {"erp_w": {"Mux 1": 80.0}, "aerial_height_m": 25.0}]
    assert_says(open_session(path).replay(state["edits"], never), state)


def test_edits_of_an_address_are_made_on_the_file(session):
    session.edit({"station": PARENT, "aerial_height_m": 99.0}, never)
    state = session.replay([EAST], never)
    assert state["edits"] == [EAST]
    assert state["stations"][0]["aerial_height_m"] == 60.0
    assert session.undo(never)["stations"][0]["aerial_height_m"] == 99.0


def story(layer):
    base = [int(each) for each in layer.headers["X-Combe-Base"].split(",")]
    codes = np.frombuffer(layer.codes, dtype="<u2").astype(float).reshape(2, -1)
    values = (codes - 1 + np.array(base)[:, None]) / int(layer.headers["X-Combe-Steps-Per-Unit"])
    return np.where(codes == 0, np.nan, values)


def test_the_story_is_the_margins_before_and_after(session, path):
    session.edit(STRONG, never)
    report = session._now.report
    before, after = story(session.layer("story", None))
    network = report.all_services
    for shown, margin_db in ((before, network.margin_before_db), (after, network.margin_db)):
        wanted = np.maximum(margin_db.ravel(), -150.0)
        np.testing.assert_array_equal(np.isnan(shown), np.isnan(wanted))
        known = ~np.isnan(wanted)
        assert (shown[known] <= wanted[known] + 1e-6).all()
        assert (shown[known] > wanted[known] - 0.1 - 1e-6).all()


def test_each_layer_that_is_listed_can_be_had(session):
    listed = session.layers()
    cells = session._now.report.heights_m.size
    assert {"before", "after", "s0-0", "s1-0"} <= {each["key"] for each in listed}
    for each in listed:
        assert len(session.layer(each["key"], None).codes) == 2 * cells
    with pytest.raises(RangeError, match="layer"):
        session.layer("nothing", None)


def test_a_sketch_is_nearly_what_comes_of_the_edit_and_changes_nothing(tmp_path):
    session = open_session(write_study(tmp_path, edited(("cell_size_m = 300", "cell_size_m = 120"))))
    before = session.state()
    sketch = session.sketch(STRONG, never)
    assert session.state() == before
    header = json.loads(sketch.headers["X-Combe-Sketch"])
    told = header["people"]
    assert header["of"] == {3: "every third cell a side"}[SKETCHED_CELLS]
    state = session.edit(STRONG, never)
    assert told["total"] == pytest.approx(state["all_services"]["people_total"], rel=0.05)
    assert told["served"] == pytest.approx(state["all_services"]["people_served"], rel=0.2)
    rough, fine = (story(each)[1] >= 0.0 for each in (sketch, session.layer("story", None)))
    assert rough.size == fine.size
    assert (rough == fine).mean() > 0.9


def test_marks_tell_the_state_of_each_place_of_the_page(session):
    states = session.marks()["states"]
    data = session.page().split('id="combe-data">')[1].split("</script>")[0]
    people = json.loads(data)["people"]
    names = json.loads(data)["people_states"]
    assert [names[int(each)] for each in states] == [each["state"] for each in people]


def test_a_place_is_explained_as_the_command_does(session):
    found = session.explain(-84.21, 36.61)
    assert found["format"].startswith("combe/explain/")
    assert "<table" in found["html"]
    assert "style=" not in found["html"]
    with pytest.raises(RangeError):
        session.explain(10.0, 10.0)


def test_the_feed_of_a_relay_is_told_and_of_no_other(session):
    found = session.feed(RELAY.lower())
    assert found["station"] == RELAY
    assert "Mux 1" in found["html"]
    with pytest.raises(RangeError, match=RELAY):
        session.feed(PARENT)


def test_variants_are_kept_shown_and_forgotten(session):
    session.keep("as it is")
    session.edit(STRONG, never)
    kept = session.keep("strong")["variants"]
    assert [each["name"] for each in kept] == ["as it is", "strong"]
    assert kept[1]["people_served"] == session.state()["all_services"]["people_served"]
    assert kept[0]["erp_w"] < kept[1]["erp_w"]
    assert story(session.layer("story", "as it is"))[1].sum() != story(session.layer("story", None))[1].sum()
    shown = session.show("as it is", never)
    assert (shown["edits"], shown["changed"], shown["undo"]) == ([], False, 2)
    assert [each["name"] for each in session.forget("strong")["variants"]] == ["as it is"]
    with pytest.raises(RangeError, match="as it is"):
        session.show("strong", never)
    with pytest.raises(RangeError, match="printable"):
        session.keep("\x07")


def test_hills_are_searched_beside_the_edits(tmp_path):
    path = write_study(tmp_path, STUDY + SITING)
    session, shares = open_session(path), []
    assert session.hills() == {"state": "none", "share": 0.0, "hills": [], "fault": None}
    session.start_hills(shares.append, never)
    found = session.hills()
    assert found["state"] == "done"
    assert session.state()["hills"] == len(found["hills"]) > 0
    assert shares == sorted(shares)
    assert 0.9 < shares[-1] < 1.0
    best = found["hills"][0]
    place = {key: best[key] for key in ("longitude_deg", "latitude_deg")}
    state = session.edit({"station": RELAY, **place}, never)
    assert state["stations"][1]["longitude_deg"] == best["longitude_deg"]
    with pytest.raises(Cancelled):
        session.start_hills(shares.append, lambda: True)
    assert session.hills()["state"] == "none"
    assert session.hills()["fault"] is None


def test_a_study_without_a_question_of_hills_says_what_to_write(session):
    with pytest.raises(FaultError, match=r"^siting: is missing; say .*\[\[siting.services\]\]"):
        session.start_hills([].append, never)
    assert session.hills()["state"] == "none"
    assert session.hills()["fault"].startswith("siting: is missing; say what the relay radiates")
    assert session.state()["hills"] is None


def test_opening_says_what_is_done(path):
    told = []
    open_session(path, told.append)
    assert told[0] == "Ground and people are read."
    assert any(each.startswith(f"coverage of {PARENT}, 50 % of time, ") for each in told)
    assert any(each.startswith("judging the cells, ") for each in told)
    assert not any(one == other for one, other in pairwise(told))


def test_no_more_variants_are_kept_than_memory_is_for(session):
    for number in range(MOST_VARIANTS):
        session.keep(f"no. {number}")
    session.keep("no. 3")
    with pytest.raises(RangeError, match="drop one"):
        session.keep("one more")


def test_what_is_saved_is_the_study_whose_numbers_are_shown(session, path):
    session.edit(
        {"add": {"name": "Second", "longitude_deg": -84.25, "latitude_deg": 36.62, "like": RELAY}}, never
    )
    state = session.edit(STRONG, never)
    saved = session.save("other.toml", overwrite=False)
    assert saved["path"] == str((path.parent / "other.toml").resolve())
    assert any("erp_w" in each for each in saved["changed"])
    assert_says(state, of_the_command(path.parent / "other.toml"))
    assert session.state()["changed"] is True
    with pytest.raises(CombeError, match="already there"):
        session.save("other.toml", overwrite=False)


def test_a_study_that_is_saved_in_its_place_has_nothing_changed(session):
    session.edit(STRONG, never)
    session.save("study.toml", overwrite=True)
    assert session.state()["changed"] is False
    assert session.undo(never)["changed"] is True


def test_ranges_may_wait_and_then_are_those_of_the_command(session, path):
    state = session.edit(STRONG, never, ranges=False)
    assert state["all_services"]["ranges"] is state["sure"] is None
    assert all("error" not in line for line in state["headline"])
    whole, wanted = session.state(), of_the_command(path, STRONG)
    assert whole["all_services"]["ranges"] == wanted["all_services"]["ranges"]
    assert whole["sure"][0] in whole["headline"]
    for key in ("people_served", "people_newly_served", "districts"):
        assert state["all_services"][key] == wanted["all_services"][key]
