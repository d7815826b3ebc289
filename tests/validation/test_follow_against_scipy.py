"""Whole paths of balls, touch after touch, against a shot-by-shot scipy loop with a bounce written a second time.

Outside reference: tests/support/scipy_rebounds.py (DOP853 at rtol 1e-9; bounce after [cross-2002]). Rebounds
multiply what errors there are, on edges and tubes by some hundred times a touch: the second touch must agree to 0.1 mm,
the third to 1 mm. Only a ball that a hair's breadth decides may differ, and few may be such.
"""

from dataclasses import replace

import numpy as np
import pytest
from bays import room
from random_bays import random_bay, random_launches
from scipy_loop import Facts
from scipy_rebounds import Follower, rigid_faces
from shipped import AS_FOUND

from flightsim.contact.facings import Facing, Foam, Plate
from flightsim.contact.log import ContactLog
from flightsim.contact.surroundings import surround
from flightsim.engine.follow import follow
from flightsim.flight.integrator import Physics
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay

SHOTS, TOUCHES = 60, 6
WITHIN = (1e-4, 1e-4, 1e-3)  # m, of the first, second and third touch
EXCEPTIONS = 2  # of 60 shots: none were seen in 1,200


def facts_of(physics):
    return Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)


def followed(physics, launches, around):
    """Every contact of every ball, and what became of them."""
    log = ContactLog()
    own = np.zeros((len(around.bay.zones), len(launches)), dtype=bool)
    _, fates = follow(physics, launches, around, own, log=log)
    return log.sorted(), fates


def difference(names, found, rows, ball, harmless):
    """What is not the same in words, and at which touch; None where all is."""
    for k, touch in enumerate(ball.contacts[: rows.size]):
        here = rows[k]
        if names[found.part[here]] != touch.part:
            return f"touch {k + 1}: {names[found.part[here]]}, not {touch.part}", k
        away = np.linalg.norm(found.point[:, here] - touch.point)
        if k < len(WITHIN) and away > WITHIN[k]:
            return f"touch {k + 1}, {touch.part}: {away * 1e3:.3f} mm away", k
        if k == 0 and abs(found.time[here] - touch.time) > 1e-5:
            return f"touch 1 at {found.time[here]} s, not {touch.time} s", k
        went_through = np.isnan(found.leaving[0, here])
        bounced = k == 0 and not went_through and not touch.rolls
        if bounced and np.abs(found.leaving[:, here] - touch.velocity).max() > 5e-3:
            return f"touch 1, {touch.part}: leaves with {found.leaving[:, here]}, not {touch.velocity}", k
        if not went_through and touch.rolls != (abs(found.leaving[:, here] @ found.normal[:, here]) < 1e-9):
            return f"touch {k + 1}, {touch.part}: rolls from there or not", k
        if went_through != (ball.end == "broke" and touch is ball.contacts[-1]):
            return f"touch {k + 1}, {touch.part}: goes through or not", k
    # A ball may lose its last energy in the air: then the loop lists one more touch, with nothing left to do harm.
    least = sum(touch.energy_before >= harmless for touch in ball.contacts)
    most = len(ball.contacts) if ball.end in ("dead", "out", "broke") else np.inf
    if not least <= rows.size <= most:
        return f"{rows.size} touches, not {len(ball.contacts)}: {ball.end}", len(ball.contacts) - 1
    return None


def compare(physics, launches, around, follower):
    """Touches compared, balls that differ for no reason, and those that a hair's breadth decides."""
    found, _ = followed(physics, launches, around)
    names = [part.name for part in around.bay.parts]
    wrong, by_a_hair, compared = [], [], np.zeros(TOUCHES, dtype=int)
    for k in range(len(launches)):
        ball = follower.follow(launches.start[:, k], launches.velocity[:, k], launches.spin[:, k], TOUCHES)
        rows = found.of(k)
        differs = difference(names, found, rows, ball, follower.harmless)
        compared[: min(rows.size, len(ball.contacts))] += 1
        if differs is None:
            continue
        words, touch = differs
        reasons = [why for one in ball.contacts[: touch + 1] if (why := follower.touchy(one.flight))]
        (by_a_hair if reasons else wrong).append(f"shot {k}: {words}; {'; '.join(reasons)}")
    return compared, wrong, by_a_hair


@pytest.mark.parametrize("path", AS_FOUND, ids=lambda path: path.stem)
def test_60_balls_of_a_demo_go_from_touch_to_touch_as_in_a_scipy_loop(path):
    opened = open_bay(path)
    physics, faces = opened.physics, rigid_faces(opened.facings)
    around = surround(opened.bay, opened.plugins.touch_tests(opened.bay), faces, {})
    launches = Flyer.of(opened, 2026).draw(0, SHOTS).launches()
    follower = Follower(facts_of(physics), opened.bay, faces, physics.ball.inertia_factor, rtol=1e-9)
    compared, wrong, by_a_hair = compare(physics, launches, around, follower)
    assert wrong == []
    assert len(by_a_hair) <= EXCEPTIONS, by_a_hair
    assert (compared[:4] >= [SHOTS, SHOTS // 3, SHOTS // 4, SHOTS // 10]).all()


FACINGS = {
    "hard": Facing("hard", own=1.0),
    "board": Facing("board", plate=Plate(8e9, 0.018, 650.0), foam=Foam(0.02, 1.2e5), friction=0.5, tangential=0.0),
    "slippery": Facing("slippery", table=((0.0, 0.8), (30.0, 0.6), (80.0, 0.5)), friction=0.05),
    "rough": Facing("rough", fixed=0.7, friction=0.9, tangential=0.4),
    "thin": Facing("thin", own=0.5, broken=12.0),
    "net": Facing("net", fixed=0.3, friction=0.4, hold=2.0),
}


@pytest.mark.parametrize("seed", range(3))
def test_balls_between_things_at_any_angle_go_from_touch_to_touch_as_in_a_scipy_loop(seed):
    rng = np.random.default_rng(seed)
    bay, words = random_bay(rng), sorted(FACINGS)
    shapes = [*bay.parts, *room(bay.lower, bay.upper)]
    parts = tuple(replace(part, facing=words[rng.integers(len(words))]) for part in shapes)
    bay, physics = replace(bay, parts=parts), Physics()
    around = surround(bay, (), FACINGS, {})
    launches = random_launches(rng, bay, 15)
    follower = Follower(facts_of(physics), bay, FACINGS, rtol=1e-9)
    compared, wrong, by_a_hair = compare(physics, launches, around, follower)
    assert wrong == []
    assert len(by_a_hair) <= EXCEPTIONS, by_a_hair
    assert compared[2] >= 5
