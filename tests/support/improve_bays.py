"""A bare hall of which two sizes may change, and one rate is asked: quick to open, to fly, and to search whole."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from size_bays import HALL, LOFTED

from flightsim.scenario.reading.targets_section import LENGTH_TARGETS, RATE_TARGETS
from flightsim.study.improve.keeps import Keeps
from flightsim.study.improve.look import ROOM, Flight, Look, goals_of
from flightsim.study.improve.trials import Trials
from flightsim.study.run.open_bay import OpenBay, open_bay

TWO_SIZES = """may_change:
  new_guards: false
  stays: [screen, tee, canopy.height, canopy.front_lip]
  sizes:
    canopy.depth: {least: 600 mm, most: 2.5 m, step: 100 mm}
    canopy.side_overhang: {least: 0 mm, most: 950 mm, step: 50 mm}
"""
ONE_SIZE = """may_change:
  new_guards: false
  stays: [screen, tee, canopy.height, canopy.front_lip, canopy.side_overhang]
  sizes: {canopy.depth: {least: 600 mm, most: 2.5 m, step: 500 mm}}
"""
SCATTERED = LOFTED.replace("azimuth: 0 deg", "azimuth: {kind: normal, mean: 0 deg, sd: 25 deg}")


def targets(**asked: str) -> str:
    """A section that asks these and no other."""
    words = dict.fromkeys((*RATE_TARGETS, *LENGTH_TARGETS), "none") | asked
    return "targets: {" + ", ".join(f"{name}: {limit}" for name, limit in words.items()) + "}\n"


def bare_hall(folder: Path, may_change: str = TWO_SIZES, shots: str = SCATTERED, **asked: str) -> Path:
    """Write the scenario; its path."""
    path = folder / "hall.yaml"
    path.write_text(HALL + shots + targets(**(asked or {"hit_unprotected": "1 in 17"})) + may_change, encoding="utf-8")
    return path


def trials_of(opened: OpenBay, shots: int = 4096) -> Trials:
    """A search's trials of a bay."""
    goals = goals_of(opened)
    look = Look.of(Flight.of(opened, shots, 1, False), goals, np.full(len(goals), ROOM), 1)
    return Trials(opened, Keeps.of(opened), look)


def opened_hall(folder: Path, **asked: str) -> OpenBay:
    """The hall, open."""
    return open_bay(bare_hall(folder, **asked))
