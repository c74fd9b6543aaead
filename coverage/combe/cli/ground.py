"""``combe ground``: the commands on the open data that a study stands on; each has its own file."""

from __future__ import annotations

from typing import Final

from combe.cli.listed_group import ListedGroup

COMMANDS: Final[dict[str, str]] = {
    "fetch": "Fetch open elevation and people for a study, and write them into it.",
    "inspect": "Say what files are, what of them is doubtful, and what a study should say of them.",
}
"""The commands of the group in the order of work, each with the first sentence of its help.

``fetch`` is the function ``command`` of ``cli/ground_fetch.py``, and so on.
"""

command = ListedGroup(
    "ground",
    listed=COMMANDS,
    file_prefix="ground_",
    help="Get the open data that a study stands on, and look at files before they are used.",
)
