"""Scenario files with shots of one's own, in a small room, read by the real loader."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim.shots.strike_kind import Strike
from flightsim.shots.typed_plan import ShotPlan
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.streams import uniforms

ROOM = """name: Shed
room: {length: 6.2 m, width: 3.4 m, roof: {kind: flat, height: 2.7 m}, turf_height: 20 mm}
tee:
  from_end_wall: 3.7 m
  from_left_wall: 1.65 m
"""
SPOTS = """  spots:
    - {name: middle, share: 0.7, from_end_wall: 3.7 m, from_left_wall: 1.65 m}
    - {name: forward, share: 0.3, from_end_wall: 3.2 m, from_left_wall: 1.25 m}
"""
GRID = """launches:
  grid:
    ball_speed: [20 m/s, 45 m/s, 70 m/s]
    elevation: {from: -5 deg, to: 85 deg, steps: 4}
    azimuth: {from: 20 deg, to: -20 deg, steps: 5}
    spin_rate: 3000 rpm
    spin_tilt: [-10 deg, 0 deg]
    tee_height: 12 mm
"""
PLAIN = {"ball_speed": "40 m/s", "elevation": "12 deg", "azimuth": "0 deg", "spin_rate": "3000 rpm"}


def one_type(**numbers: Any) -> str:
    """A `launches` section with one shot type: plain numbers, but for those given, as YAML. One line a key."""
    rows = {"club": "iron", "strike": "clean", "share": "1", **PLAIN, **numbers}
    first, *rest = (f"{key}: {value}" for key, value in rows.items())
    return "\n".join(["launches:", "  types:", f"    - {first}", *(f"      {row}" for row in rest)]) + "\n"


def opened(folder: Path, launches: str, spots: bool = False, sets: tuple[str, ...] = ()) -> OpenBay:
    """The bay of a file with this `launches` section."""
    path = folder / "bay.yaml"
    path.write_text(ROOM + (SPOTS if spots else "") + launches)
    return open_bay(path, sets)


def plan(folder: Path, launches: str, spots: bool = False, sets: tuple[str, ...] = ()) -> ShotPlan:
    """How its shots are drawn."""
    found = opened(folder, launches, spots, sets).plan
    assert isinstance(found, ShotPlan)
    return found


def strike(folder: Path, **numbers: Any) -> Strike:
    """One shot type, as the loader reads it."""
    return plan(folder, one_type(**numbers)).strikes[0]


def refused(folder: Path, launches: str) -> list[Problem]:
    """What is wrong with a file that cannot be used."""
    try:
        opened(folder, launches)
    except ScenarioError as error:
        return list(error.problems)
    raise AssertionError("the file was read")


def line_of(launches: str, key: str) -> int:
    """The line of the first key of this name in a file with this `launches` section, from 1."""
    rows = (ROOM + launches).splitlines()
    return next(k for k, row in enumerate(rows, 1) if row.strip().removeprefix("- ").startswith(f"{key}:"))


def drawn(shots: ShotPlan, count: int, seed: int = 1, first: int = 0) -> Any:
    """A table of shots."""
    return shots.draw(lambda purpose, dims: uniforms(seed, first, count, purpose, dims), first, count)


def grid_of_uniforms(n: int) -> np.ndarray:
    """Uniforms `(n,)` in the middle of n equal steps."""
    return (np.arange(n) + 0.5) / n
