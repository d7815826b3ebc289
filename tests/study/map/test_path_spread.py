"""The bound on how far the paths of a cell of launch directions stray from that of its middle."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.flight.aerodynamics import AERO_MODELS, ConstantCoefficients
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.study.map.path_spread import free_paths, spread, steepness

PIECES = 24
MODELS = {**AERO_MODELS, "constant": ConstantCoefficients(0.3, 0.2)}


def strayed(physics, speed, spin, el, az, up, side, share_up, share_side, end):
    """Distance from the middle's path of shots `(n,)` in a cell, and the bound, both `(PIECES + 1, n)`."""
    n = share_up.size
    start = np.array([[0.3], [-0.2], [0.07]])
    middle = launch(start, speed, el, az, spin, 0.0)
    other = launch(start, speed, el + up * share_up, az + side * share_side, spin, 0.0)
    time = np.full(n, end)
    points, times, flown = free_paths(physics, launch(start, speed, *np.full((2, n), [[el], [az]]), spin, 0.0), time,
                                      PIECES)  # fmt: skip
    others, _, flown_too = free_paths(physics, other, time, PIECES)
    assert flown.all()
    assert flown_too.all()
    assert len(middle) == 1
    way = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=1)) / np.diff(times, axis=0)
    steep = steepness(physics, 0.5 * float(way.min()), np.hypot(speed, 4.0), spin, end)
    eps, height = spread(points, times, np.full(n, up), np.full(n, side), physics.gravity, steep.growth)
    off = np.sqrt(((others - points) ** 2).sum(axis=1))
    return off, eps, np.abs(others[:, 2] - points[:, 2]), height


@settings(max_examples=40, deadline=None)
@given(
    model=st.sampled_from(sorted(MODELS)), speed=st.floats(8.0, 85.0), rpm=st.floats(-3000.0, 11_000.0),
    el=st.floats(-89.0, 89.0), az=st.floats(-180.0, 180.0), size=st.floats(0.005, 2.5), seed=st.integers(0, 10_000),
)  # fmt: skip
def test_no_path_of_a_cell_strays_further_than_the_bound(model, speed, rpm, el, az, size, seed):
    rng = np.random.default_rng(seed)
    up, side = np.radians(size / 2.0), np.radians(size / 2.0)
    share_up, share_side = rng.uniform(-1.0, 1.0, (2, 12))
    share_up[:4], share_side[:4] = [-1, -1, 1, 1], [-1, 1, -1, 1]  # the corners stray furthest
    end = min(6.0 / speed, 0.8)
    physics = Physics(aero=MODELS[model])
    spin = (rpm if abs(rpm) > 1.0 else 0.0) * np.pi / 30.0  # a constant lift jumps where a spin fades to nought
    off, eps, rise, height = strayed(
        physics, speed, spin, np.radians(el), np.radians(az), up, side, share_up, share_side, end
    )
    assert (off <= eps + 1e-6).all()
    assert (rise <= height + 1e-6).all()


def test_the_bound_is_not_idle():
    # At the far corners of a cell it is used up by more than half.
    corners = np.array([-1.0, -1.0, 1.0, 1.0]), np.array([-1.0, 1.0, -1.0, 1.0])
    off, eps, _, _ = strayed(Physics(), 60.0, 290.0, 0.2, 0.1, 0.01, 0.01, *corners, 0.08)
    assert (off[-1].max() > 0.5 * eps[-1]).all()


def test_without_gravity_and_air_a_cell_turned_in_elevation_strays_by_its_arc():
    from aimed import STILL

    off, eps, _, _ = strayed(STILL, 50.0, 0.0, 0.0, 0.0, 0.02, 1e-9, np.array([1.0]), np.array([0.0]), 0.1)
    assert off[-1, 0] == pytest.approx(5.0 * 2.0 * np.sin(0.01), rel=1e-9)  # the chord of an arc of 0.02 rad at 5 m
    assert eps[-1, 0] == pytest.approx(5.0 * 0.02, rel=1e-6)


def test_free_paths_agree_with_a_flight_asked_for_in_one_piece():
    from flightsim.flight.integrator import fly_arcs

    shots = launch(np.zeros((3, 3)), np.array([20.0, 45.0, 70.0]), 0.3, 0.1, 400.0, 0.0)
    points, times, _ = free_paths(Physics(), shots, np.full(3, 0.2), 8)
    arcs = fly_arcs(Physics(), shots.start, shots.velocity, shots.spin, np.zeros(3), np.full(3, 0.2))
    assert np.abs(points[-1] - arcs.position(np.minimum(0.2 / arcs.duration, 1.0))).max() < 1e-5
    assert np.allclose(times[-1], 0.2)
