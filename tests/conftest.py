"""Keeps predicted fields out of the user's cache, and chance out of the check of everything."""

import os

import pytest
from hypothesis import settings

# With CI set the examples are the same at every run, so that a commit is not refused by luck; without it each
# run looks at new ones.
settings.register_profile("repeatable", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("repeatable")


@pytest.fixture(scope="session", autouse=True)
def cache_of_the_tests(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("fields")
        patch.setenv("COMBE_CACHE", str(folder))
        yield folder
