"""Random bays of boxes, boards, sheets, polygons and tubes at any angle, and random shots in them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from bays import RPM, part, room

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import Box, ConvexPolygon, RoundTube, Shape, block, square_tube
from flightsim.flight.launches import Launches, launch

R = 0.042670 / 2
LOWER, UPPER = np.array([-4.0, -3.0, -0.5]), np.array([5.0, 3.0, 4.0])


def turned(rng: np.random.Generator) -> np.ndarray:
    """Any orientation, now and then that of the room."""
    return np.eye(3) if rng.random() < 0.4 else np.linalg.qr(rng.normal(size=(3, 3)))[0]


def random_part(rng: np.random.Generator, k: int) -> Part:
    """One part of a random kind, size, place and orientation."""
    centre, axes = rng.uniform([-3, -2, 0], [4, 2, 3]), turned(rng)
    away = rng.normal(size=3) * rng.uniform(0.05, 1.5)
    half = rng.uniform(0.003, 0.8, 3)
    kind = rng.integers(6)
    if kind == 0:
        return part(f"box {k}", Box(centre, axes, half))
    if kind == 1:
        half[rng.integers(3)] = 0.0
        return part(f"sheet {k}", Box(centre, axes, 2 * half))
    if kind == 2:
        half[2] = rng.choice([0.0015, 0.006, 0.05])
        return part(f"board {k}", Box(centre, axes, half * [2, 2, 1]))
    if kind == 3:
        return part(f"tube {k}", RoundTube(centre, centre + away, rng.uniform(0.005, 0.15)))
    if kind == 4:
        width = rng.uniform(0.01, 0.2)
        return part(f"square tube {k}", square_tube(centre, centre + away, width, rng.uniform(0, width / 2)))
    corners = rng.integers(3, 8)
    angle = (np.arange(corners) + rng.uniform(0.1, 0.9, corners)) * 2 * np.pi / corners
    flat = np.outer(np.cos(angle), axes[0]) + np.outer(np.sin(angle) * rng.uniform(0.2, 1), axes[1])
    return part(f"polygon {k}", ConvexPolygon(centre + rng.uniform(0.1, 1.2) * flat))


def random_bay(rng: np.random.Generator) -> Bay:
    """A few parts in a large box without walls; a box that nothing reaches, for the reference wants one."""
    parts = [random_part(rng, k) for k in range(rng.integers(3, 14))]
    return Bay((*parts, part("far box", block(np.full(3, 9.0), np.full(3, 9.1)))), (), LOWER, UPPER)


def random_launches(rng: np.random.Generator, bay: Bay, n: int) -> Launches:
    """Slow and fast, any direction, straight up now and then, huge spins, from anywhere that touches nothing."""
    start = np.stack([rng.uniform(-0.5, 0.5, n), rng.uniform(-0.5, 0.5, n), rng.uniform(R, 1.5, n)])
    slow, lob, wild, up = rng.random((4, n)) < np.array([[0.3], [0.2], [0.2], [0.05]])
    speed = np.where(slow, rng.uniform(1, 8, n), rng.uniform(8, 90, n))
    elevation = np.radians(np.where(lob, rng.uniform(65, 115, n), rng.uniform(-60, 120, n)))
    elevation = np.where(up, np.pi / 2, elevation)
    spin = np.where(wild, rng.uniform(-30_000, 30_000, n), rng.uniform(-3000, 11_000, n)) * RPM
    all_of_them = launch(start, speed, elevation, rng.uniform(-np.pi, np.pi, n), spin, rng.uniform(-np.pi, np.pi, n))
    free = np.min([p.shape.distance(start)[0] for p in bay.parts], axis=0) > R + 1e-6
    return all_of_them.take(np.flatnonzero(free))


FACINGS = ("concrete", "steel", "foam on steel", "foam on plywood", "gypsum", "rubber", "cloth", "net", "turf", "glass")


def random_facings(rng: np.random.Generator, parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """The same parts, each made of something, each protection or not."""
    roles = (Role.GUARD, Role.UNPROTECTED, Role.UNPROTECTED, Role.FLOOR)
    return tuple(
        replace(part, facing=str(rng.choice(FACINGS)), role=roles[rng.integers(4)], fragile=bool(rng.random() < 0.1))
        for part in parts
    )


def random_zones(rng: np.random.Generator) -> tuple[Zone, ...]:
    """A few people, some of them the hitter."""
    zones = []
    for k in range(rng.integers(0, 4)):
        centre, half = rng.uniform([-3, -2, 0], [4, 2, 2]), rng.uniform(0.1, 0.6, 3)
        own = {"own_spot": "tee", "own_hand": "right"} if rng.random() < 0.5 else {}
        zones.append(Zone(f"zone {k}", f"person {k}", Box(centre, np.eye(3), half), "test", bool(k % 2), **own))
    return tuple(zones)


def walled(rng: np.random.Generator, closed: bool = True) -> tuple[Bay, Bay]:
    """A room with things of every facing at any angle and people; and the things alone, for where shots may start."""
    loose = random_bay(rng)
    walls = room(tuple(LOWER), tuple(UPPER), () if closed else ("back wall",))
    parts = random_facings(rng, (*loose.parts[:-1], *walls))
    return Bay(parts, (), LOWER, UPPER, random_zones(rng)), loose


def thin_sheets(rng: np.random.Generator) -> Bay:
    """A closed room with thin sheets at any angle, none of them broken by any ball."""
    sheets = []
    for k in range(rng.integers(2, 7)):
        half = rng.uniform(0.2, 1.5, 3)
        half[rng.integers(3)] = rng.choice([0.0, 1e-5, 5e-4])
        sheets.append(part(f"sheet {k}", Box(rng.uniform([-3, -2, 0.5], [4, 2, 3]), turned(rng), half)))
    walls = room(tuple(LOWER), tuple(UPPER))
    return Bay((*sheets, *walls), (), LOWER, UPPER)


def flipped(shape: Shape, signs: np.ndarray) -> Shape:
    """The same shape in a world whose axes are turned round where signs `(3,)` are -1."""
    if isinstance(shape, Box):
        straight = np.array_equal(shape.axes, np.eye(3))
        return Box(
            shape.centre * signs, shape.axes if straight else shape.axes * signs, shape.half, shape.corner_radius
        )
    if isinstance(shape, RoundTube):
        return RoundTube(shape.start * signs, shape.end * signs, shape.radius)
    assert isinstance(shape, ConvexPolygon)
    return ConvexPolygon(shape.corners * signs)


def flipped_bay(bay: Bay, signs: np.ndarray) -> Bay:
    """The bay in that world."""
    low, high = bay.lower * signs, bay.upper * signs
    return Bay(
        tuple(replace(part, shape=flipped(part.shape, signs)) for part in bay.parts), (),
        np.minimum(low, high), np.maximum(low, high),
        tuple(replace(zone, shape=flipped(zone.shape, signs)) for zone in bay.zones),
    )  # fmt: skip
