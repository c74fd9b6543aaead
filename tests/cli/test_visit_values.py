"""The values and exit codes of ``combe visit --json``, with readings that are all different."""

from __future__ import annotations

import pytest

from support_cli import run, run_json
from support_study import edited, write_study
from support_visits import HEADER, row, write_table

FREE_SPACE = edited(("invented = true", 'invented = true\nmodel = "free-space"'))
LOSS = {"test_point": "output coupler", "quantity": "return loss", "unit": "dB", "service": ""}


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """Return a study whose log has a commissioning and two further visits."""
    path = write_study(tmp_path_factory.mktemp("values"), FREE_SPACE)
    rows = [
        row(date="2024-05-01", value="30.0", **LOSS),
        row(date="2024-11-01", value="27.0", **LOSS) + ",commissioning",
        row(date="2025-05-01", value="25.5", **LOSS),
        row(date="2025-11-01", value="24.75", **LOSS),
    ]
    rows = [each if each.endswith("commissioning") else f"{each},routine" for each in rows]
    rows = [each.replace("2026-01-15", "2024-01-15") for each in rows]
    table = write_table(path.parent / "r.csv", *rows, header=f"{HEADER},visit")
    assert run("visit", path, table).exit_code == 0
    return path


def later(study, value):
    """Return a further visit of the return loss, which is not stored."""
    return write_table(study.parent / "later.csv", row(date="2026-05-01", value=value, **LOSS))


def test_a_judgement_tells_the_record_the_last_visit_and_the_reading_apart(study):
    (judged,) = run_json("visit", study, "--log")["judgements"]
    told = {name: judged[name] for name in ("value", "record", "last", "expected", "unit", "service")}
    assert told == {
        "value": 24.75, "record": 27.0, "last": 25.5, "expected": None, "unit": "dB", "service": "",
    }  # fmt: skip
    dates = (judged["date"], judged["record_on"], judged["last_on"], judged["commissioned"])
    assert dates == ("2025-11-01", "2024-11-01", "2025-05-01", True)
    assert {each["against"]: each["difference"] for each in judged["comparisons"]} == {
        "limit": None, "commissioning": -2.25, "last visit": -0.75, "drift": None,
    }  # fmt: skip
    assert {each["difference_unit"] for each in judged["comparisons"]} == {"dB"}


def test_a_first_reading_has_no_last_visit(study, tmp_path):
    table = write_table(tmp_path / "first.csv", row(value="24.5", **LOSS))
    printed = run_json("visit", study, table, "--dry-run", "--log-file", tmp_path / "none.gpkg")
    (judged,) = printed["judgements"]
    assert (judged["value"], judged["record"], judged["last"], judged["last_on"]) == (24.5, 24.5, None, None)
    assert judged["commissioned"] is False


def test_a_row_of_the_sheet_has_the_record_its_bounds_and_their_basis(study):
    (station,) = run_json("visit", study, "--sheet")["stations"]
    rows = {(each["test_point"], each["quantity"], each["service"]): each for each in station["rows"]}
    loss = rows["output coupler", "return loss", ""]
    assert (loss["expected"], loss["record"], loss["lowest"], loss["highest"]) == (None, 27.0, 24.0, None)
    assert (loss["unit"], loss["basis"]) == ("dB", "limits and record")
    power = rows["output coupler", "ERP", "Mux 2"]
    # 20 W as the study has it, 0.5 dB to both sides.
    assert (power["expected"], power["record"]) == (20.0, None)
    assert power["lowest"] == pytest.approx(17.825, abs=1e-3)
    assert power["highest"] == pytest.approx(22.44, abs=1e-3)


# Record 27 dB with a tolerance of 3 dB, last visit 24.75 dB with a usual change of 3 dB; limit 20 dB.
@pytest.mark.parametrize(
    ("value", "status", "code"),
    [
        ("25.0", "within tolerance", 0),
        ("29.0", "within tolerance", 0),
        ("23.5", "out", 1),
        ("19.5", "out", 1),
    ],
)
def test_only_what_is_out_leaves_with_1(study, value, status, code):
    words = ("visit", study, later(study, value), "--dry-run")
    assert run_json(*words, code=code)["status"] == status
    assert run(*words).exit_code == code


def test_what_drifts_leaves_with_0(study, tmp_path):
    level = {"meter_calibrated_on": ""}
    rows = [row(date="2026-05-01", value="-50.0", **level), row(date="2026-05-20", value="-52.9", **level)]
    words = ("visit", study, write_table(tmp_path / "two.csv", *rows), "--dry-run")
    printed = run_json(*words, code=0)
    assert printed["status"] == "drifting"
    # This path falls by 1.5 dB for 99 % of the year and rises by 1.2 dB for 1 %; ±3 dB is allowed.
    air = printed["judgements"][0]["air"]
    assert 2.0 < air["fall_db"] + air["rise_db"] < 2.9
    usual = f"{air['fall_db'] + air['rise_db']:.3g}"
    assert printed["judgements"][0]["reason"].startswith(f"-2.9 dB since the last visit, usual {usual} dB")
    assert run(*words).exit_code == 0
