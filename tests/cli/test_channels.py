"""``combe channels`` on the flat plain in free space: harm, channels rejected with reasons, a plan."""

import re

import pytest

from combe.answers import channel_plan
from combe.answers.cover import cover_report
from combe.study.project_of import load_project
from support_cli import complaint, run, run_json
from support_flat import HEAD, station_text, write_plain_study

POWER_SUM = HEAD + '\n[interference]\nmethod = "power sum"\n'
WEST, OLD = (734_000.0, 4_040_000.0), (764_000.0, 4_052_000.0)
EAST, SOUTH = (752_000.0, 4_040_000.0), (754_000.0, 4_030_000.0)
PARENT_W, RELAY_W = 0.03, 0.02
"""Free space: 7 km and 5.7 km for half of the places; so the relays bring new people."""


def plain(folder, east=50, south=60, old=53, **more):
    return write_plain_study(
        folder,
        station_text("West", *WEST, [("A", 30, PARENT_W)]),
        station_text("Old", *OLD, [("C", old, PARENT_W)]),
        station_text("East", *EAST, [("A", east, RELAY_W)], parent="West"),
        station_text("South", *SOUTH, [("A", south, RELAY_W)], parent="West"),
        head=POWER_SUM,
        **more,
    )


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    return run_json("channels", plain(tmp_path_factory.mktemp("channels"), east=53, south=53))


def output(printed, relay):
    return next(each for each in printed["outputs"] if each["relay"] == relay)


def channel(printed, relay, number):
    return next(each for each in output(printed, relay)["channels"] if each["channel"] == number)


def test_a_used_channel_harms_the_people_that_cover_counts(tmp_path, printed):
    """Channels count at places of one population cell each, cover by cells of the map."""
    report = cover_report(load_project(plain(tmp_path, east=53)))
    (harm,) = [each for each in report.harm if each.relay == "East" and each.station == "Old"]
    assert harm.fall_below > 100.0
    found = channel(printed, "East", 53)
    assert found["people_harmed_out"] == pytest.approx(harm.fall_below, rel=0.15)
    assert found["harm"] == [
        {
            "station": "Old",
            "service": "C",
            "channel": 53,
            "people": found["people_harmed_out"],
            "people_not_known": 0.0,
        }
    ]


def test_channels_are_ranked_by_the_people_they_harm(printed):
    for each in printed["outputs"]:
        harmed = [one["people_harmed"] for one in each["channels"]]
        assert harmed == sorted(harmed)
        assert harmed[0] == 0.0
        assert each["channels"][-1]["channel"] == 53


def test_every_channel_is_ranked_or_rejected_with_a_reason(printed):
    for each in printed["outputs"]:
        numbers = [one["channel"] for one in each["channels"]] + [one["channel"] for one in each["rejected"]]
        assert sorted(numbers) == list(range(21, 70))
        assert all(one["reasons"] for one in each["rejected"])
    why = {one["channel"]: " ".join(one["reasons"]) for one in output(printed, "East")["rejected"]}
    assert "its own input 30" in why[30]
    assert "next to its input 30" in why[31]
    assert "image of its input 30" in why[39]


def test_a_channel_that_arrives_at_the_site_is_not_free(tmp_path):
    study = plain(tmp_path)
    text = study.read_text().replace(f"erp_w = {PARENT_W}", "erp_w = 30.0")
    study.write_text(text)
    found = run_json("channels", study, "--relay", "East")
    why = {one["channel"]: " ".join(one["reasons"]) for one in output(found, "East")["rejected"]}
    assert "not free at the receive site: Old arrives with" in why[53]


def test_the_plan_harms_nobody_where_the_present_channels_harm_many(printed):
    assert printed["present"]["people_harmed"] > 1000.0
    assert printed["plan"]["people_harmed"] == 0.0
    assert [each["proposed_channel"] for each in printed["outputs"]] == [
        each["channel"] for each in printed["plan"]["outputs"]
    ]


def test_two_relays_part_when_only_two_channels_are_left(tmp_path):
    found = run_json("channels", plain(tmp_path), "--channels", "56,62")
    assert sorted(each["channel"] for each in found["plan"]["outputs"]) == [56, 62]
    together = run_json("channels", plain(tmp_path / "one"), "--channels", "56")
    assert together["plan"]["people_harmed"] > 1000.0
    # With one pair of relays, what the assignment adds up is what happens on the air.
    assert together["plan"]["people_summed"] == pytest.approx(together["plan"]["people_harmed"], abs=0.1)


def test_a_channel_for_another_aerial_is_told(printed):
    lower = channel(printed, "East", 23)
    assert lower["cautions"] == []
    (told,) = channel(printed, "East", 60)["cautions"]
    assert told == "outside the aerial group of the present services, lower UHF (common practice, no source)"
    first = output(printed, "East")["channels"][0]
    assert first["cautions"] == []


def test_three_outputs_keep_their_products_off_one_another(tmp_path):
    services = [("A", 30, PARENT_W), ("B", 35, PARENT_W), ("C", 26, PARENT_W)]
    relay = [("A", 50, RELAY_W), ("B", 53, RELAY_W), ("C", 56, RELAY_W)]
    study = write_plain_study(
        tmp_path, station_text("West", *WEST, services), station_text("East", *EAST, relay, parent="West"),
        head=POWER_SUM,
    )  # fmt: skip
    found = run_json("channels", study, "--channels", "50,53,56,57")
    chosen = sorted(each["channel"] for each in found["plan"]["outputs"])
    assert chosen in ([50, 53, 57], [50, 56, 57], [53, 56, 57])
    assert (found["plan"]["people_harmed"], found["plan"]["products"]) == (0.0, [])
    forced = run_json("channels", study, "--channels", "50,53,56")
    assert [each["on_channel"] for each in forced["plan"]["products"]]


def test_no_channel_left_is_a_verdict(tmp_path):
    study = plain(tmp_path)
    result = run("channels", study, "--channels", "30,31")
    assert result.exit_code == 1
    told = " ".join(result.stdout.split())
    for relay in ("East", "South"):
        assert (
            f"No assignment is possible. {relay}, A: no channel is left; rejected are all 2 that may be "
            "used: its own input 30 (1), next to its input 30 (1)"
        ) in told
    printed = run_json("channels", study, "--channels", "30,31", code=1)
    assert (printed["plan"], len(printed["refusal"])) == (None, 2)
    assert run_json("channels", study, "--channels", "56")["refusal"] == []


def one_relay(folder, inputs, outputs):
    """Return a study with one relay; ``inputs`` and ``outputs`` are the channels of A, B and C."""
    parent = [(name, channel, PARENT_W) for name, channel in zip("ABC", inputs, strict=False)]
    relay = [(name, channel, RELAY_W) for name, channel in zip("ABC", outputs, strict=False)]
    return write_plain_study(
        folder, station_text("West", *WEST, parent), station_text("East", *EAST, relay, parent="West"),
        head=POWER_SUM,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("inputs", "outputs", "channels", "why"),
    [
        (
            (30, 36),
            (50, 53),
            "50",
            "East: A and B exclude one another on the only pair of channels left to them: both on channel 50",
        ),
        (
            (30, 35, 26),
            (50, 53, 56),
            "50,53",
            "East: its 3 outputs cannot all stand together on the channels left, though any two can",
        ),
        # 2 x 42 - 54 = 30.
        (
            (30, 36),
            (50, 53),
            "42,54",
            "East: a third-order product of every set of channels tried for its 2 outputs falls on its "
            "inputs (30, 36)",
        ),
    ],
)
def test_outputs_that_exclude_one_another_are_named(tmp_path, inputs, outputs, channels, why):
    study = one_relay(tmp_path, inputs, outputs)
    assert run_json("channels", study, "--channels", channels, code=1)["refusal"] == [why]
    told = " ".join(run("channels", study, "--channels", channels).stdout.split())
    assert f"No assignment is possible. {why}" in told


def test_more_channels_than_the_least_harmful_are_tried_before_giving_up(tmp_path, monkeypatch):
    # With two channels tried of each output, three outputs have none for the third.
    monkeypatch.setattr(channel_plan, "MOST_TRIED", 2)
    study = one_relay(tmp_path, (30, 35, 26), (50, 53, 56))
    chosen = run_json("channels", study, "--channels", "50,53,57")["plan"]["outputs"]
    assert sorted(each["channel"] for each in chosen) == [50, 53, 57]


def test_the_printed_page(tmp_path):
    result = run("channels", plain(tmp_path), "--relay", "East", "--full", "--best", 3)
    assert result.exit_code == 0, result.output
    words = " ".join(result.stdout.split())
    assert "East A, 0.02 W; the study has channel 50 The best 3; " in words
    assert " 30 its own input 30 " in words
    assert "Assignment that harms the fewest people" in words
    assert "South" not in words.partition("Assignment")[2].partition("interference")[0]


def test_the_answer_is_the_assignment_and_the_page_has_all(tmp_path):
    study, page = plain(tmp_path), tmp_path / "channels.html"
    result = run("channels", study, "--html", page)
    lines = result.stdout.splitlines()
    assert len(lines) <= 12
    assert any(re.match(r"  East +A +50 +\d+ ", line) for line in lines)
    heads = "relay service study has proposed newly served people harm in people"
    assert heads in [" ".join(line.split()) for line in lines]
    assert f"written: {page}" in lines
    told = page.read_text("utf-8")
    for head in ("newly served", "harm in", "harm out"):
        assert f"{head}<small>people</small>" in told
        assert f"{head}</th>" not in told
    for title in (
        "Assignment that harms the fewest people",
        "Rejected",
        "A, 0.02 W; the study has channel 50",
    ):
        assert f"<h3>{title}</h3>" in told or f"<h2>{title}</h2>" in told
    printed = run_json("channels", study, "--html", page)
    assert (printed["page"], printed["format"]) == (str(page), "combe/channels/1")


def test_whom_a_plan_harms_is_told(tmp_path):
    study = plain(tmp_path)
    told = " ".join(run("channels", study, "--channels", "53", "--full").stdout.split())
    assert "Whom the channels proposed harm" in told
    assert "harms Old C on 53" in told
    # A line of heads, and units below it.
    assert "station service ch harmed people Old C 53 " in told


def test_people_newly_served_are_those_hoped_for_less_those_denied(printed):
    rows = [one for each in printed["outputs"] for one in each["channels"]] + printed["plan"]["outputs"]
    assert any(one["people_denied"] for one in rows)
    for one in rows:
        assert one["people_newly_served"] + one["people_denied"] == pytest.approx(one["people_hoped"])


def test_bad_input(tmp_path):
    study = plain(tmp_path)
    assert "is no list of channels" in complaint("channels", study, "--channels", "many")
    assert "'48-21' ends before it begins; write 21-48" in complaint("channels", study, "--channels", "48-21")
    assert "channel is 80; allowed: 21 to 69" in complaint("channels", study, "--channels", "80")
    assert 'relay is "West"; allowed: East, South' in complaint("channels", study, "--relay", "West")
    assert "people: is missing" in complaint("channels", plain(tmp_path / "nobody", people=False))
