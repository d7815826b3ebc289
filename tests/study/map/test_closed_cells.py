"""Cells shown closed: none holds a direction that gets out, and where something is missing not all are closed."""

import numpy as np
import pytest
from aimed import aim_at, around, open_box
from bays import garage, part, room, vector
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import rectangle
from flightsim.flight.integrator import Physics
from flightsim.study.map.closed_cells import Closing, Shown, nearest_on_pieces
from flightsim.study.map.direction_cells import make_lattice
from flightsim.study.map.envelope import close, envelope
from flightsim.study.map.shooting import Meets, Shooter
from flightsim.study.map.stoppers import free_edges

BAY = garage()
AROUND = around(BAY)


def some_shooter(speed: float, rpm: float, height: float) -> Shooter:
    return Shooter(Physics(), AROUND, vector(0.0, 0.0, height), speed, rpm * np.pi / 30.0, np.ones(0, bool))


@settings(max_examples=12, deadline=None)
@given(
    seed=st.integers(0, 100_000), speed=st.floats(12.0, 80.0), rpm=st.floats(-2000.0, 10_000.0),
    teed=st.sampled_from([0.0, 0.04]),
)  # fmt: skip
def test_no_direction_of_a_closed_cell_meets_anything_but_a_guard_first(seed, speed, rpm, teed):
    rng = np.random.default_rng(seed)
    n, each = 600, 12
    shooter = some_shooter(speed, rpm, 0.02 + 0.021335 + teed)
    el, az = np.radians(rng.uniform(-8.0, 75.0, n)), np.radians(rng.uniform(-45.0, 45.0, n))
    half = np.radians(10.0 ** rng.uniform(-2.0, 0.3, n)) / 2.0
    shown = Closing(shooter).shown(el, az, half, half, shooter.first(el, az))
    cells = np.flatnonzero(shown != Shown.NOTHING)
    share = rng.uniform(-1.0, 1.0, (2, each, cells.size))
    share[:, :4] = np.sign(share[:, :4])  # corners are the most likely to get out
    up, side = (el[cells] + half[cells] * share[0]).ravel(), (az[cells] + half[cells] * share[1]).ravel()
    first = shooter.first(up, side)
    meets = shooter.meets[shooter.region_of(first)].reshape(each, cells.size)
    closed = shown[cells] == Shown.CLOSED
    assert (meets[:, closed] == Meets.GUARD).all()
    assert np.isin(meets, (Meets.GUARD, Meets.FLOOR)).all()


def test_a_good_part_of_what_meets_a_guard_is_shown_closed():
    shooter = some_shooter(55.0, 3000.0, 0.08)
    el, az = np.radians(np.random.default_rng(1).uniform([[3.0], [-20.0]], [[30.0], [20.0]], (2, 2000)))
    first = shooter.first(el, az)
    half = np.full(2000, np.radians(0.25))
    shown = Closing(shooter).shown(el, az, half, half, first)
    guard = shooter.meets[shooter.region_of(first)] == Meets.GUARD
    assert (shown[guard] == Shown.CLOSED).mean() > 0.8


def tent(*without: str) -> Bay:
    """Guards all round the ball but for the floor; joined where they meet."""
    sides = {
        "front": ((3, -2, 0), (0, 4, 0), (0, 0, 3)), "back": ((-2, -2, 0), (0, 4, 0), (0, 0, 3)),
        "left": ((-2, 2, 0), (5, 0, 0), (0, 0, 3)), "right": ((-2, -2, 0), (5, 0, 0), (0, 0, 3)),
        "top": ((-2, -2, 3), (5, 0, 0), (0, 4, 0)),
    }  # fmt: skip
    return open_box(*((name, *sides[name]) for name in sides if name not in without), floor=True)


def closure(bay: Bay, elevation: float = 40.0, wide: float = 25.0, start=(0.0, 0.0, 0.3), **more):
    aim = aim_at(elevation, 0.0, start, wide)
    lattice = make_lattice(5.0, 2)
    shooter = Shooter(Physics(), around(bay), aim.start, aim.ball_speed, aim.spin_rate, np.ones(0, bool))
    reached = envelope(aim, lattice)
    return close(Closing(shooter), lattice, reached, **{"finest": 512, "budget": 60_000, **more})


def test_a_bay_with_guards_all_round_is_shown_closed_corners_and_seams_included():
    shown = closure(tent())
    assert shown.whole
    assert shown.closed > 0.0
    assert shown.floor == shown.bare == shown.undecided == 0.0


def test_a_missing_guard_is_bare_and_the_bay_is_not_closed():
    shown = closure(tent("top"), finest=32)
    assert shown.bare > 0.0
    assert not shown.whole


def test_a_slit_that_a_ball_fits_is_never_closed_and_one_that_it_does_not_is_no_edge():
    def slit(width: float) -> Bay:
        bay = tent("front")
        low = rectangle(vector(3, -2, 0), vector(0, 4, 0), vector(0, 0, 1.5))
        high = rectangle(vector(3, -2, 1.5 + width), vector(0, 4, 0), vector(0, 0, 1.5 - width))
        guards = (part("low", low, Role.GUARD, "cloth"), part("high", high, Role.GUARD, "cloth"))
        return Bay((*bay.parts, *guards), bay.openings, bay.lower, bay.upper)

    assert closure(slit(0.020), 22.0, 10.0).whole  # less than half a ball
    assert not closure(slit(0.060), 22.0, 10.0, finest=64).whole
    assert not closure(slit(0.035), 22.0, 10.0, finest=64).whole  # no ball goes through, but it clips free edges


def test_where_the_floor_may_come_first_only_that_is_shown():
    shown = closure(tent(), -3.0, 8.0, finest=64)
    assert shown.floor > 0.0


def test_when_the_budget_ends_what_is_left_is_undecided():
    shown = closure(tent("top"), budget=300)
    assert shown.spent
    assert shown.undecided > 0.0
    assert shown.left > 0
    assert not shown.whole


def test_in_wind_nothing_is_shown():
    shooter = Shooter(Physics(wind=(1.0, 0.0, 0.0)), AROUND, vector(0, 0, 0.3), 50.0, 300.0, np.ones(0, bool))
    el = az = np.array([0.2])
    assert Closing(shooter).shown(el, az, az * 0.01, az * 0.01, shooter.first(el, az))[0] == Shown.NOTHING


def test_a_guard_that_the_ball_can_break_closes_nothing():
    bay = tent("front")
    sheet = rectangle(vector(3, -2, 0), vector(0, 4, 0), vector(0, 0, 3))
    glass = Bay((*bay.parts, part("pane", sheet, Role.GUARD, "glass")), (), bay.lower, bay.upper)
    assert not closure(glass, 22.0, 5.0, finest=16).whole


@pytest.mark.parametrize(("gap", "free"), [(0.0, 3), (0.021, 3), (0.022, 4)])
def test_an_edge_is_joined_where_another_guard_is_nearer_than_half_a_ball(gap, free):
    sheet = rectangle(vector(0, 0, 0), vector(0, 1, 0), vector(0, 0, 1))
    other = part("other", rectangle(vector(-1, -1, 1 + gap), vector(2, 0, 0), vector(0, 3, 0)), Role.GUARD)
    assert len([edge for edge in free_edges(sheet, [other], 0.021335) if np.linalg.norm(edge.b - edge.a) > 0.5]) == free


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 100_000))
def test_the_least_distance_on_a_piece_is_never_overestimated(seed):
    rng = np.random.default_rng(seed)
    shape = room()[0].shape if seed % 2 else rectangle(vector(*rng.uniform(-1, 1, 3)), vector(1, 0, 0), vector(0, 1, 0))
    points = rng.uniform(-2.0, 2.0, (2, 3, 40)) + 3.0 * (seed % 2)
    distance, normal = zip(*(shape.distance(point) for point in points), strict=True)
    least = nearest_on_pieces(np.stack(distance), np.stack(normal), points, convex=True)[0]
    between = [shape.distance(points[0] + s * (points[1] - points[0]))[0] for s in np.linspace(0.0, 1.0, 101)]
    assert (least <= np.min(between, axis=0) + 1e-9).all()
