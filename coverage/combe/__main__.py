"""Runs the command line with ``python -m combe``."""

from combe.cli import main

if __name__ == "__main__":
    main()
