"""Prints all that pyproject.toml names, each at the lowest version that it allows, as constraints for pip."""

from __future__ import annotations

import tomllib
from itertools import chain
from pathlib import Path
from typing import Final

from packaging.requirements import Requirement

PROJECT: Final = Path(__file__).resolve().parents[1] / "pyproject.toml"


def named() -> list[str]:
    """Return the requirements of the package, of its extras, and of the building of its wheel."""
    told = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    extras = chain.from_iterable(told["project"]["optional-dependencies"].values())
    return [*told["project"]["dependencies"], *extras, *told["build-system"]["requires"]]


def at_its_lowest(line: str) -> str:
    """Return a requirement at its lower bound; SystemExit where it has none."""
    wish = Requirement(line)
    bounds = [part.version for part in wish.specifier if part.operator == ">="]
    if len(bounds) != 1:
        raise SystemExit(f"{line!r} has {len(bounds)} lower bounds; allowed: 1, such as {wish.name}>=1.2")
    return f"{wish.name}=={bounds[0]}"


if __name__ == "__main__":
    print("\n".join(sorted({at_its_lowest(line) for line in named()}, key=str.lower)))
