"""The commented study text, and new folders made from it."""

import re

import pytest

from combe.errors import OutputError
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.template import study_text
from support_study import STUDY, edited, write_study

PATTERN = "bearing_deg,relative_db\n" + "\n".join(f"{bearing},0.0" for bearing in range(0, 360, 30)) + "\n"


@pytest.fixture
def example(tmp_path):
    folder = tmp_path / "example"
    change = ('polarization = "horizontal"', 'polarization = "horizontal"\nhorizontal_pattern = "sub/p.csv"')
    (folder / "sub").mkdir(parents=True)
    (folder / "sub" / "p.csv").write_text(PATTERN, encoding="utf-8")
    return write_study(folder, edited(change))


def test_the_text_reads_back_as_the_same_study(tmp_path):
    study = load_study(write_study(tmp_path))
    again = tmp_path / "again.toml"
    again.write_text(study_text(study.content), encoding="utf-8")
    assert load_study(again).content == study.content


def test_odd_text_survives(tmp_path):
    title = 'Tal „Süd“ \\\\ \\"x\\" # no comment'
    study = load_study(write_study(tmp_path, edited(("Relay for Long Combe", title))))
    again = tmp_path / "again.toml"
    again.write_text(study_text(study.content), encoding="utf-8")
    assert load_study(again).content.study.title == study.content.study.title


def test_a_study_without_people_shows_how_to_add_them(tmp_path):
    study = load_study(write_study(tmp_path, edited(('[people]\nraster = "people.tif"\n', ""))))
    text = study_text(study.content)
    assert "# [people]" in text
    again = tmp_path / "again.toml"
    again.write_text(text, encoding="utf-8")
    assert load_study(again).content == study.content
    before, _, after = text.partition("# [people]")
    shown = f"{before}[people]{after.replace('# raster =', 'raster =', 1)}"
    again.write_text(shown, encoding="utf-8")
    assert load_study(again).content.people.raster == "people.tif"


def test_a_study_with_cover_reads_back_and_one_without_shows_how(tmp_path):
    plain = study_text(load_study(write_study(tmp_path)).content)
    assert "# [clutter]" in plain
    assert '# legend = "worldcover"' in plain
    section = '[clutter]\nraster = "people.tif"\nlegend = "corine"\nheights = "h.csv"\n\n[people]'
    (tmp_path / "h.csv").write_text("class,height_m\n10,12\n", encoding="utf-8")
    study = load_study(write_study(tmp_path, edited(("[people]", section))))
    again = tmp_path / "again.toml"
    again.write_text(study_text(study.content), encoding="utf-8")
    assert load_study(again).content == study.content
    new = new_study(tmp_path / "new", study.path)
    assert load_study(new).content.clutter == study.content.clutter
    assert (tmp_path / "new" / "h.csv").is_file()


def test_every_key_is_explained_once_at_least(tmp_path):
    text = study_text(load_study(write_study(tmp_path)).content)
    for key in (
        "cell_size_m",
        "area_deg",
        "delta_n",
        "effective_radius_km",
        "channel_raster",
        "erp_w",
        "from",
    ):
        assert re.search(rf"^(# )?{key} = .*  # \w", text, re.MULTILINE), key


def test_a_new_folder_works_by_itself(tmp_path, example):
    made = new_study(tmp_path / "new" / "valley", example)
    assert made == tmp_path / "new" / "valley" / "study.toml"
    assert sorted(path.name for path in made.parent.iterdir()) == [
        "p.csv",
        "people.tif",
        "study.toml",
        "terrain.tif",
    ]
    assert load_study(made).content.stations[0].horizontal_pattern == "p.csv"


def test_an_existing_study_is_never_overwritten(tmp_path, example):
    made = new_study(tmp_path / "valley", example)
    made.write_text(STUDY, encoding="utf-8")
    with pytest.raises(OutputError, match=r"study\.toml: it is already there; name a folder without it"):
        new_study(tmp_path / "valley", example)
    assert made.read_text(encoding="utf-8") == STUDY
    assert not list(made.parent.glob(".new-*"))


def test_a_file_in_the_way_leaves_the_folder_as_it_was(tmp_path, example):
    folder = tmp_path / "valley"
    folder.mkdir()
    (folder / "people.tif").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError, match=r"people\.tif: it is already there"):
        new_study(folder, example)
    assert [path.name for path in folder.iterdir()] == ["people.tif"]
    assert (folder / "people.tif").read_text(encoding="utf-8") == "mine"


def test_a_folder_that_cannot_be_made(tmp_path, example):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(
        OutputError,
        match=r"cannot write .*: it, or a part of its path, is a file and no folder; name another folder",
    ):
        new_study(tmp_path / "file" / "valley", example)
