"""Tables of shots: their weights, and the launches that they become."""

from __future__ import annotations

from math import fsum

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.shots.shot_table import ShotTable, ShotType, counts_of, kinds_of, weights_of

PARTS = st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=40)


def types_of(parts: list[float]) -> tuple[ShotType, ...]:
    total = fsum(parts)
    return tuple(ShotType(f"type {k}", "iron", f"kind {k}", "tee", part / total) for k, part in enumerate(parts))


@settings(deadline=None)
@given(parts=PARTS, more=st.integers(0, 3000))
def test_weights_add_to_1_and_each_type_has_its_share(parts, more):
    types = types_of(parts)
    n = len(types) + more
    weight = weights_of(types, n)
    assert weight.shape == (n,)
    assert fsum(weight) == pytest.approx(1.0, abs=1e-12)
    of = kinds_of(types, np.arange(n))
    for k, kind in enumerate(types):
        assert fsum(weight[of == k]) == pytest.approx(kind.share, rel=1e-9)


@settings(deadline=None)
@given(parts=PARTS, more=st.integers(0, 200))
def test_shots_of_one_type_weigh_the_same(parts, more):
    types = types_of(parts)
    weight = weights_of(types, len(types) + more)
    of = kinds_of(types, np.arange(weight.size))
    for k in range(len(types)):
        assert np.ptp(weight[of == k]) == 0.0


@settings(deadline=None)
@given(parts=PARTS, rounds=st.integers(1, 300))
def test_shots_of_whole_rounds_are_counted_without_being_made(parts, rounds):
    types = types_of(parts)
    made = np.bincount(kinds_of(types, np.arange(2 * len(types) * rounds)), minlength=len(types))
    assert np.array_equal(counts_of(types, rounds), made)


def test_fewer_shots_than_types_are_refused():
    types = types_of([0.5, 0.3, 0.2])
    assert weights_of(types, 3) == pytest.approx([0.5, 0.3, 0.2])
    with pytest.raises(ValueError, match="2 shots cannot cover 3 shot types"):
        weights_of(types, 2)


def table(n: int, along: float = 0.0) -> ShotTable:
    """Shots that differ in every column."""
    k = np.arange(n, dtype=np.float64)
    start = np.stack([k, -k, 0.02 + k])
    return ShotTable(
        np.arange(n) % 3, start, 20.0 + k, 0.1 * k, 0.05 * k, 100.0 - 40.0 * k, 0.02 * k, np.full(n, along)
    )


def test_an_empty_table_says_nothing_until_it_is_filled():
    empty = ShotTable.empty(4)
    assert len(empty) == 4
    for name in ("start", "ball_speed", "elevation", "azimuth", "spin_rate", "spin_tilt"):
        assert np.isnan(getattr(empty, name)).all()
    whole = ShotTable.empty(4)
    whole.ball_speed[:] = 1.0
    assert np.isnan(whole.elevation).all()  # no column is a view of another


@pytest.mark.parametrize("index", [slice(1, 4), np.array([4, 0, 0]), np.array([], dtype=np.intp)])
def test_taken_shots_keep_every_column(index):
    whole = table(6, along=3.0)
    taken = whole.take(index)
    assert len(taken) == len(whole.type[index])
    for name in whole.__dataclass_fields__:
        assert np.array_equal(getattr(taken, name), getattr(whole, name)[..., index])


def test_shots_start_where_they_say_as_fast_as_they_say():
    shots = table(6)
    launches = shots.launches()
    assert np.array_equal(launches.start, shots.start)
    assert np.sqrt((launches.velocity**2).sum(axis=0)) == pytest.approx(shots.ball_speed, rel=1e-14)


def test_plus_azimuth_goes_right_and_backspin_turns_about_the_axis_to_the_right():
    # The axes of the project: y to the left; backspin of a level ball along +x turns about -y, and lifts.
    one = ShotTable(
        np.zeros(1, dtype=np.intp), np.zeros((3, 1)), np.full(1, 30.0), np.zeros(1), np.full(1, 0.2),
        np.full(1, 250.0), np.zeros(1), np.zeros(1),
    )  # fmt: skip
    launches = one.launches()
    assert launches.velocity[:, 0] == pytest.approx([30.0 * np.cos(0.2), -30.0 * np.sin(0.2), 0.0], abs=1e-12)
    assert launches.spin[:, 0] == pytest.approx([-250.0 * np.sin(0.2), -250.0 * np.cos(0.2), 0.0], abs=1e-12)
    lift = np.cross(launches.spin[:, 0], launches.velocity[:, 0])
    assert lift[2] > 0.0
    assert abs(lift[0]) + abs(lift[1]) < 1e-9


def test_spin_about_the_path_is_added_along_the_launch():
    plain, turning = table(6).launches(), table(6, along=12.0).launches()
    direction = plain.velocity / np.sqrt((plain.velocity**2).sum(axis=0))
    assert np.allclose(turning.spin - plain.spin, 12.0 * direction, rtol=0.0, atol=1e-12)
    assert np.array_equal(turning.velocity, plain.velocity)
