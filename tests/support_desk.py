"""A desk that is made up: a page over invented ridges, and the answers that it asks for.

They are worked out from the test fields of ``support_map_page``, so a mast that is moved serves others.
"""

from __future__ import annotations

import copy
import json
import threading
from dataclasses import replace
from typing import Any

import numpy as np
import pyproj

import support_map_page
from combe.publishing.content import MapLayer, MapPage
from combe.publishing.desk_page import render_desk
from combe.publishing.map_page import layer_codes

MINIMUM_DBUV_M = 53.8
SERVICES = ("Multiplex 1", "Multiplex 2")
HALVES = ("North Hundred", "South Hundred")
"""The districts: what lies over the middle of the grid, and under it."""


class RefusedError(Exception):
    """What the desk says of an edit that cannot be."""


class LateError(Exception):
    """A newer change came meanwhile."""


class Desk:
    """The stations of the made-up desk with the steps to them, and what follows from them."""

    def __init__(self, word: str = "") -> None:
        self.word = word
        self.page: MapPage = support_map_page.map_page(word=word)
        self.grid, self.heights = self.page.grid, self.page.heights_m
        self.first = [
            self.station(mark.name, mark.role, mark.longitude_deg, mark.latitude_deg, mark.aerial_height_m)
            for mark in self.page.stations
        ]
        self.steps: list[list[dict[str, Any]]] = [self.first]
        self.edits: list[dict[str, Any]] = []
        self.at, self.revision = 0, 1
        self.kept: dict[str, list[dict[str, Any]]] = {}
        self.asked: list[tuple[str, Any]] = []
        self.found: str | int | None = None
        self.why: str | None = None
        self.quicker = False
        self.written: set[str] = {f"there{word}.toml"}
        self.told: list[str] = []
        self.news = threading.Condition()

    def station(self, name: str, role: str, lon: float, lat: float, mast_m: float) -> dict[str, Any]:
        parent = role == "parent"
        return {
            "name": name,
            "role": role,
            "longitude_deg": lon,
            "latitude_deg": lat,
            "aerial_height_m": mast_m,
            "polarization": "vertical",
            "horizontal_pattern": "omni",
            "bearing_deg": 0.0,
            "vertical_pattern": "omni",
            "tilt_deg": 0.0,
            "on_air": True,
            "parent": None if parent else f"Highmoor{self.word}",
            "ground_m": 500.0,
            "radiates": True,
            "silenced_by": None,
            "exposure_distance_m": 12.3,
            "exposure_caution": "the size of the aerial is not given",
            "services": [
                {"name": service + self.word, "channel": 21 + 3 * at, "erp_w": 250.0 if parent else 16.0}
                for at, service in enumerate(SERVICES)
            ],
        }

    @property
    def now(self) -> list[dict[str, Any]]:
        return self.steps[self.at]

    def cell(self, station: dict[str, Any]) -> tuple[int, int]:
        to = pyproj.Transformer.from_crs("EPSG:4326", self.grid.crs, always_xy=True)
        x, y = to.transform(station["longitude_deg"], station["latitude_deg"])
        size = self.grid.cell_size_m
        row, column = int((self.grid.north_m - y) // size), int((x - self.grid.west_m) // size)
        if not (0 <= row < self.grid.rows and 0 <= column < self.grid.columns):
            raise RefusedError(f"{station['name']} lies outside the study grid; put it inside")
        return row, column

    def field(self, station: dict[str, Any]) -> np.ndarray:
        erp = min((service["erp_w"] for service in station["services"]), default=0.0)
        if not station["on_air"] or erp <= 0.0:
            return np.full(self.heights.shape, -50.0)
        return support_map_page.shadowed_field(
            self.heights,
            self.grid,
            *self.cell(station),
            erp_dbw=10 * np.log10(erp),
            mast_m=station["aerial_height_m"],
        )

    def layers(self, stations: list[dict[str, Any]] | None = None) -> tuple[MapLayer, ...]:
        made = []
        stations = self.now if stations is None else stations
        for key, role in (("parent-all", "parent"), ("relay-all", "relay")):
            fields = [self.field(one) for one in stations if one["role"] == role]
            best = np.maximum.reduce(fields) if fields else np.full(self.heights.shape, -50.0)
            made.append(
                MapLayer(
                    key, "All services", f"All of kind {role}", role, "All services", best, MINIMUM_DBUV_M
                )
            )
        ones = [
            MapLayer(
                f"s{at}",
                f"Alone{self.word}",
                one["name"],
                one["role"],
                "Alone",
                self.field(one),
                MINIMUM_DBUV_M,
            )
            for at, one in enumerate(stations)
        ]
        return (*made, *ones)

    def states(self, stations: list[dict[str, Any]] | None = None) -> list[int]:
        before, after = (layer.field_dbuv_m for layer in self.layers(stations)[:2])
        found = []
        for mark in self.page.people:
            at = self.cell(
                {"name": "", "longitude_deg": mark.longitude_deg, "latitude_deg": mark.latitude_deg}
            )
            found.append(0 if before[at] >= MINIMUM_DBUV_M else 1 if after[at] >= MINIMUM_DBUV_M else 2)
        return found

    def people(self, states: list[int], half: int | None = None) -> dict[str, Any]:
        sums = [0.0, 0.0, 0.0]
        middle = np.median([mark.latitude_deg for mark in self.page.people])
        for mark, state in zip(self.page.people, states, strict=True):
            if half is None or (mark.latitude_deg < middle) == bool(half):
                sums[state] += mark.people
        before, newly, unserved = sums
        return {
            "people_served": before + newly,
            "people_served_before": before,
            "people_newly_served": newly,
            "people_lost": 0.0,
            "people_unserved": unserved,
            "people_without_prediction": 0.0,
            "people_total": sum(sums),
            "districts": None,
        }

    def districts(self, states: list[int]) -> list[dict[str, Any]]:
        return [{"name": name + self.word, **self.people(states, half)} for half, name in enumerate(HALVES)]

    def margin_db(self, station: dict[str, Any]) -> float:
        return round(float(station["aerial_height_m"] / 2 + 10.0), 1)

    def feed_html(self, name: str) -> str:
        station = next(one for one in self.now if one["name"] == name)
        return f'<p class="answer">The feed passes with {self.margin_db(station):.1f} dB.</p>'

    def numbers(self, stations: list[dict[str, Any]]) -> dict[str, Any]:
        """Return the numbers by which a state is told against that of the file."""
        states = self.states(stations)
        services = [{**self.people(states), "name": name + self.word} for name in SERVICES]
        return {
            "all_services": {**self.people(states), "districts": self.districts(states)},
            "services": services,
            "feeds": [self.feed(one) for one in stations if one["role"] == "relay" and one["on_air"]],
        }

    def feed(self, relay: dict[str, Any]) -> dict[str, Any]:
        services = [
            {"service": name + self.word, "verdict": "passes", "margin_db": self.margin_db(relay) + at}
            for at, name in enumerate(SERVICES)
        ]
        names = {"relay": relay["name"], "parent": relay["parent"]}
        return {**names, "verdict": "passes", "words": "", "services": services}

    def state(self) -> dict[str, Any]:
        relays = [one for one in self.now if one["role"] == "relay" and one["on_air"]]
        return {
            "format": "combe/desk/1",
            "revision": self.revision,
            "undo": self.at,
            "redo": len(self.steps) - 1 - self.at,
            "changed": self.now != self.first,
            "edits": self.edits[: self.at],
            **self.numbers(self.now),
            "file": self.numbers(self.first),
            "stations": self.now,
            "harm": [
                {
                    "relay": relays[0]["name"],
                    "station": self.now[0]["name"],
                    "service": SERVICES[0] + self.word,
                    "channel": 21,
                    "cells": 4,
                    "people_fall_below": 25.0,
                    "people_left_without": 7.0,
                }
            ]
            if relays
            else [],
            "variants": [self.variant(name) for name in self.kept],
            "patterns": ["omni", f"panel{self.word}.csv"],
            "hills": self.found,
        }

    def variant(self, name: str) -> dict[str, Any]:
        states = self.states(self.kept[name])
        people = self.people(states)
        return {
            "name": name,
            **{key: people[key] for key in people if key != "districts"},
            "least_feed_margin_db": 20.5,
            "harm_people": 25.0,
            "erp_w": 16.0,
            "running_cost": None,
            "edits": [],
            "districts": self.districts(states),
        }

    def edited(self, edit: dict[str, Any]) -> list[dict[str, Any]]:
        stations = copy.deepcopy(self.now)
        found = next((one for one in stations if one["name"] == edit["station"]), None)
        if found is None:
            raise RefusedError(f"no station is named {edit['station']!r}")
        for key, value in edit.items():
            if key in ("channel", "erp_w"):
                for service in found["services"]:
                    service[key] = value.get(service["name"], service[key])
            elif key != "station":
                found[key] = value
        if not 1 <= found["aerial_height_m"] <= 500:
            raise RefusedError(f"aerial_height_m is {found['aerial_height_m']:g}; allowed: 1 to 500")
        self.cell(found)
        return stations

    def added(self, given: dict[str, Any]) -> list[dict[str, Any]]:
        if any(one["name"] == given["name"] for one in self.now):
            raise RefusedError(f"a station is named {given['name']!r} already")
        new = self.station(given["name"], "relay", given["longitude_deg"], given["latitude_deg"], 20.0)
        self.cell(new)
        return [*copy.deepcopy(self.now), new]

    def settle(self, stations: list[dict[str, Any]], edit: dict[str, Any]) -> dict[str, Any]:
        self.steps = [*self.steps[: self.at + 1], stations]
        self.edits = [*self.edits[: self.at], edit]
        return self.go(1)

    def go(self, steps: int) -> dict[str, Any]:
        self.at += steps
        self.revision += 1
        self.tell("settled", {"revision": self.revision})
        return self.state()

    def tell(self, name: str, data: dict[str, Any]) -> None:
        with self.news:
            self.told.append(f"event: {name}\ndata: {json.dumps(data)}\n\n")
            self.news.notify_all()

    def replay(self, edits: list[dict[str, Any]]) -> dict[str, Any]:
        self.at, self.steps, self.edits = 0, [self.first], []
        for edit in edits:
            self.settle(self.edited(edit), edit)
        return self.state()

    def story(self, layers: tuple[MapLayer, ...]) -> tuple[bytes, dict[str, str]]:
        grids = [layer_codes(layer, 1) for layer in layers]
        headers = {
            "X-Combe-Base": ",".join(str(grid.base) for grid in grids),
            "X-Combe-Steps-Per-Unit": str(grids[0].steps_per_unit),
            "X-Combe-Revision": str(self.revision),
        }
        return b"".join(grid.codes.astype("<u2").tobytes() for grid in grids), headers

    def html(self) -> str:
        bare = replace(
            self.page, layers=self.layers(), before_keys=("parent-all",), after_keys=("relay-all",)
        )
        return render_desk(bare, study_name=f"study{self.word}.toml", save_name=f"study{self.word}-2.toml")

    # What is asked: each answers with JSON, or with bytes and their headers.

    def change(self, body: dict[str, Any]) -> Any:
        if self.quicker:
            other = {"station": body["station"], "aerial_height_m": 88.0}
            self.settle(self.edited(other), other)
            raise LateError
        return self.settle(self.edited(body), body)

    def sketch(self, body: dict[str, Any]) -> Any:
        stations = self.edited(body)
        data, headers = self.story(self.layers(stations)[:2])
        people = self.people(self.states(stations))
        told = {"served": people["people_served"], "newly_served": people["people_newly_served"]}
        sketch = {"people": told, "of": "every third cell a side"}
        return data, {**headers, "X-Combe-Sketch": json.dumps(sketch)}

    def hills(self) -> dict[str, Any]:
        places = [support_map_page.lonlat(self.grid, 60 + 20 * at, 40 + 30 * at) for at in range(3)]
        hills = [
            {
                "longitude_deg": lon,
                "latitude_deg": lat,
                "score": 900.0 - at,
                "people_newly": 900.0 - at,
                "feed_margin_db": 21.5,
            }
            for at, (lon, lat) in enumerate(places)
        ]
        done = isinstance(self.found, int)
        return {
            "state": "done" if done else "none",
            "share": 1.0 if done else 0.0,
            "hills": hills if done else [],
            "fault": None if done else self.why,
        }

    def start_hills(self) -> dict[str, Any]:
        if self.why is not None:
            return {}
        self.found = 3
        self.tell("hills", {"share": 0.5})
        self.tell("hills", {"share": 1.0})
        return {}

    def save(self, body: dict[str, Any]) -> dict[str, Any]:
        if not body["path"].endswith(".toml"):
            raise RefusedError(f"path is {body['path']!r}; allowed: a file that ends in .toml")
        if body["path"] in self.written and not body["overwrite"]:
            raise RefusedError(
                f"{body['path']} exists; choose another name, or say that it is to be written over"
            )
        self.written.add(body["path"])
        return {
            "path": f"/studies/{body['path']}",
            "changed": [f"Lowgate{self.word}: aerial_height_m 20 → 30"],
        }

    def keep(self, name: str) -> dict[str, Any]:
        if not name:
            raise RefusedError("a variant needs a name")
        self.kept[name] = self.now
        return self.go(0)

    def drop(self, name: str) -> dict[str, Any]:
        del self.kept[name]
        return self.go(0)
