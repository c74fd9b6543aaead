"""Remakes the pictures of the guide's course from what the engine works out on the sample.

Run from anywhere, with the test extra installed: ``python tests/remake_guide_pictures.py``.
"""

from __future__ import annotations

from pathlib import Path

from support_guide_pictures import PICTURES

FOLDER = Path(__file__).resolve().parents[1] / "coverage" / "combe" / "guide"


def main() -> None:
    """Remake all of them."""
    for picture in PICTURES:
        (FOLDER / picture.name).write_text(picture.draw(), encoding="utf-8")


if __name__ == "__main__":
    main()
