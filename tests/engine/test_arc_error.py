"""The error that an arc tells, held against its true error: every model of drag and lift, calm and windy.

References: scipy's DOP853 (rtol 1e-12); for many arcs, chains of arcs a sixteenth as long to 1e-13 m, held to DOP853
here. The balls are wilder than any shot: every direction, any axis of spin, so that many cross kinks of CD and CL.
"""

from __future__ import annotations

import numba
import numpy as np
import pytest
from bent_air import BENT, by_scipy, where
from referee_flight import fly
from scipy_loop import Facts

from flightsim.bay.parts import Bay
from flightsim.engine.arc import ARC_SIZE, DURATION, ERROR, position, spin_at, velocity_at
from flightsim.engine.flight import NODE_SIZE, fly_arc
from flightsim.engine.three import three
from flightsim.engine.world import world_of
from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.flight.integrator import Physics

LOOKS = 16
NOISE = 3.0e-12  # m: what sums of rounding leave
BAY = Bay((), (), np.full(3, -50.0), np.full(3, 50.0))
pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]


@numba.njit(error_model="numpy")
def flown(world, launches, asked, tolerance, arc, short, nodes):
    """Of each arc what it tells, its greatest true error, m, how long it is, s, and where it truly ends, `(n, 6)`."""
    found = np.empty((len(launches), 6))
    for k in range(len(launches)):
        point, velocity, spin = three(launches[k], 0), three(launches[k], 3), three(launches[k], 6)
        fly_arc(world, arc, nodes, point, velocity, spin, 0.0, asked[k], tolerance)
        worst = 0.0
        for look in range(LOOKS):
            left = arc[DURATION] / LOOKS
            while left > 1e-15:
                fly_arc(world, short, nodes, point, velocity, spin, 0.0, left, 1e-13)
                point, velocity, spin = position(short, 1.0), velocity_at(short, 1.0), spin_at(short, 1.0)
                left -= short[DURATION]
            said = position(arc, (look + 1.0) / LOOKS)
            off = (said[0] - point[0]) ** 2 + (said[1] - point[1]) ** 2 + (said[2] - point[2]) ** 2
            worst = max(worst, np.sqrt(off))
        found[k] = arc[ERROR], worst, arc[DURATION], point[0], point[1], point[2]
    return found


def wild(n: int, seed: int):
    """Launches `(n, 9)` and how long their arcs are asked to be, s: .2 to 9 m of way."""
    rng, launches = np.random.default_rng(seed), np.zeros((n, 9))
    speed = np.exp(rng.uniform(np.log(0.3), np.log(95.0), n))
    for first, size in ((3, speed), (6, rng.uniform(0.0, 1.0, n) ** 2 * 1400.0)):
        way = rng.normal(size=(n, 3))
        launches[:, first : first + 3] = way / np.linalg.norm(way, axis=1)[:, None] * size[:, None]
    return launches, np.minimum(rng.uniform(0.2, 9.0, n) / speed, 0.35)


OWN = {model.__name__: model for model in BENT}  # flown as tables


@pytest.mark.parametrize("aero", [*sorted(AERO_MODELS), *sorted(OWN)])
@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (-6.0, 2.0, 1.0)], ids=["calm", "wind"])
def test_an_arc_tells_no_less_than_its_true_error(aero, wind):
    physics = Physics(aero={**AERO_MODELS, **OWN}[aero], wind=wind)
    rows = np.zeros(ARC_SIZE), np.zeros(ARC_SIZE), np.zeros(NODE_SIZE)
    for seed in (11, 2026):
        launches, asked = wild(20_000, seed)
        error, true_error = flown(world_of(physics, BAY), launches, asked, 1e-6, *rows)[:, :2].T
        assert (error <= 1e-6).all()
        assert (true_error <= error + NOISE).all()


@pytest.mark.parametrize("aero", [*sorted(AERO_MODELS), *sorted(OWN)])
def test_the_chains_of_short_arcs_are_where_scipy_is(aero):
    physics = Physics(aero={**AERO_MODELS, **OWN}[aero])
    launches, asked = wild(12, 3)
    rows = np.zeros(ARC_SIZE), np.zeros(ARC_SIZE), np.zeros(NODE_SIZE)
    arcs = flown(world_of(physics, BAY), launches, asked, 1e-6, *rows)
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    for launch, row in zip(launches, arcs, strict=True):
        if aero in OWN:
            there = where(physics, by_scipy(OWN[aero]), launch, row[2])
        else:
            ball = type("Ball", (), {"point": launch[:3], "v": launch[3:6], "w": launch[6:], "time": 0.0})()
            there = fly(facts, physics, BAY, ball, 1e-12).state(row[2])[:3]
        assert np.abs(there - row[3:]).max() < 1e-9
