"""Balls a second to their outcomes, beside their first contacts alone and a shot-by-shot scipy loop with the same
rebounds, in one run. `pytest -m bench -s`.
"""

import time
from pathlib import Path

import numpy as np
import pytest
from scipy_loop import Facts
from scipy_rebounds import Follower

from flightsim.contact.first import first_contacts
from flightsim.contact.follow import follow
from flightsim.contact.surroundings import surround
from flightsim.study.run.fly import CHUNK, Flyer
from flightsim.study.run.open_bay import open_bay

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
SHOTS, TURNS, LOOPED = 100_000, 3, 14
LEAST = 30.0  # times as fast as the loop; about 90 were seen


@pytest.mark.bench
@pytest.mark.timeout(900)
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_a_demo_bay_follows_balls_to_their_outcomes_at_least_30_times_as_fast_as_a_scipy_loop(path, capsys):
    """One core, full default aerodynamics, all parts and people, facings' own rebounds; processor time, in turn."""
    opened = open_bay(path)
    physics, bay = opened.physics, opened.bay
    around = surround(bay, opened.plugins.touch_tests(bay), opened.facings, {})
    flyer = Flyer.of(opened, 1)
    chunks = [(first, min(CHUNK, SHOTS - first)) for first in range(0, SHOTS, CHUNK)]
    drawn = [flyer.draw(*chunk).launches() for chunk in chunks]
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    follower = Follower(facts, bay, opened.facings, physics.ball.inertia_factor, rtol=1e-8)

    def to_first():
        for some in drawn:
            first_contacts(physics, some, bay, around.tests)

    def to_outcome():
        own = [np.ones((len(bay.zones), len(some)), dtype=bool) for some in drawn]
        return sum(int(follow(physics, a, around, b)[1].contacts.sum()) for a, b in zip(drawn, own, strict=True))

    def looped(turn):
        some = range(turn * LOOPED, (turn + 1) * LOOPED)
        launches = (drawn[0].start, drawn[0].velocity, drawn[0].spin)
        return sum(len(follower.follow(*(a[:, k] for a in launches)).contacts) for k in some)

    def timed(work, *given):
        start = time.process_time()
        done = work(*given)
        return time.process_time() - start, done

    to_first()  # warm
    rows, touches, loop_touches = [], 0, 0
    for turn in range(TURNS):
        first, _ = timed(to_first)
        outcome, touches = timed(to_outcome)
        loop, seen = timed(looped, turn)
        loop_touches += seen
        rows.append(
            (SHOTS / first, SHOTS / outcome, LOOPED / loop, outcome / first, (loop / LOOPED) / (outcome / SHOTS))
        )
    firsts, outcomes, loops, dearer, ratio = np.median(rows, axis=0)
    low, high = min(row[-1] for row in rows), max(row[-1] for row in rows)
    with capsys.disabled():
        print(
            f"\n{path.stem}, {len(bay.parts)} parts, {len(bay.zones)} zones: {outcomes:,.0f} shots/s to their outcomes "
            f"({touches / SHOTS:.2f} contacts each, {outcomes * touches / SHOTS:,.0f} contacts/s), {firsts:,.0f} to "
            f"their first contact, so {dearer:.1f} times the time; {loops:,.1f} in the scipy loop "
            f"({loop_touches / (TURNS * LOOPED):.2f} contacts each), ratio {ratio:,.0f} ({low:,.0f}-{high:,.0f})"
        )
    assert ratio >= LEAST
