"""Shots flown again do what they did in the run, and their ways go through all that they touched."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from opened_by_hand import opened_for

from flightsim.contact.fates import Flag
from flightsim.report.draw.choose import as_played, pick_from
from flightsim.study.run.replay import STEP, Replay, _at_the_edge, _piece, replay

G = 9.80665
number = st.floats(-20.0, 20.0)
triple = st.tuples(number, number, number).map(np.array)


@pytest.fixture(scope="module")
def run_again(run_of):
    """A run, and its escaped shots and a few others flown again."""
    result = run_of()
    shots = np.union1d(np.flatnonzero(result.fates.escaped)[:250], np.arange(60))
    return result, replay(opened_for(result), result, shots)


def with_flag(flown: Replay, flag: Flag) -> np.ndarray:
    return np.flatnonzero(flown.fates.flags[flag])


def test_shots_flown_again_come_to_the_very_fates_of_the_run(run_again):
    result, flown = run_again
    assert len(flown) > 200
    for name in ("worst", "place", "came_from", "contacts", "kept", "touched", "point"):
        seen, again = getattr(result.fates, name)[..., flown.shots], getattr(flown.fates, name)
        assert np.array_equal(seen, again, equal_nan=seen.dtype.kind == "f"), name


def test_shots_named_twice_are_flown_once(run_of):
    result = run_of()
    flown = replay(opened_for(result), result, np.array([7, 3, 7, 3]))
    assert flown.shots.tolist() == [3, 7]
    assert flown.where(np.array([7, 9])).tolist() == [1]


def test_a_way_begins_at_the_strike_goes_through_every_touch_and_stays_in_the_room(run_again):
    result, flown = run_again
    for k in range(0, len(flown), 7):
        way = flown.way(k)
        assert np.allclose(way.point[0], flown.start[:, k])
        assert (np.diff(way.time) >= 0.0).all()
        for touch in flown.contacts.of(k):
            assert np.abs(way.point - flown.contacts.point[:, touch]).sum(axis=1).min() < 1e-9
        assert (way.point > result.bay.lower - 1e-6).all()
        assert (way.point < result.bay.upper + 1e-6).all()


def test_the_speed_along_a_way_is_the_launch_speed_at_its_start_and_never_far_above_it(run_again):
    _, flown = run_again
    launch = np.linalg.norm(flown.velocity, axis=0)
    for k in range(0, len(flown), 11):
        speed = flown.way(k).speed
        assert speed[0] == pytest.approx(launch[k], rel=1e-9)
        assert speed.max() < launch[k] + 1.0  # a ball from a low start falls no deeper


def test_people_are_marked_where_they_are_and_at_the_height_that_was_counted(run_again):
    result, flown = run_again
    hit = with_flag(flown, Flag.PERSON_HIT)
    assert hit.size > 20
    places = flown.spots(result.bay, Flag.PERSON_HIT, hit)
    for k, place in zip(hit, places.T, strict=True):
        zone = result.bay.zones[flown.fates.place[Flag.PERSON_HIT, k]]
        assert zone.shape.distance(place[:, None])[0][0] < result.physics.ball.radius + 0.02
    assert np.median(np.abs(places[2] - flown.fates.height[hit])) < 0.01


def test_what_is_hit_hard_is_marked_on_the_thing_that_was_hit(run_again):
    result, flown = run_again
    hit = with_flag(flown, Flag.HIT_UNPROTECTED)
    assert hit.size > 20
    for k, place in zip(hit, flown.spots(result.bay, Flag.HIT_UNPROTECTED, hit).T, strict=True):
        part = result.bay.parts[flown.fates.place[Flag.HIT_UNPROTECTED, k]]
        assert part.shape.distance(place[:, None])[0][0] == pytest.approx(result.physics.ball.radius, abs=1e-5)


def test_balls_that_left_are_marked_in_the_opening(run_again):
    result, flown = run_again
    out = with_flag(flown, Flag.GOT_OUT)
    assert out.size > 5
    for k, place in zip(out, flown.spots(result.bay, Flag.GOT_OUT, out).T, strict=True):
        which = flown.fates.place[Flag.GOT_OUT, k]
        if which < len(result.bay.openings):
            opening = result.bay.openings[which]
            assert abs((place - opening.corners[0]) @ opening.normal) < 1e-3


def test_spots_of_no_balls_are_no_places(run_again):
    result, flown = run_again
    assert flown.spots(result.bay, Flag.UNRESOLVED, np.empty(0, dtype=np.intp)).shape == (3, 0)


def test_to_rest_balls_lie_still_or_are_gone(run_of):
    result = run_of(closed=True)
    flown = replay(opened_for(result), result, np.arange(40), to_rest=True)
    assert flown.fates.rests.mean() > 0.8
    assert not flown.fates.flags[Flag.PERSON_HIT].any()  # not asked for


@given(triple, triple, st.floats(0.05, 1.5))
def test_a_throw_without_air_is_drawn_exactly_whether_or_not_its_end_is_a_touch(start, velocity, length):
    down = np.array([0.0, 0.0, -G])
    ends = np.stack([start, start + velocity * length + 0.5 * down * length**2])
    for arriving in (velocity + down * length, np.full(3, np.nan)):
        way = _piece(np.array([1.0, 1.0 + length]), ends, velocity, arriving, 2, STEP)
        t = (way.time - 1.0)[:, None]
        assert np.allclose(way.point, start + velocity * t + 0.5 * down * t**2, atol=1e-9)
        assert np.allclose(way.speed, np.linalg.norm(velocity + down * t, axis=1), atol=1e-7)


def test_a_ball_that_rolls_over_an_edge_falls_only_from_there():
    # It rolls at 1 m/s along x at a height of 2 m, falls off after 3 s and drops 1 m.
    fall = np.sqrt(2.0 / G)
    time, point = np.array([0.0, 3.0 + fall]), np.array([[0.0, 0, 2.0], [3.0 + fall, 0, 1.0]])
    pieces = _at_the_edge(time, point, np.array([1.0, 0, 0]), np.array([1.0, 0, -G * fall]), G)
    assert len(pieces) == 2
    assert np.allclose(pieces[0][1][1], [3.0, 0.0, 2.0])
    way = _piece(*pieces[0], 0, STEP)
    assert np.allclose(way.point[:, 2], 2.0)


def test_a_throw_is_not_parted():
    velocity = np.array([5.0, 0, 4.0])
    point = np.array([[0.0, 0, 0], [4.0, 0, 4.0 * 0.8 - 0.5 * G * 0.64]])
    assert len(_at_the_edge(np.array([0.0, 0.8]), point, velocity, velocity - [0, 0, 0.8 * G], G)) == 1


class Weighted:
    """As much of a run as picking looks at."""

    def __init__(self, weight):
        self.weight, self.seed, self.shots = np.array(weight), 1, range(len(weight))


@given(st.lists(st.floats(0.01, 10.0), min_size=1, max_size=60), st.integers(1, 300))
def test_balls_as_played_are_each_shot_as_often_as_its_weight_to_the_nearest_ball(weights, balls):
    run = Weighted(np.array(weights) / sum(weights))
    count = np.bincount(as_played(run, balls), minlength=len(weights))
    assert count.sum() == balls
    assert (np.abs(count - run.weight * balls) < 1.0 + 1e-9).all()


@pytest.mark.parametrize("every", [10, 20, 34])
def test_balls_as_played_keep_no_step_with_shots_that_come_in_turns(every):
    run = Weighted(np.full(20_000, 1.0 / 20_000))
    share = np.bincount(as_played(run, 1000) % every, minlength=every) / 1000
    assert np.abs(share - 1 / every).max() < 5.0 * np.sqrt((1 / every) / 1000)  # five deviations of a free draw


@given(st.integers(0, 40), st.integers(0, 20))
def test_a_pick_is_ascending_of_those_asked_for_and_never_of_no_weight(n, most):
    run = Weighted(np.where(np.arange(50) % 5 == 0, 0.0, 1.0))
    shots = np.arange(n)
    picked = pick_from(run, shots, most)
    assert (np.diff(picked) > 0).all()
    assert np.isin(picked, shots[shots % 5 != 0]).all()
    assert picked.size == min(most, (shots % 5 != 0).sum())
