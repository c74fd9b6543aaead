"""Feeds the readers thousands of spoilt files: each is read, or refused by an error of our own, never else.

    python tests/fuzz.py                    3000 cases of each kind
    python tests/fuzz.py --cases 100 study  fewer, of one kind

The cases follow from the seed, so that a failure can be made again. What escapes is printed with the kind and
number of its case; the file stays in the folder that is named.
"""

from __future__ import annotations

import argparse
import datetime
import random
import sys
import tempfile
import traceback
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np

from combe.errors import CombeError
from combe.planning.visits.reading_file import read_readings
from combe.stations.pattern import read_pattern
from combe.study.climate_maps import read_map
from combe.study.file import read_study
from combe.terrain.cells import block_at
from combe.terrain.people_points import read_people_points
from combe.terrain.tiles import open_terrain
from support_study import STUDY
from support_terrain import write_tif

TODAY: Final = datetime.date(2026, 6, 1)
STATIONS: Final = {"Combe Relay": ("Mux 1", "Mux 2")}
NASTY: Final = tuple(
    text.encode()
    for text in (
        "nan", "inf", "-inf", "1e999", "-1e-999", "1" * 400, "0x" + "f" * 300, "9" * 5000, "-0", "1,5", "1_000",
        "[" * 200, "{" * 50, "]]", "\x00", "\ufeff", "é", "谷", "\r", "\n\n", '"', "'", "\\", "=", ";", "#", "%",
        "true", "null", "[]", "{}", "../../etc", "x" * 140_000, "1979-05-27", "=1+1", "&amp;", " " * 300,
    )
)  # fmt: skip

PATTERN: Final = "# made up\nbearing_deg,relative_db\n" + "".join(
    f"{b},{-b / 40}\n" for b in range(0, 360, 10)
)
READINGS: Final = (
    "date,station,service,test_point,quantity,value,unit,meter,meter_calibrated_on,who,weather,note\n"
    "2026-05-01,Combe Relay,Mux 1,feeder,level,-52.3,dBm,M1,2026-01-15,A. N. Other,dry,\n"
    "2026-05-01,Combe Relay,Mux 2,output coupler,ERP,20,W,M1,2026-01-15,A. N. Other,dry,\n"
    "2026-05-01,Combe Relay,,mast,feeders and connectors,ok,,,,A. N. Other,dry,\n"
)
PEOPLE: Final = "longitude_deg,latitude_deg,people,name\n-84.2,36.6,120,Upper Dale\n-84.3,36.7,80.5,Ford\n"
GEOJSON: Final = (
    '{"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": {"type": "Point", '
    '"coordinates": [-84.2, 36.6]}, "properties": {"people": 12, "name": "A"}}]}'
)
HEIGHTS_OF_RAIN: Final = (b"2 " * 241 + b"\n") * 121
NETWORK: Final = (
    "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w\n"
    "East Hill,parent,-84.1,36.65,80,horizontal,Mux 1,33,500\n"
    "East Hill,parent,-84.1,36.65,80,horizontal,Mux 2,35,500\n"
)


class Kind(NamedTuple):
    """A kind of file: what it is called, a sound one, and who reads it."""

    name: str
    file: str
    sound: bytes
    read: Callable[[Path], object]


def kinds(folder: Path) -> tuple[Kind, ...]:
    """Return the kinds; the folder holds what the files need beside them."""
    heights = np.arange(400.0, dtype=np.float32).reshape(20, 20)
    tile = write_tif(folder / "terrain.tif", heights, -84.4, 36.8, 0.02).read_bytes()
    (folder / "people.tif").write_bytes(tile)
    networked = STUDY.replace("[people]", '[network]\nstations = "stations.csv"\n\n[people]')
    (folder / "networked.toml").write_text(networked, encoding="utf-8")
    return (
        Kind("study", "study.toml", STUDY.encode(), read_study),
        Kind("pattern", "pattern.csv", PATTERN.encode(), lambda path: read_pattern(path, "horizontal")),
        Kind(
            "readings",
            "sheet.csv",
            READINGS.encode(),
            lambda path: read_readings(path, STATIONS, today=TODAY),
        ),
        Kind("people", "people.csv", PEOPLE.encode(), read_people_points),
        Kind("places", "people.geojson", GEOJSON.encode(), read_people_points),
        Kind(
            "network",
            "stations.csv",
            NETWORK.encode(),
            lambda path: read_study(path.parent / "networked.toml"),
        ),
        Kind("map", "h0.txt", HEIGHTS_OF_RAIN, lambda path: read_map(path, "rain_height_km")),
        Kind("raster", "spoilt.tif", tile, _read_raster),
    )


def _read_raster(path: Path) -> object:
    return block_at(open_terrain([path]), 0, 0)


def spoilt(sound: bytes, chance: random.Random) -> bytes:
    """Return a file with one to four things spoilt: bits, bytes, lines, cells, its end."""
    content = bytearray(sound)
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        if not content:
            break
        _spoil(content, chance)
    return bytes(content)


def _spoil(content: bytearray, chance: random.Random) -> None:
    """Spoil one thing."""
    at = chance.randrange(len(content))
    way = chance.randrange(7)
    if way == 0:
        content[at] ^= 1 << chance.randrange(8)
    elif way == 1:
        content[at : at + chance.choice((1, 2, 8))] = chance.choice(NASTY)
    elif way == 2:
        content[at:at] = chance.choice(NASTY)
    elif way == 3:
        del content[at : at + chance.choice((1, 4, 40))]
    elif way == 4:
        del content[at:]
    elif way == 5:
        content[at:at] = content[max(0, at - 60) : at]
    else:
        _swap_a_word(content, chance)


def _swap_a_word(content: bytearray, chance: random.Random) -> None:
    """Put something nasty in place of a whole cell or value."""
    ends = [at for at, sign in enumerate(content) if sign in b",=\n:[] "]
    if len(ends) > 1:
        first = chance.randrange(len(ends) - 1)
        content[ends[first] + 1 : ends[first + 1]] = chance.choice(NASTY)


def run(kind: Kind, folder: Path, cases: int, seed: int) -> list[str]:
    """Read the spoilt files of one kind; return a line for each error that is not ours."""
    escaped = []
    for number in range(cases):
        chance = random.Random(f"{seed} {kind.name} {number}")
        path = folder / kind.file
        path.write_bytes(spoilt(kind.sound, chance))
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                kind.read(path)
        except CombeError as error:
            if "\n" in str(error):
                escaped.append(f"{kind.name} {number}: an error of more than one line: {str(error)[:200]!r}")
        except Exception as error:
            place = traceback.extract_tb(error.__traceback__)[-1]
            escaped.append(
                f"{kind.name} {number}: {type(error).__name__} {str(error)[:120]!r} in {place.filename}:{place.lineno}"
            )
    return escaped


def main(words: Sequence[str] | None = None) -> int:
    """Run what is asked for; return 1 where anything escaped."""
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("kind", nargs="*", help="kinds of files; all unless given")
    options.add_argument("--cases", type=int, default=3000)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args(words)
    escaped: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        for kind in kinds(Path(name)):
            if not asked.kind or kind.name in asked.kind:
                found = run(kind, Path(name), asked.cases, asked.seed)
                print(f"{kind.name}: {asked.cases} cases, {len(found)} uncaught", flush=True)
                escaped += found
    print("\n".join(escaped))
    return 1 if escaped else 0


if __name__ == "__main__":
    sys.exit(main())
