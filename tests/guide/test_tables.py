"""The page on tables of others: its table gives the error shown, and is read by the lines that follow."""

import re
import tomllib

import pytest

from combe.errors import TableError
from combe.guide import guide_page
from combe.tables import layout_of
from combe.terrain import read_people_points


def blocks(kind):
    return re.findall(rf"^```{kind}\n(.*?)^```$", guide_page("tables").markdown, re.MULTILINE | re.DOTALL)


def test_the_table_shown_is_told_and_read_as_shown(tmp_path):
    table, error, *_ = blocks("text")
    section = tomllib.loads(blocks("toml")[0])["people"]
    path = tmp_path / section["points"]
    path.write_text(table, encoding="utf-8")
    with pytest.raises(TableError) as caught:
        read_people_points(path)
    assert str(caught.value) == f"table {path}: {error.strip()}"
    found = read_people_points(path, layout=layout_of(section))
    assert (found.names, found.people.tolist()) == (("Oberdorf", "Unterdorf"), [1250.0, 480.0])
    assert found.longitude_deg.tolist() == pytest.approx([9.51, 9.52])
