"""The helpers for plugin authors tell right from wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from types import ModuleType

import numpy as np
import pytest

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import Box, ConvexPolygon, RoundTube, Shape, block
from flightsim.contact.touch import Touch, first_touches
from flightsim.plugin.hookspecs import BayPieces, TouchTest, hookimpl
from flightsim.plugin.testing import SMALL_BAY, all_directions, bay_of, check_distance, check_touch, with_plugins

SHAPES = [
    block(np.zeros(3), np.array([0.4, 0.3, 0.2])),
    Box(np.zeros(3), np.eye(3), np.array([0.4, 0.3, 0.0])),
    RoundTube(np.zeros(3), np.array([1.0, 0.2, 0.1]), 0.05),
    ConvexPolygon(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])),
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


def visitor(touch: Callable[[TouchTest], object]) -> ModuleType:
    module = ModuleType("visitor")
    module.HOOK_API = 1  # type: ignore[attr-defined]
    board = Part("board", block(np.array([1.0, -1, 0]), np.array([1.1, 1, 2])), Role.GUARD, "plywood", "visitor")

    def flightsim_parts(context: object) -> BayPieces:
        return BayPieces((board,))

    module.flightsim_parts = hookimpl(flightsim_parts)  # type: ignore[attr-defined]
    module.flightsim_touch = hookimpl(touch, specname="flightsim_touch")  # type: ignore[attr-defined]
    return module


def right(context: TouchTest) -> list[Touch]:
    return first_touches(context.parts, context.arcs)


def late(context: TouchTest) -> list[Touch]:
    return [replace(touch, tau=np.minimum(1.0, touch.tau + 1e-3)) for touch in right(context)]


def blind(context: TouchTest) -> list[Touch]:
    return [
        replace(touch, balls=touch.balls[1:], tau=touch.tau[1:], normal=touch.normal[:, 1:]) for touch in right(context)
    ]


def test_a_touch_test_is_held_against_the_shapes_distances() -> None:
    velocity = all_directions(500, 50.0)
    for touch, words in ((right, None), (late, "elsewhere"), (blind, "other balls")):
        plugins = with_plugins({"visitor": visitor(touch)})
        bay, _ = bay_of(SMALL_BAY, plugins)
        if words is None:
            check_touch(plugins, bay, "visitor", velocity)
        else:
            with pytest.raises(AssertionError, match=words):
                check_touch(plugins, bay, "visitor", velocity)
