"""The page on one frequency: its table is what coverage says of the sample on its parent's channels."""

import re
from dataclasses import replace

import pytest

import combe
from combe.guide import guide_page
from combe.project import SingleFrequencyNetwork

PAGE = guide_page("one_frequency").markdown
ROWS = {
    cells[0]: tuple(int(each.replace(" ", "")) for each in cells[1:])
    for line in PAGE.splitlines()
    if re.search(r"(\| [\d ]+ ){4}\|$", line)
    and (cells := [each.strip() for each in line.strip("|").split("|")])
}
OWN = "channels of its own (the sample as it is)"
INTERFERER = "on the parent's channels, an interferer of it"
NETWORK = "on the parent's channels, one network with it"


def on_the_channels_of_its_parent(project):
    parent, relay = project.stations
    by_name = {each.name: each for each in parent.services}
    services = tuple(
        replace(each, channel=by_name[each.name].channel, frequency_mhz=by_name[each.name].frequency_mhz)
        for each in relay.services
    )
    return replace(project, stations=(parent, replace(relay, services=services)), outputs={})


@pytest.mark.parametrize("row", [OWN, INTERFERER, NETWORK])
def test_counts_are_those_of_the_page(row):
    project = combe.demo()
    if row != OWN:
        project = on_the_channels_of_its_parent(project)
    if row == NETWORK:
        members = tuple(each.name for each in project.stations)
        project = replace(project, networks=(SingleFrequencyNetwork("valley", members),))
    people = combe.cover(project).all_services.people
    found = (people.served, people.newly_served, people.lost, people.unserved)
    assert tuple(round(each) for each in found) == ROWS[row]


def test_the_table_has_all_rows():
    assert list(ROWS) == [OWN, INTERFERER, NETWORK]
