"""Street tiles are in the map only when they are asked for."""

import pytest

from combe.study.new import new_study
from support_cli import run_json

HOST = "tile.openstreetmap.org"


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    path = new_study(tmp_path_factory.mktemp("study"))
    path.write_text(path.read_text("utf-8").replace("cell_size_m = 60.0", "cell_size_m = 400.0"), "utf-8")
    return path


def drawn(study, tmp_path, *options):
    from pathlib import Path

    return Path(run_json("cover", study, "--no-cache", "--out", tmp_path, *options)["map"]).read_text("utf-8")


def test_no_host_is_named_unless_asked(study, tmp_path):
    assert HOST not in drawn(study, tmp_path)


def test_asked_for_they_are_a_switch_that_is_off(study, tmp_path):
    page = drawn(study, tmp_path, "--street-tiles")
    assert HOST in page
    assert 'id="mark-streets"' in page
    assert 'id="mark-streets" checked' not in page
