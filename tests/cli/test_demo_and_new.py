"""The demo and new studies made from it."""

import pytest

import combe.answers.cover
import combe.answers.model_change
import combe.answers.site_report
from combe.study.file import load_study
from combe.study.new import demo_study_path
from support_cli import complaint, run, run_json


@pytest.fixture(scope="module")
def worked_out_once():
    """Let runs of the demo share what they work out; each prints and writes all of it."""
    made = {}

    def kept(name, work):
        def once(first, *arguments, **settings):
            study = getattr(first, "key", None)
            key = name, study, *(each for each in arguments if isinstance(each, (str, float)))
            if key not in made:
                made[key] = work(first, *arguments, **settings)
            return made[key]

        return once

    with pytest.MonkeyPatch.context() as patch:
        for room, name in (
            (combe.answers.cover, "cover_report"),
            (combe.answers.model_change, "model_change"),
            (combe.answers.site_report, "site_report"),
        ):
            patch.setattr(room, name, kept(name, getattr(room, name)))
        yield made


@pytest.fixture(scope="module")
def demo(tmp_path_factory, worked_out_once):
    return run_json("demo", "--out", tmp_path_factory.mktemp("maps"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("new") / "valley"
    result = run("new", made)
    assert result.exit_code == 0, result.output
    assert f"Next: combe check {made / 'study.toml'}" in result.stdout
    return made


def test_the_demo_is_a_believable_case(demo):
    assert demo["feed"]["verdict"] == "passes", "the relay hears the parent"
    people = demo["cover"]["all_services"]
    assert people["people_newly_served"] > 0.05 * people["people_total"], "the valley lies in the shadow"
    assert people["people_without_prediction"] < 0.01 * people["people_total"]
    assert demo["cover"]["invented"] is True


def test_the_demo_leaves_its_pages_and_rasters(demo):
    from pathlib import Path

    page, drawn = Path(demo["feed"]["page"]), Path(demo["cover"]["map"])
    assert (page.name, drawn.name, page.parent) == ("feed.html", "map.html", drawn.parent)
    rasters = [Path(s["raster"]) for each in demo["cover"]["stations"] for s in each["services"]]
    left = sorted(path.name for path in page.parent.iterdir())
    assert left == sorted([path.name for path in [page, drawn, *rasters]] + ["index.html", "site"])
    assert Path(demo["site"]["map"]).parent == page.parent / "site"


def test_the_demo_tells_its_story_and_writes_to_maps(demo, worked_out_once, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run("demo")
    assert len(worked_out_once) == 3, "coverage, another model, and the siting"
    assert result.exit_code == 0, result.output
    for words in (
        "invented",
        "feed   ",
        "cover  Of ",
        "with the relays, ",
        "the best 10 as relays",
        "the study's own Larkcombe",
        "Cautions",
        "Open maps/index.html in a browser",
    ):
        assert words in result.stdout
    assert (tmp_path / "maps" / "map.html").is_file()
    index = (tmp_path / "maps" / "index.html").read_text("utf-8")
    for page in ("map.html", "feed.html", "site/site.html", "site/hill-10.html"):
        assert f'<a href="{page}">' in index
        place = tmp_path / "maps" / page
        back = "../index.html" if "/" in page else "index.html"
        assert f'<nav class="back"><a href="{back}">' in place.read_text("utf-8")


def test_the_demo_opens_its_index(demo, worked_out_once, tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr("combe.cli.browser.show_address", lambda address: shown.append(address) or Opened())
    monkeypatch.setenv("DISPLAY", ":0")
    assert run("demo", "--out", tmp_path, "--open").exit_code == 0
    assert shown == [(tmp_path / "index.html").as_uri()]


class Opened:
    """What shows an address, and is done at once."""

    def join(self, patience_s):
        assert patience_s > 0


def test_a_new_study_says_what_the_demo_says(folder):
    made, demo = load_study(folder / "study.toml").content, load_study(demo_study_path()).content
    assert made.stations[0] == demo.stations[0]
    assert made.air == demo.air
    assert made.grid == demo.grid


@pytest.mark.parametrize(("command", "code"), [("check", 0), ("feed", 0), ("cover", 0)])
def test_a_new_study_works_at_once(folder, command, code):
    assert run(command, folder / "study.toml").exit_code == code


def test_a_second_new_study_in_the_folder_is_refused(folder):
    before = (folder / "study.toml").read_bytes()
    assert complaint("new", folder) == (
        f"cannot write {folder / 'study.toml'}: it is already there; name a folder without it"
    )
    assert (folder / "study.toml").read_bytes() == before


def test_new_lists_its_files(tmp_path):
    printed = run_json("new", tmp_path / "a")
    assert printed["study"] == str(tmp_path / "a" / "study.toml")
    assert {str(path) for path in (tmp_path / "a").iterdir()} == set(printed["files"])


def test_a_path_with_spaces_can_be_copied(tmp_path):
    folder = tmp_path / "two words"
    assert f"Next: combe check '{folder / 'study.toml'}'" in run("new", folder).stdout
