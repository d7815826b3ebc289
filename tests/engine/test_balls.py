"""Balls fare as the referee says, and the same to the last digit however they are asked for."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
import referee
from bays import around, garage, one_part, part, wild_launches
from engine_cases import demo
from shipped import FOLDER

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import Capsule, RoundTube, rectangle
from flightsim.bay.triangles import TriangleMesh
from flightsim.contact.log import ContactLog
from flightsim.engine.aero_table import AeroTableError
from flightsim.engine.bay_arrays import NotDataError
from flightsim.engine.follow import BALLS, first_contacts, follow
from flightsim.flight.aerodynamics import AERO_MODELS, ferguson2022
from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches

FIRST = 2.0e-5  # m: what a builder can tell
GARAGE = FOLDER / "single_garage.yaml"


def alike(a, b) -> bool:
    return all(np.array_equal(getattr(a, f.name), getattr(b, f.name), equal_nan=True) for f in fields(a))


@pytest.mark.parametrize("aero", sorted(AERO_MODELS))
@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (-3.0, 1.0, 0.5)])
def test_first_contacts_are_those_of_the_referee(aero, wind):
    """Outside reference: scipy's DOP853 with its events, tests/support/referee.py."""
    physics = Physics(aero=AERO_MODELS[aero], wind=wind)
    bay, launches = garage(), wild_launches(5, backwards=True)
    old = referee.follow(physics, launches, around(bay), np.ones((0, 5), dtype=bool))[0]
    new = first_contacts(physics, launches, bay)
    for name in ("part", "opening", "failed"):
        assert np.array_equal(getattr(old, name), getattr(new, name)), name
    assert np.nanmax(np.abs(old.point - new.point)) < FIRST
    assert np.nanmax(np.abs(old.velocity - new.velocity)) < 1e-3
    assert np.nanmax(np.abs(old.spin - new.spin)) < 1e-3


def test_each_of_many_guards_that_a_ball_touched_is_known():
    nets = [
        part(f"net {k:03d}", rectangle(np.array([2.0, 0.1 * k, 0]), np.array([0, 0.1, 0]), np.array([0, 0, 5.0])),
             Role.GUARD, "cloth")
        for k in range(130)
    ]  # fmt: skip
    made = Bay(tuple(nets), (), np.array([-6.0, -1, 0]), np.array([6.0, 14, 5]))
    start = np.array([[0.0] * 130, 0.1 * np.arange(130) + 0.05, [1.0] * 130])
    launches = Launches(start, np.array([[10.0] * 130, [0.0] * 130, [2.0] * 130]), np.zeros((3, 130)))
    fates = follow(Physics(), launches, around(made), np.ones((0, 130), dtype=bool))[1]
    known = [sum(int(word) << 64 * k for k, word in enumerate(words)).bit_length() - 1 for words in fates.touched.T]
    assert known == list(range(130))
    assert fates.kept.all()


@pytest.fixture(scope="module")
def played():
    """A demo's balls, and what became of them."""
    case = demo(GARAGE)
    launches, own = case.draw(0, 600)
    return case, launches, own, follow(case.physics, launches, case.around, own)


def test_the_order_of_the_balls_changes_no_digit(played):
    case, launches, own, (first, fates) = played
    order = np.random.default_rng(1).permutation(len(launches))
    back = np.argsort(order)
    again = follow(case.physics, launches.take(order), case.around, own[:, order])
    for whole, shuffled in zip((first, fates), again, strict=True):
        for column in fields(whole):
            a, b = getattr(whole, column.name), getattr(shuffled, column.name)[..., back]
            assert np.array_equal(a, b, equal_nan=True), column.name


def test_a_ball_alone_does_what_it_does_among_others(played):
    case, launches, own, (first, fates) = played
    for k in (0, 17, 599):
        one = np.array([k])
        alone, fate = follow(case.physics, launches.take(one), case.around, own[:, one])
        assert np.array_equal(alone.point[:, 0], first.point[:, k], equal_nan=True)
        assert np.array_equal(fate.worst[:, 0], fates.worst[:, k], equal_nan=True)
        assert np.array_equal(fate.point[:, 0], fates.point[:, k])


def test_more_balls_than_one_call_takes_are_all_played():
    bay, launches = garage(), wild_launches(BALLS + 40)
    whole = first_contacts(Physics(), launches, bay)
    rest = first_contacts(Physics(), launches.take(slice(BALLS, None)), bay)
    for column in fields(whole):
        assert np.array_equal(getattr(whole, column.name)[..., BALLS:], getattr(rest, column.name), equal_nan=True)


def test_first_contacts_are_where_balls_that_are_followed_touch_first(played):
    case, launches, _, (first, _) = played
    assert alike(first, first_contacts(case.physics, launches, case.around.bay))


def test_the_log_holds_every_touch_in_order(played):
    case, launches, own, (first, fates) = played
    log = ContactLog()
    follow(case.physics, launches, case.around, own, log=log)
    touches = log.sorted()
    assert np.array_equal(np.bincount(touches.shot, minlength=600), fates.contacts)
    assert all(np.array_equal(touches.number[touches.of(k)], np.arange(touches.of(k).size)) for k in range(600))
    firsts = touches.number == 0
    assert np.array_equal(touches.part[firsts], first.part[touches.shot[firsts]])
    assert np.abs(touches.point[:, firsts] - first.point[:, touches.shot[firsts]]).max() < 1e-6


def test_balls_that_start_outside_or_nowhere_or_in_something_have_failed():
    bay = one_part(RoundTube(np.array([1.0, 0, 0]), np.array([2.0, 0, 0]), 0.2))
    start = np.array([[11.0, np.nan, 1.5], [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]])
    launches = Launches(start, np.array([[20.0] * 3, [0.0] * 3, [1.0] * 3]), np.zeros((3, 3)))
    first, fates = follow(Physics(), launches, around(bay), np.ones((0, 3), dtype=bool))
    assert first.failed.all()
    assert (first.part == -1).all()
    assert fates.escaped.all()


def test_a_ball_that_cannot_be_flown_has_failed():
    launches = Launches(np.zeros((3, 2)), np.array([[1e200, 20.0], [0, 0], [0, 0]]), np.array([[0, np.inf]] * 3))
    assert first_contacts(
        Physics(air=Air(1.2, 1.8e-5)), launches, one_part(RoundTube(*np.eye(3)[:2], 0.1))
    ).failed.all()


def test_a_law_or_shape_that_is_a_function_never_reaches_the_engine():
    """The border makes data of them; whoever goes past it is told."""
    bay, launches = garage(), wild_launches(2)
    bare = replace(around(bay), laws=(lambda hits: None,) * len(bay.parts))
    with pytest.raises(NotDataError, match=r"the law of part '.*' is a function"):
        follow(Physics(), launches, bare, np.ones((0, 2), dtype=bool))
    with pytest.raises(NotDataError, match="Blob"):
        first_contacts(Physics(), launches, one_part(Blob()))


class Blob:
    convex = True

    def bounds(self):
        return np.zeros(3), np.ones(3)

    def distance(self, points):
        return points[0], points

    def outlines(self):
        return []


UNCOMPILED = """
import sys
import numpy as np
sys.path.insert(0, sys.argv[1])
from bays import around, garage, wild_launches
from flightsim.engine.follow import follow
from flightsim.flight.integrator import Physics
with np.errstate(all="ignore"):
    first, fates = follow(Physics(), wild_launches(40), around(garage()), np.ones((0, 40), dtype=bool))
np.savez(sys.argv[2], point=first.point, part=first.part, worst=fates.worst, contacts=fates.contacts, end=fates.point)
"""


@pytest.mark.timeout(300)
def test_the_engine_does_the_same_uncompiled(tmp_path):
    """Python's own arithmetic rounds powers otherwise, so the same to a hair."""
    support, answer_file = str(Path(__file__).parents[1] / "support"), tmp_path / "told.npz"
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    subprocess.run([sys.executable, "-c", UNCOMPILED, support, str(answer_file)], check=True, env=environment)
    first, fates = follow(Physics(), wild_launches(40), around(garage()), np.ones((0, 40), dtype=bool))
    with np.load(answer_file) as found:
        assert np.array_equal(found["part"], first.part)
        assert np.allclose(found["point"], first.point, atol=1e-9, equal_nan=True)
        assert np.array_equal(found["contacts"], fates.contacts)
        assert np.allclose(found["worst"], fates.worst, atol=1e-3, equal_nan=True)
        assert np.allclose(found["end"], fates.point, atol=1e-3, equal_nan=True)


def test_a_bay_of_more_parts_than_a_word_has_bits_is_searched_whole():
    rng = np.random.default_rng(3)
    up = np.array([0.0, 0.0, 0.3])
    tubes = [part(f"tube {k:03}", RoundTube(p, p + up, 0.02)) for k, p in enumerate(rng.uniform(-2, 2, (150, 3)))]
    bay = one_part(RoundTube(np.array([5.0, 0, 0]), np.array([5.0, 0, 1]), 0.1))
    bay = type(bay)((*tubes, *bay.parts), (), bay.lower, bay.upper)
    launches = wild_launches(3000, backwards=True)
    free = np.min([p.shape.distance(launches.start)[0] for p in bay.parts], axis=0) > 0.03
    launches = launches.take(np.flatnonzero(free))
    turned = bay.parts[::-1]  # so that other parts share a word
    old, new = (first_contacts(Physics(), launches, replace(bay, parts=parts)) for parts in (turned, bay.parts))
    assert np.array_equal(np.where(old.part >= 0, len(turned) - 1 - old.part, old.part), new.part)
    assert len(np.unique(new.part)) > 70


@pytest.mark.parametrize("shape", [Capsule(np.array([1.0, -0.4, -0.2]), np.array([1.4, 0.5, 0.3]), 0.15), "mesh"])
def test_capsules_and_triangles_are_met_where_numpy_says_their_surface_is(shape):
    """Reference: the shapes' own distances, another code; a ball touches where its centre is a radius from them."""
    solid = tetrahedron() if shape == "mesh" else shape
    bay, launches = one_part(solid), wild_launches(3000, seed=5, backwards=True)
    free = solid.distance(launches.start)[0] > 0.03
    launches = launches.take(np.flatnonzero(free))
    met = first_contacts(Physics(), launches, bay)
    hit = np.flatnonzero(met.part == 0)
    away, normal = solid.distance(met.point[:, hit])
    assert hit.size > 40
    assert not met.failed.any()
    assert np.abs(away - Physics().ball.radius).max() < 2e-5
    assert np.abs(normal - met.normal[:, hit]).max() < 1e-3


def tetrahedron() -> TriangleMesh:
    corners = np.array([[0.5, -1.0, -0.6], [2.5, -0.8, -0.5], [1.0, 1.2, -0.4], [1.2, 0.0, 1.0]])
    mesh = TriangleMesh(corners, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))
    assert mesh.closed
    assert mesh.distance(corners.mean(axis=0)[:, None])[0][0] < 0.0
    return mesh


def test_drag_and_lift_of_ones_own_fly_as_the_compiled_ones_to_what_their_table_misses():
    """The same model as a function that nobody knows: .1 mm at the first contact, some 4 m away."""
    bay, launches = garage(), wild_launches(500)
    ours, own = (first_contacts(Physics(aero=aero), launches, bay) for aero in (ferguson2022, unknown_drag))
    assert np.array_equal(ours.part, own.part)
    assert np.nanmax(np.abs(ours.point - own.point)) < 5e-4


def unknown_drag(S, Re):
    return ferguson2022(S, Re)


def test_drag_that_jumps_is_no_table_and_is_refused_by_name():
    with pytest.raises(AeroTableError, match=r"'jumping' turn too sharply for a table: at Re"):
        first_contacts(Physics(aero=jumping), wild_launches(2), garage())


def jumping(S, Re):
    return np.where(Re > 1.01e5, 0.2, 0.5), 0.1 * S
