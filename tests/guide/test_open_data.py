"""The page on open data is held to the table of sources, and its example to the reader of such files."""

import re

from combe.ground import known_sources
from support_documents import blocks, text

PAGE = "coverage/combe/guide/open_data.md"


def rows_of_sources():
    """Return the rows of the page's table by the sources that each names."""
    rows = [line for line in text(PAGE).splitlines() if line.startswith("| `")]
    found = {name: row for row in rows for name in re.findall(r"`([a-z0-9-]+)`", row.split("|")[1])}
    return {name: row for name, row in found.items() if not name.startswith("combe")}


def test_the_page_tells_of_every_source_and_of_no_other():
    assert set(rows_of_sources()) == set(known_sources())


def test_year_and_datum_are_those_of_the_table():
    for name, row in rows_of_sources().items():
        source = known_sources()[name]
        assert source.year in row, row
        datum = "datums mixed" if "mix" in source.vertical_datum else source.vertical_datum
        assert source.kind != "elevation" or datum in row or name == "srtm", row


def test_the_example_of_a_source_of_ones_own_is_one(tmp_path):
    (example,) = blocks(PAGE, "text")
    (tmp_path / "own.toml").write_text(example, "utf-8")
    assert "national-5" in known_sources(tmp_path / "own.toml")
