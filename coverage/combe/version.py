"""The version of the package, apart from the front door so that every room may name it."""

from typing import Final

__version__: Final = "0.1.0"
