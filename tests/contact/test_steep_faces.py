"""Balls on faces that slope: they come down, whether friction makes them roll or not."""

from __future__ import annotations

import numpy as np
import pytest
from bays import EMPTY, around, follow, part, room, shots, vector

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import rectangle
from flightsim.contact.facings import shipped_facings
from flightsim.contact.fates import Flag
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics

G = 9.80665


def sloping(slope: float, facing: str) -> Bay:
    """A guard 3 m long that falls from 3 m up, over a slab at -.1 m."""
    along, across = vector(3.0 * np.cos(slope), 0.0, -3.0 * np.sin(slope)), vector(0.0, 2.0, 0.0)
    guard = part("guard", rectangle(vector(0.0, -1.0, 3.0), along, across), Role.GUARD, facing)
    return Bay((guard, *room((-1.0, -3.0, -0.1), (6.0, 3.0, 4.0))), (), vector(-1, -3, -0.1), vector(6, 3, 4))


@pytest.mark.parametrize("slope", [15.0, 22.0, 28.0, 45.0, 58.0, 65.0])
@pytest.mark.parametrize("facing", ["net", "cloth", "steel"])
def test_a_ball_that_falls_softly_on_a_sloping_guard_comes_down_it(facing, slope):
    """From 20 deg on it hopped down until its 200 touches were used up, and was told as not followed to its end."""
    rng = np.random.default_rng(3)
    dropped = shots(*(((x, 0.0, 3.1 + 0.001 * k), (0.0, 0.0, 0.0)) for k, x in enumerate(rng.uniform(0.1, 1.0, 60))))
    followed = follow(around(sloping(np.radians(slope), facing)), dropped, Physics(wind=(-2.0, 0.0, 0.0)), to_rest=True)
    assert not followed.fates.flags[Flag.UNRESOLVED].any()
    assert followed.fates.rests.all()
    assert followed.fates.point[2].max() < 0.0  # of a ball on the slab


@pytest.mark.parametrize("slope", [40.0, 50.0])
def test_where_friction_cannot_make_a_ball_roll_it_slips_down_at_g_sin_less_mu_g_cos(slope):
    """A ball on an incline (any textbook): it rolls up to tan = (1 + 1/k) mu, 35 deg on steel."""
    angle, mu, radius = np.radians(slope), shipped_facings()["steel"].friction, LEGAL_BALL.radius
    assert np.tan(angle) > (1 + 1 / LEGAL_BALL.inertia_factor) * mu
    down, up = vector(np.cos(angle), 0.0, -np.sin(angle)), vector(np.sin(angle), 0.0, np.cos(angle))
    lies = vector(0.0, 0.0, 3.0) + 0.5 * down + up * radius
    followed = follow(around(sloping(angle, "steel")), shots((lies, 1e-3 * down - 1e-4 * up)), Physics(air=EMPTY))
    falls = followed.contacts.arriving[:, np.flatnonzero(followed.contacts.part != 0)[0]]
    a, way = G * (np.sin(angle) - mu * np.cos(angle)), 2.5
    assert falls[0] == pytest.approx(np.sqrt(2.0 * a * way) * np.cos(angle), rel=0.01)
