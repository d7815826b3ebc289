"""Distances of shapes: exact, 1-Lipschitz, and zero on the surface."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.shapes import (
    Box,
    ConvexPolygon,
    HalfSpace,
    RoundTube,
    Shape,
    block,
    rectangle,
    square_tube,
)


def rotation(seed: int) -> np.ndarray:
    q, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    return q * np.sign(np.linalg.det(q))


def shapes(seed: int) -> list[Shape]:
    rng = np.random.default_rng(seed)
    turn = rotation(seed)
    centre = rng.uniform(-1, 1, 3)
    five = np.array([[np.cos(a), np.sin(a), 0.0] for a in np.sort(rng.uniform(0, 2 * np.pi, 5))])
    out: list[Shape] = [
        Box(centre, turn, rng.uniform(0.1, 1, 3)),
        Box(centre, np.eye(3), np.array([0.5, 0.7, 0.0])),
        Box(centre, turn, np.array([0.5, 0.7, 0.0])),
        Box(centre, turn, np.array([0.8, 0.05, 0.05]), 0.01),
        RoundTube(centre, centre + turn[0], 0.2),
        HalfSpace(turn[0], 0.3),
    ]
    if np.abs(np.cross(five[1] - five[0], five[2] - five[0])).max() > 1e-3:
        out.append(ConvexPolygon(five @ turn.T + centre))
    return out


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_distance_never_grows_faster_than_the_point_moves(seed):
    rng = np.random.default_rng(seed)
    a, b = rng.uniform(-2, 2, (2, 3, 60))
    for shape in shapes(seed):
        change = np.abs(shape.distance(a)[0] - shape.distance(b)[0])
        assert (change <= np.linalg.norm(a - b, axis=0) + 1e-12).all(), type(shape)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_step_back_along_the_normal_lands_on_the_surface(seed):
    points = np.random.default_rng(seed).uniform(-2, 2, (3, 60))
    for shape in shapes(seed):
        distance, normal = shape.distance(points)
        assert np.linalg.norm(normal, axis=0) == pytest.approx(1.0, abs=1e-12)
        outside = distance > 1e-6
        foot = points[:, outside] - normal[:, outside] * distance[outside]
        assert np.abs(shape.distance(foot)[0]).max(initial=0.0) < 1e-9, type(shape)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_every_point_of_an_outline_is_on_the_shape_and_in_its_bounds(seed):
    for shape in shapes(seed):
        lower, upper = shape.bounds()
        for outline in shape.outlines():
            slack = 1e-9 if getattr(shape, "corner_radius", 0.0) == 0.0 else 0.01
            assert np.abs(shape.distance(outline.T)[0]).max() < slack
            assert (outline >= lower - 1e-9).all()
            assert (outline <= upper + 1e-9).all()


def test_a_rectangle_measures_its_edges_and_corners():
    sheet = rectangle(np.zeros(3), np.array([2.0, 0, 0]), np.array([0, 1.0, 0]))
    points = np.array([[1.0, 0.5, 0.3], [3.0, 0.5, 0.0], [3.0, 2.0, 0.0], [3.0, 2.0, 1.0], [1, 0.5, -0.3]]).T
    assert sheet.distance(points)[0] == pytest.approx([0.3, 1.0, np.sqrt(2), np.sqrt(3), 0.3])


def test_a_polygon_and_a_rectangle_of_the_same_outline_agree():
    turn = rotation(3)
    sheet = rectangle(np.array([0.1, 0.2, 0.3]), 2 * turn[0], turn[1])
    polygon = ConvexPolygon(
        np.array([0.1, 0.2, 0.3]) + np.array([[0, 0, 0], 2 * turn[0], 2 * turn[0] + turn[1], turn[1]])
    )
    points = np.random.default_rng(0).uniform(-3, 3, (3, 500))
    assert polygon.distance(points)[0] == pytest.approx(sheet.distance(points)[0], abs=1e-12)
    assert polygon.distance(points)[1] == pytest.approx(sheet.distance(points)[1], abs=1e-9)


def test_a_square_tube_along_an_axis_needs_no_rotation():
    tube = square_tube(np.array([0.0, -1, 2]), np.array([0.0, 1, 2]), 0.1)
    assert np.array_equal(tube.axes, np.eye(3))
    assert tube.distance(np.array([[0.0], [0.0], [1.5]]))[0] == pytest.approx([0.45])


def test_inside_a_solid_the_distance_is_negative_and_the_normal_points_the_short_way_out():
    distance, normal = block(np.zeros(3), np.array([1.0, 2, 3])).distance(np.array([[0.9], [1.0], [1.0]]))
    assert distance == pytest.approx([-0.1])
    assert normal[:, 0] == pytest.approx([1, 0, 0])


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: rectangle(np.zeros(3), np.zeros(3), np.array([0, 1.0, 0])), "two sides with a length"),
        (lambda: rectangle(np.zeros(3), np.array([1.0, 0, 0]), np.array([1.0, 1, 0])), "right angles"),
        (lambda: block(np.ones(3), np.zeros(3)), "upper corner"),
        (lambda: ConvexPolygon(np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]])), "at least three corners"),
        (lambda: ConvexPolygon(np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0.2], [0, 1, 0]])), "one plane"),
        (lambda: ConvexPolygon(np.array([[0.0, 0, 0], [2, 0, 0], [0.5, 0.5, 0], [0, 2, 0]])), "convex"),
        (lambda: RoundTube(np.zeros(3), np.zeros(3), 0.1), "a length and a radius"),
        (lambda: square_tube(np.zeros(3), np.zeros(3), 0.1), "a length and a width"),
    ],
)
def test_a_shape_that_cannot_be_says_why(make, words):
    with pytest.raises(ValueError, match=words):
        make()
