"""Keeps the fields that commands predict out of the user's cache."""

import pytest


@pytest.fixture(scope="session", autouse=True)
def cache_of_the_tests(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("fields")
        patch.setenv("COMBE_CACHE", str(folder))
        yield folder
