"""Faults of a study: one a line in a terminal, all of them in JSON."""

from support_cli import run, run_json
from support_study import edited, write_study

TWO = (("erp_w = 1000.0", "erp_w = -1.0"), ("channel = 31", "channel = 99"))


def test_several_faults_are_one_a_line(tmp_path):
    study = write_study(tmp_path, edited(*TWO))
    result = run("path", study, "--from", "A", "--to", "B")
    assert (result.exit_code, result.stdout) == (2, "")
    first, *faults = result.stderr.splitlines()
    assert first == f"combe: study {study} has 2 faults"
    assert [fault.partition(":")[0] for fault in faults] == [
        "  stations[0].services[0].erp_w",
        "  stations[0].services[1].channel",
    ]


def test_a_single_fault_stands_behind_the_name_of_the_study(tmp_path):
    study = write_study(tmp_path, edited(TWO[0]))
    lines = run("check", study).stderr.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith(f"combe: study {study} has 1 fault: stations[0].services[0].erp_w: ")


def test_the_json_of_a_study_with_faults_has_every_key(tmp_path):
    bad, good = (write_study(tmp_path / name, edited(*some)) for name, some in (("a", TWO), ("b", ())))
    faulty, whole = run_json("check", bad, code=2), run_json("check", good)
    assert faulty.keys() == whole.keys()
    assert (faulty["valid"], len(faulty["faults"]), faulty["stations"]) == (False, 2, None)
    assert faulty["study"] == str(bad)
