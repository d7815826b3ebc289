"""Walls cut round their holes, roofs over their walls, and how far shapes go into one another."""

from __future__ import annotations

from math import cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.build import board, is_sheet, sheet
from flightsim.bay.overlap import depth_of_overlap
from flightsim.bay.roof import Roof, flat_roof, gable_roof, sloping_roof
from flightsim.bay.shapes import Box, ConvexPolygon, HalfSpace, RoundTube, block
from flightsim.bay.walls import Hole, area, clip, cut, inside

LENGTH, WIDTH = 6.2, 3.4


@st.composite
def holes(draw: st.DrawFn, length: float, height: float) -> list[Hole]:
    """Up to three holes side by side or, in the same column, one above the other."""
    edges = sorted(draw(st.lists(st.floats(0.0, 1.0), min_size=6, max_size=6)))
    found = []
    for k in range(draw(st.integers(0, 3))):
        u0, u1 = edges[2 * k] * length, edges[2 * k + 1] * length
        v0, v1 = sorted(draw(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=2)))
        if u1 - u0 > 0.01 and v1 - v0 > 0.01:
            found.append(Hole(f"hole {k}", (u0, v0 * height), (u1, v1 * height)))
    return found


@st.composite
def roofs(draw: st.DrawFn) -> Roof:
    low, high = sorted(draw(st.lists(st.floats(2.2, 4.0), min_size=2, max_size=2)))
    axis = draw(st.sampled_from((0, 1)))
    span = (LENGTH, WIDTH)[axis]
    return draw(
        st.sampled_from(
            (
                flat_roof(low),
                sloping_roof(span, low, high, axis),
                sloping_roof(span, high, low, axis),
                gable_roof((WIDTH, LENGTH)[axis], low, high + 0.1, axis),
            )
        )
    )


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_the_pieces_of_a_wall_and_its_holes_fill_it_without_overlaps(data: st.DataObject) -> None:
    outline = data.draw(roofs()).wall((0.0, 0.0), (0.0, WIDTH))
    gaps = data.draw(holes(WIDTH, 2.2))
    pieces = cut(outline, gaps)
    filled = sum(area(piece.outline) for piece in pieces) + sum(area(inside(outline, hole)) for hole in gaps)
    assert filled == pytest.approx(area(outline), abs=1e-6)
    points = np.random.default_rng(1).uniform((0.0, 0.0), (WIDTH, 4.2), (300, 2))
    covers = np.sum([_contains(piece.outline, points) for piece in pieces], axis=0)
    assert covers.max(initial=0) <= 1
    in_a_hole = np.any([_contains(inside(outline, h), points) for h in gaps], axis=0) if gaps else np.zeros(300, bool)
    clear = _off_the_edges(points, outline, gaps)
    assert (covers[clear] == (_contains(outline, points) & ~in_a_hole)[clear]).all()


def _contains(outline: np.ndarray, points: np.ndarray) -> np.ndarray:
    if len(outline) < 3:
        return np.zeros(len(points), dtype=bool)
    side = np.roll(outline, -1, axis=0) - outline
    off = points[:, None, :] - outline
    turn = side[:, 0] * off[..., 1] - side[:, 1] * off[..., 0]
    return np.asarray((turn > 1e-9).all(axis=1) | (turn < -1e-9).all(axis=1))


def _off_the_edges(points: np.ndarray, outline: np.ndarray, gaps: list[Hole]) -> np.ndarray:
    lines = [(axis, corner[axis]) for hole in gaps for corner in (hole.lower, hole.upper) for axis in (0, 1)]
    clear = np.ones(len(points), dtype=bool)
    for axis, edge in lines:
        clear &= np.abs(points[:, axis] - edge) > 1e-3
    return clear


def test_pieces_are_named_by_where_they_lie_as_the_tape_runs() -> None:
    outline = flat_roof(2.5).wall((0.0, 0.0), (LENGTH, 0.0))
    pieces = cut(outline, [Hole("door", (4.0, 0.0), (5.0, 2.0)), Hole("window", (1.0, 1.0), (2.0, 2.0))])
    assert [piece.where for piece in pieces] == [
        "before window",
        "past window, before door",
        "past window, past door",
        "past window, above door",
        "below window",
        "above window",
    ]


def test_a_hole_that_fills_the_wall_leaves_nothing() -> None:
    outline = flat_roof(2.5).wall((0.0, 0.0), (3.0, 0.0))
    assert cut(outline, [Hole("all", (0.0, 0.0), (3.0, 2.5))]) == []


def test_a_hole_beside_the_wall_cuts_nothing() -> None:
    outline = flat_roof(2.5).wall((0.0, 0.0), (3.0, 0.0))
    (piece,) = cut(outline, [Hole("elsewhere", (3.5, 0.0), (4.0, 1.0))])
    assert piece.where == ""
    assert piece.outline is outline


def test_clipping_keeps_what_lies_on_the_near_side() -> None:
    square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
    assert area(clip(square, np.array([1.0, 1.0]), 2.0)) == pytest.approx(2.0)
    assert len(clip(square, np.array([1.0, 0.0]), -1.0)) == 0


@settings(max_examples=60, deadline=None)
@given(roofs())
def test_the_roofs_faces_cover_the_floor_and_meet_the_walls(roof: Roof) -> None:
    faces = roof.faces((0.0, 0.0), (LENGTH, WIDTH))
    assert sum(area(face[:, :2]) for face in faces) == pytest.approx(LENGTH * WIDTH)
    for face in faces:
        ConvexPolygon(face)  # flat and convex
        assert face[:, 2] == pytest.approx(roof.height(face[:, 0], face[:, 1]))
    wall = roof.wall((0.0, 0.0), (LENGTH, 0.0))
    s = np.linspace(0.0, LENGTH, 11)
    top = wall[np.argsort(wall[2:, 0]) + 2]
    assert np.interp(s, top[:, 0], top[:, 1]) == pytest.approx(roof.height(s, 0.0))


def test_a_gable_is_lowest_at_the_eaves_and_highest_in_the_middle() -> None:
    along = gable_roof(WIDTH, 2.4, 3.1, 0)
    assert along.height(1.0, 0.0) == pytest.approx(2.4)
    assert along.height(1.0, WIDTH) == pytest.approx(2.4)
    assert along.height(5.0, WIDTH / 2) == pytest.approx(3.1)
    across = gable_roof(LENGTH, 2.4, 3.1, 1)
    assert across.height(LENGTH / 2, 0.3) == pytest.approx(3.1)
    assert across.height(LENGTH, 3.0) == pytest.approx(2.4)


def test_a_sheet_with_right_angles_is_a_rectangle_and_any_other_a_polygon() -> None:
    square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 2, 0], [0, 2, 0]])
    assert isinstance(sheet(square), Box)
    square[2] = (1, 1.5, 0)
    assert isinstance(sheet(square), ConvexPolygon)


def test_a_boards_body_lies_behind_its_face() -> None:
    face = np.array([0.0, 0, 2]), np.array([-1.0, 0, 0]), np.array([0.0, 3, 0])
    thick = board(*face, np.array([0.0, 0, 1]), 0.018)
    lower, upper = thick.bounds()
    assert lower == pytest.approx([-1.0, 0.0, 2.0])
    assert upper == pytest.approx([0.0, 3.0, 2.018])
    thin = board(*face, np.array([0.0, 0, 1]), 0.0)
    assert is_sheet(thin)
    assert not is_sheet(thick)


def test_a_leaning_boards_face_stays_where_it_was_given() -> None:
    along = np.array([cos(0.2), 0.0, sin(0.2)])
    leaning = board(np.zeros(3), along, np.array([0.0, 2, 0]), np.array([0.0, 0, 1]), 0.05)
    inward = np.array([sin(0.2), 0.0, -cos(0.2)])
    points = (0.5 * along + np.array([0.0, 1, 0]) + 0.1 * inward)[:, None]
    distance, normal = leaning.distance(points)
    assert distance[0] == pytest.approx(0.1)
    assert normal[:, 0] == pytest.approx(inward)


def test_overlap_of_boxes_is_the_least_way_apart() -> None:
    first = block(np.zeros(3), np.ones(3))
    assert depth_of_overlap(first, block(np.full(3, 0.9), np.full(3, 2.0))) == pytest.approx(0.1)
    assert depth_of_overlap(first, block(np.array([1.0, 0, 0]), np.array([2.0, 1, 1]))) == 0.0
    turned = Box(np.array([1.6, 0.5, 0.5]), _turned(pi / 4), np.array([0.5, 0.5, 0.5]))
    # A corner of the turned box reaches 0.5 sqrt(2) from its middle at 1.6.
    assert depth_of_overlap(first, turned) == pytest.approx(1.0 - (1.6 - 0.5 * sqrt(2.0)))


def test_crossing_sheets_overlap_and_touching_ones_do_not() -> None:
    upright = block(np.array([0.0, -1, 0]), np.array([0.0, 1, 2]))
    crossing = block(np.array([-0.3, -0.5, 1]), np.array([0.2, 0.5, 1]))
    assert depth_of_overlap(upright, crossing) == pytest.approx(0.2)
    touching = block(np.array([-1.0, -0.5, 1]), np.array([0.0, 0.5, 1]))
    assert depth_of_overlap(upright, touching) == 0.0


def test_boxes_whose_bounds_overlap_may_still_be_apart() -> None:
    first = block(np.zeros(3), np.ones(3))
    turned = Box(np.array([1.6, 1.6, 0.5]), _turned(pi / 4), np.array([0.6, 0.6, 0.5]))
    assert (turned.bounds()[0] < 1.0).all()
    assert hypot(0.6, 0.6) > 0.6
    assert depth_of_overlap(first, turned) == 0.0


def test_a_tube_through_a_wall_overlaps_and_a_half_space_overlaps_nothing() -> None:
    wall = block(np.array([0.0, -1, 0]), np.array([0.1, 1, 2]))
    tube = RoundTube(np.array([-1.0, 0, 1]), np.array([1.0, 0, 1]), 0.03)
    assert depth_of_overlap(wall, tube) == pytest.approx(1.03, abs=0.07)
    assert depth_of_overlap(wall, HalfSpace(np.array([1.0, 0, 0]), 0.0)) == 0.0


def _turned(angle: float) -> np.ndarray:
    return np.array([[cos(angle), sin(angle), 0], [-sin(angle), cos(angle), 0], [0, 0, 1.0]])
