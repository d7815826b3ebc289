"""One ball over level ground, as the `fly` command asks for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import degrees
from typing import Literal, TypeVar

import numpy as np

from flightsim.errors import Asked, BadInputError
from flightsim.flight.aerodynamics import AERO_MODELS, DEFAULT_AERO
from flightsim.flight.air import make_air
from flightsim.flight.ball import BALLS
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.flight.level_ground import NoLandingError, fly_over_level_ground
from flightsim.scenario.reading.display import Display

T = TypeVar("T")
_RPM = 60.0 / (2.0 * np.pi)
_STRAIGHT = 0.005  # m aside: no side is told for less


@dataclass(frozen=True)
class OneBall:
    """A launch and its air, SI and radians; None where the default is wanted."""

    ball_speed: float
    elevation: float
    azimuth: float
    spin_rate: float
    spin_tilt: float
    temperature: float
    pressure: float | None
    altitude: float | None
    humidity: float
    air_density: float | None
    aero: str | None
    ball: str


def fly_one_ball(order: OneBall) -> dict[str, float | str]:
    """The landing, with units in the names. Raises BadInputError for what cannot be flown.

    carry_m is the level distance from start to landing, hypot(x_m, y_m), y to the left; the spin rate is negative
    for topspin, as it was given.
    """
    aero = order.aero or DEFAULT_AERO
    model, ball = _chosen("aero", aero, AERO_MODELS), _chosen("ball", order.ball, BALLS)
    try:
        air = make_air(order.temperature, order.pressure, order.altitude, order.humidity, order.air_density)
    except ValueError as error:
        raise BadInputError(f"the air: {error}") from error
    launches = launch(
        np.zeros((3, 1)), order.ball_speed, order.elevation, order.azimuth, order.spin_rate, order.spin_tilt
    )
    try:
        landed = fly_over_level_ground(Physics(ball, air, model), launches)
    except NoLandingError as error:
        raise BadInputError(str(error)) from error
    return {
        "carry_m": float(landed.carry[0]),
        "x_m": float(landed.x[0]),
        "y_m": float(landed.y[0]),
        "apex_m": float(landed.apex[0]),
        "time_s": float(landed.time[0]),
        "landing_angle_deg": degrees(landed.angle[0]),
        "landing_speed_m_s": float(landed.speed[0]),
        "landing_spin_rpm": float(landed.spin[0] * _RPM) * (-1.0 if order.spin_rate < 0.0 else 1.0),
        "aero": aero,
        "air_density_kg_m3": air.density,
        "air_viscosity_pa_s": air.viscosity,
    }


def _chosen(option: str, name: str, known: Mapping[str, T]) -> T:
    if name not in known:
        near = get_close_matches(name, known, 1)
        fix = ("\n  try: ", Asked(option, near[0])) if near else ()
        raise BadInputError(Asked(option), f": '{name}' is not known; allowed: {', '.join(known)}", *fix)
    return known[name]


def landing_lines(landing: Mapping[str, float | str], units: Literal["metric", "imperial"] | str) -> list[str]:
    """The landing in words, a line each, in the user's units."""
    display = Display("imperial" if units == "imperial" else "metric")
    number = {key: value for key, value in landing.items() if isinstance(value, float)}
    ahead = "ahead" if number["x_m"] >= 0.0 else "behind"
    side = "to the left" if number["y_m"] >= 0.0 else "to the right"
    aside = f", {display.estimate(abs(number['y_m']))} {side}" if abs(number["y_m"]) >= _STRAIGHT else ", straight"
    return [
        f"carry          {display.estimate(number['carry_m'])}: {display.estimate(abs(number['x_m']))} {ahead}{aside}",
        f"highest point  {display.estimate(number['apex_m'])}",
        f"time           {number['time_s']:.2f} s",
        f"lands at       {number['landing_angle_deg']:.1f} deg, {display.speed(number['landing_speed_m_s'])}, "
        f"{number['landing_spin_rpm']:,.0f} rpm",
        f"model          {landing['aero']}, air {display.density(number['air_density_kg_m3'])}",
    ]
