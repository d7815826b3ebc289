"""Gaps and edges, measured by flying parallel balls at them, against plane geometry.

Source of all closed forms here: plane geometry [nets]. A ball of radius R passes a clear
gap g where its centre finds R < c < g - R; off an edge of radius rho at offset b it turns by 180 - 2 asin(b/(R + rho))
deg (the law of reflection). Tolerances: one step of the grid, and 1e-3 deg (contacts are found to 1 micrometre).
"""

from __future__ import annotations

import numpy as np
import pytest
from bays import fly, part, vector
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay, Part
from flightsim.bay.shapes import RoundTube, Shape, block, rectangle, square_tube
from flightsim.contact.contacts import Contacts
from flightsim.flight.air import Air
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.bounce import oblique_bounce
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.hookspecs import BaySetup
from flightsim.plugin.testing import SMALL_BAY, scenario_of, with_plugins
from flightsim_plugins.frame import flightsim_parts

R = LEGAL_BALL.radius
BALL = 0.04267  # m: the ball's least diameter by the rules
STEP = 2.0e-5  # m between neighbouring balls
PLAIN = Physics(air=Air(1e-30, 1.8e-5), gravity=0.0)  # straight lines
THICK = 0.018  # m: boards


def volley(parts: list[Part], across: np.ndarray, degrees: float = 0.0, up: np.ndarray | float = 0.0) -> Contacts:
    """Balls side by side toward +x, turned by so many degrees about the origin toward +y; across `(n,)`, m."""
    along = vector(np.cos(np.radians(degrees)), np.sin(np.radians(degrees)), 0.0)[:, None]
    aside = vector(-along[1, 0], along[0, 0], 0.0)[:, None]
    start = -along + aside * across + vector(0, 0, 1)[:, None] * up
    bay = Bay(tuple(parts), (), np.full(3, -3.0), np.full(3, 3.0))
    launches = Launches(start, np.broadcast_to(60.0 * along, start.shape).copy(), np.zeros_like(start))
    contacts = fly(bay, launches, PLAIN)
    assert not contacts.failed.any()
    return contacts


def passed(contacts: Contacts) -> np.ndarray:
    return contacts.part < 0


def boards(gap: float) -> list[Part]:
    """Two boards, face at x = 0, with a clear gap between them about y = 0."""
    half = gap / 2.0
    return [
        part("left board", block(vector(0, half, -1), vector(THICK, 1, 1))),
        part("right board", block(vector(0, -1, -1), vector(THICK, -half, 1))),
    ]


def grid(width: float) -> np.ndarray:
    """Places about nought, a step apart."""
    return (np.arange(round(width / STEP)) + 0.5) * STEP - width / 2.0


@pytest.mark.parametrize("gap", [0.043, 0.050, 0.075, 0.120])
def test_a_gap_lets_through_balls_over_its_width_less_a_ball(gap: float) -> None:
    across = grid(gap + 0.1)
    through = passed(volley(boards(gap), across))
    assert through.sum() * STEP == pytest.approx(gap - BALL, abs=STEP)
    assert np.abs(across[through]).max() == pytest.approx(gap / 2.0 - R, abs=STEP)


@pytest.mark.parametrize("gap", [0.0426, 0.030, 0.010, 0.0])
@pytest.mark.parametrize("degrees", [0.0, 25.0, -60.0])
def test_no_ball_passes_a_gap_that_is_smaller_than_it(gap: float, degrees: float) -> None:
    assert not passed(volley(boards(gap), grid(gap + 0.1), degrees)).any()


@pytest.mark.parametrize("degrees", [10.0, -20.0, 35.0])
def test_a_slanting_ball_finds_the_gap_narrower_by_its_angle_and_by_the_boards_thickness(degrees: float) -> None:
    """Between the near corner of one board and the far corner of the other: g cos a - t sin a."""
    gap, angle = 0.12, np.radians(abs(degrees))
    across = grid(0.3)
    through = passed(volley(boards(gap), across, degrees))
    assert through.sum() * STEP == pytest.approx(gap * np.cos(angle) - THICK * np.sin(angle) - BALL, abs=STEP)


@pytest.mark.parametrize("width", [0.010, 0.050, 0.120])
def test_balls_over_the_gap_and_a_ball_more_are_within_reach_of_it(width: float) -> None:
    """What fills the gap is touched by every ball of which any part is in line with it: its width and a ball."""
    strip = part("strip", rectangle(vector(0, -width / 2.0, -1), vector(0, width, 0), vector(0, 0, 2)))
    touching = ~passed(volley([strip], grid(width + 0.1)))
    assert touching.sum() * STEP == pytest.approx(width + BALL, abs=STEP)


@pytest.mark.parametrize("gap", [0.020, 0.050, 0.090])
def test_every_ball_whose_centre_is_in_the_gap_passes_or_clips_an_edge_and_no_other_does(gap: float) -> None:
    across = grid(gap + 0.1)
    contacts = volley(boards(gap), across)
    clipped = ~passed(contacts) & (np.abs(contacts.normal[1]) > 1e-3)
    over_gap = np.abs(across) < gap / 2.0
    assert np.abs((clipped | passed(contacts)).sum() - over_gap.sum()) <= 2
    assert clipped.sum() * STEP == pytest.approx(min(gap, BALL), abs=3 * STEP)


@pytest.mark.parametrize(
    ("clear", "passes"), [(0.020, False), (0.025, False), (0.0426, False), (0.0450, True), (0.060, True)]
)
def test_a_mesh_stops_the_ball_where_its_clear_bar_is_less_than_a_ball(clear: float, passes: bool) -> None:
    """One mesh of cords of 2 mm; balls on every place of it, 0.2 mm apart."""
    middle = clear / 2.0 + 0.001
    cords = [
        part(f"cord {k}", RoundTube(vector(0, *start), vector(0, *end), 0.001))
        for k, (start, end) in enumerate(
            [((-0.3, -middle), (0.3, -middle)), ((-0.3, middle), (0.3, middle)),
             ((-middle, -0.3), (-middle, 0.3)), ((middle, -0.3), (middle, 0.3))]
        )
    ]  # fmt: skip
    side = np.arange(-middle, middle, 2e-4) + 1e-4
    across, up = (axis.ravel() for axis in np.meshgrid(side, side))
    through = passed(volley(cords, across, up=up))
    assert bool(through.any()) is passes
    free = max(0.0, clear - BALL)
    assert through.sum() * 2e-4**2 == pytest.approx(free**2, abs=2 * 2e-4 * free + 1e-12)


def turned(shape: Shape, across: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """By how much balls at these places turn, deg, off something without friction that gives all back; and which way
    (+1 toward +y)."""
    contacts = volley([part("edge", shape)], across)
    assert not passed(contacts).any()
    n, velocity = across.size, contacts.velocity
    full, none = np.ones(n), np.zeros(n)
    after, spin = oblique_bounce(velocity, np.zeros((3, n)), contacts.normal, full, none, none, LEGAL_BALL)
    assert np.abs(spin).max() == 0.0
    sine = np.linalg.norm(np.cross(velocity, after, axis=0), axis=0)
    return np.degrees(np.arctan2(sine, (velocity * after).sum(axis=0))), np.sign(after[1])


def expected(offset: np.ndarray, rho: float) -> np.ndarray:
    """deg."""
    return 180.0 - 2.0 * np.degrees(np.arcsin(offset / (R + rho)))


@pytest.mark.parametrize("rho", [0.004, 0.005, 0.010, 0.025])
def test_a_ball_that_clips_a_rounded_tube_edge_turns_as_the_closed_form_says(rho: float) -> None:
    """A square tube of 50 mm across the balls' way; 25 mm of rounding makes it round."""
    tube = square_tube(vector(0, 0, -1), vector(0, 0, 1), 0.05, rho)
    offset = np.linspace(0.02, 0.98, 60) * (R + rho)
    edge = 0.025 - rho  # the middle of the rounding
    degrees, way = turned(tube, edge + offset)
    assert degrees == pytest.approx(expected(offset, rho), abs=1e-3)
    assert (way > 0).all()
    mirrored, other_way = turned(tube, -edge - offset)
    assert mirrored == pytest.approx(degrees, abs=1e-3)
    assert (other_way < 0).all()


@pytest.mark.parametrize("rho", [0.01, 0.03])
def test_a_round_tube_turns_balls_by_the_same_form(rho: float) -> None:
    offset = np.linspace(0.02, 0.98, 60) * (R + rho)
    degrees, way = turned(RoundTube(vector(0, 0, -1), vector(0, 0, 1), rho), offset)
    assert degrees == pytest.approx(expected(offset, rho), abs=1e-3)
    assert (way > 0).all()


def test_the_edge_of_a_thin_board_turns_balls_as_an_edge_without_rounding() -> None:
    offset = np.linspace(0.02, 0.98, 60) * R
    degrees, _ = turned(rectangle(vector(0, -1, -1), vector(0, 1, 0), vector(0, 0, 2)), offset)
    assert degrees == pytest.approx(expected(offset, 0.0), abs=1e-3)


@settings(deadline=None, max_examples=30)
@given(st.floats(0.05, 0.95), st.floats(0.0, 0.025), st.floats(-80.0, 80.0))
def test_the_turn_does_not_depend_on_how_tube_and_ball_lie_in_the_room(
    share: float, rho: float, degrees: float
) -> None:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    tube = square_tube(vector(0, 0, -1), vector(0, 0, 1), 0.05, rho, up=vector(-s, c, 0))
    offset = np.array([share * (R + rho)])
    contacts = volley([part("edge", tube)], 0.025 - rho + offset, degrees)
    one, none = np.ones(1), np.zeros(1)
    after, _ = oblique_bounce(contacts.velocity, np.zeros((3, 1)), contacts.normal, one, none, none, LEGAL_BALL)
    cosine = float((after * contacts.velocity).sum() / (contacts.velocity**2).sum())
    assert cosine == pytest.approx(float(np.cos(np.radians(expected(offset, rho)[0]))), abs=1e-4)


def test_the_frame_of_a_scenario_has_such_edges() -> None:
    """An upright of 50 x 50 x 3: rounding 6 mm by EN 10219-2."""
    plugins = with_plugins()
    scenario = scenario_of(f"{SMALL_BAY}frame: {{tube: {{wall: 3 mm}}}}\n", plugins)
    pieces = flightsim_parts(BaySetup(scenario.entries("frame"), scenario))
    (upright,) = [piece for piece in pieces.parts if piece.name == "frame left upright"]
    lower, upper = upright.shape.bounds()
    offset = np.linspace(0.05, 0.95, 20) * (R + 0.006)
    bay = Bay((upright,), (), np.full(3, -9.0), np.full(3, 9.0))
    start = np.stack([np.zeros(20), lower[1] + 0.006 - offset, np.full(20, 1.0)])
    velocity = np.repeat(vector(60, 0, 0)[:, None], 20, axis=1)
    contacts = fly(bay, Launches(start, velocity, np.zeros((3, 20))), PLAIN)
    full, none = np.ones(20), np.zeros(20)
    after, _ = oblique_bounce(contacts.velocity, np.zeros((3, 20)), contacts.normal, full, none, none, LEGAL_BALL)
    assert np.degrees(np.arccos(after[0] / 60.0)) == pytest.approx(expected(offset, 0.006), abs=2e-3)
    assert (after[1] < 0).all()
    assert upper[1] - lower[1] == pytest.approx(0.05)
