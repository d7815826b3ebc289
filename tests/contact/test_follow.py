"""Balls after their first touch: each way to an end, with its closed form or its rule."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bare_parts import HIGH, bench, box_of, floor, wall
from bays import EMPTY, STRAIGHT, around, follow, part, room, shots, vector

from flightsim.bay.parts import Bay, Opening, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import block, rectangle
from flightsim.contact.facings import Facing, facing_from
from flightsim.contact.fates import Flag, Outcome
from flightsim.contact.limits import MAX_CONTACTS
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics

R, MASS, K = LEGAL_BALL.radius, LEGAL_BALL.mass, LEGAL_BALL.inertia_factor
G = 9.80665
VACUUM = Physics(air=EMPTY)


def speed_of_energy(joules: float) -> float:
    return float(np.sqrt(2.0 * joules / MASS))


# Balls that never stop


def test_a_ball_that_never_stops_is_bounded_and_unresolved():
    walls = room((-1, -1, 0), (1, 1, 2))
    made = Bay(tuple(walls), (), vector(-1, -1, 0), vector(1, 1, 2))
    forever = around(made, test=Facing("test", fixed=1.0, friction=0.0, damage=1e9))
    ended = follow(forever, shots(((0.1, 0.2, 1.0), (17.0, 5.0, 3.0)), ((0, 0, 1), (30.0, 0, 0))), STRAIGHT)
    assert ended.outcomes == [Outcome.UNRESOLVED, Outcome.UNRESOLVED]
    assert ended.fates.contacts.tolist() == [MAX_CONTACTS, MAX_CONTACTS]
    speeds = np.linalg.norm([[17.0, 5.0, 3.0], [30.0, 0, 0]], axis=1)
    assert ended.fates.worst[Flag.UNRESOLVED] == pytest.approx(speeds, rel=1e-9)
    assert not ended.fates.rests.any()


def test_a_ball_that_flies_on_and_on_is_unresolved_when_its_time_is_over():
    # 0.06 m/s in a box of 100 m: no end within the longest flight that there is indoors.
    made = box_of(low=np.full(3, -50.0), high=np.full(3, 50.0))
    ended = follow(made, shots(((0, 0, 0), (0.06, 0, 0))), STRAIGHT)
    assert ended.outcomes == [Outcome.UNRESOLVED]


# Breaking and damage


def hit(facing: str, joules: float, role=Role.UNPROTECTED, **own: Facing):
    made = box_of(wall(role=role, facing=facing))
    return follow(around(made, **own), shots(((0, 0, 0), (speed_of_energy(joules), 0, 0))), STRAIGHT)


def test_gypsum_is_holed_at_26_joules_and_only_dented_at_24():
    # Holes from 25 J, dents from 8 J: flightsim/contact/facings.yaml.
    through, dented, whole = (hit("gypsum", joules).fates for joules in (26.0, 24.0, 7.9))
    assert through.flags[Flag.BROKE_THROUGH, 0]
    # Energy left: 26 - 25 = 1 J.
    assert through.worst[Flag.BROKE_THROUGH, 0] == pytest.approx(speed_of_energy(1.0), rel=1e-6)
    assert through.contacts[0] == 1
    assert not dented.flags[Flag.BROKE_THROUGH, 0]
    assert dented.worst[Flag.HIT_UNPROTECTED, 0] == pytest.approx(speed_of_energy(24.0), rel=1e-9)
    assert not whole.flags[Flag.HIT_UNPROTECTED, 0]
    assert through.place[Flag.BROKE_THROUGH, 0] == dented.place[Flag.HIT_UNPROTECTED, 0] == 0


@pytest.mark.parametrize(("facing", "speed"), [("glass", 10.0), ("toughened glass", 25.0)])
def test_glass_breaks_at_the_speed_that_its_energy_says_and_not_below(facing, speed):
    for factor, broken in ((1.01, True), (0.99, False)):
        made = box_of(wall(facing=facing))
        fates = follow(made, shots(((0, 0, 0), (factor * speed, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.BROKE_THROUGH, 0] is np.bool_(broken)


def test_only_the_speed_into_the_face_damages_and_breaks():
    made, slant = box_of(wall(facing="gypsum", x=1.0)), np.radians(70.0)
    speed = speed_of_energy(24.9) / np.cos(slant)
    direction = vector(np.cos(slant), np.sin(slant), 0)
    fates = follow(made, shots(((0, -1.5, 0), speed * direction)), STRAIGHT).fates
    assert not fates.flags[Flag.BROKE_THROUGH, 0]
    # Where it is only dented, it is told how fast the ball was in all.
    assert fates.worst[Flag.HIT_UNPROTECTED, 0] == pytest.approx(speed, rel=1e-9)


def test_protection_is_never_hit_unprotected_but_may_be_broken_through():
    fates = hit("gypsum", 24.0, Role.GUARD).fates
    assert not fates.flags[Flag.HIT_UNPROTECTED].any()
    assert hit("gypsum", 26.0, Role.GUARD).fates.flags[Flag.BROKE_THROUGH].all()
    assert not hit("net", 186.0, Role.GUARD).fates.flags[Flag.BROKE_THROUGH].any()  # 90 m/s
    assert hit("net", 201.0, Role.GUARD).fates.flags[Flag.BROKE_THROUGH].all()


def test_a_fragile_part_is_damaged_as_glass_is_whatever_it_is_made_of():
    made = box_of(replace(wall(facing="steel"), fragile=True))
    for speed, marked in ((10.1, True), (9.9, False)):
        fates = follow(made, shots(((0, 0, 0), (speed, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.HIT_UNPROTECTED, 0] is np.bool_(marked)


# Out


@pytest.mark.parametrize(("speed", "out"), [(5.01, True), (4.99, False)])
def test_a_ball_gets_out_at_the_harm_speed_and_not_below(speed, out):
    square = np.array([[3, -1, -1], [3, 1, -1], [3, 1, 1], [3, -1, 1]], dtype=float)
    made = box_of(wall(x=-2.0), openings=(Opening("door", square, vector(1, 0, 0), "test"),))
    ended = follow(made, shots(((0, 0, 0), (speed, 0, 0)), ((0, 2, 2), (speed, 0, 0))), STRAIGHT)
    assert (ended.fates.flags[Flag.GOT_OUT] == out).all()
    if out:
        assert ended.fates.place[Flag.GOT_OUT].tolist() == [0, 1]  # by the door, and where nothing is known to be
        assert ended.fates.worst[Flag.GOT_OUT] == pytest.approx(speed)
    else:
        assert ended.outcomes == [Outcome.ROLLED_DEAD] * 2


# People


@pytest.mark.parametrize(("speed", "hurt"), [(5.01, True), (4.99, False)])
def test_a_ball_through_an_onlooker_is_flagged_from_the_harm_speed_on(speed, hurt):
    made = box_of(wall(), zones=(bench(),))
    fates = follow(made, shots(((0, 0, 0.1), (speed, 0, 0))), STRAIGHT).fates
    assert fates.flags[Flag.PERSON_HIT, 0] is np.bool_(hurt)
    if hurt:
        assert fates.came_from[0] == -1
        assert fates.height[0] == pytest.approx(0.1)


def test_the_harm_speed_is_the_scenarios_own():
    made = box_of(wall(), zones=(bench(),))
    for harm, hurt in ((9.0, False), (7.0, True)):
        fates = follow(around(made, harm_speed=harm), shots(((0, 0, 0), (8.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.PERSON_HIT, 0] is np.bool_(hurt)


def test_a_zone_stops_no_ball():
    made = box_of(wall(), zones=(bench(),))
    bare = box_of(wall())
    balls = shots(((0, 0, 0), (40.0, 3.0, 1.0)))
    with_people, without = follow(made, balls, STRAIGHT), follow(bare, balls, STRAIGHT)
    assert np.array_equal(with_people.contacts.leaving, without.contacts.leaving)
    assert with_people.fates.flags[Flag.HIT_UNPROTECTED].all()


def test_the_hitters_own_place_counts_only_after_a_touch():
    """The hitter stands where the ball starts; it flies to the wall and comes back."""
    own = bench((-0.5, 0.5), "hitter", own_spot="tee", own_hand="right")
    ball = shots(((0, 0, 0), (40.0, 0, 0)))
    back = follow(box_of(wall(), zones=(own,)), ball, STRAIGHT).fates
    e = 40.0 * float(around(box_of(wall())).facings[0].restitution(np.array([40.0]), LEGAL_BALL)[0])
    assert back.worst[Flag.PERSON_HIT, 0] == pytest.approx(e, rel=1e-6)
    assert back.came_from[0] == 0
    gone = follow(box_of(zones=(own,)), ball, STRAIGHT).fates
    assert not gone.flags[Flag.PERSON_HIT].any()
    sitting = follow(box_of(zones=(bench((-0.5, 0.5)),)), ball, STRAIGHT).fates
    assert sitting.worst[Flag.PERSON_HIT, 0] == pytest.approx(40.0)


def test_a_zone_that_does_not_count_for_a_shot_is_not_hit_by_it():
    own = bench((-0.5, 0.5), "hitter", own_spot="tee", own_hand="left")
    made = box_of(wall(), zones=(own,))
    balls = shots(((0, 0, 0), (40.0, 0, 0)), ((0, 0, 0), (40.0, 0, 0)))
    fates = follow(made, balls, STRAIGHT, own=np.array([[True, False]])).fates
    assert fates.flags[Flag.PERSON_HIT].tolist() == [True, False]


def test_the_speed_at_a_person_is_the_greatest_inside_the_zone():
    """A ball falls through a zone 1 m high: v^2 = 2 g h at its foot, where it is fastest."""
    zone = Zone("pit", "pit", block(vector(-0.5, -0.5, 0), vector(0.5, 0.5, 1)), "test")
    made = box_of(floor(z=-2.0), zones=(zone,))
    fates = follow(made, shots(((0, 0, 2.0), (0, 0, -4.9))), VACUUM).fates
    assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(np.sqrt(4.9**2 + 2 * G * (2.0 + R)), abs=1e-6)
    assert fates.height[0] == pytest.approx(1.0 + R, abs=1e-6)


def test_a_ball_too_slow_as_it_comes_in_that_gathers_the_harm_speed_inside_is_a_hit():
    zone = Zone("pit", "pit", block(vector(-0.5, -0.5, -1), vector(0.5, 0.5, 1)), "test")
    fates = follow(box_of(floor(z=-2.0), zones=(zone,)), shots(((0, 0, 1.2), (0, 0, -0.1))), VACUUM).fates
    assert np.sqrt(0.01 + 2 * G * 0.2) < 5.0
    assert fates.flags[Flag.PERSON_HIT].all()


def test_the_worst_of_several_people_is_told():
    """Near the tee the ball is fast, at the second bench it has bounced off the wall between."""
    made = box_of(wall(x=2.0), zones=(bench((-1.0, -0.5), "behind", "behind", head=True), bench((0.5, 1.0))))
    fates = follow(made, shots(((0, 0, 0), (40.0, 0, 0))), STRAIGHT).fates
    assert made.zones[fates.place[Flag.PERSON_HIT, 0]].name == "bench"
    assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(40.0)
    slow = follow(made, shots(((0, 0.9, 0), (40.0, 0, 0)), ((0, 0, 0), (-30.0, 0, 0))), STRAIGHT).fates
    assert made.zones[slow.place[Flag.PERSON_HIT, 1]].head


# Rolling


def rolling(mu: float, friction: float = 0.35) -> Facing:
    return Facing("test", fixed=0.5, friction=friction, rolling=mu)


def on_the_floor(speed: float, made: Bay, facing: Facing):
    """A ball that rolls already: its spin is v/R."""
    balls = shots(((0, 0, R), (speed, 0, -1e-3)), spin=(0.0, speed / R, 0.0))
    return follow(around(made, test=facing), balls, VACUUM, to_rest=True)


@pytest.mark.parametrize(("speed", "mu"), [(1.0, 0.05), (2.0, 0.1), (0.3, 0.03)])
def test_a_ball_on_level_ground_rolls_v2_over_2_mu_g_and_stops(speed, mu):
    made = box_of(floor("test"), low=vector(-3, -3, -1), high=vector(3, 3, 3))
    ended = on_the_floor(speed, made, rolling(mu))
    assert ended.fates.rests.all()
    assert ended.fates.point[0, 0] == pytest.approx(speed**2 / (2 * mu * G), rel=1e-6)
    assert ended.fates.time[0] == pytest.approx(speed / (mu * G), rel=1e-4)
    assert ended.fates.point[2, 0] == pytest.approx(R, abs=1e-5)


def test_a_ball_that_rolls_over_an_edge_falls_and_lies_below():
    made = box_of(floor("test", x=(-1, 0.5)), floor("test", "ground", z=-1.0), low=vector(-3, -3, -2), high=HIGH)
    ended = on_the_floor(1.0, made, rolling(0.05))
    assert ended.fates.rests.all()
    assert ended.fates.point[2, 0] == pytest.approx(-1.0 + R, abs=1e-5)
    assert ended.fates.point[0, 0] > 0.5
    stops = on_the_floor(0.6, made, rolling(0.05)).fates  # v^2/(2 mu g) = 0.367 m: it stops before the edge
    assert stops.point[2, 0] == pytest.approx(R, abs=1e-5)


def test_a_rolling_ball_meets_what_stands_in_its_way():
    made = box_of(floor("test"), part("kerb", block(vector(0.5, -1, 0), vector(0.6, 1, 0.3))),
                  low=vector(-3, -3, -1), high=HIGH)  # fmt: skip
    ended = on_the_floor(2.0, made, rolling(0.02))
    names = [made.parts[k].name for k in ended.contacts.part]
    assert "kerb" in names
    assert ended.fates.point[0, 0] < 0.5


def test_a_ball_on_a_slope_gathers_g_sin_over_1_plus_k_less_rolling_friction():
    # Rolling without slipping the pull is shared with the turning: g sin/(1 + k). Friction takes mu_r g cos.
    angle, mu, length = np.radians(6.0), 0.02, 2.0
    along, up = vector(np.cos(angle), 0, -np.sin(angle)), vector(np.sin(angle), 0, np.cos(angle))
    slope = part(
        "floor", rectangle(-0.5 * along - vector(0, 2, 0), (length + 0.5) * along, vector(0, 4, 0)), Role.FLOOR
    )
    ground = floor("test", "ground", z=-1.0)
    made = box_of(slope, ground, low=vector(-2, -3, -2), high=HIGH)
    balls = shots((up * R, 1e-3 * along - 1e-4 * up))
    ended = follow(around(made, test=rolling(mu)), balls, VACUUM, to_rest=True)
    first = np.flatnonzero(np.array([made.parts[k].name for k in ended.contacts.part]) == "ground")[0]
    fell = ended.contacts.arriving[:, first]
    at_edge = np.hypot(fell[0], np.sqrt(fell[2] ** 2 - 2 * G * (1.0 - length * np.sin(angle))))
    a = G * (np.sin(angle) / (1 + K) - mu * np.cos(angle))
    assert at_edge == pytest.approx(np.sqrt(2 * a * length), rel=0.01)


def test_a_slope_that_friction_holds_keeps_a_ball_that_lies_still():
    angle = np.radians(1.0)
    along, up = vector(np.cos(angle), 0, -np.sin(angle)), vector(np.sin(angle), 0, np.cos(angle))
    slope = part("floor", rectangle(-2 * along - vector(0, 2, 0), 4 * along, vector(0, 4, 0)), Role.FLOOR)
    made = box_of(slope, low=vector(-2, -3, -2), high=HIGH)
    assert np.tan(angle) / (1 + K) < 0.03
    ended = follow(around(made, test=rolling(0.03)), shots((up * R, -0.01 * up)), VACUUM, to_rest=True)
    assert ended.fates.rests.all()
    assert np.linalg.norm(ended.fates.point[:, 0] - up * R) < 1e-3


def test_a_slow_ball_on_a_bench_at_its_own_height_is_no_hit_and_ends_slow():
    made = box_of(floor("test"), zones=(bench(),), low=vector(-3, -3, -0.1), high=HIGH)
    ended = on_the_floor(3.0, made, rolling(0.05))
    assert ended.outcomes == [Outcome.ROLLED_DEAD]


# What a guard keeps


def test_held_is_a_ball_that_a_guard_sent_back_below_the_harm_speed_and_rolled_dead_is_any_other():
    cloth = wall("cloth", 2.0, Role.GUARD, "cloth")
    made = box_of(cloth, floor("turf", x=(-60, 3), z=-1.0), low=vector(-60, -3, -2), high=HIGH)
    slow, fast = 30.0, 60.0  # cloth returns 0.15: 4.5 and 9 m/s
    ended = follow(made, shots(((0, 0, 0), (slow, 0, 0)), ((0, 0, 0), (fast, 0, 0)), ((0, 0, 0), (0.5, 0, 0))), VACUUM)
    # The second comes back from the cloth too fast to count as held by it; the third never came to it.
    assert ended.outcomes == [Outcome.HELD, Outcome.ROLLED_DEAD, Outcome.ROLLED_DEAD]
    assert ended.fates.kept.tolist() == [True, False, False]
    assert ended.fates.touched.tolist() == [[1, 1, 0]]


# Bad input


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"fixed": 1.1}, "a restitution must lie between 0 and 1, found 1.1"),
        ({"own": 1.2}, "a restitution must lie between 0 and 1, found 1.2"),
        ({"table": ((5.0, 0.5), (20.0, 1.01))}, "a restitution must lie between 0 and 1"),
        ({"fixed": -0.1}, "between 0 and 1"),
        ({"fixed": float("nan")}, "between 0 and 1"),
        ({"fixed": 0.5, "tangential": 1.5}, "tangential restitution must lie between 0 and 1"),
        ({"fixed": 0.5, "friction": -0.2}, "none below nought"),
        ({"fixed": 0.5, "hold": -1.0}, "none below nought"),
        ({"fixed": 0.5, "friction": float("inf")}, "finite"),
        ({"fixed": 0.5, "damage": 0.0}, "more than 0 J"),
        ({"fixed": 0.5, "broken": -3.0}, "more than 0 J"),
        ({"plate": {"stiffness": -8e9, "thickness": 0.012, "density": 650.0}}, "none below nought"),
        ({"fixed": 0.5, "foam": {"thickness": -0.01, "crush_stress": 1e5}}, "none below nought"),
        ({"fixed": 0.5, "own": 0.5}, "give one of"),
        ({"friction": 0.3}, "give one of"),
        ({"fixed": 0.5, "bounciness": 1.0}, "bounciness is unknown; known: broken, damage"),
        ({"table": ((20.0, 0.5), (5.0, 0.6))}, "speeds of its table must rise"),
    ],
)
def test_a_face_that_cannot_be_is_refused_by_name(given, words):
    with pytest.raises(ValueError, match=f"facing odd: .*{words}"):
        facing_from("odd", given)


def test_a_facing_that_nobody_knows_is_no_facing():
    with pytest.raises(KeyError):
        around(box_of(wall(facing="cheese")))


def test_a_ball_that_skids_loses_mu_g_until_it_rolls_with_five_sevenths_of_its_speed():
    """A solid ball without spin slides until 2 v/(7 mu g), and then rolls at 5/7 of v (textbook mechanics).

    It hits what stands 1 m ahead while it still slides: at sqrt(v^2 - 2 mu g s), s the way of its centre.
    """
    speed, mu = 12.0, 0.4
    made = box_of(floor("test", x=(-5, 60)), part("kerb", block(vector(1.0, -1, 0), vector(1.1, 1, 0.3))),
                  low=vector(-6, -3, -1), high=vector(61, 3, 3))  # fmt: skip
    balls = shots(((0, 0, R), (speed, 0, -1e-6)))
    ended = follow(around(made, test=rolling(0.1, mu)), balls, VACUUM, to_rest=True)
    kerb = np.flatnonzero(np.array([made.parts[k].name for k in ended.contacts.part]) == "kerb")[0]
    assert ended.contacts.arriving[0, kerb] == pytest.approx(np.sqrt(speed**2 - 2 * mu * G * (1.0 - R)), rel=1e-6)
    free = box_of(floor("test", x=(-5, 400)), low=vector(-6, -3, -1), high=vector(401, 3, 3))
    alone = follow(around(free, test=rolling(0.1, mu)), balls, VACUUM, to_rest=True)
    rolls = speed / (1 + K)
    slid = (speed**2 - rolls**2) / (2 * mu * G)
    assert alone.fates.rests.all()
    assert alone.fates.point[0, 0] == pytest.approx(slid + rolls**2 / (2 * 0.1 * G), rel=1e-3)
