"""Keeps predicted fields out of the user's cache, and chance out of the check of everything."""

import os

import pytest
from hypothesis import settings

# With CI set the examples are the same at every run, so that a commit is not refused by luck; without it each
# run looks at new ones.
# Examples have no deadline: a busy machine, or a kernel that is compiled first, is no fault of the code.
settings.register_profile("new examples", deadline=None)
settings.register_profile("repeatable", deadline=None, derandomize=True)
settings.load_profile("repeatable" if os.environ.get("CI") else "new examples")


@pytest.fixture(scope="session", autouse=True)
def cache_of_the_tests(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("fields")
        patch.setenv("COMBE_CACHE", str(folder))
        yield folder
