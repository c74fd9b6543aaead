"""Names of files from names in any script: readable, safe, no two alike."""

import sys
import unicodedata
from pathlib import Path

import pytest
import rasterio
from hypothesis import given
from hypothesis import strategies as st

from combe.publishing.text import file_stems
from support_cli import run, run_json
from support_study import edited, write_study

FREE_SPACE = ("invented = true", 'invented = true\nmodel = "free-space"')


@pytest.mark.parametrize(
    ("names", "stems"),
    [
        ([("Parent Hill", "Mux 1"), ("Parent Hill", "Mux 2")], ["parent-hill_mux-1", "parent-hill_mux-2"]),
        ([("A/B", "x"), ("A B", "x"), ("a-b", "X")], ["a-b_x", "a-b_x~2", "a-b_x~3"]),
        ([("../../etc", "C:\\x")], ["etc_c-x"]),
        ([("Lärche", "É"), ("LA\u0308RCHE", "e\u0301")], ["lärche_é", "lärche_é~2"]),
        ([("一", "二"), ("二", "一")], ["一_二", "二_一"]),
        ([("घाटी", "עמק")], ["घाटी_עמק"]),
        ([("Straße", "ＭＵＸ①"), ("STRASSE", "mux1")], ["strasse_mux1", "strasse_mux1~2"]),
        ([("a\u202eb\u200dc", "d\x00\n\u2028e")], ["abc_d-e"]),
        ([("☃", "…"), ("", "?")], ["x_x", "x_x~2"]),
        ([("CON",), ("Com¹",), ("console",)], ["x-con", "x-com1", "console"]),
    ],
)
def test_names_are_readable_safe_and_differ(names, stems):
    assert file_stems(names) == stems


@given(st.lists(st.lists(st.text(max_size=200), min_size=1, max_size=2), max_size=8))
def test_any_names(names):
    stems = file_stems(names)
    assert len({unicodedata.normalize("NFD", stem).casefold() for stem in stems}) == len(names)
    for stem in stems:
        assert stem
        assert stem == unicodedata.normalize("NFC", stem) or len(stem) >= 40, "but where it was cut"
        assert not any(unicodedata.category(sign)[0] in "CZ" or sign in '/\\:*?"<>|.' for sign in stem)
        assert len(f"share_with_interference_{stem}.tif".encode()) < 200


def test_long_names_are_cut_between_signs_and_still_differ():
    one, other = file_stems([["谷" * 100, "一"], ["谷" * 100, "二"]])
    assert (one, other) == ("谷" * 40, "谷" * 40 + "~2")


def test_rasters_of_a_study_in_other_scripts(tmp_path):
    names = (("Parent Hill", "Lärche"), ("Parent Hill", "Lärche"), ("Combe Relay", "谷"))
    study = write_study(tmp_path, edited(FREE_SPACE, *names))
    printed = run_json("cover", study)
    rasters = [Path(service["raster"]) for station in printed["stations"] for service in station["services"]]
    assert [path.name for path in rasters] == [
        "field_lärche_mux-1.tif", "field_lärche_mux-2.tif", "field_谷_mux-1.tif", "field_谷_mux-2.tif",
    ]  # fmt: skip
    for path in rasters:
        with rasterio.open(path) as raster:
            assert raster.tags()["station"] in ("Lärche", "谷")


def test_a_system_that_lacks_the_signs_gets_names_without_them(monkeypatch):
    monkeypatch.setattr(sys, "getfilesystemencoding", lambda: "iso8859-1")
    assert file_stems([["Lärche", "谷 2"]]) == ["lärche_2"]


@pytest.mark.parametrize("name", ["谷の中継所", "עמק", "घाटी"])
def test_a_feed_whose_name_the_font_of_the_diagrams_lacks(tmp_path, name):
    """A warning of the font would be an error here."""
    result = run("feed", write_study(tmp_path, edited(FREE_SPACE, ("Combe Relay", name))))
    assert result.exit_code in (0, 1), result.output
    assert name in result.stdout
