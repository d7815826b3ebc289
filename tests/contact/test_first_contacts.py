"""First contacts: against closed answers, against an outside loop, and the rules that must never bend."""

import numpy as np
import pytest
from bays import fly, garage, one_part, part, room, straight, vector, wild_launches
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy_loop import Facts, Surfaces, first_contact

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import RoundTube, block, rectangle
from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches

R = 0.042670 / 2


def test_first_contacts_agree_with_a_shot_by_shot_scipy_loop():
    """Outside reference: scipy DOP853, rtol 1e-10, equations and distances written again. 0.1 mm is asked for."""
    bay, launches, physics = garage(), wild_launches(150), Physics()
    contacts = fly(bay, launches, physics)
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    surfaces = Surfaces(bay)
    for k in range(len(launches)):
        name, time, point = first_contact(
            facts, bay, surfaces, launches.start[:, k], launches.velocity[:, k], launches.spin[:, k], 1e-10
        )
        ours = (
            bay.parts[contacts.part[k]].name if contacts.part[k] >= 0 else "> " + bay.openings[contacts.opening[k]].name
        )
        assert ours == name
        assert contacts.point[:, k] == pytest.approx(point, abs=1e-4)
        assert contacts.time[k] == pytest.approx(time, abs=1e-5)


@pytest.mark.parametrize("speed", [5.0, 30.0, 90.0, 150.0])
@pytest.mark.parametrize("thickness", [0.0, 0.003])
def test_no_ball_passes_through_a_thin_wall(speed, thickness):
    if thickness:
        wall = block(vector(3.0, -5, -5), vector(3.0 + thickness, 5, 5))
    else:
        wall = rectangle(vector(3, -5, -5), vector(0, 10, 0), vector(0, 0, 10))
    rng = np.random.default_rng(0)
    n = 4000
    aim = np.vstack([np.ones(n), rng.uniform(-1, 1, n), rng.uniform(-0.5, 1.0, n)])
    aim /= np.linalg.norm(aim, axis=0)
    contacts = fly(one_part(wall), Launches(np.zeros((3, n)), aim * max(speed, 15.0), np.zeros((3, n))))
    assert (contacts.part == 0).all()
    assert np.abs(contacts.point[0] - (3.0 - R)).max() < 2e-6


@pytest.mark.parametrize(("clear", "passes"), [(2 * R + 2e-6, True), (2 * R - 2e-6, False)])
def test_a_ball_that_fits_through_a_gap_goes_through_and_one_that_does_not_is_stopped(clear, passes):
    slit = [
        part("left leaf", rectangle(vector(2, clear / 2, -1), vector(0, 1, 0), vector(0, 0, 2))),
        part("right leaf", rectangle(vector(2, -clear / 2, -1), vector(0, -1, 0), vector(0, 0, 2))),
    ]
    contacts = straight(Bay(tuple(slit), (), np.full(3, -5.0), np.full(3, 5.0)), (0, 0, 0), (1, 0, 0))
    assert bool(contacts.part[0] < 0) is passes
    assert bool(contacts.opening[0] >= 0) is passes


def test_an_edge_is_touched_where_the_ball_overlaps_it():
    sheet = rectangle(vector(2, 0, -1), vector(0, 1, 0), vector(0, 0, 2))
    contacts = straight(one_part(sheet), (0, -0.5 * R, 0), (1, 0, 0))
    assert contacts.point[0, 0] == pytest.approx(2 - R * np.sqrt(1 - 0.25), abs=1e-7)
    assert contacts.normal[:, 0] == pytest.approx([-np.sqrt(0.75), -0.5, 0], abs=1e-5)


def test_a_round_tube_is_touched_at_the_sum_of_the_radii():
    tube = RoundTube(vector(2, 0, -1), vector(2, 0, 1), 0.025)
    offset = 0.02
    contacts = straight(one_part(tube), (0, offset, 0), (1, 0, 0))
    assert contacts.point[0, 0] == pytest.approx(2 - np.sqrt((R + 0.025) ** 2 - offset**2), abs=1e-7)


def test_a_ball_resting_on_the_floor_and_leaving_it_has_not_touched_it():
    bay = garage()
    launches = Launches(vector(0, 0, 0.02 + R)[:, None], vector(40, 0, 5)[:, None], np.zeros((3, 1)))
    assert bay.parts[fly(bay, launches).part[0]].name == "screen"


def test_a_ball_driven_into_the_mat_touches_it_at_once():
    bay = garage()
    launches = Launches(vector(0, 0, 0.02 + R)[:, None], vector(40, 0, -1)[:, None], np.zeros((3, 1)))
    contacts = fly(bay, launches)
    assert bay.parts[contacts.part[0]].name == "mat"
    assert contacts.time[0] == 0.0


def test_a_level_ball_that_sinks_onto_the_mat_touches_it():
    bay = garage()
    launches = Launches(vector(0, 0, 0.02 + R)[:, None], vector(40, 0, 0)[:, None], np.zeros((3, 1)))
    assert bay.parts[fly(bay, launches).part[0]].name == "mat"


def test_a_ball_that_comes_down_on_top_of_the_canopy_is_seen():
    shelf = rectangle(vector(1, -1, 1), vector(2, 0, 0), vector(0, 2, 0))
    launches = Launches(vector(0, 0, 0)[:, None], vector(2.0, 0, 6.0)[:, None], np.zeros((3, 1)))
    contacts = fly(one_part(shelf), launches)
    assert contacts.part[0] == 0
    assert contacts.point[2, 0] == pytest.approx(1 + R, abs=1e-6)


def test_a_tie_goes_to_the_name_that_comes_first():
    sheet = rectangle(vector(2, -1, -1), vector(0, 2, 0), vector(0, 0, 2))
    for names in (("a", "b"), ("b", "a")):
        bay = Bay(tuple(part(n, sheet) for n in names), (), np.full(3, -5.0), np.full(3, 5.0))
        assert bay.parts[straight(bay, (0, 0, 0), (1, 0, 0)).part[0]].name == "a"


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 1000))
def test_the_order_of_parts_never_changes_a_result(seed):
    bay, launches = garage(), wild_launches(300, seed, backwards=True)
    first = fly(bay, launches)
    shuffled = np.random.default_rng(seed).permutation(len(bay.parts))
    other = Bay(tuple(bay.parts[k] for k in shuffled), bay.openings, bay.lower, bay.upper)
    second = first_contacts(Physics(), launches, other)
    met = first.part >= 0
    assert np.array_equal(met, second.part >= 0)
    assert [bay.parts[k].name for k in first.part[met]] == [other.parts[k].name for k in second.part[met]]
    assert np.nanmax(np.abs(first.point - second.point)) < 1e-9


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 1000), size=st.integers(1, 97))
def test_the_size_of_a_batch_never_changes_a_result(seed, size):
    bay, launches = garage(), wild_launches(200, seed, backwards=True)
    whole = fly(bay, launches)
    pieces = [fly(bay, launches.take(slice(k, k + size))) for k in range(0, 200, size)]
    assert np.array_equal(whole.part, np.concatenate([p.part for p in pieces]))
    assert np.nanmax(np.abs(whole.point - np.concatenate([p.point for p in pieces], axis=1))) < 1e-9


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 1000), shorter=st.floats(0.02, 0.2))
def test_a_thinner_time_window_never_changes_a_result(seed, shorter):
    bay, launches = garage(), wild_launches(200, seed, backwards=True)
    long = first_contacts(Physics(), launches, bay)
    short = first_contacts(Physics(), launches, bay, longest_arc=shorter)
    assert np.array_equal(long.part, short.part)
    assert np.nanmax(np.abs(long.point - short.point)) < 1e-4  # as a contact is asked for: grazes stretch a micrometre


def mirrored(bay: Bay) -> Bay:
    flip = vector(1, -1, 1)

    def turn(shape):
        if isinstance(shape, RoundTube):
            return RoundTube(shape.start * flip, shape.end * flip, shape.radius)
        return type(shape)(shape.centre * flip, shape.axes * flip, shape.half, shape.corner_radius)

    parts = tuple(part(p.name, turn(p.shape), p.role) for p in bay.parts)
    openings = tuple(type(o)(o.name, o.corners * flip, o.normal * flip, o.owner) for o in bay.openings)
    return Bay(
        parts,
        openings,
        vector(bay.lower[0], -bay.upper[1], bay.lower[2]),
        vector(bay.upper[0], -bay.lower[1], bay.upper[2]),
    )


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 1000))
def test_a_mirrored_bay_meets_mirrored_shots_in_mirrored_places(seed):
    bay, launches = garage(), wild_launches(200, seed, backwards=True)
    here, there = fly(bay, launches), fly(mirrored(bay), launches.mirrored())
    assert np.array_equal(here.part, there.part)
    assert np.nanmax(np.abs(here.point * vector(1, -1, 1)[:, None] - there.point)) < 1e-9


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), x=st.floats(1, 8), y=st.floats(1, 5), z=st.floats(2, 5))
def test_nothing_escapes_a_closed_box(seed, x, y, z):
    lower, upper = (-x, -y, 0.0), (x, y, z)
    bay = Bay(tuple(room(lower, upper)), (), vector(*lower), vector(*upper))
    contacts = fly(bay, wild_launches(300, seed, backwards=True))
    assert (contacts.part >= 0).all()
    assert not contacts.failed.any()


def test_a_flight_that_cannot_be_followed_is_failed_and_met_nothing():
    bay = garage()
    launches = wild_launches(3)
    broken = Launches(launches.start, launches.velocity * np.array([1, np.nan, 1]), launches.spin)
    contacts = fly(bay, broken)
    assert contacts.failed.tolist() == [False, True, False]
    assert contacts.part[1] == -1
    assert contacts.opening[1] == -1


def test_escape_shares_equal_the_solid_angle_of_the_opening():
    """Air and gravity off, directions uniform over the sphere: closed form for a rectangle seen from a point.

    Source: solid angle of a rectangular pyramid, 4 asin(sin(a/2) sin(b/2)) for apex angles a, b (Oosterom & Strackee
    1983, IEEE Trans. Biomed. Eng. BME-30:125 gives the triangle; the rectangle follows). The ball centre must pass
    one radius inside the edges, so the clear opening is smaller by a radius all round.
    """
    lower, upper = vector(-2, -1.5, -1.2), vector(2, 1.5, 1.2)
    closed = room(tuple(lower), tuple(upper), without=("back wall", "slab"))
    parts = (*closed, part("slab", rectangle(lower, vector(4, 0, 0), vector(0, 3, 0)), Role.FLOOR))
    bay = Bay(parts, (), lower, upper)
    n = 200_000
    rng = np.random.default_rng(11)
    aim = rng.normal(size=(3, n))
    aim /= np.linalg.norm(aim, axis=0)
    from flightsim.flight.air import Air

    contacts = fly(
        bay,
        Launches(np.zeros((3, n)), aim * 60.0, np.zeros((3, n))),
        Physics(air=Air(1e-30, 1.8e-5), gravity=0.0),
    )
    out = (contacts.opening >= 0).mean()
    half_y, half_z = 1.5 - R, 1.2 - R
    corner = half_y * half_z / np.sqrt((4 + half_y**2) * (4 + half_z**2))
    share = 4 * np.arcsin(corner) / (4 * np.pi)
    assert out == pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / n))
