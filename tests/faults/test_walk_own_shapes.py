"""A plugin's own shapes and touch tests: honest ones are met where they are, dishonest ones are blamed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from own_tests import compiled_when_asked

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import Capsule
from flightsim.bay.triangles import TriangleMesh
from flightsim.contact.arc_test import ArcTest
from flightsim.contact.contacts import Contacts
from flightsim.engine.follow import first_contacts
from flightsim.errors import PluginError
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.hookspecs import BayPieces, hookimpl
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import SMALL_BAY, all_directions, bay_of, with_plugins

R = 0.042670 / 2


@dataclass(frozen=True)
class Ball:
    """A sphere, with something wrong."""

    scale: float = 1.0
    shrink: float = 0.0
    centre: tuple[float, float, float] = (0.7, 0.0, 1.5)
    radius: float = 0.1
    convex: bool = True

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        reach = self.radius - self.shrink
        return np.array(self.centre) - reach, np.array(self.centre) + reach

    def distance(self, points: np.ndarray) -> Any:
        off = points - np.array(self.centre)[:, None]
        length = np.linalg.norm(off, axis=0)
        return self.scale * (length - self.radius), off / length

    def outlines(self) -> list[np.ndarray]:
        return []


@dataclass(frozen=True)
class Dish:
    """A spherical bowl, hollow side toward the tee: what is between two spheres, cut in half. Not convex."""

    centre: tuple[float, float, float] = (1.5, 0.0, 1.0)
    inner: float = 0.8
    outer: float = 0.85
    convex: bool = False

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        low, high = np.array(self.centre) - self.outer, np.array(self.centre) + self.outer
        low[0] = self.centre[0]
        return low, high

    def distance(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        off = points - np.array(self.centre)[:, None]
        reach = np.linalg.norm(off, axis=0)
        ahead = off[0] >= 0.0
        mid, half = (self.inner + self.outer) / 2, (self.outer - self.inner) / 2
        shell = np.abs(reach - mid) - half
        side = np.sign(reach - mid) * off / np.maximum(reach, 1e-12)
        # Behind the cut the nearest point lies on the flat ring.
        rho = np.hypot(off[1], off[2])
        ring = np.clip(rho, self.inner, self.outer)
        across = np.stack([off[0], *(off[1:] * (1 - ring / np.maximum(rho, 1e-12)))])
        away = np.sqrt((across**2).sum(axis=0))
        normal = np.where(ahead, side, across / np.maximum(away, 1e-12))
        return np.where(ahead, shell, away), normal

    def outlines(self) -> list[np.ndarray]:
        return []


def plugin(**hooks: Callable[..., object]) -> ModuleType:
    module = ModuleType("visitor")
    module.HOOK_API = 2  # type: ignore[attr-defined]
    for name, function in hooks.items():
        setattr(module, f"flightsim_{name}", hookimpl(function, specname=f"flightsim_{name}"))
    return module


@cache
def visiting(shape: Any, role: Role = Role.GUARD, **hooks: Callable[..., object]) -> tuple[Plugins, Bay]:
    it = Part("thing", shape, role, "steel", "visitor")
    plugins = with_plugins({"visitor": plugin(parts=lambda context: BayPieces((it,)), **hooks)})
    return plugins, bay_of(SMALL_BAY, plugins)[0]


def flown(plugins: Plugins, bay: Bay, velocity: np.ndarray, start: tuple[float, float, float] = (0, 0, 1)) -> Contacts:
    return first_contacts(Physics(), launched(velocity, start), bay, plugins.touch_tests(bay))


def launched(velocity: np.ndarray, start: tuple[float, float, float] = (0, 0, 1)) -> Launches:
    n = velocity.shape[1]
    return Launches(np.repeat(np.array(start, dtype=float)[:, None], n, axis=1), velocity, np.zeros((3, n)))


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (Ball(shrink=0.02), "reaches outside its bounds"),
        (Ball(scale=0.5), "is not the distance to its surface"),
        (Ball(scale=0.98), "is not the distance to its surface"),
    ],
)
def test_a_shape_that_would_be_met_where_it_is_not_or_passed_where_it_is_is_blamed(shape: Ball, words: str) -> None:
    with pytest.raises(PluginError, match=rf"plugin 'visitor'.*part 'thing': Ball.distance.*{words}"):
        visiting(shape)


def test_honest_shapes_pass_the_border() -> None:
    for shape in (Ball(), Ball(convex=False), Dish()):
        visiting(shape)


def test_a_bowl_is_met_on_its_hollow_side_at_its_inner_radius() -> None:
    """Not convex: no ball that flies into it comes to its rim, or through."""
    plugins, bay = visiting(Dish())
    angles = np.random.default_rng(3).uniform(-0.35, 0.35, (2, 500))
    aim = np.stack([np.ones(500), *np.tan(angles)])
    contacts = flown(plugins, bay, 60.0 * aim / np.linalg.norm(aim, axis=0))
    assert {bay.parts[k].name for k in contacts.part} == {"thing"}
    reach = np.linalg.norm(contacts.point - np.array([[1.5], [0.0], [1.0]]), axis=0)
    inside = contacts.point[0] > 1.5
    assert reach[inside] == pytest.approx(0.8 - R, abs=3.5e-3)  # as its triangles are told to be
    assert inside.all()


def test_a_bowl_is_met_from_behind_over_its_rim_and_past_it_as_a_fine_march_says() -> None:
    """Outside reference: the same distance, marched in steps of 0.1 mm along straight lines."""
    from flightsim.flight.air import Air

    plugins, bay = visiting(Dish())
    n, speed = 120, 40.0
    velocity = all_directions(n, speed, seed=9)
    velocity[0] = 1.5 * np.abs(velocity[0])  # mostly toward it
    velocity *= speed / np.linalg.norm(velocity, axis=0)
    start = np.array([-0.5, 0.1, 1.1])
    launches = Launches(np.repeat(start[:, None], n, axis=1), velocity, np.zeros((3, n)))
    contacts = first_contacts(Physics(air=Air(1e-30, 1.8e-5), gravity=0.0), launches, bay, plugins.touch_tests(bay))
    shape = Dish()
    met = 0
    for k in range(n):
        path = np.arange(0.0, 4.0, 1e-4)
        gaps = shape.distance(start[:, None] + velocity[:, k : k + 1] / speed * path)[0] - R
        met_bowl = bay.parts[contacts.part[k]].name == "thing"
        touching = np.flatnonzero(gaps <= 0.0)
        flown_path = float(np.linalg.norm(contacts.point[:, k] - start))
        if met_bowl:
            met += 1
            grazes = abs(contacts.normal[:, k] @ velocity[:, k]) / speed
            assert flown_path == pytest.approx(path[touching[0]], abs=4e-3 / max(grazes, 0.05))
        elif touching.size:
            assert path[touching[0]] >= flown_path - 2e-4
    assert 10 < met < n


@compiled_when_asked
def met_ball(path, terms, duration, radius, tau, until, normal):
    """When the ball on its arc is a radius from the sphere `Ball`: a march to lower bounds of the gap."""
    speed = 0.0
    for k in range(1, terms):
        square = 0.0
        for i in range(3):
            square += path[3 * k + i] ** 2
        speed += k * np.sqrt(square)
    for _ in range(2000):
        away, closing = 0.0, 0.0
        for i in range(3):
            place, rate = 0.0, 0.0
            for k in range(terms - 1, -1, -1):
                rate = rate * tau + place
                place = place * tau + path[3 * k + i]
            normal[i] = place - (0.7 if i == 0 else 0.0 if i == 1 else 1.5)
            away += normal[i] ** 2
            closing += normal[i] * rate
        away = np.sqrt(away)
        for i in range(3):
            normal[i] /= away
        gap = away - 0.1 - radius
        if gap < 1e-8 and closing < 0.0:
            return tau
        tau += max(gap, 1e-9) / speed
        if tau > until:
            return np.inf
    return np.nan


@compiled_when_asked
def nobody_knows(path, terms, duration, radius, tau, until, normal):
    return np.nan


def by_test(test: Any) -> Callable[..., object]:
    return lambda context: [ArcTest(part.name, test()) for part in context.parts]


def test_a_test_of_the_plugins_own_wins_and_loses_like_any_other() -> None:
    """The same touches, found by the plugin itself, give the same first contacts, also those of others."""
    velocity = all_directions(2000, 50.0, seed=2)
    mesh = replace_shape(visiting(Ball())[1], Capsule(np.array([0.7, 0, 1.5]), np.array([0.7, 0, 1.5 + 1e-9]), 0.1))
    first = first_contacts(Physics(), launched(velocity), mesh)
    second = flown(*visiting(Ball(), arc_tests=by_test(met_ball)), velocity)
    assert np.array_equal(first.part, second.part)
    assert np.allclose(first.point, second.point, atol=1e-6)
    assert "thing" in {mesh.parts[k].name for k in first.part}


def test_what_a_test_cannot_decide_counts_as_failed_and_never_as_met() -> None:
    plugins, bay = visiting(Ball(), arc_tests=by_test(nobody_knows))
    velocity = all_directions(2000, 50.0, seed=2)
    thing = [part.name for part in bay.parts].index("thing")
    met = flown(*visiting(Ball()), velocity).part == thing
    contacts = flown(plugins, bay, velocity)
    assert met.any()
    assert contacts.failed[met].all()
    assert (contacts.part[contacts.failed] == -1).all()


def test_a_shape_that_is_a_function_is_made_triangles_that_are_nowhere_smaller_and_that_is_told() -> None:
    plugins, bay = visiting(Ball())
    (thing,) = bay.owned_by("visitor")
    assert isinstance(thing.shape, TriangleMesh)
    assert thing.shape.closed
    points = all_directions(3000, 1.0, seed=4) * np.random.default_rng(1).uniform(0.1, 1.0, 3000)
    points += np.array([[0.7], [0.0], [1.5]])
    larger = Ball().distance(points)[0] - thing.shape.distance(points)[0]
    assert larger.min() > -1e-9
    assert larger.max() < 1e-4
    (problem,) = [p.found for p in bay_of(SMALL_BAY, plugins)[1].problems if "'thing'" in p.found]
    assert re.search(r"the shape of 'thing' was made triangles: at most 0\.\d mm larger, nowhere smaller", problem)


def test_a_shape_too_large_for_triangles_is_blamed_with_a_way_out() -> None:
    with pytest.raises(PluginError, match=r"'visitor'.*part 'thing': its shape cannot be made a mesh.*TriangleMesh"):
        visiting(Ball(centre=(0.0, 0.0, 0.0), radius=30.0))


def replace_shape(bay: Bay, shape: Any) -> Bay:
    parts = tuple(replace(part, shape=shape) if part.name == "thing" else part for part in bay.parts)
    return replace(bay, parts=parts)
