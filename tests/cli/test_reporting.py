"""What commands with documents have in common: help on the keys and the schema of each way of asking."""

from __future__ import annotations

import json

import pytest

from support_cli import run


def test_help_and_schema_tell_of_every_way():
    told = run("visit", "--help").stdout
    for head in ("JSON: an object with", "JSON of --sheet: an object", "JSON of --survey: an object"):
        assert head in told
    schema = json.loads(run("visit", "--json-schema").stdout)
    formats = [each["properties"]["format"]["const"] for each in schema["oneOf"]]
    assert formats == ["combe/visit/1", "combe/sheet/1", "combe/survey/1"]


@pytest.mark.parametrize("command", ["path", "explain", "evidence"])
def test_one_way_has_one_form(command):
    assert "JSON: an object with" in run(command, "--help").stdout
    schema = json.loads(run(command, "--json-schema").stdout)
    assert schema["properties"]["format"] == {"const": f"combe/{command}/1"}
