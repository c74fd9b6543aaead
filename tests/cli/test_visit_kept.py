"""Whatever fails once the readings are stored, the one line says that they are."""

from __future__ import annotations

import pytest

from combe.answers import visit
from combe.cli import visit_content
from combe.planning.visits.log import read_log
from support_cli import complaint, remarks, run
from support_study import edited, write_study
from support_visits import row, write_table

FREE_SPACE = edited(("invented = true", 'invented = true\nmodel = "free-space"'))


@pytest.fixture
def study(tmp_path):
    return write_study(tmp_path, FREE_SPACE)


@pytest.fixture
def readings(study):
    return write_table(study.parent / "readings.csv", row())


def failing(error):
    def fail(*given, **named):
        raise error

    return fail


def kept(study):
    return f"; the readings are stored in {study.parent / 'visits.gpkg'}; make the page with --log"


@pytest.mark.parametrize("error", [ValueError("the page cannot be drawn"), OSError("disk gone")])
def test_a_page_that_cannot_be_made(study, readings, monkeypatch, error):
    with monkeypatch.context() as patched:
        patched.setattr(visit_content, "render_visit_page", failing(error))
        told = complaint("visit", study, readings)
    assert f"{error}{kept(study)}" in told
    assert len(read_log(study.parent / "visits.gpkg")) == 1
    assert run("visit", study, "--log").exit_code in (0, 1)


def test_a_judgement_that_cannot_be_made(study, readings, monkeypatch):
    monkeypatch.setattr(visit, "judge_log", failing(ZeroDivisionError("a" * 400)))
    assert kept(study) in complaint("visit", study, readings)


def test_a_run_that_is_stopped(study, readings, monkeypatch):
    monkeypatch.setattr(visit_content, "render_visit_page", failing(KeyboardInterrupt()))
    result = run("visit", study, readings)
    assert result.exit_code == 130
    assert remarks(result)[-1] == f"combe: stopped{kept(study)}"


def test_nothing_is_said_of_readings_where_none_were_taken(study, readings, monkeypatch):
    assert run("visit", study, readings).exit_code in (0, 1)
    monkeypatch.setattr(visit_content, "render_visit_page", failing(ValueError("no page")))
    told = complaint("visit", study, "--log")
    assert "no page" in told
    assert "stored" not in told
