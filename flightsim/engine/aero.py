"""Drag and lift coefficients of one ball: the models of `flightsim.flight.aerodynamics`, which names their sources.

A test holds each to its original.
"""

from __future__ import annotations

import numpy as np

from flightsim.engine.compiled import compiled
from flightsim.flight.aerodynamics import (
    NARUO_S_HIGH,
    NARUO_S_LOW,
    NARUO_SLOPE_LOW,
    AeroModel,
    ConstantCoefficients,
    Naruo2004LowLift,
    ferguson2022,
    naruo2004,
)

NARUO, FERGUSON, CONSTANT, TABLE = 0, 1, 2, 3


def aero_numbers(model: AeroModel) -> tuple[float, float, float]:
    """Which compiled model this is, and its two numbers; TABLE for a function that is none of ours."""
    if model is naruo2004:
        return NARUO, 1.0, 0.0
    if model is ferguson2022:
        return FERGUSON, 0.0, 0.0
    if isinstance(model, Naruo2004LowLift):
        return NARUO, model.k_low, 0.0
    if isinstance(model, ConstantCoefficients):
        return CONSTANT, model.drag, model.lift
    return TABLE, 0.0, 0.0


@compiled
def coefficients(which: float, first: float, second: float, S: float, Re: float) -> tuple[float, float]:
    """CD and CL of a model and its two numbers, at spin ratio S and Reynolds number Re."""
    if which == FERGUSON:
        return _ferguson2022(S)
    if which == CONSTANT:
        return first, second
    CD, CL = _naruo2004(S, Re)
    return CD, CL if first == 1.0 else CL * _low_lift(first, S, Re)


@compiled
def _smoothstep(x: float) -> float:
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@compiled
def _naruo2004(S: float, Re: float) -> tuple[float, float]:
    held = S if S < NARUO_S_HIGH else NARUO_S_HIGH
    CD = (((0.7510 * held - 1.760) * held + 1.098) * held + 0.2148) * held + 0.2049
    CL = ((((-0.2158 * held + 1.006) * held - 1.644) * held) + 1.250) * held + 0.0616
    if S < NARUO_S_LOW:
        CL = NARUO_SLOPE_LOW * S
    slow = (7.5e4 - Re) * (1.0 / 2.5e4)
    if slow > 0.0:
        CD = CD + _smoothstep(slow) * max(0.0, 0.50 - CD)
    return CD, CL


@compiled
def _low_lift(k_low: float, S: float, Re: float) -> float:
    rising = _smoothstep((Re - 4.0e4) / 1.0e4)
    falling = 1.0 - _smoothstep((Re - 6.5e4) / 1.0e4)
    q = 1.0 - _smoothstep((S - 0.15) / 0.20)
    return 1.0 - (1.0 - k_low) * rising * falling * q


@compiled
def _ferguson2022(S: float) -> tuple[float, float]:
    CD = 0.3915 if S > 0.5622 else (-0.8259 * S + 0.9287) * S + 0.1304
    at_edge = (-1.1490 * 0.05 + 1.2031) * 0.05 + 0.0504
    CL = 0.3653 if S > 0.5235 else (-1.1490 * S + 1.2031) * S + 0.0504
    return CD, S * (at_edge / 0.05) if S < 0.05 else CL


@compiled
def spin_ratio(radius: float, cross: float, square: float) -> float:
    """S = r |w x v|/V^2, nought for a ball that stands."""
    return radius * cross / max(square, 1.0e-300)


@compiled
def reynolds(speed: float, per_speed: float) -> float:
    """Re = V rho d/mu, of the air that streams past."""
    return np.float64(speed * per_speed)
