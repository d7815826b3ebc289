"""The columns of shots.csv: one row a shot, units in the names. docs/outputs.md describes each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.outcomes import Outcome
from flightsim.study.result import RunResult

RPM = 60.0 / (2.0 * np.pi)  # of one rad/s
UNNAMED_GAP = "gap in the room"  # what a ball left through where no opening is known


def columns(result: RunResult, chunk: slice = slice(None)) -> dict[str, NDArray[Any]]:
    """Columns by name, in file order, for these shots. Text is "" and numbers NaN where there is nothing to say."""
    shots, contacts = result.shots.take(chunk), result.contacts
    part, opening, failed = contacts.part[chunk], contacts.opening[chunk], contacts.failed[chunk]
    touched, left = part >= 0, opening >= 0
    numbers = {
        "t_s": contacts.time[chunk],
        **{f"{axis}_m": contacts.point[k, chunk] for k, axis in enumerate("xyz")},
        "speed_m_s": contacts.speed_of(chunk),
        "angle_deg": np.degrees(contacts.angle_of(chunk)),
    }
    out: dict[str, NDArray[Any]] = {
        "shot": np.arange(len(result.shots))[chunk],
        "shot_type": _names([kind.label for kind in result.types], shots.type),
        "weight": result.weight[chunk],
        **{f"start_{axis}_m": shots.start[k] for k, axis in enumerate("xyz")},
        "ball_speed_m_s": shots.ball_speed,
        "elevation_deg": np.degrees(shots.elevation),
        "azimuth_deg": np.degrees(shots.azimuth),
        "spin_rate_rpm": shots.spin_rate * RPM,
        "spin_tilt_deg": np.degrees(shots.spin_tilt),
        "status": np.where(failed, "failed", "ok"),
        "first_part": _names([p.name for p in result.bay.parts], part),
        **{f"first_{key}": np.where(touched, value, np.nan) for key, value in numbers.items()},
        "outcome": _names([outcome.key for outcome in Outcome], result.outcome[chunk]),
        "left_through": _names([*(o.name for o in result.bay.openings), UNNAMED_GAP], opening),
        **{f"left_{key}": np.where(left, value, np.nan) for key, value in numbers.items() if key != "angle_deg"},
    }
    return out


def _names(names: Sequence[str], index: NDArray[Any]) -> NDArray[np.object_]:
    """Names by index, "" for -1."""
    chosen: NDArray[np.object_] = np.array([*names, ""], dtype=object)[index]
    return chosen
