"""The lattice: energy, symmetry, refusals, and that blocks, mirrors and order change nothing."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flightsim.cloth import ball_in_cloth, square_hits
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.square_hits import strike

SMALL = Cloth(width=1.6, height=1.2, shear_ratio=0.02, stiffness=100e3)
WHOLE_BALL = 0.5 * 0.04593


@settings(max_examples=5, deadline=None)
@given(
    speed=st.floats(3.0, 100.0),
    across=st.floats(0.0, 1.6),
    up=st.floats(0.0, 1.2),
    shear=st.sampled_from([0.0, 0.006, 0.1, 0.3]),
    pretension=st.sampled_from([0.0, 50.0, 300.0]),
)
def test_energy_never_rises(speed, across, up, shear, pretension):
    cloth = replace(SMALL, shear_ratio=shear, pretension=pretension)
    # Explicit steps carry an oscillation of the energy that falls with the square of the step: 1.7 % at the step that
    # is used, .4 % at half of it, .02 % at a quarter, at most.
    for margin, overshoot in ((square_hits.STEP_MARGIN, 0.03), (0.25 * square_hits.STEP_MARGIN, 0.0005)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(square_hits, "STEP_MARGIN", margin)
            energy = strike(cloth, speed, across, up, spacing=0.1, keep_energy=True).energy[:, 0]
        assert energy.size > 50
        assert np.all(energy <= energy[0] * (1.0 + overshoot))
        assert energy[-1] < energy[0]


def test_a_ball_that_sticks_to_its_node_keeps_its_momentum():
    cloth = replace(SMALL, pretension=0.0)
    energy = strike(cloth, 50.0, 0.8, 0.6, spacing=0.05, keep_energy=True).energy[0, 0]
    node = cloth.areal_mass * 0.05**2
    assert energy == pytest.approx(WHOLE_BALL * 50.0**2 * 0.04593 / (0.04593 + node), rel=1e-9)


@settings(max_examples=10, deadline=None)
@given(across=st.floats(0.0, 1.6), up=st.floats(0.0, 1.2))
@example(across=0.35, up=0.0)  # half-way between two nodes
def test_mirrored_hits_sink_and_return_alike(across, up):
    places_across, places_up = [across, 1.6 - across, across, 1.6 - across], [up, up, 1.2 - up, 1.2 - up]
    done = strike(SMALL, 40.0, places_across, places_up, spacing=0.1)
    for each in (done.depth, done.return_speed, done.edge_moved, done.return_time):
        # Sums in another order round differently, and a ball that touches or not grows it: 4e-6 was seen.
        assert each == pytest.approx(np.full(4, each[0]), rel=1e-4, abs=1e-9)


def test_a_middle_hit_on_a_quarter_of_the_cloth_is_the_hit_on_all_of_it(monkeypatch):
    quarter = strike(SMALL, 50.0, 0.8, 0.6, spacing=0.05)
    monkeypatch.setattr(square_hits, "_by_mirrors", lambda *_: [((False, False), np.arange(1))])
    whole = strike(SMALL, 50.0, 0.8, 0.6, spacing=0.05)
    assert whole.depth[0] == pytest.approx(quarter.depth[0], rel=1e-9)
    assert whole.return_speed[0] == pytest.approx(quarter.return_speed[0], rel=1e-6)


def test_a_turned_cloth_is_the_same_cloth():
    turned = replace(SMALL, width=SMALL.height, height=SMALL.width)
    one, other = strike(SMALL, 60.0, 0.3, 0.5, spacing=0.1), strike(turned, 60.0, 0.5, 0.3, spacing=0.1)
    assert one.depth == pytest.approx(other.depth, rel=1e-9)
    assert one.edge_moved == pytest.approx(other.edge_moved, rel=1e-9)


def test_blocks_and_order_of_hits_change_nothing(monkeypatch):
    speeds, across, up = np.array([10.0, 80.0, 30.0, 55.0]), [0.2, 0.7, 1.5, 0.8], [0.2, 0.5, 0.7, 1.1]
    together = strike(SMALL, speeds, across, up, spacing=0.1)
    monkeypatch.setattr(square_hits, "BLOCK", 1)
    alone = strike(SMALL, speeds[::-1], across[::-1], up[::-1], spacing=0.1)
    assert np.array_equal(together.depth, alone.depth[::-1])
    assert np.array_equal(together.return_speed, alone.return_speed[::-1])


def test_depth_grows_with_speed_but_slower():
    depth = strike(SMALL, [10.0, 20.0, 40.0, 80.0], 0.8, 0.6, spacing=0.1).depth
    assert np.all(np.diff(depth) > 0.0)
    assert np.all(depth[1:] < 2.0 * depth[:-1])


def test_what_comes_back_is_slower_than_what_went_in():
    done = strike(SMALL, [10.0, 40.0, 80.0], [0.8, 0.1, 0.8], [0.6, 0.1, 0.0], spacing=0.1)
    assert np.all(done.return_speed < [10.0, 40.0, 80.0])
    assert np.all(done.return_time > done.depth_time)


SLACK = Cloth(cord_stiffness=100.0, pretension=10.0)  # 4.2 x 2.6 m [cloth-left]


def test_a_return_is_told_when_the_ball_has_left_and_not_at_a_time_set_before():
    # Read at 60 ms this hit gave 0.7 m/s: the ball was still in the cloth.
    done = strike(SLACK, 70.0, 2.1, 1.3, spacing=0.13)
    assert done.left.all()
    assert done.return_time[0] > 0.08
    assert done.return_speed[0] > 7.0


def test_a_ball_that_the_cloth_catches_up_with_is_followed_on():
    # Heavy cloth lets the ball go early and slow, and swings after it.
    early = strike(replace(Cloth(), areal_mass=0.6), 70.0, 2.1, 1.3, spacing=0.05)
    assert early.return_time[0] > 0.05
    assert early.return_speed[0] > 2.0


def test_what_is_not_over_in_the_time_there_is_has_no_numbers(monkeypatch):
    monkeypatch.setattr(ball_in_cloth, "LONGEST", 0.045)
    done = strike(SLACK, [70.0, 70.0, 10.0], [2.1, 0.13, 2.1], 1.3, spacing=0.13)
    assert not done.left.any()
    for each in (done.return_speed, done.return_time, done.edge_moved):
        assert np.isnan(each).all()
    assert np.isfinite(done.depth[1])  # it has turned back
    monkeypatch.setattr(ball_in_cloth, "LONGEST", 0.002)
    assert np.isnan(strike(SLACK, 70.0, 2.1, 1.3, spacing=0.13).depth).all()


@settings(max_examples=10, deadline=None)
@given(
    speed=st.floats(2.0, 100.0),
    across=st.floats(0.0, 1.6),
    up=st.floats(0.0, 1.2),
    mass=st.sampled_from([0.1, 0.35, 0.8]),
    pretension=st.sampled_from([0.0, 10.0, 200.0]),
    cord=st.sampled_from([50.0, 500.0]),
)
def test_every_ball_leaves_with_a_speed_of_its_own_or_is_said_not_to(speed, across, up, mass, pretension, cord):
    cloth = replace(SMALL, areal_mass=mass, pretension=pretension, cord_stiffness=cord)
    done = strike(cloth, speed, across, up, spacing=0.15)
    assert np.array_equal(done.left, np.isfinite(done.return_speed))
    assert not (done.return_speed <= 0.0).any()


def test_a_rim_held_fast_does_not_move_and_gives_more_back():
    held = strike(replace(SMALL, cord_stiffness=float("inf")), 50.0, 0.8, 0.6, spacing=0.1)
    corded = strike(SMALL, 50.0, 0.8, 0.6, spacing=0.1)
    assert held.edge_moved[0] == pytest.approx(0.0, abs=1e-12)
    assert held.depth[0] < corded.depth[0]
    assert held.return_speed[0] > corded.return_speed[0]


def test_a_free_side_moves_further_than_a_corded_one():
    loose = replace(SMALL, corded=frozenset({"left", "right", "top"}))
    free, corded = (strike(cloth, 50.0, 0.8, 0.2, spacing=0.1) for cloth in (loose, SMALL))
    assert free.edge_moved[0] > corded.edge_moved[0]
    assert free.depth[0] > corded.depth[0]


@pytest.mark.parametrize(
    ("speed", "across", "up", "words"),
    [
        (50.0, 1.7, 0.6, "1.7 m across misses a cloth of 1.6 m"),
        (50.0, -0.1, 0.6, "-0.1 m across misses"),
        (50.0, 0.8, 1.3, "1.3 m up misses a cloth of 1.2 m"),
        (50.0, 0.8, float("nan"), "nan m up misses"),
        (0.0, 0.8, 0.6, "a hit at 0 m/s"),
        (-5.0, 0.8, 0.6, "a hit at -5 m/s"),
        (float("inf"), 0.8, 0.6, "a hit at inf m/s"),
    ],
)
def test_hits_beyond_the_cloth_and_speeds_that_are_none_are_refused(speed, across, up, words):
    with pytest.raises(ValueError) as refused:
        strike(SMALL, [40.0, speed], [0.8, across], [0.6, up], spacing=0.1)
    assert words in str(refused.value)


@pytest.mark.parametrize("spacing", [0.0, -0.1, 0.5, float("nan")])
def test_a_mesh_too_coarse_or_none_is_refused(spacing):
    with pytest.raises(ValueError, match="mesh of"):
        strike(SMALL, 50.0, 0.8, 0.6, spacing=spacing)
