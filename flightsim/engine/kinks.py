"""What the error of an arc misses where drag or lift has a kink: between the moments looked at, nobody sees it.

CD and CL are pieces of smooth curves over spin ratio and Reynolds number. Where pieces meet, their value, slope or
curvature jumps. On an arc that crosses such a place between two of its moments the polynomial is off by a share of the
jump times how far the arc reaches past it. Of a slope that jumps before the second moment, at .095 of the arc's time,
integration gives a share of .048; the shares taken are more than any of the wild arcs needed that
tests/engine/test_arc_error.py flies.
"""

from __future__ import annotations

import numpy as np

from flightsim.engine.aero import FERGUSON, NARUO
from flightsim.engine.compiled import compiled

BEYOND = 0.15  # of an arc's range: how far it may reach past what the moments looked at show
VALUE = 0.2
SLOPE, SLOPE_FAR = 0.08, 0.015  # of how far an arc reaches past the kink; of its whole range: whichever is less
CURVATURE, CURVATURE_FAR = 0.03, 3.0e-4
# S, and by how much CD and CL together jump there in value, slope and curvature (flightsim.flight.aerodynamics).
FERGUSON_KINKS = (
    (0.05, 0.0, 1.0655, 2.298),
    (0.5235, 3.7e-5, 1.0e-4, 2.298),
    (0.5622, 2.7e-5, 6.0e-5, 1.652),
)
NARUO_KINKS = ((0.03, 0.0, 2.1009, 3.12), (1.13, 0.0, 0.4315, 2.0))
NARUO_HELD = (0.925836, 0.0, 0.1061, 5.07)  # where drag is by itself the .50 that it rises to at low Re
NARUO_RISES = (7.5e4, 5.0e4)  # Re between which it rises
MOST_RISE, MOST_LIFT = 0.30, 0.475  # how far at most; the greatest CL
LOW_LIFT_RE, LOW_LIFT_S = (4.0e4, 5.0e4, 6.5e4, 7.5e4), (0.15, 0.35)  # where low lift begins and ends to be another
STEP_BENDS = 6.0  # curvature of a smooth step where it begins and ends, over its width squared

Range = tuple[float, float]


@compiled
def range_of(row: np.ndarray, first: int) -> Range:
    """The least and the greatest of eight numbers of a row: by pairs, less waiting for one another."""
    low, high = _pair(_pair(_two(row, first), _two(row, first + 2)), _pair(_two(row, first + 4), _two(row, first + 6)))
    return low, high


@compiled
def _two(row: np.ndarray, first: int) -> Range:
    a, b = row[first], row[first + 1]
    return (a, b) if a < b else (b, a)


@compiled
def _pair(a: Range, b: Range) -> Range:
    return a[0] if a[0] < b[0] else b[0], a[1] if a[1] > b[1] else b[1]


@compiled
def beside_kinks(which: float, k_low: float, S: Range, Re: Range) -> float:
    """By how much CD and CL of a model may be off in the mean, unseen, on an arc over these ranges of S and Re."""
    if which == FERGUSON:
        off = 0.0
        for kink in FERGUSON_KINKS:
            off += _missed(kink, S)
        return off
    return _naruo2004(k_low, S, Re) if which == NARUO else 0.0


@compiled
def _naruo2004(k_low: float, S: Range, Re: Range) -> float:
    off = 0.0
    for kink in NARUO_KINKS:
        off += _missed(kink, S)
    slow = min(max((NARUO_RISES[0] - Re[0]) / (NARUO_RISES[0] - NARUO_RISES[1]), 0.0), 1.0)
    if slow > 0.0:
        off += slow * slow * (3.0 - 2.0 * slow) * _missed(NARUO_HELD, S)
    bends = STEP_BENDS * MOST_RISE / (NARUO_RISES[0] - NARUO_RISES[1]) ** 2
    for place in NARUO_RISES:
        off += _missed((place, 0.0, 0.0, bends), Re)
    if k_low != 1.0:
        lift = STEP_BENDS * MOST_LIFT * (1.0 - k_low)
        for place in LOW_LIFT_RE:
            off += _missed((place, 0.0, 0.0, lift / 1.0e8), Re)
        for place in LOW_LIFT_S:
            off += _missed((place, 0.0, 0.0, lift / 0.04), S)
    return off


@compiled
def _missed(kink: tuple[float, float, float, float], span: Range) -> float:
    """What an arc over this range may miss of one kink."""
    wide = span[1] - span[0]
    past = min(kink[0] - span[0], span[1] - kink[0]) + BEYOND * wide
    if not past > 0.0:
        return 0.0
    bent = 0.5 * kink[3] * min(CURVATURE * past * past, CURVATURE_FAR * wide * wide)
    return VALUE * kink[1] + kink[2] * min(SLOPE * past, SLOPE_FAR * wide) + bent
