"""Balls after their first touch: each way to an end, with its closed form or its rule."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bays import EMPTY, STRAIGHT, around, follow, part, room, shots, vector

from flightsim.bay.parts import Bay, Opening, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import block, rectangle
from flightsim.cloth.closed_form import speed_left
from flightsim.contact.arc_test import ArcTest, arc_test
from flightsim.contact.facings import Facing, facing_from, shipped_facings
from flightsim.contact.fates import Flag, Outcome
from flightsim.contact.limits import MAX_CONTACTS
from flightsim.contact.rebound import Hits, Rebounds, by_facing, off_cloth
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics

R, MASS, K = LEGAL_BALL.radius, LEGAL_BALL.mass, LEGAL_BALL.inertia_factor
G = 9.80665
VACUUM = Physics(air=EMPTY)
LOW, HIGH = vector(-3, -3, -3), vector(3, 3, 3)


def box_of(*parts, zones=(), openings=(), low=LOW, high=HIGH) -> Bay:
    """A bay without walls."""
    return Bay(tuple(parts), tuple(openings), low, high, tuple(zones))


def wall(name="wall", x=2.0, role=Role.UNPROTECTED, facing="test"):
    return part(name, rectangle(vector(x, -3, -3), vector(0, 6, 0), vector(0, 0, 6)), role, facing)


def floor(facing="concrete", name="floor", x=(-3, 3), z=0.0, role=Role.FLOOR):
    sheet = rectangle(vector(x[0], -3, z), vector(x[1] - x[0], 0, 0), vector(0, 6, 0))
    return part(name, sheet, role, facing)


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


def bench(x=(0.5, 1.0), name="bench", person="bench", **own) -> Zone:
    return Zone(name, person, block(vector(x[0], -0.5, -0.5), vector(x[1], 0.5, 0.5)), "test", **own)


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


# Cloth that gives


def giving(depth: float, back: float = 0.15):
    """A law: every hit sinks so deep, whatever its speed."""

    def law(hits: Hits) -> Rebounds:
        after = off_cloth(hits, np.full(hits.point.shape[1], back))
        return replace(after, sink=np.full(hits.point.shape[1], depth))

    return law


SCREEN, GAP = 1.0, 0.3  # the cloth hangs at x = 1 m, and what is behind it begins 0.3 m further


def behind_cloth(*things, zones=(), openings=()):
    cloth = wall("cloth", SCREEN, Role.GUARD, "cloth")
    return box_of(cloth, *things, zones=zones, openings=openings)


def test_a_wall_within_the_reach_of_the_cloth_is_struck_with_the_speed_that_is_left():
    made = behind_cloth(wall("brick", SCREEN + GAP, facing="brick"))
    for depth, struck in ((0.4, True), (0.25, False)):
        fates = follow(around(made, {"cloth": giving(depth)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.STRUCK_THROUGH, 0] is np.bool_(struck)
        if struck:
            # V (1 - (z/d)^1.5), the cloth d deep, the wall met after the gap [cloth-form].
            assert fates.worst[Flag.STRUCK_THROUGH, 0] == pytest.approx(50.0 * (1 - (GAP / depth) ** 1.5), rel=1e-6)
            assert made.parts[fates.place[Flag.STRUCK_THROUGH, 0]].name == "brick"
        assert fates.contacts[0] >= 1


@pytest.mark.parametrize(("energy", "struck"), [(2.25, False), (2.35, True)])
def test_a_wall_is_struck_through_from_the_energy_that_marks_something_on(energy, struck):
    """2.3 J, 10 m/s, not the .57 J of an eye: no wall minds that."""
    left = np.sqrt(2.0 * energy / LEGAL_BALL.mass)
    depth = GAP / (1.0 - left / 50.0) ** (2.0 / 3.0)  # V (1 - (z/d)^1.5) at the wall
    made = behind_cloth(brick_behind())
    fates = follow(around(made, {"cloth": giving(depth)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.flags[Flag.STRUCK_THROUGH, 0] is np.bool_(struck)


def test_what_less_damages_is_struck_through_from_there_on():
    left = np.sqrt(2.0 * 1.2 / LEGAL_BALL.mass)
    depth = GAP / (1.0 - left / 50.0) ** (2.0 / 3.0)
    for damage, struck in ((1.1, True), (1.3, False)):
        made = behind_cloth(wall("pane", SCREEN + GAP, facing="pane"))
        place = around(made, {"cloth": giving(depth)}, pane=Facing("pane", own=0.9, damage=damage))
        fates = follow(place, shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.STRUCK_THROUGH, 0] is np.bool_(struck)


def test_another_guard_within_reach_is_not_struck_but_what_is_behind_both_is():
    liner = wall("liner", SCREEN + 0.1, Role.GUARD, "foam on plywood")
    brick = wall("brick", SCREEN + GAP, facing="brick")
    made = behind_cloth(liner, brick)
    fates = follow(around(made, {"cloth": giving(0.4)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert made.parts[fates.place[Flag.STRUCK_THROUGH, 0]].name == "brick"


def test_a_person_behind_the_cloth_within_its_reach_is_hit_and_beyond_it_is_not():
    made = behind_cloth(zones=(bench((SCREEN + GAP, SCREEN + 1.0), "door"),))
    for depth, hurt in ((0.5, True), (0.25, False)):
        fates = follow(around(made, {"cloth": giving(depth)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.PERSON_HIT, 0] is np.bool_(hurt)
        if hurt:
            assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(50.0 * (1 - (GAP / depth) ** 1.5), rel=0.02)


def test_a_ball_comes_back_off_the_wall_through_the_cloth_harder_than_off_the_cloth_alone():
    made = behind_cloth(wall("brick", SCREEN + GAP, facing="brick"))
    ball = shots(((0, 0, 0), (50.0, 0, 0)))
    through, alone = (follow(around(made, {"cloth": giving(d)}), ball, STRAIGHT).contacts.leaving[0, 0]
                      for d in (0.6, 0.2))  # fmt: skip
    assert alone == pytest.approx(-0.15 * 50.0)
    left = float(speed_left(50.0, GAP, 0.6))
    brick = shipped_facings()["brick"]
    assert through == pytest.approx(-left * float(brick.restitution(np.array([left]), LEGAL_BALL)[0]), rel=1e-6)


def past_edge(share: float, sink: float = 0.0):
    """A law: every fast ball gets past once the cloth has sunk so far, with a share of its speed."""

    def law(hits: Hits) -> Rebounds:
        k, comes = hits.point.shape[1], (hits.velocity**2).sum(axis=0) > 38.0**2
        after = by_facing(hits)
        velocity = np.where(comes, share * hits.velocity, after.velocity)
        return replace(after, velocity=velocity, past=comes, sink=np.full(k, sink), held=after.held & ~comes)

    return law


def brick_behind(gap: float = GAP):
    return wall("brick", SCREEN + gap, facing="brick")


def test_a_ball_past_an_edge_flies_on_with_the_speed_it_has_left_and_strikes_what_is_behind():
    made = behind_cloth(brick_behind())
    ended = follow(around(made, {"cloth": past_edge(0.8)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    assert ended.fates.worst[Flag.PAST_EDGE, 0] == pytest.approx(40.0)
    assert made.parts[ended.fates.place[Flag.PAST_EDGE, 0]].name == "cloth"
    assert ended.fates.worst[Flag.HIT_UNPROTECTED, 0] == pytest.approx(40.0)
    assert made.parts[ended.fates.place[Flag.HIT_UNPROTECTED, 0]].name == "brick"


def test_a_guard_behind_the_edge_keeps_a_ball_in_that_slipped_past():
    made = behind_cloth(wall("liner", SCREEN + 0.15, Role.GUARD, "cloth"), brick_behind())
    fates = follow(around(made, {"cloth": past_edge(0.8)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert not fates.flags.any()
    assert fates.contacts[0] >= 2


@pytest.mark.parametrize("apart", [0.0, 0.01, 0.04])
def test_a_second_cloth_close_behind_hides_no_ball_that_gets_past_both(apart):
    second = wall("second", SCREEN + apart, Role.GUARD, "cloth")
    made = behind_cloth(second, brick_behind())
    laws = {"cloth": past_edge(0.8), "second": past_edge(0.7)}
    fates = follow(around(made, laws), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert not fates.flags[Flag.UNRESOLVED].any()
    assert fates.worst[Flag.HIT_UNPROTECTED, 0] == pytest.approx(0.56 * 50.0)
    assert fates.worst[Flag.PAST_EDGE, 0] == pytest.approx(0.56 * 50.0)
    assert made.parts[fates.place[Flag.PAST_EDGE, 0]].name == "second"


def test_a_ball_that_a_close_second_cloth_sends_back_passes_the_opened_edge_again():
    made = behind_cloth(wall("second", SCREEN + 0.01, Role.GUARD, "cloth"))
    ended = follow(around(made, {"cloth": past_edge(0.8)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    assert not ended.fates.flags[[Flag.UNRESOLVED, Flag.PAST_EDGE]].any()
    assert [made.parts[k].name for k in ended.contacts.part] == ["cloth", "second"]


def test_past_an_edge_and_out_is_both():
    way_out = np.array([[3, -3, -3], [3, 3, -3], [3, 3, 3], [3, -3, 3]], dtype=float)
    made = behind_cloth(openings=(Opening("open end", way_out, vector(1, 0, 0), "test"),))
    fates = follow(around(made, {"cloth": past_edge(0.5)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.worst[[Flag.GOT_OUT, Flag.PAST_EDGE], 0] == pytest.approx([25.0, 25.0])


def test_a_person_behind_an_opened_edge_is_hit_by_what_slips_past():
    made = behind_cloth(brick_behind(1.5), zones=(bench((SCREEN + GAP, SCREEN + 1.0), "door"),))
    fates = follow(around(made, {"cloth": past_edge(0.5)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(25.0)


def test_a_wall_nearer_than_the_depth_at_which_the_edge_lets_go_is_struck_through_the_cloth():
    made = behind_cloth(brick_behind(0.1))
    ended = follow(around(made, {"cloth": past_edge(0.4, sink=0.25)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    left = 50.0 * (1.0 - 0.6 * (0.1 / 0.25) ** 1.5)
    assert ended.fates.worst[Flag.STRUCK_THROUGH, 0] == pytest.approx(left, rel=1e-6)
    assert made.parts[ended.fates.place[Flag.STRUCK_THROUGH, 0]].name == "brick"
    assert ended.contacts.leaving[0, 0] < 0.0


def test_a_ball_that_the_law_has_no_answer_for_is_unresolved_and_not_followed_further():
    def unknown(hits: Hits) -> Rebounds:
        return replace(by_facing(hits), unresolved=np.ones(hits.point.shape[1], dtype=bool))

    ended = follow(around(behind_cloth(), {"cloth": unknown}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    assert ended.outcomes == [Outcome.UNRESOLVED]
    assert ended.fates.worst[Flag.UNRESOLVED, 0] == pytest.approx(50.0)
    assert ended.fates.contacts[0] == 1


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


def test_a_ball_of_which_nobody_knows_what_it_strikes_behind_the_cloth_is_unresolved():
    """The search gave no answer for its way into the cloth: that it strikes nothing was not shown."""
    made = behind_cloth(wall("brick", SCREEN + GAP, facing="brick"))
    plain = around(made, {"cloth": giving(0.4)})
    fates = follow(replace(plain, tests=(ArcTest("brick", unsure),)), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.flags[Flag.UNRESOLVED].all()
    assert fates.worst[Flag.UNRESOLVED, 0] == pytest.approx(50.0)


@arc_test(cache=False)
def unsure(path, terms, duration, radius, tau, until, normal):
    """Ways into cloth alone take a second; to all others the part is not there."""
    return np.nan if duration == 1.0 else np.inf
