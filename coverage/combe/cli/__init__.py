"""The command line: one file per command, each imported only when it is used."""

from __future__ import annotations

from combe.cli.group import CombeGroup

group = CombeGroup(
    name="combe",
    help="""Plan low-power television relays over real terrain.

    \b
    Start with:  combe demo
    Then:        combe new valley
                 combe check valley/study.toml

    Exit codes: 0 done; 1 done, and the verdict is negative (feed); 2 bad input.
    """,
)


def main() -> None:
    """Run the command line."""
    group.main(prog_name="combe")
