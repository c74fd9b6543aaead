"""A few spoilt files of each kind at every run; ``python tests/fuzz.py`` reads thousands."""

import pytest

import fuzz

CASES = 120


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("spoilt")


@pytest.mark.parametrize(
    "name", ["study", "pattern", "readings", "people", "places", "network", "map", "raster"]
)
def test_a_spoilt_file_is_read_or_refused(folder, name):
    (kind,) = [each for each in fuzz.kinds(folder) if each.name == name]
    kind.read(_sound(folder, kind))
    assert fuzz.run(kind, folder, CASES, seed=7) == []


def _sound(folder, kind):
    path = folder / kind.file
    path.write_bytes(kind.sound)
    return path


def test_what_escapes_is_told(folder):
    def stumble(path):
        raise KeyError(path.name)

    kind = fuzz.Kind("study", "study.toml", b"a = 1", stumble)
    assert len(fuzz.run(kind, folder, 3, seed=1)) == 3
