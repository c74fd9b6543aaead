"""Keeps predicted fields out of the user's cache, chance out of the check of everything, and no check out."""

import os
from pathlib import Path

import pytest
from hypothesis import settings
from threadpoolctl import threadpool_limits

from support_browser import chromium, chromium_command

__all__ = ["chromium", "chromium_command"]

# Threads of the linear algebra gain nothing with our small matrices, and turn idly where cores are busy: one
# exact diffraction cost fifty times its work. Plug-ins have loaded numpy by now, so its threads are limited
# here; the variable is for what is loaded later, and for processes that tests start.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
threadpool_limits(limits=1, user_api="blas")

# With CI set the examples are the same at every run, so that a commit is not refused by luck; without it each
# run looks at new ones.
# Examples have no deadline: a busy machine, or a kernel that is compiled first, is no fault of the code.
settings.register_profile("new examples", deadline=None)
settings.register_profile("repeatable", deadline=None, derandomize=True)
settings.load_profile("repeatable" if os.environ.get("CI") else "new examples")


REFERENCE = "reference data"
"""Name of the property of a test that holds one figure against the reference data."""

VARIABLE, REQUIRED = "COMBE_REFERENCE_DATA", "COMBE_REQUIRE_REFERENCE"

PARTS = ("p1812/profiles", "p1812/logs", "delta_bullington")


def pytest_sessionstart():
    """Refuse to run without the reference data where they are a must, so that nothing is skipped."""
    folder = os.environ.get(VARIABLE, "")
    absent = [part for part in PARTS if not folder or not (Path(folder) / part).is_dir()]
    if os.environ.get(REQUIRED) == "1" and absent:
        where = folder or f"{VARIABLE}, which is not set"
        raise pytest.UsageError(f"{REQUIRED}=1 asks for {', '.join(absent)} in {where}")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Fail a test that is skipped for want of a file of the reference data, where they are a must."""
    report = yield
    if os.environ.get(REQUIRED) == "1" and report.skipped and VARIABLE in str(report.longrepr):
        report.outcome = "failed"
        report.longrepr = f"{REQUIRED}=1 allows no skip: {report.longrepr[-1]}"
    return report


def pytest_terminal_summary(terminalreporter):
    """Tell how many figures were held against the reference data, none being a number too."""
    passed = terminalreporter.stats.get("passed", [])
    held = sum((REFERENCE, True) in report.user_properties for report in passed if report.when == "call")
    terminalreporter.write_line(f"figures held against the reference data: {held}")


@pytest.fixture(scope="session", autouse=True)
def cache_of_the_tests(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("fields")
        patch.setenv("COMBE_CACHE", str(folder))
        yield folder
