"""A part's own law as a table: numpy at the border and the engine in flight read the same from it.

`LawTable.at` judges a plugin's law before anything is compiled; balls leave by what the engine reads.
"""

from __future__ import annotations

import numpy as np
import pytest
from bays import STRAIGHT, around, follow, one_part

from flightsim.bay.shapes import block
from flightsim.contact.facings import Facing
from flightsim.contact.fates import Flag
from flightsim.contact.law_table import HELD, PAST, SHARE, UNKNOWN, VALUES, LawTable, kind_of
from flightsim.contact.rebound import SEPARATE
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.launches import Launches

R, BALLS = LEGAL_BALL.radius, 2_000
SMOOTH = Facing("smooth", fixed=0.5, friction=0.0)
IS_HELD, LEAVES, GETS_PAST, NOBODY_KNOWS = range(4)
BY_SPEED = (IS_HELD, IS_HELD, LEAVES, LEAVES, LEAVES, GETS_PAST, GETS_PAST, GETS_PAST)
MORE, TURNS = slice(1, 4), slice(4, 7)


def any_table(rng, axes) -> LawTable:
    """A table of every kind whose values give no ball more energy than it brings: no limit is met that is not read."""
    grid = (
        np.geomspace(3.0, 70.0, len(BY_SPEED)), np.radians([0.0, 25.0, 60.0]), np.array([-0.5, 0.1, 0.6]),
        np.array([-0.3, 0.4]), np.array([-1.0, 0.3, 0.9]), np.array([-0.8, 0.7]),
    )  # fmt: skip
    values = np.zeros((*(len(axis) for axis in grid), VALUES))
    kind = np.broadcast_to(np.reshape(BY_SPEED, (-1, *(1,) * 5)), values.shape[:-1])
    kind = np.where(rng.random(kind.shape) < 0.02, rng.integers(0, 4, kind.shape), kind)  # few: the worst corner counts
    for flag, which in ((HELD, IS_HELD), (PAST, GETS_PAST), (UNKNOWN, NOBODY_KNOWS)):
        values[..., flag] = kind == which
    leaves, past = kind == LEAVES, kind == GETS_PAST
    values[leaves, SHARE] = rng.uniform(0.2, 0.5, leaves.sum())
    values[leaves, MORE.start + 1] = rng.uniform(-0.3, 0.0, leaves.sum())  # on along the face
    values[past, MORE] = rng.uniform(-0.4, 0.4, (past.sum(), 3))
    values[past, TURNS] = rng.uniform(-0.2, 0.2, (past.sum(), 3))
    return LawTable(*grid[:4], grid[4:], axes, values)


def at_a_wall(rng, across: int, axes) -> Launches:
    """Balls 2 mm off a wall square to an axis of the room, of every speed, slant and spin, some beyond the table."""
    out = -np.eye(3)[across]
    start = np.zeros((3, BALLS))
    start[list(axes)] = rng.uniform(-1.3, 1.3, (2, BALLS))
    start[across] = 1.0 - R - 0.002
    turn, slant = rng.uniform(-np.pi, np.pi, BALLS), np.radians(rng.uniform(0.0, 75.0, BALLS))
    along = np.eye(3)[axes[0]][:, None] * np.cos(turn) + np.eye(3)[axes[1]][:, None] * np.sin(turn)
    speed = np.exp(rng.uniform(np.log(3.0), np.log(100.0), BALLS))
    velocity = speed * (along * np.sin(slant) - out[:, None] * np.cos(slant))
    return Launches(start, velocity, rng.uniform(-0.7, 0.7, (3, BALLS)) * speed / R)


@pytest.mark.parametrize(("across", "axes"), [(0, (1, 2)), (1, (0, 2)), (2, (0, 1))], ids="xyz")
def test_a_ball_leaves_as_numpy_reads_the_table_at_its_hit(across, axes):
    rng = np.random.default_rng(across)
    table, corner = any_table(rng, axes), np.full(3, -3.0)
    corner[across] = 1.0
    place = around(one_part(block(corner, np.full(3, 3.0))), {"thing": table}, test=SMOOTH)
    followed = follow(place, at_a_wall(rng, across, axes), STRAIGHT)
    log = followed.contacts
    hit = np.flatnonzero(log.number == 0)
    assert np.array_equal(log.shot[hit], np.arange(BALLS))

    velocity, spin, out = log.arriving[:, hit], log.spin[:, hit], -np.eye(3)[across][:, None]
    speed, inward = np.linalg.norm(velocity, axis=0), velocity[across]
    on = velocity + out * inward
    on /= np.linalg.norm(on, axis=0)
    side = np.cross(out, on, axis=0)
    ratios = R * spin / speed
    where = [speed, np.arccos(inward / speed), (ratios * side).sum(axis=0), (ratios * on).sum(axis=0)]
    found = table.values_at(np.stack([*where, *log.point[axes, hit[:, None]].T], axis=1))

    kind, ways = kind_of(found), np.stack([np.broadcast_to(out, on.shape), on, side])
    more, turns = (np.einsum("nk,kan->an", found[:, part], ways) * speed for part in (MORE, TURNS))
    leaves = np.where(kind == LEAVES, velocity + (1.0 + found[:, SHARE]) * inward * out + more, more)
    leaves = np.where(kind == IS_HELD, SEPARATE * out, leaves)
    spins = np.where(kind == LEAVES, spin, 0.0) + turns / R
    known = kind != NOBODY_KNOWS
    assert min(np.bincount(kind, minlength=4)) > 60
    assert np.isfinite(followed.fates.worst[Flag.UNRESOLVED, ~known]).all()
    assert np.abs(log.leaving[:, hit] - leaves)[:, known].max() < 1e-9
    assert np.abs(log.leaving_spin[:, hit] - spins)[:, known].max() < 1e-7
