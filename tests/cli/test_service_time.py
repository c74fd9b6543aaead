"""Nobody is counted on fields that are exceeded for a small share of the time."""

import pytest

from support_cli import complaint, run
from support_study import edited, write_study

RARE = edited(("[people]", "[air]\ntime_percent = 1.0\n\n[people]"))


@pytest.mark.parametrize("words", [("cover",), ("channels",), ("site",), ("explain", "--at", "-84.3,36.6")])
def test_what_judges_service_asks_for_the_median(tmp_path, words):
    study = write_study(tmp_path, RARE)
    told = complaint(words[0], study, *words[1:])
    assert "air.time_percent: 1 is no share of time for which service is judged; write 50.0 here" in told
    assert not (tmp_path / "results").exists()


def test_a_path_shows_the_field_of_any_share(tmp_path):
    study = write_study(tmp_path, RARE)
    result = run("path", study, "--from", "Parent Hill", "--to", "Combe Relay")
    assert result.exit_code == 0, result.output
