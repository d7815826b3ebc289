"""One ball at a time gives what the batches give, ball by ball, and the same to the last digit however it is asked."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from bays import around, fly, garage, one_part, part, wild_launches
from engine_cases import SCENARIOS, demo, random_case
from engine_parity import compare_engines
from random_bays import random_bay, random_launches

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import RoundTube, rectangle
from flightsim.contact.follow import follow as follow_batch
from flightsim.contact.log import ContactLog
from flightsim.engine.aero import UnknownAeroError
from flightsim.engine.bay_arrays import NotDataError
from flightsim.engine.play import BALLS, first_contacts, follow
from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches

FIRST = 2.0e-5  # m: what a builder can tell
GARAGE = next(path for path in SCENARIOS if path.stem == "single_garage")


def alike(a, b) -> bool:
    return all(np.array_equal(getattr(a, f.name), getattr(b, f.name), equal_nan=True) for f in fields(a))


@pytest.mark.parametrize("aero", sorted(AERO_MODELS))
@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (-3.0, 1.0, 0.5)])
def test_first_contacts_are_those_of_the_batches(aero, wind):
    physics = Physics(aero=AERO_MODELS[aero], wind=wind)
    bay, launches = garage(), wild_launches(3000, backwards=True)
    old, new = fly(bay, launches, physics), first_contacts(physics, launches, bay)
    for name in ("part", "opening", "failed"):
        assert np.array_equal(getattr(old, name), getattr(new, name)), name
    assert np.nanmax(np.abs(old.point - new.point)) < FIRST
    assert np.nanmax(np.abs(old.velocity - new.velocity)) < 1e-4
    assert np.nanmax(np.abs(old.spin - new.spin)) < 1e-4
    assert np.nanmax(np.abs(old.time - new.time)) < 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_first_contacts_with_things_of_every_shape_at_any_angle_are_those_of_the_batches(seed):
    rng = np.random.default_rng([seed, 77])
    bay = random_bay(rng)
    launches = random_launches(rng, bay, 800)
    old, new = fly(bay, launches), first_contacts(Physics(), launches, bay)
    same = (old.part == new.part) & (old.opening == new.opening) & (old.failed == new.failed)
    assert same.mean() > 0.997  # grazes may go either way
    assert np.nanmax(np.abs(old.point - new.point)[:, same]) < FIRST


@pytest.mark.parametrize("case", [demo(GARAGE), random_case(4)], ids=lambda case: case.name)
def test_balls_followed_to_their_ends_are_in_parity_with_the_batches(case):
    parity = compare_engines(follow_batch, follow, case, 100)
    assert parity.holds, parity.table()


@pytest.mark.parametrize("case", [demo(GARAGE), random_case(5)], ids=lambda case: case.name)
def test_what_is_told_beside_the_flags_is_that_of_the_batches(case):
    """Who left at what speed, passed behind the tee, and hit each zone, after which part."""
    launches, own = case.draw(0, 200)
    old, new = (engine(case.physics, launches, case.around, own)[1] for engine in (follow_batch, follow))
    alike = ~np.isnan(old.behind_tee) == ~np.isnan(new.behind_tee)
    alike &= (old.left == new.left) & (np.isnan(old.at_zone) == np.isnan(new.at_zone)).all(axis=0)
    alike &= (old.zone_from == new.zone_from).all(axis=0) & (old.touched == new.touched).all(axis=0)
    assert alike.mean() > 0.99  # a hair may turn a ball
    assert np.nanmax(np.abs(old.behind_tee - new.behind_tee)[alike], initial=0.0) < 0.25
    assert (~np.isnan(new.behind_tee)).sum() > 20


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


@pytest.mark.slow
@pytest.mark.timeout(1800)
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_the_demos_are_in_parity_with_the_batches(path):
    parity = compare_engines(follow_batch, follow, demo(path), 20_000)
    assert parity.holds, parity.table()


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
    case, launches, own, (_, fates) = played
    log, old = ContactLog(), ContactLog()
    follow(case.physics, launches, case.around, own, log=log)
    follow_batch(case.physics, launches, case.around, own, log=old)
    mine, batch = log.sorted(), old.sorted()
    assert np.array_equal(np.bincount(mine.shot, minlength=600), fates.contacts)
    assert all(np.array_equal(mine.number[mine.of(k)], np.arange(mine.of(k).size)) for k in range(600))
    assert np.array_equal(mine.part, batch.part)
    for name in ("arriving", "normal", "spin"):
        early = mine.number < 2
        assert np.allclose(getattr(mine, name)[:, early], getattr(batch, name)[:, early], atol=2e-2), name


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


def test_what_is_a_python_function_is_refused_by_name():
    bay, launches = garage(), wild_launches(2)
    with pytest.raises(UnknownAeroError, match="drag and lift of 'my_drag'"):
        first_contacts(Physics(aero=my_drag), launches, bay)
    laws = {"screen": lambda hits: None}
    with pytest.raises(NotDataError, match="the law of part 'screen'"):
        follow(Physics(), launches, around(bay, laws), np.ones((0, 2), dtype=bool))
    with pytest.raises(NotDataError, match="Blob"):
        first_contacts(Physics(), launches, one_part(Blob()))


def my_drag(S, Re):
    return S, S


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
from flightsim.engine.play import follow
from flightsim.flight.integrator import Physics
with np.errstate(all="ignore"):
    first, fates = follow(Physics(), wild_launches(40), around(garage()), np.ones((0, 40), dtype=bool))
np.savez(sys.argv[2], point=first.point, part=first.part, worst=fates.worst, contacts=fates.contacts, end=fates.point)
"""


@pytest.mark.timeout(300)
def test_the_engine_does_the_same_uncompiled(tmp_path):
    """Python's own arithmetic rounds powers otherwise, so the same to a hair."""
    support, told = str(Path(__file__).parents[1] / "support"), tmp_path / "told.npz"
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    subprocess.run([sys.executable, "-c", UNCOMPILED, support, str(told)], check=True, env=environment)
    first, fates = follow(Physics(), wild_launches(40), around(garage()), np.ones((0, 40), dtype=bool))
    with np.load(told) as found:
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
    old, new = fly(bay, launches), first_contacts(Physics(), launches, bay)
    assert np.array_equal(old.part, new.part)
    assert len(np.unique(new.part)) > 70
