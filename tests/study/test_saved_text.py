"""The text of an edited study: it says what the edits made, and is kept where nothing changed."""

import tomllib

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.study.new import demo_study_path, new_study
from combe.study.saved_text import saved_text
from combe.study.toml_text import TomlText
from support_edits import NEW, after_all, text_of
from support_study import STUDY


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    return new_study(tmp_path_factory.mktemp("new") / "study")


def comments(text):
    """Return the lines of a text that are comments."""
    return [line.strip() for line in text.splitlines() if line.lstrip().startswith("#")]


def is_subsequence(some, of):
    rest = iter(of)
    return all(each in rest for each in some)


def of_station(name):
    """Return edits of a station that the demo's stations can all have."""
    number = st.floats(0.0, 300.0, allow_nan=False)
    return st.fixed_dictionaries(
        {"station": st.just(name)},
        optional={
            "longitude_deg": st.floats(-84.35, -84.2, allow_nan=False),
            "aerial_height_m": number,
            "polarization": st.sampled_from(["horizontal", "vertical"]),
            "horizontal_pattern": st.sampled_from(["omni", 'a "b" ç.csv']),
            "bearing_deg": number,
            "on_air": st.booleans(),
            "erp_w": st.dictionaries(st.sampled_from(["Mux A", "Mux C"]), number, max_size=2),
            "channel": st.dictionaries(st.sampled_from(["Mux A", "Mux B"]), st.integers(21, 48), max_size=2),
        },
    )


ADDED = st.fixed_dictionaries(
    {
        "name": st.sampled_from(["Høyåsen", "Far #2"]),
        "longitude_deg": st.just(-84.3),
        "latitude_deg": st.just(36.6),
    }
)
EDITS = st.lists(
    st.one_of(
        of_station("Larkcombe"),
        of_station("Tarnbeacon"),
        st.builds(lambda add: {"add": add}, ADDED),
        st.builds(lambda name: {"remove": name}, st.sampled_from(["Larkcombe", "Høyåsen", "Far #2"])),
    ),
    max_size=6,
)


@pytest.mark.parametrize("which", ["demo", "template"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=EDITS)
@example(edits=[])
@example(edits=[{"remove": "Larkcombe"}])
@example(edits=[NEW, {"remove": "Larkcombe"}])
def test_a_text_says_what_the_edits_made_and_keeps_the_rest(which, ends, mark, template, edits):
    text = mark + text_of(demo_study_path() if which == "demo" else template).replace("\n", ends)
    before = tomllib.loads(text.removeprefix(mark))
    after = after_all(before, edits)
    saved = saved_text(text, before, after)
    assert tomllib.loads(saved.removeprefix(mark)) == after
    assert saved.startswith(mark)
    assert saved.count("\n") == saved.count(ends)
    if after == before:
        assert saved == text
    if {"Larkcombe"} <= {each["name"] for each in after["stations"]}:
        assert is_subsequence(comments(text), comments(saved))
    else:
        outside = text[: text.rindex("[[stations]]")] + text[text.rindex("[stations.output]") :]
        kept = [line for line in comments(outside) if "Where" in line or "television" in line]
        assert is_subsequence(kept, comments(saved))


def test_every_value_is_found_where_it_stands(template):
    text = (
        'a."b c".d = """x\\"""y""" # one\n[t.\'q\']\nlist = [ 1, # two\n "]#", [3] , ]\n'
        "in = { x.y = 'z', w = {} }\nday = 2026-01-05 07:00:00 # three\n"
        "[[s]]\n[[s.t]]\nn = 1\n[[s.t]]\nn=2\n[[s]]\n"
        "[s.u]\nm = '''\n[no]\nheading = 1'''\n"
    )
    for each in (text, text_of(template), text_of(demo_study_path()), STUDY):
        found = TomlText(each)
        for place, value in leaves(tomllib.loads(each)):
            start, end = found.values[place]
            assert tomllib.loads(f"x = {each[start:end]}")["x"] == value
    assert [heading.place for heading in TomlText(text).headings] == [
        ("t", "q"), ("s", 0), ("s", 0, "t", 0), ("s", 0, "t", 1), ("s", 1), ("s", 1, "u"),
    ]  # fmt: skip


def leaves(value, place=()):
    inner = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    )
    if inner is None:
        yield place, value
        return
    for key, each in inner:
        yield from leaves(each, (*place, key))


HAND = """\
# all
[study] # what
title = "T"   # called

[[stations]]   # the first
name = "A"
erp_w = 100.0    # power
# on_air = false   # whether it is
# tilt_deg = 3.0
# [stations.array]
# bearing_deg = 3.0

# what the next one is for
[[stations]]
name = "B" # last
note = \"\"\"
# tilt_deg = 9
\"\"\"

# The north.

# right above C
[[stations]]
name = "C"

[[sfn]]
members = [
  "A",  # the first
  "B",
  "C"  # the last
]
static_delay_us = {A = 1.0, "B" = 2}

# [coordination]
# points = "x"
"""


def changed(change, text=HAND):
    before = tomllib.loads(text)
    after = tomllib.loads(text)
    change(after)
    return saved_text(text, before, after)


def test_a_key_that_stands_as_a_comment_is_written_there():
    found = changed(lambda table: table["stations"][0].update(on_air=True, tilt_deg=1.5, bearing_deg=2.0))
    new = "on_air = true      # whether it is\ntilt_deg = 1.5\n"
    wanted = HAND.replace("# on_air = false   # whether it is\n# tilt_deg = 3.0\n", new, 1)
    assert found == wanted.replace("# power\n", "# power\nbearing_deg = 2.0\n")


def test_a_new_key_stands_in_its_own_table_and_not_under_the_next_ones_comment():
    found = changed(lambda table: table["stations"][1].update(tilt_deg=2.0))
    assert found == HAND.replace('9\n"""\n', '9\n"""\ntilt_deg = 2.0\n')


def test_a_comment_stays_in_its_column_while_there_is_room():
    assert changed(lambda table: table["stations"][0].update(erp_w=5.0)) == HAND.replace(
        "erp_w = 100.0    # power", "erp_w = 5.0      # power"
    )
    found = changed(lambda table: table["stations"][0].update(erp_w=1000000.0))
    assert "erp_w = 1000000.0  # power" in found


def test_a_table_goes_with_its_comment_and_without_that_of_the_next():
    found = changed(lambda table: table["stations"].pop(1))
    gone = HAND[HAND.index("# what the next one is for") : HAND.index("# The north.")]
    assert found == HAND.replace(gone, "")
    found = changed(lambda table: table["stations"].pop(0))
    assert found.startswith(
        '# all\n[study] # what\ntitle = "T"   # called\n\n# what the next one is for\n[[stations]]'
    )


def test_entries_of_a_list_go_with_what_is_about_them_alone():
    def without(*names):
        return changed(lambda table: [table["sfn"][0]["members"].remove(name) for name in names])

    assert without("B") == HAND.replace('  "B",\n  "C"', '  "C"')
    assert without("A") == HAND.replace('  "A",  # the first', "    # the first")
    assert is_subsequence(comments(HAND), comments(without("B", "C")))
    assert without("B", "C").count("# the ") == HAND.count("# the ")
    found = changed(lambda table: table["sfn"][0]["members"].append("D"))
    assert found == HAND.replace('"C"  # the last', '"C", "D"  # the last')
    found = changed(lambda table: table["sfn"][0]["static_delay_us"].pop("B"))
    assert found == HAND.replace('{A = 1.0, "B" = 2}', "{ A = 1.0 }")


def test_a_network_that_goes_leaves_the_others():
    head = '[[stations]]\nname = "A"\n'
    first = '# first\n[[sfn]]\nmembers = ["A", "D"]\n\n'
    second = '# second\n[[sfn]]\nmembers = ["A", "B", "C"]  # three\n'
    found = changed(lambda table: table.update(sfn=[{"members": ["A", "B"]}]), f"{head}\n{first}{second}")
    assert found == f"{head}\n{second}".replace(', "C"', "")


def test_what_cannot_be_written_in_place_is_refused():
    inline = 'stations = [{ name = "A" }, {name = "B"}]\n'
    assert changed(lambda table: table["stations"].pop(0), inline) == 'stations = [{name = "B"}]\n'
    implied = "[stations.a.b]\nx = 1\n"
    with pytest.raises(RangeError, match=r"the study's text is such that stations\.a\.y cannot be changed"):
        changed(lambda table: table["stations"]["a"].update(y=2), implied)
