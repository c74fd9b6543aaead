"""Where the reference data are a must, their absence ends the run; a run tells how many figures it held."""

import os
import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).parent


def run_tests(*words, **settings):
    environment = {key: value for key, value in os.environ.items() if not key.startswith("COMBE_RE")}
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *words],
        cwd=TESTS.parent,
        env=environment | settings,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )


def test_absence_is_a_failure_where_the_data_are_a_must(tmp_path):
    (tmp_path / "p1812" / "logs").mkdir(parents=True)
    chosen = "tests/test_errors.py"
    found = run_tests(chosen, COMBE_REQUIRE_REFERENCE="1", COMBE_REFERENCE_DATA=str(tmp_path))
    assert found.returncode == 4
    assert "asks for p1812/profiles, delta_bullington in " in found.stderr
    assert "which is not set" in run_tests(chosen, COMBE_REQUIRE_REFERENCE="1").stderr


def test_a_skip_for_want_of_one_file_is_a_failure_too(tmp_path):
    """The folders are there, and their files are not: each skip says which, and fails."""
    for part in ("p1812/profiles", "p1812/logs", "delta_bullington"):
        (tmp_path / part).mkdir(parents=True)
    chosen = "tests/propagation/test_delta_bullington.py", "-k", "study_group_3"
    found = run_tests(*chosen, COMBE_REQUIRE_REFERENCE="1", COMBE_REFERENCE_DATA=str(tmp_path))
    assert found.returncode == 1
    assert "10 failed" in found.stdout
    assert "COMBE_REQUIRE_REFERENCE=1 allows no skip: Skipped: profile3.dat" in found.stdout
    lenient = run_tests(*chosen, COMBE_REFERENCE_DATA=str(tmp_path))
    assert lenient.returncode == 0
    assert "10 skipped" in lenient.stdout


def test_a_run_tells_that_none_was_held():
    found = run_tests("tests/test_errors.py")
    assert found.returncode == 0
    assert "figures held against the reference data: 0" in found.stdout
