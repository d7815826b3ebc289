"""Shares of uniform directions against closed-form solid angles, in bays built from scenario files.

Air and gravity are off and the ball is a speck of 10 micrometres, so that a share is the solid angle of what is seen
from the tee. Source of the closed form: the solid angle of a triangle, Oosterom & Strackee 1983, IEEE Trans. Biomed.
Eng. BME-30:125; a flat outline is a fan of triangles.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay, Role
from flightsim.contact.contacts import Contacts
from flightsim.contact.facings import shipped_facings
from flightsim.contact.fates import Flag
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.engine.follow import first_contacts, follow
from flightsim.flight.air import Air
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.testing import all_directions, bay_of, with_plugins

PLUGINS = with_plugins()
SPECK = Physics(replace(LEGAL_BALL, diameter=1e-5), Air(1e-30, 1.8e-5), gravity=0.0)
EYE = np.array([0.0, 0.0, 1.1])
N = 60_000
SIGMAS = 4.5

ROOFS = (
    "{kind: flat, height: 2.7 m}",
    "{kind: single_slope, left_height: 2.3 m, right_height: 3.3 m}",
    "{kind: single_slope, end_height: 3.3 m, back_height: 2.4 m}",
    "{kind: gable, ridge: along, eaves_height: 2.4 m, ridge_height: 3.5 m}",
    "{kind: gable, ridge: across, eaves_height: 2.4 m, ridge_height: 3.5 m}",
)
OPENINGS = """\
  openings:
    - {name: door, wall: right, from_end_wall: 4.1 m, width: 900 mm, height: 2.1 m}
    - {name: hatch, wall: left, from_end_wall: 3.2 m, width: 1.3 m, height: 700 mm, sill: 1 m}
    - {name: garage door, wall: back, from_left_wall: 500 mm, width: 2.2 m, height: 2 m}
    - {name: window, wall: right, from_end_wall: 5 m, width: 700 mm, height: 600 mm, sill: 1.4 m, closed: true}
"""
GUARDS = """\
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, centred_on: tee}
canopy: {depth: 1 m, height: 2.2 m, slope: 5 deg}
side_nets:
  left: {depth: 1.5 m, height: 2.2 m}
  right: {depth: 1.2 m, height: 2.2 m, angle: 4 deg}
"""


def bay(roof: str, openings: str = "", rest: str = "") -> Bay:
    text = (
        f"name: Test\nunits: metric\nroom:\n  length: 6 m\n  width: 3.4 m\n  roof: {roof}\n{openings}"
        f"tee: {{from_end_wall: 3.6 m, from_left_wall: 1.7 m}}\n{rest}"
    )
    made, pieces = bay_of(text, PLUGINS)
    assert not [problem for problem in pieces.problems if problem.severity == "error"]
    return made


def flown(bay: Bay, velocity: np.ndarray, physics: Physics = SPECK, start: np.ndarray = EYE) -> Contacts:
    n = velocity.shape[1]
    launches = Launches(np.repeat(start[:, None], n, axis=1), velocity, np.zeros((3, n)))
    return first_contacts(physics, launches, bay, PLUGINS.touch_tests(bay))


def surroundings(bay: Bay) -> Surroundings:
    return surround(bay, PLUGINS.touch_tests(bay), shipped_facings(), {})


def solid_angle(corners: np.ndarray) -> float:
    """Share of all directions in which a flat outline is seen from the eye."""
    seen = corners - EYE
    total = 0.0
    a = seen[0]
    for b, c in pairwise(seen[1:]):
        la, lb, lc = (np.linalg.norm(v) for v in (a, b, c))
        over = a @ np.cross(b, c)
        under = la * lb * lc + (a @ b) * lc + (a @ c) * lb + (b @ c) * la
        total += 2.0 * np.arctan2(over, under)
    return abs(total) / (4.0 * np.pi)


def agrees(share: float, expected: float) -> bool:
    return bool(abs(share - expected) <= SIGMAS * np.sqrt(expected * (1 - expected) / N) + 2e-5)


@pytest.fixture(scope="module")
def directions() -> np.ndarray:
    return all_directions(N, 50.0, seed=21)


@pytest.mark.parametrize("roof", ROOFS)
def test_every_wall_roof_and_opening_gets_its_solid_angle_and_all_of_them_the_whole(roof: str, directions) -> None:
    room = bay(roof, OPENINGS)
    contacts = flown(room, directions)
    assert not contacts.failed.any()
    whole = 0.0
    for k, part in enumerate(room.parts):
        expected = solid_angle(part.shape.outlines()[0])
        whole += expected
        assert agrees((contacts.part == k).mean(), expected), part.name
    for k, opening in enumerate(room.openings):
        expected = solid_angle(opening.corners)
        whole += expected
        assert agrees((contacts.opening == k).mean(), expected), opening.name
    assert (contacts.opening == len(room.openings)).sum() == 0
    assert whole == pytest.approx(1.0, abs=1e-9)


def test_screen_canopy_and_nets_get_theirs_and_escapes_are_what_is_left(directions) -> None:
    """From the tee no guard hides another: they hang edge to edge. Openings behind them are not hidden either."""
    made = bay(ROOFS[0], OPENINGS, GUARDS)
    contacts = flown(made, directions)
    names = [part.name for part in made.parts]
    guards = ("screen", "canopy", "left side net", "right side net")
    expected = {name: solid_angle(made.parts[names.index(name)].shape.outlines()[0]) for name in guards}
    for name, share in expected.items():
        assert agrees((contacts.part == names.index(name)).mean(), share), name
    role = np.array([part.role for part in made.parts])[contacts.part]
    met = contacts.part >= 0
    assert agrees((met & (role == Role.GUARD)).mean(), sum(expected.values()))
    free = {"door", "hatch", "garage door"}
    out = sum(solid_angle(opening.corners) for opening in made.openings if opening.name in free)
    assert agrees((contacts.opening >= 0).mean(), out)
    slab = solid_angle(made.parts[names.index("slab")].shape.outlines()[0])
    # The floor in front of the tee lies below the guards' feet, which reach down to it: nothing hides it from the eye.
    hidden = _floor_behind(made, 3.2, 1.4)
    assert agrees((met & (role == Role.FLOOR)).mean(), slab - hidden)


def _floor_behind(bay: Bay, x: float, half: float) -> float:
    """The floor that is hidden by the screen's and the nets' feet: by marching a fine grid of it."""
    upper = bay.upper
    step = 0.01
    s, t = np.meshgrid(np.arange(1.0, upper[0], step) + step / 2, np.arange(-1.7, 1.7, step) + step / 2)
    # Net feet from the screen's edge toward the tee: left (3.2, 1.4)..(1.7, 1.4); right opens by 4 deg over 1.2 m.
    to_left = (t > half) & _crosses(s, t, (x, half), (x - 1.5, half))
    a = np.radians(4.0)
    to_right = (t < -half) & _crosses(s, t, (x, -half), (x - 1.2 * np.cos(a), -half - 1.2 * np.sin(a)))
    hidden = (s > x) & _crosses(s, t, (x, half), (x, -half)) | to_left | to_right
    square = s**2 + t**2 + EYE[2] ** 2
    return float((hidden * EYE[2] / square**1.5).sum() * step**2 / (4 * np.pi))


def _crosses(s: np.ndarray, t: np.ndarray, first: tuple[float, float], second: tuple[float, float]) -> np.ndarray:
    """Whether the line from the eye to a point crosses a segment, in plan."""
    (x1, y1), (x2, y2) = first, second
    side1, side2 = s * y1 - t * x1, s * y2 - t * x2
    here = (x2 - x1) * (0.0 - y1) - (y2 - y1) * (0.0 - x1)
    there = (x2 - x1) * (t - y1) - (y2 - y1) * (s - x1)
    return (side1 * side2 < 0) & (here * there < 0)


@settings(max_examples=25, deadline=None)
@given(roof=st.sampled_from(ROOFS), wall=st.sampled_from(["left", "right", "end", "back"]), seed=st.integers(0, 10_000))
def test_every_real_ball_aimed_well_into_an_opening_gets_out_and_none_is_lost(roof: str, wall: str, seed: int) -> None:
    """A ball of legal size, straight, at points a radius and more inside the opening's edges."""
    rng = np.random.default_rng(seed)
    span, tape = (6.0, "from_end_wall") if wall in ("left", "right") else (3.4, "from_left_wall")
    width, height = rng.uniform(0.1, 1.5), rng.uniform(0.1, 1.2)
    start, sill = rng.uniform(0, span - width), rng.choice([0.0, rng.uniform(0, 2.25 - height)])
    opening = (
        f"{{name: it, wall: {wall}, {tape}: {start:.6f} m, width: {width:.6f} m, height: {height:.6f} m,"
        f" sill: {sill:.6f} m}}"
    )
    room = bay(roof, f"  openings: [{opening}]\n")
    (hole,) = room.openings
    corner = hole.corners
    low, high = corner.min(axis=0), corner.max(axis=0)
    clear = LEGAL_BALL.radius
    aim = rng.uniform(low, high, (200, 3))
    flat = np.flatnonzero(high - low < 1e-9)
    inner = np.setdiff1d(np.arange(3), flat)
    # Seen at a slant the ball needs more room than a radius: as much as its shadow on the wall is long.
    to = aim - EYE
    slant = np.abs(to[:, flat[0]]) / np.linalg.norm(to, axis=1)
    room_needed = clear / slant * 1.0001
    fits = (np.minimum(aim - low, high - aim)[:, inner] > room_needed[:, None]).all(axis=1)
    physics = Physics(air=Air(1e-30, 1.8e-5), gravity=0.0)
    contacts = flown(room, (40.0 * to / np.linalg.norm(to, axis=1, keepdims=True)).T, physics)
    assert (contacts.opening[fits] == 0).all()
    assert not contacts.failed.any()
    assert (contacts.opening < 1).all()
    assert ((contacts.part >= 0) ^ (contacts.opening >= 0)).all()
    launches = Launches(
        np.repeat(EYE[:, None], 200, axis=1), 40.0 * (to / np.linalg.norm(to, axis=1)[:, None]).T, np.zeros((3, 200))
    )
    _, fates = follow(physics, launches, surroundings(room), np.zeros((0, 200), dtype=bool))
    assert fates.flags[Flag.GOT_OUT, fits].all()
    assert (fates.place[Flag.GOT_OUT, fits] == 0).all()
    assert fates.worst[Flag.GOT_OUT, fits] == pytest.approx(40.0)


@settings(max_examples=15, deadline=None)
@given(roof=st.sampled_from(ROOFS), seed=st.integers(0, 1000), data=st.data())
def test_a_wall_that_a_plugin_forgot_is_a_gap_in_the_room_and_never_nothing(roof: str, seed: int, data) -> None:
    room = bay(roof, OPENINGS, GUARDS)
    lost = data.draw(st.sampled_from([part.name for part in room.parts if part.owner == "room"]))
    holed = Bay(tuple(part for part in room.parts if part.name != lost), room.openings, room.lower, room.upper)
    velocity = all_directions(2000, 45.0, seed)
    whole, contacts = flown(room, velocity, Physics()), flown(holed, velocity, Physics())
    met = np.flatnonzero(whole.part == [part.name for part in room.parts].index(lost))
    # A ball that would have met the wall goes on: out of the room, or into the edge of another part on its way.
    assert ((contacts.opening[met] >= 0) | (contacts.part[met] >= 0)).all()
    assert not contacts.failed.any()
    gone = contacts.opening[met] == len(room.openings)
    assert met.size < 20 or gone.mean() > 0.5
    start = np.repeat(EYE[:, None], 2000, axis=1)
    launches = Launches(start, velocity, np.zeros((3, 2000))).take(met[gone])
    _, fates = follow(Physics(), launches, surroundings(holed), np.zeros((len(holed.zones), gone.sum()), dtype=bool))
    assert fates.flags[Flag.GOT_OUT].all()
    assert (fates.place[Flag.GOT_OUT] == len(room.openings)).all()
    same = np.setdiff1d(np.arange(2000), met)
    assert (contacts.opening[same] < len(room.openings)).all()
