"""Single strikes for tests, in the numbers that references are written in."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import numpy as np

from flightsim.flight.ball import Ball
from flightsim.shots.played_strata import golfers_numbers
from flightsim.shots.shots_section import Shots
from flightsim.strike.delivery import Delivery, head_axes, to_bay, to_head
from flightsim.strike.impact import Contact, strike_ball

RPM = 60.0 / (2.0 * np.pi)
MPH = 0.44704
REFERENCE_BALL = Ball("reference", 0.04593, 0.04268, 0.40, "the references used r 21.34 mm, k 0.40")
DRIVER_CENTRE = np.array([-42.3, -1.0, 2.9]) * 1e-3  # of mass, from the middle of the face: Proceedings 2020, 49(1), 47
DRIVER_INERTIA = np.array([[2843, -530.2, -733], [-530.2, 4085, -0.5], [-733, -0.5, 5679]]) * 1e-7  # the same
WEDGE_INERTIA = np.diag([3200.0, 1000.0, 2700.0]) * 1e-7


@dataclass(frozen=True)
class Numbers:
    """Launch numbers of one ball: m/s, deg (+ up, + right), rpm."""

    speed: float
    elevation: float
    azimuth: float
    backspin: float
    sidespin: float


def one(**given: float) -> Delivery:
    """One delivery; angles in deg, lengths in mm, speed in m/s."""
    unit = {"speed": 1.0, "toe": 1e-3, "up": 1e-3, "edge": 1e-3}
    names = Delivery.__dataclass_fields__
    assert set(given) <= set(names)
    return Delivery(*(np.array([given.get(name, 0.0) * unit.get(name, np.pi / 180.0)]) for name in names))


def numbers(velocity: np.ndarray, spin: np.ndarray) -> Numbers:
    speed, elevation, azimuth, rate, tilt, _ = (float(column[0]) for column in golfers_numbers(velocity, spin))
    back, side = rate * np.cos(tilt) * RPM, rate * np.sin(tilt) * RPM
    return Numbers(speed, np.degrees(elevation), np.degrees(azimuth), back, side)


def rigid(
    delivery: Delivery,
    mass: float,
    contact: Contact,
    lever_mm: tuple[float, float, float] = (0.0, 0.0, 0.0),
    inertia: np.ndarray | None = None,
    normal: np.ndarray | None = None,
    level: bool = False,
    ball: Ball = REFERENCE_BALL,
) -> Numbers:
    """A strike given in full. normal: `(3,)` in axes level with the ground; None for the face's own. level: lever and
    inertia are in those axes too, and not in the head's.
    """
    face, none = delivery.face, np.zeros(1)
    axes = head_axes(face, none if level else delivery.loft)
    own = np.array([[1.0], [0.0], [0.0]])
    bay = (
        to_bay(head_axes(face, delivery.loft), own)
        if normal is None
        else to_bay(head_axes(face, none), normal[:, None])
    )
    blow = strike_ball(
        mass,
        None if inertia is None else np.linalg.inv(inertia),
        np.array(lever_mm)[:, None] * 1e-3,
        to_head(axes, bay),
        to_head(axes, delivery.head_velocity()),
        contact,
        ball,
    )
    return numbers(to_bay(axes, blow.velocity), to_bay(axes, blow.spin))


def raised(elevation_deg: float) -> np.ndarray:
    """A normal at this elevation, straight ahead."""
    return np.array([np.cos(np.radians(elevation_deg)), 0.0, np.sin(np.radians(elevation_deg))])


def shots_of(player: str, club: str, hand: str = "right", **rest: Any) -> Shots:
    """A `shots` section with one player and one club."""
    data = {"players": [{"player": player, "hand": hand}], "clubs": [{"club": club, "share": 1.0}], **rest}
    return Shots.model_validate_json(json.dumps(data), strict=True)
