"""What is told of a run beside its flags, as data."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.limits import BEHIND_HIGH, BEHIND_LOW
from flightsim.scenario.reading.harm import BLUNT_ENERGY, HARM_ENERGY, STRUCK_ENERGY
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]


def half_as_fast(result: RunResult, speed: Array) -> float | None:
    """The speed, m/s, that half of the balls as played reach, of those with one in `speed` `(n,)`; None for none."""
    there = np.flatnonzero(~np.isnan(speed))
    if not there.size:
        return None
    order = there[np.argsort(-speed[there], kind="stable")]
    share = np.cumsum(result.weight[order])
    return float(speed[order[np.searchsorted(share, 0.5 * share[-1])]])


def harm_facts(result: RunResult) -> dict[str, Any]:
    """From which energy on balls count, and whether that hides what the default would count."""
    energy = result.scenario.harm_energy
    return {
        "energy_j": energy,
        "speed_m_s": result.harm_speed,
        "default_energy_j": HARM_ENERGY,
        "blunt_energy_j": result.scenario.blunt_harm_energy,
        "default_blunt_energy_j": BLUNT_ENERGY,
        "struck_energy_j": result.scenario.struck_energy,
        "default_struck_energy_j": STRUCK_ENERGY,
        "above_default": above_default(result) or struck_above_default(result),
    }


def above_default(result: RunResult) -> bool:
    """Whether the run counts harm only from above the default energy on."""
    scenario, slack = result.scenario, 1.0 + 1e-9
    return scenario.harm_energy > HARM_ENERGY * slack or scenario.blunt_harm_energy > BLUNT_ENERGY * slack


def struck_above_default(result: RunResult) -> bool:
    """Whether the run counts what is struck through cloth only from above the default energy on."""
    return result.scenario.struck_energy > STRUCK_ENERGY * (1.0 + 1e-9)


def behind_tee_facts(result: RunResult) -> dict[str, Any]:
    """How fast balls cross the space behind the tee, and where that is; how many is in the totals."""
    speed = result.fates.behind_tee
    there = not np.isnan(speed).all()
    return {
        "lowest_m": BEHIND_LOW,
        "highest_m": BEHIND_HIGH,
        "median_m_s": half_as_fast(result, speed),
        "fastest_m_s": float(np.nanmax(speed)) if there else None,
    }
