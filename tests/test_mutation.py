"""The table of changes speaks of the package as it is; the run itself takes long and is not made here."""

import pytest

from mutation import CHANGES, PACKAGE, REPOSITORY

ROOMS = {path.parent.name for path in (PACKAGE / "combe").glob("*/__init__.py")}


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: f"{change.file} {change.old.strip()[:30]}")
def test_what_is_changed_is_there_and_so_are_its_tests(change):
    assert change.old in (PACKAGE / "combe" / change.file).read_text(encoding="utf-8")
    assert change.new != change.old
    assert all((REPOSITORY / test).exists() for test in change.tests.split())


def test_every_room_is_changed_somewhere():
    assert {change.file.partition("/")[0] for change in CHANGES if "/" in change.file} == ROOMS
