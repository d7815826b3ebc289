"""The search for first contacts against what is known otherwise: a scipy loop, closed answers, gaps to a micrometre."""

from __future__ import annotations

import numpy as np
import pytest
from bays import one_part, part, vector
from hypothesis import given, settings
from hypothesis import strategies as st
from random_bays import R, random_bay, random_launches, turned
from scipy_loop import Facts, Surfaces, first_contact

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import Box, ConvexPolygon, RoundTube, block, rectangle
from flightsim.contact.contacts import Contacts
from flightsim.engine.follow import first_contacts
from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches

EMPTY = Physics(air=Air(1e-30, 1.8e-5), gravity=0.0)
AGREED = 1e-4  # m: asked for; the worst of 17,000 random contacts was 2e-5, a graze


def flown(bay: Bay, launches: Launches, physics: Physics = EMPTY, longest_arc: float = 0.35) -> Contacts:
    return first_contacts(physics, launches, bay, (), longest_arc=longest_arc)


def agrees_with_the_loop(seed: int, shots: int, longest_arc: float) -> int:
    """Fly a random bay both ways; the number of contacts compared."""
    rng = np.random.default_rng(seed)
    bay = random_bay(rng)
    launches, physics = random_launches(rng, bay, shots), Physics()
    contacts = flown(bay, launches, physics, longest_arc)
    assert not contacts.failed.any()
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    surfaces, met = Surfaces(bay), 0
    for k in range(len(launches)):
        start, velocity, spin = launches.start[:, k], launches.velocity[:, k], launches.spin[:, k]
        other = first_contact(facts, bay, surfaces, start, velocity, spin, 1e-10, openings=False)
        if contacts.part[k] < 0:  # it left the box: the loop may have met something later, outside
            assert other is None or other[1] > contacts.time[k], (seed, k)
            continue
        assert other is not None, (seed, k)
        assert bay.parts[contacts.part[k]].name == other[0], (seed, k)
        assert contacts.point[:, k] == pytest.approx(other[2], abs=AGREED), (seed, k)
        met += 1
    return met


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 100_000), longest_arc=st.sampled_from([0.35, 0.02]))
def test_any_shot_in_any_bay_meets_what_a_scipy_loop_says(seed: int, longest_arc: float) -> None:
    """Outside reference: scipy DOP853, rtol 1e-10, one shot at a time, with distances written again."""
    agrees_with_the_loop(seed, 10, longest_arc)


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize("longest_arc", [0.35, 0.013])
def test_thousands_of_shots_in_random_bays_meet_what_a_scipy_loop_says(longest_arc: float) -> None:
    assert sum(agrees_with_the_loop(seed, 25, longest_arc) for seed in range(150)) > 450


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 100_000),
    over=st.one_of(st.floats(2e-6, 1e-4), st.floats(1e-4, 0.02)),
    kinds=st.tuples(*[st.sampled_from(["box", "sheet", "polygon", "tube"])] * 2),
    fits=st.booleans(),
)
def test_a_ball_passes_a_gap_that_it_fits_by_a_hair_and_no_other_however_it_lies(
    seed: int, over: float, kinds: tuple[str, str], fits: bool
) -> None:
    """Two things with straight edges, a ball's width apart plus or minus over, turned together at random."""
    rng = np.random.default_rng(seed)
    turn, gap = turned(rng), R + (over / 2 if fits else -over / 2)
    parts = tuple(
        part(f"leaf {side}", _leaf(kind, turn, side * gap, side)) for kind, side in zip(kinds, (-1, 1), strict=True)
    )
    bay = Bay(parts, (), np.full(3, -3.0), np.full(3, 3.0))
    aim = turn.T @ vector(1, 0, 0)
    contacts = flown(bay, Launches(-2.0 * aim[:, None], 60.0 * aim[:, None], np.zeros((3, 1))))
    assert bool(contacts.opening[0] == 0) is fits
    assert bool(contacts.part[0] >= 0) is not fits


def _leaf(kind: str, turn: np.ndarray, edge: float, side: int) -> Box | ConvexPolygon | RoundTube:
    """A thing at x = 0 whose straight edge, along z, lies at y = edge, its body on the outer side; turned."""
    far = edge + side * 0.5
    if kind == "tube":
        middle = edge + side * 0.05
        return RoundTube(turn.T @ vector(0, middle, -1), turn.T @ vector(0, middle, 1), 0.05)
    if kind == "box":
        half = vector(0.02, 0.25, 1)
        return Box(turn.T @ vector(0, (edge + far) / 2, 0), turn, half)
    if kind == "sheet":
        return Box(turn.T @ vector(0, (edge + far) / 2, 0), turn, vector(0, 0.25, 1))
    corners = np.array([[0, edge, -1], [0, edge, 1], [0, far, 0.8], [0, far, -0.8]])
    return ConvexPolygon(corners @ turn)


@settings(max_examples=40, deadline=None)
@given(share=st.floats(-1.2, 1.2), seed=st.integers(0, 1000), kind=st.sampled_from(["box", "sheet", "tube", "polygon"]))
def test_a_graze_is_a_contact_exactly_where_ball_and_edge_overlap(share: float, seed: int, kind: str) -> None:
    """A straight flight past an edge, off by share of a radius: met for less than one, passed for more."""
    turn = turned(np.random.default_rng(seed))
    off = share * R
    shape = _leaf(kind, turn, off, 1)
    aim = turn.T @ vector(1, 0, 0)
    contacts = flown(one_part(shape, 3.0), Launches(-2.0 * aim[:, None], 60.0 * aim[:, None], np.zeros((3, 1))))
    if abs(off - R) < 1e-6:
        return  # within a micrometre of a graze either answer is right
    assert bool(contacts.part[0] == 0) is (off < R)


@pytest.mark.parametrize("arcs", [1, 2, 3, 5, 9, 17, 40])
@pytest.mark.parametrize("shift", [-1e-15, 0.0, 1e-15, 1e-12, 1e-9])
def test_a_contact_where_two_arcs_join_is_found_once_and_never_lost(arcs: int, shift: float) -> None:
    """Thin boards met exactly at the end of an arc, at the start of the next, and a hair beside it."""
    time = (2.0 - R) / 50.0
    for shape in (
        block(vector(2, -1, -1), vector(2.003, 1, 1)),
        rectangle(vector(2, -1, -1), vector(0, 2, 0), vector(0, 0, 2)),
    ):
        bay = one_part(shape)
        contacts = flown(
            bay, Launches(np.zeros((3, 1)), vector(50, 0, 0)[:, None], np.zeros((3, 1))), EMPTY, time / arcs + shift
        )
        assert contacts.part[0] == 0
        assert contacts.time[0] == pytest.approx(time, abs=1e-9)


def test_a_lob_that_comes_down_on_a_thick_canopy_meets_its_top() -> None:
    """Closed answer without air: up and over the front edge at x = 1, down onto the board's top at z = 2.05."""
    board = block(vector(1, -1, 2.0), vector(3, 1, 2.05))
    bay = Bay((part("canopy", board, Role.GUARD),), (), np.full(3, -5.0), np.full(3, 5.0))
    g, rise = 9.80665, np.linspace(7.5, 9.0, 40)
    launches = Launches(np.zeros((3, 40)), np.stack([np.full(40, 1.5), np.zeros(40), rise]), np.zeros((3, 40)))
    contacts = flown(bay, launches, Physics(air=Air(1e-30, 1.8e-5)))
    down = (rise + np.sqrt(rise**2 - 2 * g * (2.05 + R))) / g  # on its way down at the height of the top plus a radius
    onto = (1.5 * down > 1.0) & (1.5 * down < 3.0)
    assert onto.sum() > 30
    assert (contacts.part[onto] == 0).all()
    assert contacts.point[2, onto] == pytest.approx(2.05 + R, abs=1e-6)
    assert contacts.time[onto] == pytest.approx(down[onto], abs=1e-7)
    assert contacts.normal[:, onto] == pytest.approx(np.repeat(vector(0, 0, 1)[:, None], onto.sum(), axis=1), abs=1e-9)


def test_a_ball_straight_up_meets_the_roof_or_comes_down_on_the_floor() -> None:
    """Closed answer without air: it reaches v^2/2g; below the roof it lands where it started, after 2 v/g."""
    floor = part("floor", rectangle(vector(-1, -1, 0), vector(2, 0, 0), vector(0, 2, 0)), Role.FLOOR)
    roof = part("roof", rectangle(vector(-1, -1, 3), vector(2, 0, 0), vector(0, 2, 0)))
    bay = Bay((floor, roof), (), vector(-1, -1, 0), vector(1, 1, 3))
    speed = np.linspace(1.0, 12.0, 45)
    start = np.repeat(vector(0, 0, R)[:, None], 45, axis=1)
    launches = Launches(start, np.stack([0 * speed, 0 * speed, speed]), np.zeros((3, 45)))
    contacts = flown(bay, launches, Physics(air=Air(1e-30, 1.8e-5)))
    reaches = R + speed**2 / (2 * 9.80665) > 3.0 - R
    assert (contacts.part[reaches] == 1).all()
    assert (contacts.part[~reaches] == 0).all()
    assert contacts.time[~reaches] == pytest.approx(2 * speed[~reaches] / 9.80665, abs=1e-6)


def test_a_ball_that_rolls_without_gravity_meets_what_it_rolls_against_and_with_gravity_the_floor() -> None:
    floor = part("floor", rectangle(vector(-3, -3, 0), vector(6, 0, 0), vector(0, 6, 0)), Role.FLOOR)
    wall = part("wall", rectangle(vector(2, -3, 0), vector(0, 6, 0), vector(0, 0, 3)))
    bay = Bay((floor, wall), (), vector(-3, -3, 0), vector(3, 3, 3))
    roll = Launches(vector(0, 0, R)[:, None], vector(10, 0, 0)[:, None], np.zeros((3, 1)))
    assert flown(bay, roll).part[0] == 1
    assert flown(bay, roll, Physics()).part[0] == 0


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_energy_never_rises_and_no_contact_lies_before_the_start_or_inside_a_part(seed: int) -> None:
    rng = np.random.default_rng(seed)
    bay = random_bay(rng)
    launches, physics = random_launches(rng, bay, 120), Physics()
    contacts = flown(bay, launches, physics)
    met = np.flatnonzero(contacts.part >= 0)
    before = (launches.velocity[:, met] ** 2).sum(axis=0) / 2 + 9.80665 * launches.start[2, met]
    after = (contacts.velocity[:, met] ** 2).sum(axis=0) / 2 + 9.80665 * contacts.point[2, met]
    assert (after <= before * (1 + 1e-9) + 1e-9).all()
    assert (contacts.time[met] >= 0.0).all()
    distance = np.array([p.shape.distance(contacts.point[:, met])[0] for p in bay.parts])
    own = distance[contacts.part[met], np.arange(met.size)]
    assert np.abs(own - R).max(initial=0.0) < 1.1e-5  # a graze counts within 1e-5
    assert (distance >= R - 1e-6).all()
    assert ((contacts.velocity[:, met] * contacts.normal[:, met]).sum(axis=0) < 1e-6).all()
