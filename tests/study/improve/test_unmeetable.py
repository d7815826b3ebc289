"""A length that is said to be beyond every change is had nowhere; one that may be had is not said to be beyond."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from flightsim.bay.parts import OF_THE_ROOM, PartKind, Role
from flightsim.study.improve.unmeetable import CLOTH_MOVES, _gap, _places, lengths_beyond
from flightsim.study.run.open_bay import open_bay

SCENARIOS = Path(__file__).parents[3] / "scenarios"
GARAGE = SCENARIOS / "single_garage.yaml"


@pytest.fixture(scope="module")
def garage():
    return open_bay(GARAGE)


@pytest.fixture(scope="module")
def near():
    """The garage, in which the tee may be moved a little: fewer places to look at."""
    return open_bay(GARAGE, (within("3.45 m", "3.55 m"),))


@pytest.fixture(scope="module")
def bound(near):
    (found,) = lengths_beyond(near)
    return found


def within(least: str, most: str) -> str:
    """A change by which the tee may be moved between these distances from the end wall, and aside."""
    return f"may_change={{sizes: {{tee.from_end_wall: {{least: {least}, most: {most}}}}}}}"


def room_of(opened, names=None):
    """What no change touches: the room's surfaces and what stands in it."""
    return [
        part
        for part in opened.bay.parts
        if part.role is not Role.FLOOR and part.kind in (*OF_THE_ROOM, PartKind.THING)
        and (names is None or part.label in names)
    ]  # fmt: skip


def test_a_garage_too_narrow_and_too_low_for_a_driver_says_what_leaves_no_place(near, bound):
    assert bound.target == "swing"
    assert bound.most < bound.limit == pytest.approx(0.15)
    assert set(bound.things) <= {part.label for part in room_of(near)}


def test_nowhere_between_the_places_looked_at_is_there_more_than_is_said(near, bound):
    places, _ = _places(near)
    low, high = np.min(places, axis=0), np.max(places, axis=0)
    parts = room_of(near, bound.things)
    for place in np.random.default_rng(7).uniform(low, high, (12, 2)):
        assert _gap(near, "swing", parts, tuple(place)) <= bound.most + 1e-9


def test_a_gap_changes_by_no_more_than_the_tee_is_moved(garage):
    rng = np.random.default_rng(3)
    parts = room_of(garage)
    for _ in range(6):
        one, more = rng.uniform(-0.3, 0.3, (2, 2))
        other = one + 0.1 * more
        gaps = [_gap(garage, "swing", parts, tuple(place)) for place in (one, other)]
        assert abs(gaps[0] - gaps[1]) <= np.hypot(*(other - one)) + 1e-9


def test_the_places_reach_as_far_as_the_tee_may_be_moved_and_the_screen_with_it(garage):
    places, slack = _places(garage)
    along = sorted({x for x, _ in places})
    assert along[0] <= -CLOTH_MOVES + 1e-9
    assert along[-1] >= CLOTH_MOVES - 1e-9
    assert pytest.approx(places[0], abs=0.06) == (0.0, 0.0)
    assert slack >= np.hypot(np.diff(along).max(), 0.0) / 2.0


def test_a_swing_that_has_room_somewhere_is_not_said_to_be_beyond():
    assert lengths_beyond(open_bay(SCENARIOS / "common_bay.yaml")) == ()


def test_a_length_that_is_not_asked_is_not_said_to_be_beyond():
    assert lengths_beyond(open_bay(GARAGE, ("targets.swing=none",))) == ()


def test_a_room_of_2_3_m_is_too_low_for_a_driver_wherever_the_tee_is():
    near = within("3.7 m", "3.8 m")
    (found,) = lengths_beyond(open_bay(SCENARIOS / "common_bay.yaml", ("room.roof.height=2.3m", *LOW, near)))
    assert found.things == ("roof",)
    assert found.most < found.limit


LOW = ("screen.height=2.2m", "canopy=null", "frame=null", "side_nets.left.height=2.2m", "side_nets.right.height=2.2m")
