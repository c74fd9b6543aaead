"""Documents of invented answers in all outputs: limits, sums, unknown values, hostile words, wide tables."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from combe.errors import RangeError
from combe.publishing.as_html import as_html
from combe.publishing.as_json import as_json, as_object, json_schema, key_lines, plain
from combe.publishing.as_text import WIDEST, as_text
from combe.publishing.cautions import CAUTION_LINES, CAUTIONS
from combe.publishing.document import (
    Document,
    Facts,
    Form,
    Room,
    Section,
    StudyNamed,
    Table,
    Words,
)
from combe.publishing.fields import (
    UNITS,
    Field,
    Mark,
    blank,
    cells,
    flag,
    many,
    mark,
    named,
    number,
    numbers,
    one,
    text,
    texts,
    unit_of,
    whole,
)
from combe.publishing.text import width_of
from support_reports import PageReader
from support_trial import LEVELS, MARGIN, document, row


def printed(fields, answer):
    return as_object(document(fields, answer))


def test_json_has_the_frame_and_the_fields_in_order(tmp_path):
    study = StudyNamed(str(tmp_path / "s.toml"), "Valley", "", "All is invented.")
    form = Form("trial", LEVELS, files=(("page", "none is asked for"),))
    shown = Document(form, row(), "a trial", ("It holds.",), study=study, made_by={"model": "none"})
    assert json.loads(as_json(shown)) == {
        "format": "combe/trial/1",
        "study": str(tmp_path / "s.toml"),
        "title": "Valley",
        "headline": ["It holds."],
        "name": "A",
        "margin_db": 1.0,
        "asked_db": 0.5,
        "page": None,
        "provenance": {"model": "none"},
        "cautions": list(CAUTIONS),
    }
    assert as_object(shown.with_files(page=tmp_path / "p.html"))["page"] == str(tmp_path / "p.html")
    with pytest.raises(RangeError, match="file of a trial document is raster; allowed: page"):
        shown.with_files(raster=tmp_path)


def test_what_does_not_exist_is_null_and_numpy_is_plain():
    fields = (number("a_db"), number("b_db"), whole("c"), numbers("d_db"), flag("e"), texts("f"))
    answer = {
        "a_db": math.nan, "b_db": np.float32(1.5), "c": np.int64(2), "d_db": np.array([1.0, np.nan]),
        "e": True, "f": ("x",),
    }  # fmt: skip
    found = printed(fields, answer)
    assert [found[key] for key in ("a_db", "b_db", "c", "d_db", "e", "f")] == [
        None, 1.5, 2, [1.0, None], True, ["x"],
    ]  # fmt: skip
    assert plain({"file": Path("a"), "nan": math.inf}) == {"file": "a", "nan": None}


def test_objects_lists_and_names_nest():
    fields = (
        one("site", text("name"), null="none is given"),
        many("relays", text("name"), many("services", number("margin_db"))),
        named("counts", whole("met")),
    )
    answer = {
        "site": None,
        "relays": [{"name": "R", "services": [{"margin_db": 1.0}]}],
        "counts": {"read": {"met": 3}},
    }
    found = printed(fields, answer)
    assert {key: found[key] for key in answer} == answer


def test_people_and_decibels_are_rounded_and_nought_has_no_sign():
    found = printed(
        (number("people_served"), number("loss_db")), {"people_served": 12671.38249, "loss_db": -1e-9}
    )
    assert (found["people_served"], found["loss_db"]) == (12671.382, 0.0)
    assert math.copysign(1.0, found["loss_db"]) == 1.0


@pytest.mark.parametrize(
    ("margin_db", "asked_db"),
    [(10.0 - 1e-9, 10.0), (10.0 + 1e-9, 10.0), (10.0000004, 10.00000049), (10.0000006, 10.0000004)],
)
def test_no_rounding_puts_a_number_on_the_other_side_of_its_limit(margin_db, asked_db):
    found = printed(LEVELS, row(margin_db=margin_db, asked_db=asked_db))
    assert (found["margin_db"] > found["asked_db"]) == (margin_db > asked_db)
    assert (found["margin_db"] < found["asked_db"]) == (margin_db < asked_db)


def test_a_limit_that_is_taken_back_takes_others_with_it():
    low = number("low_db", limit=MARGIN)
    found = printed((low, *LEVELS), {**row(margin_db=5.0000004, asked_db=5.00000045), "low_db": 5.0000001})
    assert found["low_db"] < found["margin_db"] < found["asked_db"]
    same = {**row(margin_db=5.0000004, asked_db=5.00000045), "low_db": 5.0000004}
    assert printed((low, *LEVELS), same)["low_db"] == 5.0000004


def lines_of(table):
    return as_text(document((), None, table)).split("\n\n")[0].splitlines()[2:]


def test_tables_are_aligned():
    columns = text("name", "name"), number("a", "dB"), whole("people", "people")
    rows = {"name": "A", "a": -1.25, "people": 1234567}, {"name": "Longer", "a": math.nan, "people": None}
    assert lines_of(Table("", columns, rows, brief=True)) == [
        "  name      dB     people",
        "  A       −1.2  1 234 567",
        "  Longer     –          –",
    ]


def test_columns_that_would_show_nothing_but_zero_may_be_left_out():
    columns = text("name", "name"), number("a", "other dB"), number("b", "fade dB")
    rows = {"name": "A", "a": 0.0, "b": 0.0}, {"name": "B", "a": -0.01, "b": 4.3}
    table = Table("", columns, rows, brief=True)
    shown = lines_of(replace(table, unless_zero=("other dB", "fade dB")))
    assert shown == ["  name  fade dB", "  A         0.0", "  B         4.3"]
    shown = "\n".join(lines_of(table))
    assert "other dB" in shown
    assert "−0.0" not in shown


def test_no_number_beside_nought_is_rounded_to_it():
    spare = number("spare_db", "spare", limit=0.0)
    assert printed((spare,), {"spare_db": -1e-8})["spare_db"] == -1e-8
    assert cells((spare,), {"spare_db": -0.04}) == ["−0.04"]
    assert cells((spare,), {"spare_db": 0.0}) == ["0.0"]


def test_rounded_parts_add_up_where_the_whole_ones_do():
    parts = (number("a_db"), number("b_db"), number("sum_db", total=("a_db", "b_db")))
    a, b = 1.0000004, 2.0000004
    found = printed(parts, {"a_db": a, "b_db": b, "sum_db": a + b})
    assert found["sum_db"] == found["a_db"] + found["b_db"] != round(a + b, 6)
    assert printed(parts, {"a_db": a, "b_db": b, "sum_db": 9.0})["sum_db"] == 9.0
    edges = (number("sum_db", total=("edges.loss_db",)), many("edges", number("loss_db", get="loss")))
    found = printed(edges, {"sum_db": a + b, "edges": [{"loss": a}, {"loss": b}]})
    assert found["sum_db"] == sum(edge["loss_db"] for edge in found["edges"]) == 3.0


def test_readers_see_a_value_and_its_limit_apart():
    assert cells(LEVELS, row(margin_db=51.57, asked_db=51.61)) == ["A", "51.57", "51.61"]
    assert cells(LEVELS, row(margin_db=60.0, asked_db=51.61)) == ["A", "60.0", "51.6"]
    assert cells(LEVELS, row(margin_db=math.nan, asked_db=51.61)) == ["A", "–", "51.6"]
    assert cells((MARGIN,), row(margin_db=51.57, asked_db=51.61)) == ["51.57"]


def test_a_cell_is_what_its_field_says():
    fields = (
        whole("", "count", "count"), flag("", "yes", "yes"), texts("", "list", "list"),
        mark("", "verdict", "verdict"), number("", "rise", "rise", unit=UNITS["db"], signed=True),
    )  # fmt: skip
    told = {"count": 12345, "yes": False, "list": ["a", "b"], "verdict": Mark("fails", "out"), "rise": 1.25}
    assert cells(fields, told) == ["12\u202f345", "no", "a, b", "out", "+1.2"]
    assert cells(fields, dict.fromkeys(told)) == ["–"] * 5


@pytest.mark.parametrize(
    ("key", "unit"),
    [("field_strength_dbuv_m", "dB(µV/m)"), ("erp_w", "W"), ("people_served", ""), ("share", "")],
)
def test_units_stand_in_keys(key, unit):
    assert unit_of(key).name == unit


def test_fields_are_checked():
    with pytest.raises(RangeError, match="keys in relays is name, name; allowed: each once"):
        many("relays", text("name"), text("name"))
    with pytest.raises(RangeError, match="field is without key and head"):
        Field("", "text")
    with pytest.raises(RangeError, match="look of a verdict is good; allowed: passes, "):
        document((), None, verdict=Mark("good", "good"))


def test_help_and_schema_come_from_the_same_fields():
    form = Form("trial", (many("services", *LEVELS, meaning="of the relay"), texts("words")))
    lines = key_lines(form, 60)
    at = lines.index("services[]{")
    assert lines[at + 1] == "  name, margin_db (null: unknown), asked_db} (of the relay),"
    schema = json_schema(form)["properties"]["services"]
    assert schema["description"] == "of the relay"
    margin = schema["items"]["properties"]["margin_db"]
    assert margin == {"type": ["number", "null"], "description": "[dB]; null: unknown"}
    assert max(map(len, key_lines(form, 60))) <= 60


# Text.


def test_the_answer_comes_with_as_many_rows_as_there_is_room_for():
    rows = tuple(row(f"hill {n}") for n in range(40))
    shown = document((), None, Table("Hills", LEVELS, rows, brief=True), Words(("More.",), title="Notes"))
    lines = as_text(shown).splitlines()
    assert len(lines) == 12
    assert lines[:3] == ["A trial", "It holds.", "  name    margin dB  asked dB"]
    assert lines[-4:] == ["  … and 35 more; see --full", "More with --full: Notes", *CAUTION_LINES]
    whole_text = as_text(shown, full=True)
    assert "hill 39" in whole_text
    assert "More." in whole_text


def test_a_table_that_has_no_room_is_named():
    long = tuple(f"Sentence {n}." for n in range(30))
    shown = document((), None, Table("Hills", LEVELS, (row(),), brief=True), headline=long)
    lines = as_text(shown).splitlines()
    assert len(lines) == 12
    assert "… and 23 more lines; see --full" in lines
    assert "More with --full: Hills" in lines


def test_files_and_commands_stand_as_they_are(tmp_path):
    page = tmp_path / "a -5 b.html"
    shown = Document(
        Form("trial", (), files=(("page", ""),)), None, "a trial", ("At -5 dB.",), files={"page": page},
        next_words=("  level = -5",),
    )  # fmt: skip
    lines = as_text(shown).splitlines()
    assert [lines[1], lines[2], lines[3]] == ["At −5 dB.", f"written: {page}", "  level = -5"]


@pytest.mark.parametrize("count", [4, 9, 30])
def test_no_table_is_wider_than_a_terminal(count):
    columns = tuple(
        number("", f"level of {n}", lambda _, n=n: 100.0 + n, unit=UNITS["dbuv_m"]) for n in range(count)
    )
    names = (
        text("", "station", lambda _: "谷" * 20),
        text("", "why", lambda _: "as far as words go " * 9),
    )
    lines = as_text(document((), None, Table("T", (*names, *columns), (None,))), full=True).splitlines()
    assert max(map(width_of, lines)) <= WIDEST
    told = " ".join(lines)
    for n in range(count):
        assert f"{100.0 + n:.1f}" in told
    assert " ".join(told.split()).count("go") == 9


def test_units_go_below_heads_that_are_too_wide():
    columns = tuple(number("", f"level {n}", lambda _: 1.0, unit=UNITS["dbuv_m"]) for n in range(6))
    lines = as_text(document((), None, Table("T", columns, (None,))), full=True).splitlines()
    at = lines.index("T")
    assert lines[at + 1].split() == [
        "level",
        "0",
        "level",
        "1",
        "level",
        "2",
        "level",
        "3",
        "level",
        "4",
        "level",
        "5",
    ]
    assert lines[at + 2].split() == ["dB(µV/m)"] * 6


def test_a_sentence_of_a_section_names_it_in_brief():
    said = Section("Mux A", (Words(("It would do.", Mark("fails", "Not so.")), brief=True),))
    shown = document((), None, said)
    assert as_text(shown).splitlines()[2:4] == ["Mux A: It would do.", "Mux A: Not so."]
    assert "It would do." in as_text(shown, full=True).splitlines()


def test_rows_of_a_group_stand_under_its_words_and_columns_of_nought_are_left_out():
    table = Table("T", LEVELS, (row("A", 0.0), row("B", 0.0)), group=lambda each: f"of {each['name']}")
    shown = as_text(document((), None, replace(table, unless_zero=("margin",))), full=True).splitlines()
    at = shown.index("  name  asked dB")
    assert shown[at + 1 : at + 5] == [" of A", "  A          0.5", " of B", "  B          0.5"]


def test_a_list_that_has_no_room_is_cut_short():
    long = Words(tuple(f"Sentence {n}." for n in range(30)), "Notes", listed=True, brief=True)
    lines = as_text(document((), None, long)).splitlines()
    assert len(lines) == 11
    assert lines[2] == "  - Sentence 0."
    assert lines[-3] == "  … and 24 more; see --full"


def test_small_words_stand_below_a_value_and_shared_cells_once():
    fields = (
        text("", "where", "where", once=True),
        text("", "value", "value", under="day", right=True),
    )
    rows = tuple(
        {"where": where, "value": value, "day": day}
        for where, value, day in (("mast", "ok", "2026-05-01"), ("mast", "5 W", ""), ("hut", "1 W", None))
    )
    shown = document((), None, Table("T", fields, rows))
    lines = [line.split() for line in as_text(shown, full=True).splitlines()]
    at = lines.index(["where", "value"])
    assert lines[at + 1 : at + 5] == [["mast", "ok"], ["2026-05-01"], ["5", "W"], ["hut", "1", "W"]]
    page = as_html(shown)
    assert page.count('rowspan="2"') == 1
    rows = PageReader(page).rows
    assert [each for each in rows if each][1:4] == [
        ["mast", "ok\n2026-05-01"],
        ["mast", "5 W"],
        ["hut", "1 W"],
    ]


def test_room_to_write_is_for_paper_alone():
    fields = (text("name", "name"), blank("done", "☐"), blank("remark"))
    parts = (
        Facts((blank("Who"),), None, title="By"),
        Table("T", fields, (row("A"),)),
        Room("Notes", 3),
        Section("Nothing said", (Room("Sketch", 1),)),
        Section("", (Words(("Care.",)),), framed=True),
    )
    shown = document((), None, *parts)
    told = as_text(shown, full=True)
    assert [word for word in ("By", "Who", "☐", "remark", "Notes", "Nothing said") if word in told] == []
    assert "\n  name\n  A\n\nCare.\n" in told
    page = as_html(shown)
    assert page.count('<td class="left box">☐</td>') == page.count('<td class="left room"></td>') == 1
    assert '<dl class="blanks"><div><dt>Who</dt><dd></dd></div></dl>' in page
    assert page.count("<div></div>") == 4
    assert '<section id="part-4" class="framed">' in page


def test_fields_may_be_lines_and_rows_columns():
    table = Table("T", LEVELS[1:], (row("Mux A"), row("Mux B", 2.0)), across="name")
    shown = as_text(document((), None, table), full=True).splitlines()
    assert ["margin", "dB", "1.0", "2.0"] in [line.split() for line in shown]
    assert ["margin", "dB", "1.0", "2.0"] in PageReader(as_html(document((), None, table))).rows
