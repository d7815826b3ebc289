"""Engines beside a scipy loop and a compiled Runge-Kutta loop: `pytest -m bench -s tests/bench/test_engines.py`.

The whole table, and growth with shots and parts: `python tests/support/engine_bench.py`. Guards are on ratios of
processor time, with slack: half of what is promised, since other work on the machine hits the loops unevenly.
"""

from __future__ import annotations

import numpy as np
import pytest
import rk4_loop
from engine_bench import compared, demo_scene, growth_with_parts, measured_step, scene_lines
from scipy_loop import Facts
from scipy_rebounds import Follower

from flightsim.flight.integrator import DEFAULT_TOLERANCE

pytestmark = [pytest.mark.bench, pytest.mark.timeout(1200)]

# Times as fast as the scipy loop and as the Runge-Kutta loop, to the first contact and to the end of the way.
LEAST = {
    "compiled": {False: (750.0, 0.5), True: (350.0, 0.5)},
}
MOST_WITH_300_PARTS = {"compiled": 2.0}  # times the time with 25


@pytest.fixture(scope="module")
def garage():
    return demo_scene("single_garage", 16_384)


def test_the_runge_kutta_loop_is_a_fair_opponent_same_parts_same_touches_and_error_within_the_bound(garage):
    """Held against the scipy loop with the same rebounds; the bound is the engine's own tolerance."""
    balls = 200
    physics, launches = garage.physics, garage.launches.take(np.arange(balls))
    step, error = measured_step(physics, garage.bay, launches.take(np.arange(40)))
    assert step > 1e-3
    assert error <= DEFAULT_TOLERANCE
    arrays = rk4_loop.as_arrays(garage.bay, garage.facings, physics.ball)
    touches, why = rk4_loop.to_end(
        arrays, rk4_loop.facts_of(physics), step, launches.start, launches.velocity, launches.spin
    )
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    follower = Follower(facts, garage.bay, garage.facings, physics.ball.inertia_factor, rtol=1e-9)
    ends = ("dead", "broke", "rolls", "out", "many", "lost")
    same = 0
    for k in range(balls):
        ball = follower.follow(launches.start[:, k], launches.velocity[:, k], launches.spin[:, k])
        same += (len(ball.contacts), ball.end) == (touches[k], ends[why[k]])
    assert same >= 0.975 * balls  # a rounded edge multiplies what is left of either loop's error


@pytest.mark.parametrize("to_end", [False, True], ids=["first contact", "end"])
def test_engines_keep_their_distance_from_a_scipy_loop_and_a_runge_kutta_loop(garage, to_end, capsys):
    step, error = measured_step(garage.physics, garage.bay, garage.launches.take(np.arange(100)))
    scene = compared(garage, to_end, 5, step)
    with capsys.disabled():
        print(f"\n{garage.name}, Runge-Kutta steps of {1e3 * step:g} ms, error {1e6 * error:.2f} micrometres")
        print(scene_lines(scene))
    for name, (scipy, rk4) in ((name, LEAST[name][to_end]) for name in scene["times_rk4"]):
        assert scene["times_scipy"][name][0] >= scipy
        assert scene["times_rk4"][name][0] >= rk4


def test_twelve_times_the_parts_cost_little(garage, capsys):
    times = growth_with_parts(True, 5, 2e-2, counts=(25, 300))["time_over_25_parts"]
    with capsys.disabled():
        print("\ntime to the end with 300 parts over that with 25:", {name: t[300] for name, t in times.items()})
    for name, most in MOST_WITH_300_PARTS.items():
        assert name not in times or times[name][300] <= most
