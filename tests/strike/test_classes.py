"""Strike classes: cells that cover the strike point's plane, normals without a jump, sides, and the mirror."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strikes import one, shots_of

from flightsim.flight.ball import LEGAL_BALL as BALL
from flightsim.flight.launches import Launches
from flightsim.shots.played_plan import plan_played
from flightsim.shots.players import dynamic_loft, player_names, shipped_player
from flightsim.strike.classes import StrikeClass, Thresholds, cells, strike
from flightsim.strike.clubs import club_names, shipped_club
from flightsim.strike.delivery import Delivery, head_axes
from flightsim.strike.edges import MOST_HOSEL_TURN, mean_edge, thin_edge
from flightsim.strike.impact import Blow

DEG = np.pi / 180.0
CLUBS = club_names()
EDGED = [name for name in CLUBS if shipped_club(name).kind != "driver"]


def normal_of(blow: Blow, delivery: Delivery) -> np.ndarray:
    """The contact normal `(3, n)` in axes that turn with the face, told by the ball alone.

    w = -(r/I) n x J, so n lies in the plane of J and w x J, at an angle of sine |w| I/(r |J|) from J.
    """
    J, w = blow.impulse, blow.spin
    size, spin = np.linalg.norm(J, axis=0), np.maximum(np.linalg.norm(w, axis=0), 1e-300)
    sine = spin * BALL.inertia_factor * BALL.mass * BALL.radius / size
    j = J / size
    n = j * np.sqrt(1.0 - sine**2) + np.cross(w / spin, j, axis=0) * sine
    level = head_axes(delivery.face, np.zeros_like(delivery.loft))
    return np.einsum("ijn,in->jn", level, n)


@settings(deadline=None)
@given(
    st.sampled_from(CLUBS), st.floats(1.0, 80.0), st.floats(-0.15, 0.15), st.floats(-0.1, 0.1),
)  # fmt: skip
def test_every_strike_point_lies_in_exactly_one_cell(name, loft, toe, height):
    found = cells(shipped_club(name), loft * DEG, Thresholds())
    inside = [c for c in found if c.toe[0] <= toe < c.toe[1] and c.height[0] <= height < c.height[1]]
    assert len(inside) == 1
    for cell in found:
        assert cell.toe[0] < cell.toe[1]
        assert cell.height[0] < cell.height[1]


def test_the_recovered_normal_is_the_faces_own_for_a_clean_strike():
    # The helper above is itself checked: a flat face at loft 28 has its normal at 28 deg.
    delivery = one(speed=35, loft=28, attack=-4, edge=3)
    n = normal_of(strike(StrikeClass.FACE, shipped_club("7-iron"), delivery, Thresholds()), delivery)[:, 0]
    assert n == pytest.approx([np.cos(28 * DEG), 0.0, np.sin(28 * DEG)], abs=1e-12)


def jump(
    name: str, before: StrikeClass, after: StrikeClass, field: str, border: float, by: float, **delivery: float
) -> float:
    """Angle, deg, between the normals a hair before and after a border of `field` at `border`, m."""
    club = shipped_club(name)
    base = one(speed=40, attack=-2, path=1, face=2, **delivery)
    normals = []
    for kind, value in ((before, border - by), (after, border + by)):
        there = replace(base, **{field: np.array([value])})
        normals.append(normal_of(strike(kind, club, there, Thresholds()), there)[:, 0])
    return float(np.degrees(np.arccos(np.clip(normals[0] @ normals[1], -1.0, 1.0))))


HAIR = 1e-9  # m: normals then differ by less than 1e-4 deg where there is no jump


@pytest.mark.parametrize("name", EDGED)
@pytest.mark.parametrize("off", [-4.0, 0.0, 4.0])
def test_the_normal_does_not_jump_from_clean_to_thin_to_topped_at_any_loft_of_the_strike(name, off):
    club = shipped_club(name)
    mean = dynamic_loft(shipped_player("mid"), club)
    loft = mean / DEG + off
    for border in (float(thin_edge(mean)), float(thin_edge(loft * DEG))):
        kind = (StrikeClass.FACE, StrikeClass.THIN)
        assert jump(name, *kind, "edge", border, HAIR, loft=loft, toe=5) < 1e-3
    assert jump(name, StrikeClass.THIN, StrikeClass.TOP, "edge", BALL.radius, HAIR, loft=loft, toe=5) < 1e-3


@pytest.mark.parametrize("toe", [-20.0, 0.0, 25.0])
def test_the_normal_of_a_driver_does_not_jump_from_face_to_crown_or_to_the_sole(toe):
    limits = Thresholds()
    assert jump("driver", StrikeClass.FACE, StrikeClass.SKY, "up", limits.sky, HAIR, loft=12, toe=toe) < 1e-3
    assert jump("driver", StrikeClass.FACE, StrikeClass.TOP, "up", -limits.driver_top, -HAIR, loft=12, toe=toe) < 1e-3


@pytest.mark.parametrize("name", CLUBS)
def test_the_normal_does_not_jump_from_face_to_toe(name):
    loft = dynamic_loft(shipped_player("low"), shipped_club(name))
    edge = float(mean_edge(loft)) * 1e3
    found = jump(
        name, StrikeClass.FACE, StrikeClass.TOE, "toe", Thresholds().toe, HAIR, loft=loft / DEG, edge=edge, up=6
    )
    assert found < 1e-3


def sweep(kind: StrikeClass, name: str, field: str, values: np.ndarray, **given: float) -> Blow:
    base = one(speed=36, attack=-3, **given)
    many = Delivery(*(np.repeat(getattr(base, each), len(values)) for each in Delivery.__dataclass_fields__))
    return strike(kind, shipped_club(name), replace(many, **{field: values}), Thresholds())


def azimuth(blow: Blow) -> np.ndarray:
    return np.degrees(np.arctan2(-blow.velocity[1], blow.velocity[0]))


@pytest.mark.parametrize("name", CLUBS)
def test_a_toe_and_a_shank_leave_to_the_same_side_the_right_of_a_right_hander(name):
    loft = dynamic_loft(shipped_player("mid"), shipped_club(name)) / DEG
    toe = azimuth(sweep(StrikeClass.TOE, name, "toe", np.linspace(0.040, 0.055, 9), loft=loft))
    past = np.linspace(0.0, 0.010, 9)  # further on the hosel meets the ball squarely
    limit = Thresholds().hosel(shipped_club(name))
    shank = azimuth(sweep(StrikeClass.HOSEL, name, "toe", -limit - past, loft=loft))
    assert (toe > 1.0).all()
    assert (shank > 0.0).all()


@pytest.mark.parametrize("name", CLUBS)
def test_no_square_shank_of_any_legal_loft_passes_75_deg_and_the_hosel_never_turns_further(name):
    """The cap is on the hosel's normal against the face. A face that is itself open adds its own angle."""
    limit = Thresholds().hosel(shipped_club(name))
    for loft in (1.0, 15.0, 35.0, 60.0, 85.0):
        toe = -limit - np.linspace(0.0, 0.06, 61)
        blow = sweep(StrikeClass.HOSEL, name, "toe", toe, loft=loft)
        gone = np.linalg.norm(blow.velocity, axis=0) > 0.0
        assert np.abs(azimuth(blow)[gone]).max() < 75.0
        base = one(speed=36, attack=-3, loft=loft)
        many = Delivery(*(np.repeat(getattr(base, each), 61) for each in Delivery.__dataclass_fields__))
        n = normal_of(blow, many)[:, gone & ~blow.slid]
        assert (np.hypot(n[1], n[2]) <= np.sin(MOST_HOSEL_TURN) + 1e-6).all()


def test_the_deeper_into_the_hosel_the_less_to_the_right_and_the_faster():
    blow = sweep(StrikeClass.HOSEL, "7-iron", "toe", -np.linspace(0.0241, 0.044, 20), loft=28)
    assert (np.diff(azimuth(blow)) < 0).all()
    assert (np.diff(np.linalg.norm(blow.velocity, axis=0)) > 0).all()


def test_the_higher_the_sole_meets_the_ball_the_lower_it_flies_and_a_top_goes_down():
    edge = np.linspace(0.0105, 0.030, 40)
    blow = sweep(StrikeClass.TOP, "7-iron", "edge", edge, loft=28)
    elevation = np.degrees(np.arctan2(blow.velocity[2], blow.velocity[0]))
    assert (np.diff(elevation) < 0).all()
    assert (elevation[edge > BALL.radius] < 0).all()


def test_a_sky_rises_toward_upright_and_loses_speed():
    blow = sweep(StrikeClass.SKY, "driver", "up", np.linspace(0.026, 0.050, 20), loft=12)
    elevation = np.degrees(np.arctan2(blow.velocity[2], blow.velocity[0]))
    assert (np.diff(elevation) > 0).all()
    assert elevation[-1] > 45.0
    assert (np.diff(np.linalg.norm(blow.velocity, axis=0)) < 0).all()


def test_a_fat_strike_loses_speed_by_the_depth_and_begins_with_none_lost():
    mean = float(mean_edge(28 * DEG))
    depth = np.array([0.0060, 0.0061, 0.0100, 0.0400])
    speed = np.linalg.norm(sweep(StrikeClass.FAT, "7-iron", "edge", mean - depth, loft=28).velocity, axis=0)
    clean = np.linalg.norm(sweep(StrikeClass.FACE, "7-iron", "edge", mean - depth[:1], loft=28).velocity, axis=0)
    assert speed[0] == pytest.approx(clean[0], rel=1e-9)
    assert (np.diff(speed) < 0).all()
    assert 0.4 < speed[-1] / clean[0] < 0.6


def test_a_heel_strike_of_a_driver_stays_on_the_face_and_starts_to_the_left_off_the_bulge():
    found = {c.strike_class: c for c in cells(shipped_club("driver"), 12 * DEG, Thresholds())}
    assert found[StrikeClass.HOSEL].toe[1] == -0.036
    assert azimuth(sweep(StrikeClass.FACE, "driver", "toe", np.array([-0.030]), loft=12))[0] < -3.0


def flown(hand: str, player: str, club: str, tails: dict[str, str], u: np.ndarray) -> Launches:
    plan = plan_played(shots_of(player, club, hand, tails=tails), [("tee", 1.0, 0.0, 0.0)], 0.03, BALL)
    return plan.draw(lambda purpose, dims: u[:dims], 0, u.shape[1]).launches()


@given(
    st.sampled_from(player_names()), st.sampled_from(CLUBS), st.integers(0, 2**32 - 1),
    st.sampled_from([{}, {"axes": "joint"}, {"model": "gaussian"}]),
)  # fmt: skip
@settings(max_examples=25, deadline=None)
def test_a_left_hander_is_the_mirror_to_1e_12_through_the_whole_plan(player, club, seed, tails):
    """Every class, the bounce off the mat with its spin about the path included."""
    u = np.random.default_rng(seed).uniform(size=(8, 210))
    right, left = flown("right", player, club, tails, u), flown("left", player, club, tails, u)
    expected = right.mirrored()
    assert left.start == pytest.approx(expected.start, abs=1e-15)
    assert left.velocity == pytest.approx(expected.velocity, rel=1e-12, abs=1e-12 * np.abs(right.velocity).max())
    assert left.spin == pytest.approx(expected.spin, rel=1e-12, abs=1e-12 * np.abs(right.spin).max())


def test_spin_about_the_path_is_there_to_be_mirrored_after_a_bounce_off_the_mat():
    u = np.random.default_rng(5).uniform(size=(8, 700))
    right, left = (flown(hand, "high", "7-iron", {}, u) for hand in ("right", "left"))
    along = (right.spin * right.velocity).sum(axis=0)
    assert np.abs(along).max() > 100.0
    assert (left.spin * left.velocity).sum(axis=0) == pytest.approx(-along, rel=1e-9, abs=1e-6)
