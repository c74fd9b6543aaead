"""The command line: one file per command."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    raise SystemExit("no commands yet")
