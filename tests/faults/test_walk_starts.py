"""Balls that start where no ball can lie, and what is no better than a tie: never to the bay's credit."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pytest
from bays import STRAIGHT, fly, follow, garage, one_part, part, shots, straight, vector, wild_launches

from flightsim.bay.parts import Bay, Opening, Role
from flightsim.bay.shapes import ConvexPolygon, RoundTube, Shape, block, rectangle
from flightsim.contact.fates import Flag, Outcome
from flightsim.flight.launches import Launches
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.study.run import starts
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.require import judge_all, parse_requirements
from flightsim.study.run.walk import run

R = 0.042670 / 2
WALL = rectangle(vector(2, -1, -1), vector(0, 2, 0), vector(0, 0, 2))


def guard(shape: Shape) -> Bay:
    return Bay((part("guard", shape, Role.GUARD),), (), np.full(3, -10.0), np.full(3, 10.0))


@pytest.mark.parametrize("aim", [(1, 0, 0), (-1, 0, 0), (0, 0.3, 1)])
@pytest.mark.parametrize(
    "shape",
    [
        block(vector(-1, -1, -1), vector(1, 1, 1)),
        rectangle(vector(0.5 * R, -1, -1), vector(0, 2, 0), vector(0, 0, 2)),
        RoundTube(vector(0, R, -1), vector(0, R, 1), 0.01),
    ],
    ids=["block", "sheet", "tube"],
)
def test_a_ball_that_starts_inside_a_guard_has_failed_and_not_met_it(shape, aim):
    bay = guard(shape)
    contacts = straight(bay, (0, 0, 0), aim)
    assert contacts.failed.all()
    assert contacts.part[0] == -1
    assert np.isnan(contacts.point).all()
    fates = follow(bay, shots(((0, 0, 0), 50.0 * np.array(aim))), STRAIGHT).fates
    assert fates.flags[Flag.UNRESOLVED].all()
    assert fates.outcomes()[0] == Outcome.UNRESOLVED
    assert fates.worst[Flag.UNRESOLVED, 0] == pytest.approx(50.0 * np.linalg.norm(aim))


def test_a_ball_that_rests_on_a_part_has_not_started_inside_it():
    bay = one_part(block(vector(-1, -1, -1), vector(1, 1, 0)))
    for depth, failed in ((0.0, False), (5e-7, False), (2e-6, True)):
        assert straight(bay, (0, 0, R - depth), (1, 0, 0.2)).failed[0] == failed


def test_a_ball_that_starts_outside_the_room_has_failed_whatever_it_meets_inside():
    back = np.array([[-3, -1.8, 0], [-3, 1.8, 0], [-3, 1.8, 2.7], [-3, -1.8, 2.7]], dtype=float)
    screen = part("screen", rectangle(vector(3, -1, 0), vector(0, 2, 0), vector(0, 0, 2.5)), Role.GUARD)
    bay = Bay(
        (screen,), (Opening("open back", back, vector(-1, 0, 0), "test"),), vector(-3, -1.8, 0), vector(3.6, 1.8, 2.7)
    )
    contacts = straight(bay, (-3.2, 0, 1), (1, 0, 0))
    assert contacts.failed[0]
    end = follow(bay, shots(((-3.2, 0, 1), (50, 0, 0)), ((-2.8, 0, 1), (50, 0, 0))), STRAIGHT)
    assert end.outcomes[0] == Outcome.UNRESOLVED
    assert end.fates.contacts[0] == 0
    assert end.first.part.tolist() == [-1, 0]


def test_all_balls_may_start_outside_the_room():
    bay = garage()
    launches = wild_launches(4)
    contacts = fly(bay, Launches(launches.start + 50.0, launches.velocity, launches.spin))
    assert contacts.failed.all()


@pytest.mark.parametrize(("cloth", "wall"), [("a cloth", "the wall"), ("the cloth", "a wall")])
def test_cloth_flat_on_a_wall_is_never_met_before_the_wall(cloth, wall):
    parts = (part(cloth, WALL, Role.GUARD), part(wall, WALL))
    for order in (parts, parts[::-1]):
        bay = Bay(order, (), np.full(3, -5.0), np.full(3, 5.0))
        assert bay.parts[straight(bay, (0, 0, 0), (1, 0, 0)).part[0]].name == wall


@pytest.mark.parametrize("apart", [0.3e-6, 0.6e-6, 0.8e-6, 0.95e-6, 1.3e-6, 2.0e-6])
def test_two_sheets_a_hair_apart_give_the_same_part_in_any_order(apart):
    """A slow ball in gravity: its speed changes over the arc, and with it what a micrometre of path is."""
    near = part("net", rectangle(vector(0.6, -5, -5), vector(0, 10, 0), vector(0, 0, 10)), Role.GUARD)
    far = part("glass", rectangle(vector(0.6 + apart, -5, -5), vector(0, 10, 0), vector(0, 0, 10)))
    launches = Launches(np.zeros((3, 3)), np.array([[2.0, 4.0, 30.0], [0, 0, 0], [5.0, 1.0, 0.0]]), np.zeros((3, 3)))
    names = []
    for parts in ((near, far), (far, near)):
        bay = Bay(parts, (), np.full(3, -6.0), np.full(3, 6.0))
        names.append([bay.parts[k].name for k in fly(bay, launches).part])
    assert names[0] == names[1]


def test_where_no_arc_can_meet_its_tolerance_nothing_is_touched_and_no_ball_is_resolved():
    end = follow(garage(), wild_launches(20), tolerance=-1.0)
    assert end.first.failed.all()
    assert (end.first.part == -1).all()
    assert end.fates.flags[Flag.UNRESOLVED].all()
    assert (end.fates.contacts == 0).all()


def test_the_plane_of_a_leaning_sheet_may_pass_through_a_ball_without_a_word():
    """One ball lies in the plane of a sheet that it never meets, and moves slowly; another comes from afar."""
    leaning = ConvexPolygon(np.array([[-0.3, 0.1, -0.3], [0.3, 0.1, 0.3], [0.3, 1.0, 0.3]]))
    start = np.array([[-0.2, 0.2], [0.5, 0.3], [-0.2, -0.8]])
    launches = Launches(start, np.array([[0.1, 0.0], [0.0, 0.0], [0.1, 6.0]]), np.zeros((3, 2)))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        contacts = fly(one_part(leaning), launches)
    assert contacts.part.tolist() == [-1, 0]
    assert not contacts.failed.any()


GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
SHOT = "club: driver, strike: odd, share: 1, ball_speed: 60 m/s, elevation: 12 deg, azimuth: 0 deg, spin_rate: 2700 rpm"


@pytest.mark.parametrize(
    ("ball", "words"),
    [
        ("tee_height: 170 mm", r"2,048 of 2,048 shots start inside the lamp"),
        ("forward: 3.2 m", "start behind the screen"),
        ("forward: 3.6 m", "start outside the room"),
        ("right: 1.8 m", "start outside the room"),
        ("right: 1.69 m", "start inside the right wall"),
        ("right: {kind: normal, mean: 0 m, sd: 600 mm}", r"\d+ of 2,048 shots start outside the room"),
    ],
)
def test_shots_that_would_start_where_no_ball_can_lie_are_refused_with_their_number(ball, words):
    change = f"launches={{types: [{{{SHOT}, {ball}}}]}}"
    low_lamp = ("above_floor=200 mm", "from_end_wall=3.4 m", "from_left_wall=1.45 m")
    with pytest.raises(ScenarioError, match=words) as refused:
        open_bay(GARAGE, [change, *(f"obstacles.lamp.{measure}" for measure in low_lamp)])
    assert "forward" in str(refused.value)
    assert "launches" in str(refused.value)


def test_a_grid_teed_inside_a_part_is_refused_too():
    grid = "ball_speed: 60 m/s, elevation: [10 deg, 20 deg], azimuth: 0 deg, spin_rate: 3000 rpm, tee_height: 2.49 m"
    with pytest.raises(ScenarioError, match="2 of 2 shots start inside the roof"):
        open_bay(GARAGE, [f"launches={{grid: {{{grid}}}}}"])


def test_a_shot_beyond_those_looked_at_that_starts_inside_a_part_counts_against_the_bay(monkeypatch):
    """The check before the run looks at some shots; the run at all of its own."""
    monkeypatch.setattr(starts, "TRIED", 1)
    spread = "right: {kind: uniform, low: 0 m, high: 1.75 m}"
    opened = open_bay(GARAGE, [f"launches={{types: [{{{SHOT}, {spread}}}]}}"])
    result = run(opened, 2000)
    outside = result.shots.start[1] < opened.bay.lower[1] + R
    assert 20 < outside.sum() < 200
    assert result.contacts.failed[outside].all()
    assert (result.outcome[outside] == Outcome.UNRESOLVED).all()
    assert result.rates.total["unresolved"].count >= outside.sum()
    assert result.rates.total["escape"].count >= outside.sum()
    (judged,) = judge_all(parse_requirements(["got_out < 1 in 50"]), result.rates, result.types, result.sampled)
    assert not judged.met
