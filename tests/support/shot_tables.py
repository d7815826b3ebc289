"""Invented tables of measured shots, and bays that fly them."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from flightsim.scenario.reading.load import load_scenario
from flightsim.shots.measured_plan import MeasuredPlan, plan_measured
from flightsim.shots.measured_section import MEASURED_SECTION
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.streams import uniforms

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
HEAD = ("no", "Ball (mph)", "launch", "side", "spin", "axis", "club")
RADIUS = 0.021335  # m
MPH = 0.44704  # m/s, exactly: 1609.344 m in 3600 s
SPOT = (("tee", 1.0, 0.0, 0.0),)
COLUMNS: dict[str, dict[str, Any]] = {
    "ball_speed": {"column": "Ball (mph)", "unit": "mph"},
    "elevation": {"column": "launch", "unit": "deg"},
    "azimuth": {"column": "side", "unit": "deg"},
    "spin_rate": {"column": "spin", "unit": "rpm"},
    "spin_tilt": {"column": "axis", "unit": "deg"},
    "club": {"column": "club"},
}


def numbers(n: int = 60, seed: int = 1, speed: float = 150.0) -> np.ndarray:
    """Ball speed mph, elevation, azimuth deg, spin rpm and tilt deg `(n, 5)` of a driver."""
    rng = np.random.default_rng(seed)
    return rng.normal([speed, 12.0, 1.0, 2700.0, 2.0], [5.0, 2.0, 4.0, 300.0, 6.0], (n, 5)).round(2)


def rows(n: int = 60, club: str = "driver", seed: int = 1, speed: float = 150.0) -> list[list[str]]:
    """Rows of a table with HEAD."""
    return [[f"{club} {k}", *map(str, row), club] for k, row in enumerate(numbers(n, seed, speed).tolist())]


def write_table(path: Path, lines: list[list[str]], head: tuple[str, ...] = HEAD, **how: Any) -> None:
    """Write a table."""
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, **how).writerows([head, *lines])


def section(columns: dict[str, Any] | None = None, **keys: Any) -> dict[str, Any]:
    """A `measured` section for shots.csv. A column that is None is not given."""
    there = {name: entry for name, entry in {**COLUMNS, **(columns or {})}.items() if entry is not None}
    return {"file": "shots.csv", "columns": there, **keys}


def plan(folder: Path, **keys: Any) -> MeasuredPlan:
    """The plan of a scenario that has no more than a tee and measured shots, in this folder beside shots.csv."""
    path = folder / "bay.yaml"
    tee = {"from_end_wall": "3.5 m", "from_left_wall": "1.5 m", "mat": {"height": "40 mm"}}
    path.write_text(json.dumps({"name": "tee", "tee": tee, "measured": section(**keys)}, indent=1), encoding="utf-8")
    scenario = load_scenario(path, (MEASURED_SECTION,))
    (measured,) = scenario.entries("measured")
    return plan_measured(scenario, measured, SPOT, scenario.ground_height, RADIUS)


def bay(folder: Path, **keys: Any) -> Path:
    """The garage with a `measured` section, in this folder beside shots.csv."""
    data = yaml.safe_load(GARAGE.read_text(encoding="utf-8"))
    del data["launches"]
    path = folder / "bay.yaml"
    path.write_text(yaml.safe_dump({**data, "measured": section(**keys)}, sort_keys=False), encoding="utf-8")
    return path


def two_clubs() -> list[list[str]]:
    """35 rows with a driver, 10 with a wedge."""
    return [*rows(30), *rows(10, "Pitching wedge", 2, 95.0), *rows(5, "DRIVER", 3)]


WEDGE_SPIN = {"accept_units": True}  # the wedge's rows have a driver's spin


def drawn(measured: MeasuredPlan, count: int, first: int = 0, seed: int = 1) -> ShotTable:
    """Shots of a plan."""
    return measured.draw(lambda purpose, dims: uniforms(seed, first, count, purpose, dims), first, count)
