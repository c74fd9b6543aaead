"""A study of two far stations on one frequency whose guard interval is too short, on the flat plain."""

from __future__ import annotations

from pathlib import Path

from support_flat import HEAD, lonlat_of, station_text, write_plain_study

WEST_M, EAST_M, NORTH_M = 735_000.0, 765_000.0, 4_040_000.0
VILLAGES = {"By West": (WEST_M + 500.0, 50), "Between": (WEST_M + 16_500.0, 100), "By East": (764_500.0, 30)}
"""Metres east, and people. Between is 16.5 km from West and 13.5 km from East."""

GUARD_US, EQUALISED_US = 7.0, 112.0 * 57.0 / 64.0 / 12.0
"""Of DVB-T2 1k in 8 MHz with 1/16 and PP5: an echo that comes later only disturbs."""

KM_PER_US = 0.299792458

SFN = """
[[sfn]]
members = ["West", "East"]
size = "1k"
guard_interval = "1/16"
pilot_pattern = "PP5"
"""


def write_networked(
    folder: Path,
    *,
    villages: dict[str, tuple[float, int]] | None = None,
    relay: bool = False,
    east_w: float = 1000.0,
    sfn: str = SFN,
    system: str = "",
) -> Path:
    """Write the study, its villages in a table; with ``relay`` East repeats West on its channel."""
    stations = [
        station_text("West", WEST_M, NORTH_M, [("A", 30, 1000.0)]),
        station_text("East", EAST_M, NORTH_M, [("A", 30, east_w)], parent="West" if relay else None),
    ]
    head = HEAD.replace("[television]\n", f"[television]\n{system}") + sfn
    if villages is None:
        villages = VILLAGES
    if villages:
        head += '\n[people]\npoints = "villages.csv"\n'
    path = write_plain_study(folder, *stations, head=head, people=False)
    rows = ["longitude_deg,latitude_deg,people,name"]
    for name, (east_m, count) in villages.items():
        rows.append("{:.7f},{:.7f},{},{}".format(*lonlat_of(east_m, NORTH_M), count, name))
    (folder / "villages.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path
