"""``combe cover`` as a process that is killed at random moments: run again it takes up, and ends the same."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from support_cli import REPOSITORY
from support_processes import command_in_small_tiles, started
from support_study import STUDY, write_study

TILE_BYTES = 30_000
"""Tiles of a few rows."""

STATIONS, PARENTS = 14, 4
WAIT_S = 90.0


def many_stations():
    """Return a study of invented stations on few channels, so that they disturb one another."""
    chance = np.random.default_rng(3)
    text = STUDY.split("[[stations]]")[0].replace("invented = true", 'invented = true\nmodel = "p526"')
    text = text.replace("cell_size_m = 300", "cell_size_m = 500")
    for k in range(STATIONS):
        lon, lat = chance.uniform(-84.38, -84.10), chance.uniform(36.48, 36.71)
        text += (
            f'\n[[stations]]\nname = "Station {k}"\nrole = "{"parent" if k < PARENTS else "relay"}"\n'
            f"longitude_deg = {lon:.5f}\nlatitude_deg = {lat:.5f}\naerial_height_m = {20 + 2 * k}\n"
            f'polarization = "{("horizontal", "vertical")[k % 2]}"\n'
        )
        for service in range(3):
            channel = 21 + 5 * service + int(chance.integers(4))
            text += f'\n[[stations.services]]\nname = "Mux {service}"\nchannel = {channel}\nerp_w = 40.0\n'
        if k >= PARENTS:
            text += (
                f'\n[stations.feed]\nfrom = "Station {k % PARENTS}"\naerial_height_m = 12.0\n'
                "aerial_gain_dbi = 14.0\nfeeder_loss_db = 2.0\nnoise_figure_db = 6.0\n"
                "required_margin_db = 10.0\n"
            )
    return text


def start(study, cache, results):
    """Start the command in a process of its own; what it prints is beside its cache."""
    words = ["cover", str(study), "--cache", str(cache), "--out", str(results), "--json"]
    return started(command_in_small_tiles, words, cache.with_suffix(".json"), TILE_BYTES)


def finish(study, cache, results):
    """Run the command to its end; return its JSON but for times, and the bytes of all it wrote."""
    process = start(study, cache, results)
    process.join(WAIT_S)
    told = cache.with_suffix(".json").read_text(encoding="utf-8")
    assert process.exitcode == 0, told
    printed = json.loads(told[told.index("{") :])
    taken = printed.pop("taken_up")
    # What was told beforehand is the same; how long it then took is not.
    printed["forecast"].pop("measured_seconds")
    for station in printed["stations"]:
        station.pop("from_cache")
        for service in station["services"]:
            service.pop("sweep_s")
            service["raster"] = Path(service["raster"]).name
    for key in ("map", "index"):
        printed[key] = Path(printed[key]).name
    written = {path.name: path.read_bytes() for path in results.iterdir() if path.name[0] != "."}
    return printed, written, taken


def kill_when(process, reached, delay_s):
    """Kill a process a moment after something is reached, or at its end; return whether it was at work."""
    until = time.monotonic() + WAIT_S
    while process.is_alive() and not reached():
        assert time.monotonic() < until
        time.sleep(0.002)
    time.sleep(delay_s)
    process.kill()
    process.join(WAIT_S)
    return process.exitcode == -signal.SIGKILL


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("undisturbed")
    study = write_study(folder / "study", many_stations())
    return study, *finish(study, folder / "cache", folder / "results")


def test_an_undisturbed_run_finds_nothing_and_judges_harm(undisturbed):
    _, printed, written, taken = undisturbed
    assert (taken["sweeps_from_before"], taken["tiles_from_before"]) == (0, 0)
    assert taken["tiles"] > 8
    assert sum(each["cells"] > 0 for each in printed["harm"]) > 10
    assert len(written) == len(("map", "index")) + 3 * STATIONS


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.parametrize("seed", [1, 2])
def test_killed_at_random_moments_it_ends_with_the_same_bytes(undisturbed, tmp_path, seed):
    study, printed, written, whole = undisturbed
    chance, cache, results = random.Random(seed), tmp_path / "cache", tmp_path / "results"

    def fields(count):
        return lambda: len(list(cache.glob("[!.]*.fields"))) >= count

    def tiles(count):
        return lambda: len(list(cache.glob("runs/*/unfinished/[!.]*.tile"))) >= count

    swept = sorted(chance.sample(range(STATIONS), 2))
    judged = sorted(chance.sample(range(1, whole["tiles"] - 2), 2))
    moments = [*map(fields, swept), *map(tiles, judged), lambda: any(results.glob("*.tif"))]
    at_work = [kill_when(start(study, cache, results), each, chance.uniform(0.0, 0.01)) for each in moments]
    assert at_work[:3] == [True] * 3
    assert all(path.stat().st_size for path in cache.glob("[!.]*.fields"))
    again, written_again, taken = finish(study, cache, results)
    assert again == printed
    assert written_again == written
    assert taken["sweeps_from_before"] == taken["sweeps"] == STATIONS
    assert taken["tiles_from_before"] > 0
    assert not list(cache.glob("runs/*/unfinished/*.tile"))
    assert len(list((cache / "runs").iterdir())) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_what_a_killed_run_had_judged_is_taken_up_and_told(undisturbed, tmp_path):
    study, _, _, whole = undisturbed
    cache, results = tmp_path / "cache", tmp_path / "results"
    assert kill_when(
        start(study, cache, results),
        lambda: len(list(cache.glob("runs/*/unfinished/[!.]*.tile"))) >= whole["tiles"] // 2,
        0.0,
    )
    left = len(list(cache.glob("runs/*/unfinished/[!.]*.tile")))
    taken = finish(study, cache, results)[2]
    assert taken == {**whole, "sweeps_from_before": STATIONS, "tiles_from_before": left}
    words = [
        sys.executable,
        "-m",
        "combe",
        "cover",
        str(study),
        "--cache",
        str(cache),
        "--out",
        str(results),
        "--full",
    ]
    environment = {**os.environ, "PYTHONPATH": str(REPOSITORY / "coverage")}
    told = subprocess.run(words, capture_output=True, text=True, check=True, env=environment, timeout=WAIT_S)
    # With tiles of the usual height the judging is another one, and the predictions are the same.
    assert (
        f"taken up from an earlier run: {STATIONS} of {STATIONS} predictions, 0 of 1 judged tiles"
        in told.stdout
    )
