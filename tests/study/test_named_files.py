"""The files of a study: itself and each that it names, with hashes; none of a project made in memory."""

import hashlib
from dataclasses import replace

from combe.study.file import load_study
from combe.study.named_files import files_of, named_files
from combe.study.new import demo_study_path
from combe.study.project_of import load_project


def test_each_file_is_there_with_its_hash():
    found = named_files(load_study(demo_study_path()))
    names = ["study.toml", "../ridges_srtm3.tif", "people.tif", "border.geojson", "relay_pattern.csv"]
    names += ["places.geojson", "river.geojson", "roads.geojson"]
    assert sorted(each.name for each in found) == sorted(names)
    for each in found:
        content = (demo_study_path().parent / each.name).read_bytes()
        assert (each.bytes, each.sha256) == (len(content), hashlib.sha256(content).hexdigest())


def test_a_project_of_no_study_has_none():
    project = load_project(demo_study_path())
    assert files_of(project) == named_files(load_study(demo_study_path()))
    assert files_of(replace(project, key="")) == ()
    assert files_of(replace(project, key="/nowhere/study.toml")) == ()
