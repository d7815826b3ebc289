"""Drag and lift coefficients. One function is one published model, named for its paper.

Every model takes the spin ratio S = r |w_perp| / V and the Reynolds number Re = rho V d / mu, arrays of one
shape, and returns (CD, CL), arrays of that shape, dimensionless. Drag is 1/2 rho A CD V^2 against the
air-relative velocity; lift is 1/2 rho A CL V^2 along w x v.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
AeroModel = Callable[[Array, Array], tuple[Array, Array]]

# Smits & Smith 1994 (second-hand), spin decay dw/dt = -lambda w V/r at 1.2 kg/m3; honest range 1.0e-5..2.5e-5.
SPIN_DECAY = 2.0e-5
SPIN_DECAY_AIR_DENSITY = 1.2


def smoothstep(x: Array) -> Array:
    """3 x^2 - 2 x^3 on 0..1, held at 0 and 1 outside: a step without a kink."""
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def _naruo_lift(S: Array) -> Array:
    return ((((-0.2158 * S + 1.006) * S - 1.644) * S) + 1.250) * S + 0.0616


NARUO_S_LOW = 0.03
NARUO_S_HIGH = 1.13
NARUO_SLOPE_LOW = float(_naruo_lift(np.float64(NARUO_S_LOW))) / NARUO_S_LOW  # type: ignore[arg-type]


def naruo2004(S: Array, Re: Array) -> tuple[Array, Array]:
    """Drag and lift of a real 432-dimple ball.

    Source: Naruo, Mizota & Shimozono 2004, Trans. JSME B 70(697):2371, doi 10.1299/kikaib.70.2371
    (second-hand), measured for S 0.03-1.13, Re 7.1e4-1.25e5. Blends outside that range are ours: S is held
    at 1.13; below 0.03 lift falls linearly to nothing; below Re 7.5e4 drag rises smoothly to 0.50.
    """
    held = np.minimum(S, NARUO_S_HIGH)
    CD = (((0.7510 * held - 1.760) * held + 1.098) * held + 0.2148) * held + 0.2049
    CL = _naruo_lift(held)
    small = S < NARUO_S_LOW
    if small.any():
        CL = np.where(small, NARUO_SLOPE_LOW * S, CL)
    slow = (7.5e4 - Re) * (1.0 / 2.5e4)
    if (slow > 0.0).any():
        CD = CD + smoothstep(slow) * np.maximum(0.0, 0.50 - CD)
    return CD, CL


@dataclass(frozen=True)
class Naruo2004LowLift:
    """naruo2004 with lift scaled by `k_low` (1, 0 or -0.5) at low Re and low spin.

    Lift below Re 7.5e4 is not predictable and can reverse (Sports Eng. 2020, doi 10.1007/s12283-020-0318-1):
    flying all three bounds it. CL is multiplied by 1 - (1 - k_low) b(Re) q(S).
    """

    k_low: float

    def __call__(self, S: Array, Re: Array) -> tuple[Array, Array]:
        """CD and CL."""
        CD, CL = naruo2004(S, Re)
        rising = smoothstep((Re - 4.0e4) / 1.0e4)
        falling = 1.0 - smoothstep((Re - 6.5e4) / 1.0e4)
        q = 1.0 - smoothstep((S - 0.15) / 0.20)
        return CD, CL * (1.0 - (1.0 - self.k_low) * rising * falling * q)


def ferguson2022(S: Array, Re: Array) -> tuple[Array, Array]:
    """Drag and lift fitted to 1,040 tracked shots; no Reynolds number effect.

    Source: Ferguson, McNally & McPhee 2022, ISEA 14, doi 10.5703/1288284317493 (second-hand). Held above
    S 0.5622 (CD) and 0.5235 (CL); below S 0.05 lift falls linearly to nothing (ours).
    """
    CD = np.where(S > 0.5622, 0.3915, (-0.8259 * S + 0.9287) * S + 0.1304)
    at_edge = (-1.1490 * 0.05 + 1.2031) * 0.05 + 0.0504
    CL = np.where(S > 0.5235, 0.3653, (-1.1490 * S + 1.2031) * S + 0.0504)
    return CD, np.where(S < 0.05, S * (at_edge / 0.05), CL)


@dataclass(frozen=True)
class ConstantCoefficients:
    """The same CD and CL whatever the ball does: for checks against closed solutions."""

    drag: float
    lift: float

    def __call__(self, S: Array, Re: Array) -> tuple[Array, Array]:
        """CD and CL."""
        return np.full_like(S, self.drag), np.full_like(S, self.lift)


AERO_MODELS: dict[str, AeroModel] = {
    "naruo2004": naruo2004,
    "naruo2004_no_low_lift": Naruo2004LowLift(0.0),
    "naruo2004_reversed_low_lift": Naruo2004LowLift(-0.5),
    "ferguson2022": ferguson2022,
}
DEFAULT_AERO = "naruo2004"
