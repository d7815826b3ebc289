"""What must hold of every arc, whatever the launch: symmetry, energy, batches, and what cannot be flown."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.flight.aerodynamics import AERO_MODELS, ConstantCoefficients
from flightsim.flight.air import Air
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics, fly_arcs
from flightsim.flight.launches import Launches, launch
from flightsim.flight.trace import trace

MODELS = st.sampled_from(sorted(AERO_MODELS))
SEEDS = st.integers(0, 10_000)
FLIP = np.array([[1.0], [-1.0], [1.0]])
FEW = settings(max_examples=12, deadline=None)


def wild(seed, n=40):
    """Any direction, 0.3 to 90 m/s, up to 10,000 rpm about any axis, up to 0.4 s: start, velocity, spin, duration."""
    random = np.random.default_rng(seed)
    along = random.normal(size=(3, n))
    velocity = along / np.linalg.norm(along, axis=0) * 10 ** random.uniform(-0.5, 1.95, n)
    spin = random.normal(size=(3, n)) * random.uniform(0.0, 600.0, n)
    return random.normal(size=(3, n)), velocity, spin, random.uniform(0.01, 0.4, n)


def fly(physics, start, velocity, spin, duration, tolerance=DEFAULT_TOLERANCE):
    return fly_arcs(physics, start, velocity, spin, np.zeros(duration.size), duration, tolerance)


def same(arcs, others):
    """Bit for bit."""
    fields = ("start_time", "duration", "path", "spin", "end_velocity", "end_spin", "air_path", "error")
    return all(np.array_equal(getattr(arcs, name), getattr(others, name)) for name in fields)


@FEW
@given(seed=SEEDS, model=MODELS)
def test_the_other_hand_flies_the_mirror_image_to_the_last_bit(seed, model):
    start, velocity, spin, duration = wild(seed)
    physics = Physics(aero=AERO_MODELS[model])
    here = fly(physics, start, velocity, spin, duration)
    other = Launches(start, velocity, spin).mirrored()
    there = fly(physics, other.start, other.velocity, other.spin, duration)
    assert np.array_equal(here.path * FLIP, there.path)
    assert np.array_equal(here.end_spin * -FLIP, there.end_spin)


@FEW
@given(seed=SEEDS, model=MODELS, turn=st.floats(-np.pi, np.pi))
def test_turning_launch_and_wind_about_the_vertical_turns_the_path(seed, model, turn):
    start, velocity, spin, duration = wild(seed)
    c, s = np.cos(turn), np.sin(turn)
    turned = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    wind = np.array([3.0, -2.0, 0.5])
    aero = AERO_MODELS[model]
    here = fly(Physics(aero=aero, wind=tuple(wind)), start, velocity, spin, duration, 1e-9)
    there = fly(
        Physics(aero=aero, wind=tuple(turned @ wind)),
        turned @ start,
        turned @ velocity,
        turned @ spin,
        here.duration,
        1e-9,
    )
    alike = np.flatnonzero(there.duration == here.duration)
    assert alike.size > 0.8 * here.duration.size
    ends = turned @ here.path.sum(axis=0)
    assert np.abs(ends - there.path.sum(axis=0))[:, alike].max() < 1e-8


@FEW
@given(seed=SEEDS, model=MODELS)
def test_in_still_air_energy_never_rises(seed, model):
    start, velocity, spin, duration = wild(seed)
    physics = Physics(aero=AERO_MODELS[model])
    arcs = fly(physics, start, velocity, spin, duration, 1e-11)
    levels = []
    for tau in np.linspace(0.0, 1.0, 21):
        times = np.full(len(arcs), tau)
        kinetic = 0.5 * (arcs.velocity(times) ** 2).sum(axis=0)
        levels.append(kinetic + physics.gravity * arcs.position(times)[2])
    assert (np.diff(levels, axis=0) < 1e-9 * (1.0 + np.abs(levels[0]))).all()


@FEW
@given(seed=SEEDS)
def test_lift_does_no_work(seed):
    start, velocity, spin, duration = wild(seed)
    physics = Physics(aero=ConstantCoefficients(0.0, 0.3))
    arcs = fly(physics, start, velocity, spin, duration, 1e-11)
    before = 0.5 * (velocity**2).sum(axis=0) + physics.gravity * start[2]
    end = arcs.path.sum(axis=0)
    after = 0.5 * (arcs.end_velocity**2).sum(axis=0) + physics.gravity * end[2]
    assert (np.abs(after - before) < 1e-9 * (1.0 + np.abs(before))).all()


@FEW
@given(seed=SEEDS, model=MODELS, share=st.floats(0.1, 0.9))
def test_an_arc_flown_in_two_is_the_same_path(seed, model, share):
    start, velocity, spin, duration = wild(seed)
    physics = Physics(aero=AERO_MODELS[model])
    whole = fly(physics, start, velocity, spin, duration, 1e-9)
    first = fly(physics, start, velocity, spin, whole.duration * share, 1e-9)
    second = fly_arcs(
        physics,
        first.path.sum(axis=0),
        first.end_velocity,
        first.end_spin,
        first.duration,
        whole.duration - first.duration,
        1e-9,
    )
    assert np.array_equal(first.time(np.ones(len(first))), second.start_time)
    for tau in (0.0, 0.3, 1.0):
        times = np.full(len(whole), tau)
        there = (second.time(times) - whole.start_time) / whole.duration
        assert np.abs(second.position(times) - whole.position(there)).max() < 5e-8
        assert np.abs(second.spin_at(times) - whole.spin_at(there)).max() < 1e-5


@FEW
@given(seed=SEEDS, model=MODELS, wind=st.booleans(), size=st.sampled_from([1, 2, 3, 7, 16]))
def test_a_ball_flies_alike_in_any_batch_to_the_last_bit(seed, model, wind, size):
    start, velocity, spin, duration = wild(seed)
    physics = Physics(aero=AERO_MODELS[model], wind=(2.0, 1.0, 0.0) if wind else (0.0, 0.0, 0.0))
    together = fly(physics, start, velocity, spin, duration)
    for first in range(0, duration.size, size):
        few = slice(first, first + size)
        alone = fly(physics, start[:, few], velocity[:, few], spin[:, few], duration[few])
        assert same(alone, together.take(np.arange(duration.size)[few]))


@FEW
@given(seed=SEEDS, model=MODELS)
def test_the_order_of_the_balls_does_not_matter(seed, model):
    start, velocity, spin, duration = wild(seed)
    order = np.random.default_rng(seed).permutation(duration.size)
    physics = Physics(aero=AERO_MODELS[model])
    there = fly(physics, start[:, order], velocity[:, order], spin[:, order], duration[order])
    assert same(fly(physics, start, velocity, spin, duration).take(order), there)


@FEW
@given(seed=SEEDS, model=MODELS, tolerance=st.sampled_from([1e-4, 1e-6, 1e-8]))
def test_a_looser_arc_differs_from_a_tight_one_by_its_tolerance(seed, model, tolerance):
    start, velocity, spin, duration = wild(seed)
    physics = Physics(aero=AERO_MODELS[model])
    loose = fly(physics, start, velocity, spin, duration, tolerance)
    tight = fly(physics, start, velocity, spin, loose.duration, tolerance * 1e-3)
    whole = np.flatnonzero(tight.duration == loose.duration)
    gap = np.abs(loose.path.sum(axis=0) - tight.path.sum(axis=0))[:, whole]
    assert gap.size == 0 or gap.max() < 3.0 * tolerance


def test_the_arc_starts_where_and_how_the_ball_does():
    start, velocity, spin, duration = wild(3)
    arcs = fly(Physics(), start, velocity, spin, duration)
    beginning = np.zeros(len(arcs))
    assert np.array_equal(arcs.position(beginning), start)
    assert arcs.velocity(beginning) == pytest.approx(velocity, rel=1e-14)
    assert np.array_equal(arcs.spin_at(beginning), spin)
    assert arcs.velocity(beginning + 1) == pytest.approx(arcs.end_velocity, rel=1e-12, abs=1e-12)
    assert arcs.spin_at(beginning + 1) == pytest.approx(arcs.end_spin, rel=1e-14)
    assert (arcs.duration <= duration).all()
    assert (arcs.error <= DEFAULT_TOLERANCE).all()


def test_no_balls_fly_nowhere():
    nothing = np.zeros((3, 0))
    arcs = fly(Physics(), nothing, nothing, nothing, np.zeros(0))
    assert len(arcs) == 0
    assert arcs.position(np.zeros(0)).shape == (3, 0)
    assert launch(nothing, 70.0, 0.2, 0.0, 300.0, 0.0).velocity.shape == (3, 0)


def test_a_ball_at_rest_without_gravity_stays():
    still = np.zeros((3, 1))
    arcs = fly(Physics(gravity=0.0), still, still, np.array([[0.0], [300.0], [0.0]]), np.array([0.5]))
    assert np.array_equal(arcs.path.sum(axis=0), still)
    assert arcs.error[0] == 0.0


def test_spin_along_the_path_gives_no_lift():
    along = np.array([[60.0], [0.0], [0.0]])
    arcs = fly(Physics(gravity=0.0), np.zeros((3, 1)), along, along * 10.0, np.array([0.3]))
    plain = fly(Physics(gravity=0.0), np.zeros((3, 1)), along, along * 0.0, np.array([0.3]))
    assert np.array_equal(arcs.path, plain.path)
    assert (arcs.path[:, 1:] == 0.0).all()


def test_only_the_spin_across_the_path_counts():
    velocity, across = np.array([[60.0], [0.0], [0.0]]), np.array([[0.0], [-250.0], [0.0]])
    plain = fly(Physics(gravity=0.0), np.zeros((3, 1)), velocity, across, np.array([0.02]), 1e-12)
    rolled = fly(Physics(gravity=0.0), np.zeros((3, 1)), velocity, across + velocity, np.array([0.02]), 1e-12)
    assert rolled.path[2] == pytest.approx(plain.path[2], rel=1e-12)  # the acceleration at the start


NUMBERS = st.one_of(
    st.floats(-1e7, 1e7),
    st.sampled_from([0.0, np.nan, np.inf, -np.inf, 1e6, -1e6, 1e12, 1e155, -1e200, 1e308, 5e-324]),
)
TRIPLES = st.tuples(NUMBERS, NUMBERS, NUMBERS)


@settings(max_examples=60, deadline=None)
@given(
    start=TRIPLES,
    velocity=TRIPLES,
    spin=TRIPLES,
    duration=st.one_of(st.floats(1e-3, 1.0), st.sampled_from([0.0, -1.0, np.nan, np.inf, 1e9, 1e-300])),
    model=MODELS,
)
def test_what_cannot_be_flown_comes_back_as_nan_and_nothing_warns_or_hangs(start, velocity, spin, duration, model):
    columns = [np.array([triple, (0.0, 0.0, 0.0)]).T for triple in (start, velocity, spin)]
    columns[1][0, 1] = 50.0
    physics = Physics(aero=AERO_MODELS[model])
    arcs = fly(physics, *columns, np.array([duration, 0.1]))
    assert same(arcs.take(np.array([1])), fly(physics, *(c[:, 1:] for c in columns), np.array([0.1])))
    if not np.isnan(arcs.error[0]):
        assert np.isfinite(arcs.path[:, :, 0]).all()
        assert arcs.error[0] <= DEFAULT_TOLERANCE


@pytest.mark.parametrize("bad", [np.nan, np.inf])
@pytest.mark.parametrize("where", ["start", "velocity", "spin", "duration"])
def test_a_ball_that_is_not_a_number_has_no_arc(bad, where):
    given = {
        "start": np.zeros((3, 1)),
        "velocity": np.array([[50.0], [0.0], [5.0]]),
        "spin": np.array([[0.0], [-250.0], [0.0]]),
        "duration": np.array([0.2]),
    }
    given[where] = given[where] + bad
    assert np.isnan(fly(Physics(), **given).error[0])


@pytest.mark.parametrize("tolerance", [0.0, -1.0, np.nan])
def test_a_tolerance_that_cannot_be_met_is_not_met(tolerance):
    start, velocity, spin, duration = wild(1, 4)
    assert np.isnan(fly(Physics(), start, velocity, spin, duration, tolerance).error).all()


def test_thick_air_shortens_arcs_instead_of_failing():
    start, velocity, spin, duration = wild(5)
    arcs = fly(Physics(air=Air(60.0, 1.8e-5)), start, velocity, spin, duration)
    assert np.isfinite(arcs.error).all()
    assert (arcs.duration < duration).any()


def test_a_traced_path_is_the_flown_one():
    start, velocity, spin, duration = wild(9, 6)
    launches = Launches(start, velocity, spin)
    points = trace(Physics(), launches, duration * 5, points=11)
    assert points.shape == (6, 11, 3)
    assert np.array_equal(points[:, 0], start.T)
    arcs = fly(Physics(), start, velocity, spin, duration * 0.5, 1e-10)
    whole = arcs.duration == duration * 0.5
    assert np.abs(points[:, 1] - arcs.path.sum(axis=0).T)[whole].max() < 1e-4
