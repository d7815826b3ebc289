"""What is told of balls beside their flags: who leaves slowly, who passes behind the tee, and each zone's own worst."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bays import EMPTY, STRAIGHT, around, follow, part, shots, vector

from flightsim.bay.parts import Bay, Opening, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import block, rectangle
from flightsim.contact.fates import Flag, Outcome
from flightsim.contact.limits import BEHIND_HIGH, BEHIND_LOW
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics
from flightsim.flight.landing import landing_speed

R, G = LEGAL_BALL.radius, 9.80665
VACUUM = Physics(air=EMPTY)


def bay(*parts, zones=(), openings=(), low=(-6, -3, 0), high=(6, 3, 5)) -> Bay:
    return Bay(tuple(parts), tuple(openings), vector(*low), vector(*high), tuple(zones))


def wall(name="wall", x=2.0, role=Role.UNPROTECTED, low=0.0, high=5.0):
    return part(name, rectangle(vector(x, -3, low), vector(0, 6, 0), vector(0, 0, high - low)), role)


BACK = Opening("open back", np.array([[-6, -3, 0], [-6, 3, 0], [-6, 3, 5], [-6, -3, 5]], dtype=float),
               vector(-1, 0, 0), "test")  # fmt: skip


# Out of the room


@pytest.mark.parametrize(("height", "out"), [(0.5, False), (1.2, False), (1.4, True), (3.5, True)])
def test_a_ball_that_leaves_slowly_from_a_height_got_out_if_it_lands_hard(height, out):
    """It falls from its height above the room's floor: v^2 = v0^2 + 2 g h (textbook). 5 m/s from rest: 1.27 m."""
    ball = shots(((-5.99, 0, height + R), (-0.5, 0, 0)))
    fates = follow(bay(openings=(BACK,)), ball, VACUUM).fates
    assert fates.flags[Flag.GOT_OUT, 0] is np.bool_(out)
    assert fates.left.tolist() == [0]
    assert fates.left_slowly.tolist() == [not out]
    if out:  # the fall as it leaves counts as well
        assert fates.worst[Flag.GOT_OUT, 0] == pytest.approx(np.sqrt(0.25 + 2 * G * height), rel=1e-6)
        assert fates.outcomes()[0] == Outcome.GOT_OUT


def test_the_fall_is_to_the_rooms_lowest_level_and_through_a_gap_counts_alike():
    made = bay(low=(-6, -3, -2), openings=(BACK,))
    fates = follow(made, shots(((-5.99, 0, R), (-1.0, 0, 0)), ((5.9, 0, R), (1.0, 0, 0))), VACUUM).fates
    assert fates.flags[Flag.GOT_OUT].all()
    assert fates.place[Flag.GOT_OUT].tolist() == [0, 1]
    assert fates.worst[Flag.GOT_OUT] == pytest.approx(np.sqrt(1.0 + 2 * G * 2.0), rel=1e-3)


def test_a_landing_is_never_softer_than_the_way_out_and_harder_from_higher():
    speed, height = np.array([0.0, 3.0, 40.0]), np.array([-0.5, 0.0, 1.0, 4.0])
    landing = landing_speed(speed[:, None], height, G)
    assert (landing >= speed[:, None]).all()
    assert (np.diff(landing, axis=1) >= 0.0).all()


def test_a_ball_that_stays_has_left_through_nothing():
    fates = follow(bay(wall(), wall("back", -5.0)), shots(((0, 0, 1), (20.0, 0, 0))), STRAIGHT).fates
    assert fates.left.tolist() == [-1]
    assert not fates.left_slowly.any()


# Behind the tee


def back(height: float, speed: float = 20.0, x: float = 0.0):
    """A ball from x at this height to the wall at 2 m and back: its speed behind its tee."""
    made = bay(wall(), wall("back", -5.0))
    return follow(made, shots(((x, 0, height), (speed, 0, 0))), STRAIGHT).fates


def test_a_ball_that_comes_back_past_its_tee_is_told_with_its_speed_whoever_is_there():
    fates = back(1.0)
    first = -float(follow(bay(wall()), shots(((0, 0, 1), (20.0, 0, 0))), STRAIGHT).contacts.leaving[0, 0])
    assert 5.0 < first < 20.0
    assert fates.behind_tee[0] == pytest.approx(first)


@pytest.mark.parametrize(
    ("height", "there"),
    [
        (BEHIND_LOW - R - 0.01, False),
        (BEHIND_LOW - R + 0.01, True),
        (BEHIND_HIGH + R - 0.01, True),
        (BEHIND_HIGH + R + 0.01, False),
    ],
)
def test_behind_the_tee_is_from_shins_to_the_tallest_head(height, there):
    assert np.isfinite(back(height).behind_tee[0]) == there


def test_behind_the_tee_counts_after_a_touch_and_at_the_harm_speed_only():
    made = bay(wall("back", -5.0))
    straight = follow(made, shots(((0, 0, 1), (-5.5, 0, 0))), STRAIGHT).fates  # back to front, too slow after its touch
    assert np.isnan(straight.behind_tee[0])
    assert np.isnan(back(1.0, 5.1).behind_tee[0])


def test_each_ball_has_its_own_tee():
    half = part("half", rectangle(vector(0.5, -3, 0), vector(0, 3, 0), vector(0, 0, 5)))  # turns both back at .5 m
    balls = shots(((1.5, -0.25, 1), (20.0, -10.0, 0)), ((0, 0.5, 1), (20.0, -10.0, 0)))
    fates = follow(bay(wall(), half), balls, STRAIGHT).fates
    assert (fates.contacts > 1).all()
    assert np.isfinite(fates.behind_tee).tolist() == [True, False]


# Each zone


def zone(name, x, low, high, head=False, person="bench") -> Zone:
    return Zone(name, person, block(vector(x, -0.5, low), vector(x + 0.5, 0.5, high)), "test", head)


def test_a_ball_that_hits_a_body_hard_and_a_head_less_is_told_of_both():
    """It flies through the body at 40 m/s, off the wall, and back through the head."""
    zones = (zone("bench", 0.5, 0.0, 1.2), zone("bench, head", 0.5, 1.2, 1.6, head=True))
    ball = shots(((0, 0, 1.0), (40.0, 0, 6.0)))
    made = bay(wall(), zones=zones)
    fates = follow(made, ball, STRAIGHT).fates
    assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(fates.at_zone[:, 0].max())
    body, head = fates.at_zone[:, 0]
    assert body == pytest.approx(np.hypot(40.0, 6.0))
    assert 5.0 < head < body
    assert fates.zone_from[:, 0].tolist() == [-1, 0]
    assert fates.hits(np.array([False, True])) == pytest.approx([head])


def test_a_zone_that_no_ball_crosses_has_no_worst():
    fates = follow(bay(wall(), zones=(zone("far", 0.5, 3.0, 4.0),)), shots(((0, 0, 1), (40.0, 0, 0))), STRAIGHT).fates
    assert np.isnan(fates.at_zone).all()
    assert np.isnan(fates.hits(np.zeros(1, dtype=bool))).all()


# Many guards


def test_with_more_guards_than_a_word_has_bits_each_keeps_its_balls_and_is_known():
    """70 nets in a row, side by side: a ball to each."""
    nets = [
        part(
            f"net {k:02d}", rectangle(vector(2.0, 0.1 * k, 0), vector(0, 0.1, 0), vector(0, 0, 5)), Role.GUARD, "cloth"
        )
        for k in range(70)
    ]
    made = Bay(tuple(nets), (), vector(-6, -1, 0), vector(6, 8, 5))
    balls = shots(*(((0, 0.1 * k + 0.05, 1.0), (10.0, 0, 0)) for k in range(70)))
    fates = follow(made, balls, STRAIGHT).fates
    assert fates.kept.all()
    assert fates.touched.shape == (2, 70)
    known = [(int(low) | int(high) << 64).bit_length() - 1 for low, high in fates.touched.T]
    assert known == list(range(70))


# Where a ball harms


def small(name: str, x: float) -> Zone:
    return Zone(name, "child", block(vector(x, -0.5, 0), vector(x + 0.5, 0.5, 2)), "test", small=True)


@pytest.mark.parametrize(
    ("there", "speed", "harmed"),
    [("body", 12.4, False), ("body", 12.6, True), ("head", 5.1, True), ("head", 4.9, False), ("child", 5.1, True)],
)
def test_a_ball_harms_a_head_or_a_child_from_5_m_s_on_and_a_body_from_12_5(there, speed, harmed):
    one = small("child", 0.5) if there == "child" else zone(there, 0.5, 0, 2, head=there == "head")
    made = replace(around(bay(wall(), zones=(one,))), blunt_speed=12.52)
    fates = follow(made, shots(((0, 0, 1), (speed, 0, 0))), STRAIGHT).fates
    assert fates.flags[Flag.PERSON_HIT, 0] is np.bool_(harmed)
    came = speed >= 5.0
    assert np.isfinite(fates.at_zone[0, 0]) == came
    assert np.isfinite(fates.harmless_return[0]) == (came and not harmed)


def test_a_ball_that_a_body_feels_and_a_head_does_not_is_worst_at_the_head():
    zones = (zone("bench", 0.5, 0.0, 1.2), zone("bench, head", 1.2, 0.0, 2.0, head=True))
    made = replace(around(bay(wall(), zones=zones)), blunt_speed=12.52)
    fates = follow(made, shots(((0, 0, 1), (11.0, 0, 0))), STRAIGHT).fates
    assert fates.place[Flag.PERSON_HIT, 0] == 1
    assert fates.at_zone[:, 0] == pytest.approx([11.0, 11.0])
    assert np.isnan(fates.hits(np.array([True, False]), np.array([12.52, 5.0])))


# How fast in a zone


@pytest.mark.parametrize(("low", "high"), [(0.9, 1.4), (0.35, 2.0), (1.0, 1.02)])
def test_a_ball_that_falls_through_a_zone_is_told_at_the_speed_it_leaves_it_with(low, high):
    """v^2 = 2 g h (textbook): it is fastest where it goes out, a radius below, wherever its arcs happen to end."""
    person = Zone("a", "a", block(vector(-1, -1, low), vector(1, 1, high)), "test", head=True)
    fates = follow(bay(zones=(person,)), shots(((0, 0, 2.5), (0, 0, 0))), VACUUM).fates
    assert fates.at_zone[0, 0] == pytest.approx(np.sqrt(2 * G * (2.5 - low + R)), abs=1e-3)
