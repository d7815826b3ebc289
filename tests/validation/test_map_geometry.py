"""Straight balls: the map's shares, its nearest escapes and its strings against plane and solid geometry."""

from dataclasses import replace
from math import asin, atan, atan2, degrees, hypot, pi, sqrt

import numpy as np
import pytest
from aimed import STILL, aim_at, open_box, shooter

from flightsim.study.map.closed_cells import Closing
from flightsim.study.map.direction_cells import make_lattice
from flightsim.study.map.direction_map import direction_map
from flightsim.study.map.envelope import close, envelope
from flightsim.study.map.nearest_escapes import nearest_escapes
from flightsim.study.map.string_check import string_check
from flightsim.study.map.ways_out import Way

POINT = replace(STILL, ball=replace(STILL.ball, diameter=1e-5))
START = (0.0, 0.0, 0.0)
WALL = ("screen", (3.0, -1.5, -1.2), (0.0, 2.7, 0.0), (0.0, 0.0, 2.0))  # off centre on purpose


@pytest.fixture(scope="module")
def escapes():
    """Of a shot level and straight, before one rectangle."""
    aim = aim_at(0.0, 0.0, START)
    return nearest_escapes(direction_map(shooter(open_box(WALL), aim), aim, 1.0, make_lattice(5.0, 3)))


def corner(u: float, v: float, d: float) -> float:
    """Solid angle of a rectangle u by v at distance d, seen from straight before one of its corners.

    arctan(u v / (d sqrt(d^2 + u^2 + v^2))): Gotoh & Yagi 1971, Nucl. Instrum. Methods 96:485 (cited from memory);
    the tolerance is the map's own error.
    """
    return atan(u * v / (d * sqrt(d * d + u * u + v * v)))


def test_the_share_of_a_rectangle_is_its_solid_angle_to_the_stated_error():
    found = direction_map(shooter(open_box(WALL), aim_at(start=START), POINT), aim_at(start=START), 1.0, make_lattice())
    left, right, below, above, d = 1.2, 1.5, 1.2, 0.8, 3.0
    exact = sum(corner(u, v, d) for u in (left, right) for v in (below, above)) / (4.0 * pi)
    row = next(row for row in found.by_region() if row.region.name == "screen")
    assert row.share.least <= exact <= row.share.most
    assert row.share.found == pytest.approx(exact, rel=0.01)
    assert row.share.most - row.share.least < 0.1 * exact


def test_with_walls_all_round_but_one_the_open_share_is_one_sixth():
    sides = {
        "front": ((2, -2, -2), (0, 4, 0), (0, 0, 4)), "back": ((-2, -2, -2), (0, 4, 0), (0, 0, 4)),
        "left": ((-2, 2, -2), (4, 0, 0), (0, 0, 4)), "right": ((-2, -2, -2), (4, 0, 0), (0, 0, 4)),
        "top": ((-2, -2, 2), (4, 0, 0), (0, 4, 0)), "bottom": ((-2, -2, -2), (4, 0, 0), (0, 4, 0)),
    }  # fmt: skip
    for missing in ("front", "top", "left"):
        bay = open_box(*((name, *sides[name]) for name in sides if name != missing))
        aim = aim_at(start=START)
        found = direction_map(shooter(bay, aim, POINT), aim, 1.0, make_lattice(5.0, 2))
        share = found.share(found.first)
        assert share.least <= 1.0 / 6.0 <= share.most  # a cube's six faces look alike from its middle
        assert share.found == pytest.approx(1.0 / 6.0, rel=0.02)


@pytest.mark.parametrize(
    ("way", "off", "far"),
    [
        (Way.OVER, 0.8, 3.0),  # to the top edge, up from the line and away
        (Way.UNDER, 1.2, 3.0),
        (Way.LEFT, 1.2, 3.0),
        (Way.RIGHT, 1.5, 3.0),
    ],
)
def test_the_nearest_escape_is_the_edges_angle_and_the_balls_own(escapes, way, off, far):
    # A straight ball just passes an edge when its line is a radius off it: asin(r / distance) beyond the string.
    escape = next(e for e in escapes if e.way is way and e.factor == 1.0)
    exact = atan2(off, far) + asin(STILL.ball.radius / hypot(off, far))
    assert degrees(escape.shot.turn) == pytest.approx(degrees(exact), abs=0.02)
    assert escape.shot.gets_out
    assert escape.closer is not None
    assert not escape.closer.gets_out
    assert escape.closer.region.name == escape.past == "screen"
    assert degrees(escape.shot.turn - escape.closer.turn) == pytest.approx(0.02, abs=1e-9)


def test_without_air_and_gravity_every_speed_has_the_same_escapes(escapes):
    by_way = {}
    for escape in escapes:
        by_way.setdefault(escape.route, []).append(degrees(escape.shot.turn))
    assert any(len(turns) == 3 for turns in by_way.values())
    for turns in by_way.values():
        assert max(turns) - min(turns) < 0.02


def test_a_slit_is_a_gap_and_its_nearest_edge_is_found():
    left = ("left net", (3.0, 0.10, -1.0), (0.0, 2.0, 0.0), (0.0, 0.0, 2.0))
    right = ("right net", (3.0, -3.0, -1.0), (0.0, 2.95, 0.0), (0.0, 0.0, 2.0))
    aim = aim_at(0.0, -12.0, START)
    found = direction_map(shooter(open_box(left, right), aim), aim, 1.0, make_lattice())
    escape = next(e for e in nearest_escapes(found) if e.way is Way.GAP and e.factor == 1.0)
    exact = np.radians(12.0) - (atan2(0.10, 3.0) - asin(STILL.ball.radius / hypot(0.10, 3.0)))
    assert degrees(escape.shot.turn) == pytest.approx(degrees(exact), abs=0.02)
    assert {escape.past, escape.other} == {"left net", "right net"}


def test_strings_read_the_angles_of_the_edges():
    bay = open_box(WALL)
    strings = {edge.edge: edge for edge in string_check(bay, aim_at(0.0, 0.0, START), STILL.ball.radius)}
    assert set(strings) == {"top edge", "foot", "left edge", "right edge"}
    assert degrees(strings["top edge"].nearest.elevation) == pytest.approx(degrees(atan(0.8 / 3.0)), abs=0.01)
    assert degrees(strings["foot"].nearest.elevation) == pytest.approx(-degrees(atan(1.2 / 3.0)), abs=0.01)
    assert degrees(strings["left edge"].nearest.azimuth) == pytest.approx(-degrees(atan(1.2 / 3.0)), abs=0.01)
    assert degrees(strings["right edge"].nearest.azimuth) == pytest.approx(degrees(atan(1.5 / 3.0)), abs=0.01)
    assert strings["top edge"].nearest.length == pytest.approx(hypot(0.8, 3.0), abs=1e-5)
    radius = degrees(asin(STILL.ball.radius / hypot(0.8, 3.0)))
    assert degrees(strings["top edge"].nearest.touches) == pytest.approx(radius, abs=1e-4)


def test_what_is_shown_closed_is_the_rectangle_less_a_ball_at_its_edges():
    # Closed for certain is at most what a ball's whole width meets: the rectangle drawn in by a radius at its edges.
    aim = aim_at(0.0, 0.0, START, wide=40.0)
    at_wall = shooter(open_box(WALL), aim)
    lattice = make_lattice(5.0, 2)
    shown = close(Closing(at_wall), lattice, envelope(aim, lattice), finest=64, budget=60_000)
    r = STILL.ball.radius
    inner = sum(corner(u - r, v - r, 3.0) for u in (1.2, 1.5) for v in (1.2, 0.8)) / (4.0 * pi)
    assert shown.closed < inner
    assert shown.closed == pytest.approx(inner, rel=0.05)  # a rim of cells of 0.08 deg is left
    assert not shown.whole
