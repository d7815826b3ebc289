"""Drag and lift coefficients: the models of `flightsim.flight.aerodynamics`, which names their sources.

A test holds each to its original.
"""

from __future__ import annotations

from flightsim.engine.compiled import compiled
from flightsim.engine.lanes import Lanes, all_of, chosen, least, most
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
def coefficients(which: float, first: float, second: float, S: Lanes, Re: Lanes) -> tuple[Lanes, Lanes]:
    """CD and CL of a model and its two numbers, at spin ratio S and Reynolds number Re, for eight moments at once."""
    if which == FERGUSON:
        return _ferguson2022(S)
    if which == CONSTANT:
        return all_of(first), all_of(second)
    CD, CL = _naruo2004(S, Re)
    return CD, CL if first == 1.0 else CL * _low_lift(first, S, Re)


@compiled
def _smoothstep(x: Lanes) -> Lanes:
    x = least(most(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@compiled
def _naruo2004(S: Lanes, Re: Lanes) -> tuple[Lanes, Lanes]:
    held = least(S, NARUO_S_HIGH)
    CD = (((0.7510 * held - 1.760) * held + 1.098) * held + 0.2148) * held + 0.2049
    CL = ((((-0.2158 * held + 1.006) * held - 1.644) * held) + 1.250) * held + 0.0616
    CL = chosen(S, NARUO_S_LOW, NARUO_SLOPE_LOW * S, CL)
    slow = (7.5e4 - Re) * (1.0 / 2.5e4)
    return CD + _smoothstep(slow) * most(0.50 - CD, 0.0), CL


@compiled
def _low_lift(k_low: float, S: Lanes, Re: Lanes) -> Lanes:
    rising = _smoothstep((Re - 4.0e4) / 1.0e4)
    falling = 1.0 - _smoothstep((Re - 6.5e4) / 1.0e4)
    q = 1.0 - _smoothstep((S - 0.15) / 0.20)
    return 1.0 - (1.0 - k_low) * rising * falling * q


@compiled
def _ferguson2022(S: Lanes) -> tuple[Lanes, Lanes]:
    CD = chosen(0.5622, S, 0.3915, (-0.8259 * S + 0.9287) * S + 0.1304)
    CL = chosen(0.5235, S, 0.3653, (-1.1490 * S + 1.2031) * S + 0.0504)
    at_edge = (-1.1490 * 0.05 + 1.2031) * 0.05 + 0.0504
    return CD, chosen(S, 0.05, S * (at_edge / 0.05), CL)
