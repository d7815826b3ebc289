"""Shapes that a plugin brings itself as Python functions: checked, and made meshes, when the bay is built."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.kept_answers import MOST, value_of
from flightsim.bay.meshed import Meshed, meshed
from flightsim.bay.parts import Part
from flightsim.bay.people import Zone
from flightsim.bay.shapes import Box, Capsule, ConvexPolygon, HalfSpace, RoundTube, Shape
from flightsim.bay.triangles import TriangleMesh
from flightsim.plugin.checks import check_array, check_bounds, check_unit, kind_of, read_only
from flightsim.plugin.loading import Loaded

Array = NDArray[np.float64]
Thing = TypeVar("Thing", Part, Zone)

OUR_SHAPES = (Box, Capsule, ConvexPolygon, HalfSpace, RoundTube, TriangleMesh)
PROMISE = 1.0e-9  # rounding allowed where a plugin's own distances are held to their promises
CLOSE = 1.0e-3  # m from the surface, where a distance is tried
EXACT = 1.0e-6  # m

_sound: set[Hashable] = set()  # values of shapes of ours that were checked


@dataclass(frozen=True)
class CheckedShape:
    """A plugin's own shape, with every distance that it gives checked: what it is made a mesh by."""

    shape: Shape
    plugin: Loaded
    part: str

    @property
    def convex(self) -> bool:
        """As the shape says."""
        return self.shape.convex

    def bounds(self) -> tuple[Array, Array]:
        """As the shape says."""
        return self.shape.bounds()

    def outlines(self) -> list[Array]:
        """As the shape says."""
        return self.shape.outlines()

    def distance(self, points: Array) -> tuple[Array, Array]:
        """As the shape says. Raises PluginError for wrong shapes, dtypes, NaN, or normals that are not unit."""
        where = f"part '{self.part}': {type(self.shape).__name__}.distance"
        found = self.plugin.guarded(where, self.shape.distance, read_only(points.copy()))
        if not (isinstance(found, tuple) and len(found) == 2):
            raise self.plugin.blame(f"{where} returned {kind_of(found)}; it must return distances and normals")
        n = points.shape[1]
        check_array(self.plugin, f"{where}: distances", found[0], (n,), np.float64)
        check_array(self.plugin, f"{where}: normals", found[1], (3, n), np.float64)
        check_unit(self.plugin, f"{where}: normals", found[1])
        return found


def as_data(plugin: Loaded, original: Thing) -> tuple[Thing, float | None]:
    """A part or zone whose shape is data, and, m, by how much its mesh is larger; None where it was data before.

    Raises PluginError for a shape that no mesh can hold.
    """
    if type(original.shape) in OUR_SHAPES:
        return original, None
    try:
        found: Meshed = meshed(CheckedShape(original.shape, plugin, original.name))
    except ValueError as error:
        advice = "give it as several parts, or as a TriangleMesh"
        raise plugin.blame(f"part '{original.name}': its shape cannot be made a mesh: {error}; {advice}") from error
    return replace(original, shape=found.mesh), found.larger


def check_shape(plugin: Loaded, part: Part) -> None:
    """Bounds, outlines, and distances at points around the shape; of ours once for each that there is."""
    value = value_of(part.shape)
    if value is not None and value in _sound:
        _freeze(part.shape)
        return
    where = f"flightsim_parts, part '{part.name}'"
    bounds: Any = plugin.guarded(f"{where}: its shape's bounds", part.shape.bounds)
    outlines: Any = plugin.guarded(f"{where}: its shape's outlines", part.shape.outlines)
    if type(part.shape) in OUR_SHAPES:
        _freeze(part.shape)
    for outline in outlines:
        check_array(plugin, f"{where}: outline", outline, (None, 3), np.float64)
    if type(part.shape) is not HalfSpace:  # which has no bounds
        check_bounds(plugin, bounds, where)
        CheckedShape(part.shape, plugin, part.name).distance(_probe_points(*bounds)[:, :1])
    if type(part.shape) not in OUR_SHAPES:
        _check_distances(plugin, part, _probe_points(*bounds))
    if value is not None and len(_sound) < MOST:
        _sound.add(value)


def _freeze(shape: Shape) -> None:
    """Nobody changes a shape of ours any more."""
    for value in vars(shape).values():
        if isinstance(value, np.ndarray):
            value.flags.writeable = False


def _check_distances(plugin: Loaded, part: Part, points: Array) -> None:
    """Whether a plugin's own shape keeps the promises that the search for contacts is built on.

    A distance that grows faster than the point moves, a shape that wrongly calls itself convex, or one that reaches
    out of its bounds would let balls pass through; a distance that is less than it should be would stop balls where
    nothing is.
    """
    where = f"part '{part.name}': {type(part.shape).__name__}.distance"
    shape = CheckedShape(part.shape, plugin, part.name)
    other = np.roll(points, 1, axis=1)
    (here, normal), (there, _) = shape.distance(points), shape.distance(other)
    apart = np.sqrt(((points - other) ** 2).sum(axis=0))
    if (np.abs(here - there) > apart * (1.0 + PROMISE) + PROMISE).any():
        raise plugin.blame(f"{where} grows faster than the point moves: balls could pass through")
    middle = shape.distance((points + other) / 2.0)[0]
    if part.shape.convex and (middle > (here + there) / 2.0 + PROMISE).any():
        raise plugin.blame(f"{where}: the shape is not convex, though it says so")
    # Going back along the normal by the distance, all but a little, must leave that little.
    back = points - normal * (here - CLOSE)
    if (np.abs(shape.distance(back)[0] - CLOSE) > EXACT)[here > CLOSE].any():
        raise plugin.blame(f"{where} is not the distance to its surface, or its normal does not point away from there")
    lower, upper = part.shape.bounds()
    outside = np.maximum(np.maximum(lower[:, None] - points, points - upper[:, None]), 0.0)
    off = np.sqrt((outside**2).sum(axis=0))
    if (here < off - PROMISE)[off > 0.0].any():
        raise plugin.blame(f"{where}: the shape reaches outside its bounds")


def _probe_points(lower: Array, upper: Array) -> Array:
    """Points `(3, 512)`, m, in and around a box; the same ones every time."""
    reach = upper - lower + 0.1
    middle = (lower + upper) / 2.0
    scatter = np.random.default_rng(0).uniform(-0.75, 0.75, (3, 512))
    return np.asarray(middle[:, None] + scatter * reach[:, None])
