"""Nothing escapes a closed room, whatever its roof, doors and windows; and a ball leaves by the open door only."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay
from flightsim.contact.contacts import Contacts
from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.testing import all_directions, bay_of, with_plugins

PLUGINS = with_plugins()
BALLS = 400


@st.composite
def rooms(draw: st.DrawFn, closed: bool) -> tuple[str, np.ndarray]:
    """A scenario's text with a random room, and a random place in it for the ball."""
    length, width = draw(st.floats(3.0, 12.0)), draw(st.floats(2.4, 8.0))
    low = draw(st.floats(2.2, 4.0))
    high = low + draw(st.floats(0.05, 2.5))
    roof = draw(
        st.sampled_from(
            (
                f"kind: flat, height: {low} m",
                f"kind: single_slope, left_height: {low} m, right_height: {high} m",
                f"kind: single_slope, end_height: {high} m, back_height: {low} m",
                f"kind: gable, ridge: along, eaves_height: {low} m, ridge_height: {high} m",
                f"kind: gable, ridge: across, eaves_height: {low} m, ridge_height: {high} m",
            )
        )
    )
    openings = [draw(_openings(wall, span, low, closed)) for wall, span in _spans(length, width)]
    tee = draw(st.floats(0.3, 0.7)) * length, draw(st.floats(0.3, 0.7)) * width
    text = (
        f"name: Random\nunits: metric\n"
        f"room: {{length: {length} m, width: {width} m, roof: {{{roof}}}, openings: [{', '.join(openings)}]}}\n"
        f"tee: {{from_end_wall: {tee[0]} m, from_left_wall: {tee[1]} m}}\n"
    )
    return text, np.array([0.0, 0.0, draw(st.floats(0.1, 2.0))])


def _spans(length: float, width: float) -> list[tuple[str, float]]:
    return [("left", length), ("right", length), ("end", width), ("back", width)]


@st.composite
def _openings(draw: st.DrawFn, wall: str, span: float, height: float, closed: bool) -> str:
    size, tall = draw(st.floats(0.3, 0.9)) * span, draw(st.floats(0.3, 0.9)) * height
    start, sill = draw(st.floats(0.0, 1.0)) * (span - size), draw(st.floats(0.0, 1.0)) * (height - tall)
    place = "from_end_wall" if wall in ("left", "right") else "from_left_wall"
    shut = str(closed).lower()
    return (
        f"{{name: {wall} door, wall: {wall}, {place}: {start:.6f} m, width: {size:.6f} m, height: {tall:.6f} m, "
        f"sill: {sill:.6f} m, closed: {shut}}}"
    )


def contacts_in(bay: Bay, start: np.ndarray, speed: float) -> Contacts:
    velocity = all_directions(BALLS, speed, seed=5)
    # Straight at the corners too, where sheets meet.
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=np.float64)
    aim = (bay.lower + corners * (bay.upper - bay.lower) - start).T
    velocity[:, :8] = speed * aim / np.linalg.norm(aim, axis=0)
    launches = Launches(np.repeat(start[:, None], BALLS, axis=1), velocity, np.zeros((3, BALLS)))
    return first_contacts(Physics(), launches, bay, PLUGINS.touch_tests(bay))


@settings(max_examples=40, deadline=None)
@given(rooms(closed=True), st.sampled_from((3.0, 40.0, 90.0)))
def test_nothing_escapes_a_closed_room(room: tuple[str, np.ndarray], speed: float) -> None:
    text, start = room
    bay, pieces = bay_of(text, PLUGINS)
    assert not pieces.problems
    contacts = contacts_in(bay, start, speed)
    assert not contacts.failed.any()
    assert (contacts.opening == -1).all()
    assert (contacts.part >= 0).all()
    assert (contacts.point > bay.lower[:, None] + 0.02).all()
    assert (contacts.point < bay.upper[:, None] - 0.02).all()


@settings(max_examples=20, deadline=None)
@given(rooms(closed=False))
def test_a_ball_leaves_a_room_with_doors_by_a_door_and_no_other_way(room: tuple[str, np.ndarray]) -> None:
    text, start = room
    bay, _ = bay_of(text, PLUGINS)
    contacts = contacts_in(bay, start, 60.0)
    assert not contacts.failed.any()
    out = contacts.opening >= 0
    assert (contacts.opening[out] < len(bay.openings)).all()
    for k, opening in enumerate(bay.openings):
        through = contacts.point[:, contacts.opening == k]
        distance, _ = opening.shape.distance(through)
        assert (distance < 1e-5).all()


@settings(max_examples=20, deadline=None)
@given(rooms(closed=True))
def test_a_room_is_as_large_as_its_sheets(room: tuple[str, np.ndarray]) -> None:
    bay, _ = bay_of(room[0], PLUGINS)
    bounds = [part.shape.bounds() for part in bay.parts]
    np.testing.assert_allclose(np.min([lower for lower, _ in bounds], axis=0), bay.lower, atol=1e-9)
    np.testing.assert_allclose(np.max([upper for _, upper in bounds], axis=0), bay.upper, atol=1e-9)
