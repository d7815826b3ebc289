"""The helpers for plugin authors tell right from wrong."""

from __future__ import annotations

from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numba
import numpy as np
import pytest
from own_tests import compiled_when_asked

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import Box, Capsule, ConvexPolygon, RoundTube, Shape, block
from flightsim.bay.triangles import TriangleMesh
from flightsim.contact.arc_test import ArcTest, CompiledTest
from flightsim.plugin.hookspecs import BayPieces, OwnParts, hookimpl
from flightsim.plugin.testing import SMALL_BAY, all_directions, bay_of, check_arc_tests, check_distance, with_plugins

SHAPES = [
    block(np.zeros(3), np.array([0.4, 0.3, 0.2])),
    Box(np.zeros(3), np.eye(3), np.array([0.4, 0.3, 0.0])),
    RoundTube(np.zeros(3), np.array([1.0, 0.2, 0.1]), 0.05),
    ConvexPolygon(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])),
    Capsule(np.zeros(3), np.array([0.4, 0.2, 0.1]), 0.08),
    TriangleMesh(
        np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]), np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    ),
]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: type(s).__name__)
def test_the_shapes_of_flightsim_keep_their_promises(shape: Shape) -> None:
    check_distance(shape)


@dataclass(frozen=True)
class Wrong:
    """A sphere with something wrong."""

    growth: float = 1.0
    sign: float = 1.0
    convex: bool = True

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        return np.full(3, -0.1), np.full(3, 0.1)

    def distance(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        length = np.linalg.norm(points, axis=0)
        return self.growth * length - 0.1, self.sign * points / length

    def outlines(self) -> list[np.ndarray]:
        return []


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (Wrong(growth=1.5), "grows faster"),
        (Wrong(sign=-1.0), "does not point away"),
        (Wrong(sign=1.1), "no unit vector"),
        (Wrong(growth=-1.0, sign=-1.0), "not convex"),
    ],
)
def test_a_shape_that_breaks_a_promise_is_found_out(shape: Shape, words: str) -> None:
    with pytest.raises(AssertionError, match=words):
        check_distance(shape)
    check_distance(Wrong())


def visitor(test: CompiledTest) -> ModuleType:
    module = ModuleType("visitor")
    module.HOOK_API = 2  # type: ignore[attr-defined]
    board = Part("board", block(np.array([1.0, -1, 0]), np.array([1.1, 1, 2])), Role.GUARD, "plywood", "visitor")

    def flightsim_parts(context: object) -> BayPieces:
        return BayPieces((board,))

    def flightsim_arc_tests(context: OwnParts) -> list[ArcTest]:
        return [ArcTest(part.name, test) for part in context.parts]

    module.flightsim_parts = hookimpl(flightsim_parts)  # type: ignore[attr-defined]
    module.flightsim_arc_tests = hookimpl(flightsim_arc_tests)  # type: ignore[attr-defined]
    return module


def met_face(path, terms, radius, tau, until, normal, shift):
    """When a ball comes to the board's face at x = 1 m, within its outline: halvings of the arc."""
    low, high = tau, until
    at_low, at_high = 0.0, 0.0
    for k in range(terms - 1, -1, -1):
        at_low, at_high = at_low * low + path[3 * k], at_high * high + path[3 * k]
    if at_low > 1.0 - radius or at_high < 1.0 - radius:
        return np.inf
    for _ in range(60):
        middle, place = 0.5 * (low + high), 0.0
        for k in range(terms - 1, -1, -1):
            place = place * middle + path[3 * k]
        if place < 1.0 - radius:
            low = middle
        else:
            high = middle
    y, z = 0.0, 0.0
    for k in range(terms - 1, -1, -1):
        y, z = y * high + path[3 * k + 1], z * high + path[3 * k + 2]
    if abs(y) > 1.0 or z < 0.0 or z > 2.0:
        return np.inf
    normal[0], normal[1], normal[2] = -1.0, 0.0, 0.0
    return min(high + shift, 1.0)


INNER: Any = numba.njit(met_face)


@compiled_when_asked
def right(path, terms, duration, radius, tau, until, normal):
    return INNER(path, terms, radius, tau, until, normal, 0.0)


@compiled_when_asked
def late(path, terms, duration, radius, tau, until, normal):
    return INNER(path, terms, radius, tau, until, normal, 1e-3)


@compiled_when_asked
def blind(path, terms, duration, radius, tau, until, normal):
    return np.inf


def test_a_test_of_arcs_is_held_against_the_shapes_distances() -> None:
    velocity = all_directions(500, 50.0)
    velocity[0] = 50.0  # none comes to the board's edges
    velocity[1:] *= 0.3
    for test, words in ((right(), None), (late(), "elsewhere"), (blind(), "other balls")):
        plugins = with_plugins({"visitor": visitor(test)})
        bay, _ = bay_of(SMALL_BAY, plugins)
        if words is None:
            check_arc_tests(plugins, bay, "visitor", velocity, (0.0, 0.0, 1.0))
        else:
            with pytest.raises(AssertionError, match=words):
                check_arc_tests(plugins, bay, "visitor", velocity, (0.0, 0.0, 1.0))
