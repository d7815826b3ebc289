"""The comparison of two engines, ball by ball, sees what it should.

The engine itself is held against the referee (test_engine_against_referee) and frozen answers (test_frozen_answers).

Source of the tolerances: what a builder can tell (.02 mm at the first touch, .1 and 1 mm at those that follow) and
1e-3 m/s of every worst speed. What a hair's breadth turns is excused and counted.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from engine_cases import demo, random_case
from engine_parity import MOST_EXCUSED, Told, compare_engines, differences
from shipped import AS_FOUND, FOLDER

from flightsim.engine.follow import follow
from flightsim.flight.launches import Launches

GARAGE = FOLDER / "single_garage.yaml"


@pytest.fixture(scope="module")
def garage():
    return demo(GARAGE)


def bouncier(physics, launches, around, own, to_rest=False, log=None, tolerance=1e-6):
    """Everything of concrete or brick returns one part in a thousand more."""
    facings = tuple(replace(f, own=f.own * 1.001) if f.own is not None and f.own < 0.99 else f for f in around.facings)
    return follow(physics, launches, replace(around, facings=facings), own, to_rest, log, tolerance)


def deaf_to_people(physics, launches, around, own, to_rest=False, log=None, tolerance=1e-6):
    """Nobody is there."""
    return follow(physics, launches, around, own & False, to_rest, log, tolerance)


def test_an_engine_is_in_parity_with_itself_and_nothing_is_excused(garage):
    parity = compare_engines(follow, follow, garage, 150)
    assert parity.holds
    assert not parity.differ.any()
    assert "150 balls, 150 the same" in parity.table()


def test_where_a_ball_starts_a_twentieth_of_a_millimetre_off_the_first_touch_differs(garage):
    launches, own = garage.draw(0, 150)
    moved = Launches(launches.start + 5e-5, launches.velocity, launches.spin)
    found = differences(Told.by(follow, garage, launches, own), Told.by(follow, garage, moved, own))
    assert (found[0] | found[1]).all()


@pytest.mark.parametrize(("wrong", "seen"), [(bouncier, r"touch [2-5]: point"), (deaf_to_people, r"person_hit: flag")])
def test_an_engine_that_is_a_little_wrong_is_not_excused(wrong, seen, garage):
    parity = compare_engines(follow, wrong, garage, 200)
    assert not parity.holds
    assert len(parity.wrong) > parity.excused
    assert re.search(seen, parity.table())


def test_a_random_bay_draws_the_same_balls_in_any_chunk():
    case = random_case(3)
    whole, own = case.draw(0, 1500)
    for first, count in ((0, 700), (700, 800), (999, 2)):
        chunk, chunk_own = case.draw(first, count)
        assert np.array_equal(chunk.start, whole.start[:, first : first + count])
        assert np.array_equal(chunk_own, own[:, first : first + count])


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_what_a_tolerance_of_1e_9_turns_is_all_excused_and_the_touches_that_it_turns_are_few():
    """The share that no engine can better: rebounds multiply a hair."""
    for path in AS_FOUND:
        parity = compare_engines(follow, partial(follow, tolerance=1e-9), demo(path), 5_000)
        assert parity.wrong == []
        touches = parity.differ[:10].reshape(5, 2).max(axis=1)
        assert touches.max() <= MOST_EXCUSED * parity.balls
