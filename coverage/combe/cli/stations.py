"""``combe stations``: the commands on a study's stations as tables; each has its own file."""

from __future__ import annotations

from typing import Final

from combe.cli.listed_group import ListedGroup

COMMANDS: Final[dict[str, str]] = {
    "import": "Take the stations of another table into a study.",
}
"""The commands of the group in the order of work, each with the first sentence of its help."""

command = ListedGroup(
    "stations",
    listed=COMMANDS,
    file_prefix="stations_",
    help="Take stations of other tables into a study.",
)
