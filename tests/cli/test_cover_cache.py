"""``combe cover`` keeps the fields of stations, takes up those that did not change, and can do without."""

from pathlib import Path

import pytest

from combe.prediction import field_store
from support_cli import complaint, run_json
from support_study import edited, write_study

FREE_SPACE = edited(("invented = true", 'invented = true\nmodel = "free-space"'))


@pytest.fixture
def study(tmp_path):
    return write_study(tmp_path / "study", FREE_SPACE)


def cover(study, *words):
    """Return what was printed and the rasters' bytes."""
    printed = run_json("cover", study, *words)
    services = [service for station in printed["stations"] for service in station["services"]]
    with_bytes = [Path(service["raster"]).read_bytes() for service in services]
    return [station["from_cache"] for station in printed["stations"]], with_bytes, printed


def test_what_did_not_change_comes_from_the_cache(study, tmp_path):
    cache = tmp_path / "cache"
    first, fresh, printed = cover(study, "--cache", cache)
    again, kept, printed_again = cover(study, "--cache", cache)
    assert (first, again) == ([False, False], [True, True])
    assert kept == fresh
    assert printed_again["all_services"] == printed["all_services"]
    study.write_text(FREE_SPACE.replace("erp_w = 20.0", "erp_w = 25.0", 1))
    assert cover(study, "--cache", cache)[0] == [True, False]
    assert len(list(cache.glob("*.fields"))) == 3


def test_a_spoilt_cache_is_not_trusted(study, tmp_path):
    _, fresh, _ = cover(study, "--cache", tmp_path / "cache")
    for path in (tmp_path / "cache").glob("*.fields"):
        spoilt = bytearray(path.read_bytes())
        spoilt[-5] ^= 1
        path.write_bytes(spoilt)
    mended, rasters, _ = cover(study, "--cache", tmp_path / "cache")
    assert mended == [False, False]
    assert rasters == fresh
    assert cover(study, "--cache", tmp_path / "cache")[0] == [True, True]


def test_without_a_cache_nothing_is_taken_and_nothing_kept(study, tmp_path):
    cover(study, "--cache", tmp_path / "cache")
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "cache").glob("*.fields")}
    assert cover(study, "--cache", tmp_path / "cache", "--no-cache")[0] == [False, False]
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "cache").glob("*.fields")} == before


def test_the_folder_may_come_from_the_environment(study, tmp_path, monkeypatch):
    monkeypatch.setenv("COMBE_CACHE", str(tmp_path / "elsewhere"))
    cover(study)
    assert len(list((tmp_path / "elsewhere").glob("*.fields"))) == 2


def test_the_usual_folder_is_the_users_and_none_is_no_harm(study, tmp_path, monkeypatch):
    monkeypatch.delenv("COMBE_CACHE")
    monkeypatch.setattr(field_store.platformdirs, "user_cache_dir", lambda *_, **__: str(tmp_path / "u"))
    assert cover(study)[0] == [False, False]
    assert len(list((tmp_path / "u" / "fields").glob("*.fields"))) == 2
    (tmp_path / "file").write_text("x")
    monkeypatch.setattr(field_store.platformdirs, "user_cache_dir", lambda *_, **__: str(tmp_path / "file"))
    assert cover(study)[0] == [False, False]


def test_a_named_folder_must_be_usable(study, tmp_path):
    (tmp_path / "taken").write_text("x")
    said = complaint("cover", study, "--cache", tmp_path / "taken")
    assert "cannot write" in said
    assert "it, or a part of its path, is a file and no folder" in said


def test_tiles_that_a_run_killed_at_its_end_left_are_removed_by_the_next(study, tmp_path):
    cache = tmp_path / "cache"
    cover(study, "--cache", cache)
    (folder,) = cache.glob("runs/*/unfinished")
    (folder / "of-a-finished-run.tile").write_bytes(b"no longer needed")
    cover(study, "--cache", cache)
    assert list(folder.iterdir()) == []
