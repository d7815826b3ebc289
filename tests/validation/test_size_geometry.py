"""With air and gravity off a ball flies straight: sizes and shares must be those of plane geometry.

A ball of radius r that starts at height z0 flies along (u_x, u_z), as seen square to an edge. It touches the edge of a
sheet at height h, x ahead, where |x u_z - (h - z0) u_x| <= r: so a canopy that begins at X must reach back to
x = (r + (h - z0) u_x)/u_z. The same holds for a side net seen from above. Geometry, no source needed.
"""

from dataclasses import replace
from math import asin, atan2, hypot, pi

import numpy as np
import pytest
from bays import STRAIGHT
from size_bays import HALL, hall

from flightsim.flight.launches import launch
from flightsim.study.run.open_bay import open_bay
from flightsim.study.size.missed_first import missed_in

R, HEIGHT, SCREEN = 0.021335, 2.5, 3.0  # m: ball, canopy's underside, tee to screen
RISE = HEIGHT - R  # from the ball on the slab
MILLIMETRE = 1.0e-3


def missed(file, path, values, elevation, azimuth):
    bays = [open_bay(file, [f"{path}={value:.6f}m"]) for value in values]
    n = elevation.size
    start = np.repeat(np.array([[0.0], [0.0], [R]]), n, axis=1)
    launches = launch(start, np.full(n, 50.0), elevation, azimuth, np.zeros(n), np.zeros(n))
    physics = replace(STRAIGHT, ball=bays[0].physics.ball)
    assert physics.ball.radius == pytest.approx(R)
    return np.stack([missed_in(replace(bay, physics=physics), launches) for bay in bays])


def needed_depth(elevation, azimuth):
    """Of the canopy, m."""
    forward, up = np.cos(elevation) * np.cos(azimuth), np.sin(elevation)
    length = np.hypot(forward, up)
    return SCREEN - (R * length + RISE * forward) / up


def fan(n, seed=1):
    rng = np.random.default_rng(seed)
    return rng.uniform(0.82, 1.15, n), rng.uniform(-0.45, 0.45, n)


def test_the_least_canopy_depth_of_a_fan_is_that_of_geometry_to_1_mm(tmp_path):
    elevation, azimuth = fan(300)
    least = needed_depth(elevation, azimuth).max()
    around = least + MILLIMETRE * np.arange(-5, 6)
    any_missed = missed(hall(tmp_path), "canopy.depth", around, elevation, azimuth).any(axis=1)
    found = around[np.flatnonzero(any_missed)[-1] + 1]
    assert found == pytest.approx(least, abs=MILLIMETRE)
    assert (np.diff(any_missed.astype(int)) <= 0).all()


def test_each_ball_of_a_fan_is_stopped_from_its_own_depth_on_to_1_mm(tmp_path):
    """At twelve depths, each a millimetre above or below what some ball needs, all balls at once."""
    elevation, azimuth = fan(400, 2)
    need = needed_depth(elevation, azimuth)
    balls = np.linspace(0, need.size - 1, 6).astype(int)
    depths = np.sort(np.concatenate([need[balls] - MILLIMETRE, need[balls] + MILLIMETRE]))
    found = missed(hall(tmp_path), "canopy.depth", depths, elevation, azimuth)
    assert np.array_equal(found, need > depths[:, None])
    assert all(0 < row.sum() < need.size for row in found)


def test_a_side_net_must_reach_as_far_as_plane_geometry_says_to_1_mm(tmp_path):
    """Flat shots to the right: the net stands 2.5 m to the side, its edge upright."""
    azimuth = np.radians(np.array([48.0, 55.0, 63.0, 70.0, 77.0]))
    elevation = np.full(azimuth.size, 0.12)
    text = HALL + "side_nets: {right: {depth: 2 m, height: 2.5 m, kind: panel, facing: foam on plywood}}\n"
    need = SCREEN - (R + 2.5 * np.cos(azimuth)) / np.sin(azimuth)
    depths = np.concatenate([need - MILLIMETRE, need + MILLIMETRE])
    found = missed(hall(tmp_path, text=text), "side_nets.right.depth", depths, elevation, azimuth)
    assert np.array_equal(found, need > depths[:, None])


@pytest.mark.parametrize("depth", [0.4, 0.9, 1.5])
def test_the_share_of_balls_that_pass_the_canopy_is_that_of_geometry_to_sampling_error(tmp_path, depth):
    """Up angles uniform from 30 to 80 deg, straight ahead: those past e* = atan(H/x) + asin(r/hypot(x, H)) miss."""
    n, low, high = 20_000, pi / 6.0, 4.0 * pi / 9.0
    elevation = np.random.default_rng(7).uniform(low, high, n)
    edge = SCREEN - depth
    limit = atan2(RISE, edge) + asin(R / hypot(edge, RISE))
    share = (high - limit) / (high - low)
    found = missed(hall(tmp_path), "canopy.depth", [depth], elevation, np.zeros(n)).mean()
    assert found == pytest.approx(share, abs=4.0 * (share * (1.0 - share) / n) ** 0.5)
    assert np.array_equal(missed(hall(tmp_path), "canopy.depth", [depth], elevation, np.zeros(n))[0], elevation > limit)
