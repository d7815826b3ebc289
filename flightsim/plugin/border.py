"""The border: whatever a plugin hands over is checked here, and the plugin is blamed by name.

A wrong array that slipped through would let balls pass a guard without a word, so nothing is taken on trust:
types, shapes, dtypes, finite numbers, tau within the arc, unit normals, owners and names. The bundled shapes
are checked once, when the bay is built; shapes of a plugin's own at every call.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel

from flightsim.bay.parts import Opening, Part, Role
from flightsim.bay.shapes import Box, ConvexPolygon, HalfSpace, RoundTube, Shape
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.touch import Touch
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.loading import Loaded
from flightsim.scenario.errors import Problem
from flightsim.scenario.models import Section

Array = NDArray[np.float64]
T = TypeVar("T")

OUR_SHAPES = (Box, ConvexPolygon, HalfSpace, RoundTube)
CORE_KEYS = ("name", "units", "ball", "air", "aero", "tee", "launches", "plugins")
UNIT = 1.0e-6  # how far a unit normal's length may be from 1


def checked_section(plugin: Loaded) -> Section | None:
    """The plugin's section, if it has one."""
    section = plugin.call("flightsim_section")
    if section is None:
        return None
    if not isinstance(section, Section):
        raise plugin.blame(f"flightsim_section returned {_kind(section)}; it must return a Section")
    if not (isinstance(section.model, type) and issubclass(section.model, BaseModel)):
        raise plugin.blame(f"section '{section.key}': its model must be a pydantic model, not {section.model!r}")
    if section.key in CORE_KEYS or not str(section.key).isidentifier():
        raise plugin.blame(f"section '{section.key}': the key must be a word and none of {', '.join(CORE_KEYS)}")
    if section.owner != plugin.name:
        raise plugin.blame(f"section '{section.key}': owner is '{section.owner}', it must be '{plugin.name}'")
    return section


def checked_pieces(plugin: Loaded, pieces: object) -> BayPieces:
    """What flightsim_parts returned; arrays of our own shapes are made read-only."""
    if pieces is None:
        return BayPieces()
    if not isinstance(pieces, BayPieces):
        raise plugin.blame(f"flightsim_parts returned {_kind(pieces)}; it must return BayPieces")
    for part in _all_are(plugin, "flightsim_parts: parts", pieces.parts, Part):
        _check_part(plugin, part)
    for opening in _all_are(plugin, "flightsim_parts: openings", pieces.openings, Opening):
        _check_opening(plugin, opening)
    _all_are(plugin, "flightsim_parts: problems", pieces.problems, Problem)
    if pieces.bounds is not None:
        _check_bounds(plugin, pieces.bounds)
    return pieces


def check_names(plugins: Iterable[Loaded], given: Mapping[str, BayPieces]) -> None:
    """Names of parts and openings must be unique in the bay: ties go by name."""
    owners: dict[str, str] = {}
    for plugin in plugins:
        things: list[Part | Opening] = [*given[plugin.name].parts, *given[plugin.name].openings]
        for thing in things:
            if thing.name in owners:
                raise plugin.blame(f"part '{thing.name}': plugin '{owners[thing.name]}' has a part of that name")
            owners[thing.name] = plugin.name


def room_bounds(plugins: Iterable[Loaded], given: Mapping[str, BayPieces]) -> tuple[Array, Array] | None:
    """The box that holds the room, from the one plugin that may give it."""
    bounds = None
    for plugin in plugins:
        mine = given[plugin.name].bounds
        if mine is not None and plugin.name != "room":
            raise plugin.blame("flightsim_parts: only the room plugin gives bounds")
        bounds = bounds if mine is None else mine
    return bounds


def checked_list(plugin: Loaded, hook: str, found: object, kind: type[T]) -> list[T]:
    """A hook's list of things of one kind; None is an empty one."""
    return [] if found is None else list(_all_are(plugin, hook, found, kind))


def checked_touches(plugin: Loaded, parts: Sequence[Part], found: object, arcs: int) -> list[Touch]:
    """What flightsim_touch returned for a batch of `arcs` arcs: one Touch a part, all arrays sound."""
    touches = _all_are(plugin, "flightsim_touch", found, Touch)
    mine = {part.name for part in parts}
    names = [touch.part.name for touch in touches]
    for wrong, words in (
        (set(names) - mine, "gave a touch of a part that is not its own"),
        ({name for name in names if names.count(name) > 1}, "gave two touches of one part"),
        (mine - set(names), "gave no Touch (an empty one will do) of its part"),
    ):
        if wrong:
            raise plugin.blame(f"flightsim_touch {words}: {', '.join(sorted(wrong))}")
    for touch in touches:
        _check_touch(plugin, touch, arcs)
    return list(touches)


def _check_touch(plugin: Loaded, touch: Touch, arcs: int) -> None:
    where = f"flightsim_touch, part '{touch.part.name}'"
    for words, balls in (("balls", touch.balls), ("undecided", touch.undecided)):
        _check_array(plugin, f"{where}: {words}", balls, (None,), np.integer)
        if balls.size and not (balls.min() >= 0 and balls.max() < arcs):
            raise plugin.blame(f"{where}: {words} must lie from 0 to {arcs - 1}, found {balls.min()} to {balls.max()}")
        if np.unique(balls).size != balls.size:
            raise plugin.blame(f"{where}: {words} names a ball twice")
    count = touch.balls.size
    _check_array(plugin, f"{where}: tau", touch.tau, (count,), np.float64)
    _check_array(plugin, f"{where}: normal", touch.normal, (3, count), np.float64)
    if count and not (touch.tau.min() >= 0.0 and touch.tau.max() <= 1.0):
        raise plugin.blame(f"{where}: tau must lie from 0 to 1, found {touch.tau.min():g} to {touch.tau.max():g}")
    _check_unit(plugin, f"{where}: normal", touch.normal)


@dataclass(frozen=True)
class CheckedShape:
    """A plugin's own shape, with every distance that it gives checked."""

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
        try:
            found = self.shape.distance(read_only(points))
        except Exception as error:
            raise self.plugin.blame(f"{where} failed: {type(error).__name__}: {error}") from error
        if not (isinstance(found, tuple) and len(found) == 2):
            raise self.plugin.blame(f"{where} returned {_kind(found)}; it must return distances and normals")
        n = points.shape[1]
        _check_array(self.plugin, f"{where}: distances", found[0], (n,), np.float64)
        _check_array(self.plugin, f"{where}: normals", found[1], (3, n), np.float64)
        _check_unit(self.plugin, f"{where}: normals", found[1])
        return found


def checked_shape_of(plugin: Loaded, part: Part) -> Part:
    """The part, with a shape that is not one of ours checked at every call."""
    if type(part.shape) in OUR_SHAPES:
        return part
    return replace(part, shape=CheckedShape(part.shape, plugin, part.name))


def read_only(array: NDArray[Any]) -> NDArray[Any]:
    """A view that cannot be written through."""
    view = array.view()
    view.flags.writeable = False
    return view


def read_only_arcs(arcs: ArcBatch) -> ArcBatch:
    """The same arcs, read-only, with an `until` of the plugin's own: what it does to that binds nobody else."""
    mine = copy.copy(arcs)
    for name, value in vars(arcs).items():
        setattr(mine, name, _sealed(value))
    mine.until = arcs.until.copy()
    return mine


def _sealed(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return read_only(value)
    if isinstance(value, tuple):
        return tuple(_sealed(item) for item in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: _sealed(getattr(value, f.name)) for f in fields(value) if f.init})
    return value


def _check_part(plugin: Loaded, part: Part) -> None:
    where = f"flightsim_parts, part '{part.name}'"
    for word, text in (("name", part.name), ("facing", part.facing)):
        if not (isinstance(text, str) and text.strip()):
            raise plugin.blame(f"{where}: {word} must be a plain word, found {text!r}")
    if part.owner != plugin.name:
        raise plugin.blame(f"{where}: owner is '{part.owner}', it must be '{plugin.name}'")
    if not isinstance(part.role, Role):
        raise plugin.blame(f"{where}: role must be a Role, found {part.role!r}")
    if not isinstance(part.shape, Shape):
        raise plugin.blame(f"{where}: {_kind(part.shape)} is not a Shape")
    _check_shape(plugin, part)


def _check_shape(plugin: Loaded, part: Part) -> None:
    """Bounds, outlines, and distances at points around the shape."""
    where = f"flightsim_parts, part '{part.name}'"
    try:
        bounds, outlines = part.shape.bounds(), part.shape.outlines()
    except Exception as error:
        raise plugin.blame(f"{where}: its shape failed: {type(error).__name__}: {error}") from error
    if type(part.shape) in OUR_SHAPES:
        for value in vars(part.shape).values():
            if isinstance(value, np.ndarray):
                value.flags.writeable = False
    if not isinstance(part.shape, HalfSpace):
        _check_bounds(plugin, bounds, where)
        probe = _probe_points(*bounds)
        CheckedShape(part.shape, plugin, part.name).distance(probe)
    for outline in outlines:
        _check_array(plugin, f"{where}: outline", outline, (None, 3), np.float64)


def _probe_points(lower: Array, upper: Array) -> Array:
    """A coarse grid `(3, 64)`, m, in and around a box."""
    ticks = np.linspace(-0.25, 1.25, 4)
    grid = np.stack(np.meshgrid(ticks, ticks, ticks, indexing="ij")).reshape(3, -1)
    reach = upper - lower + 0.1
    return np.asarray((lower - 0.05)[:, None] + grid * reach[:, None])


def _check_opening(plugin: Loaded, opening: Opening) -> None:
    where = f"flightsim_parts, opening '{opening.name}'"
    if opening.owner != plugin.name:
        raise plugin.blame(f"{where}: owner is '{opening.owner}', it must be '{plugin.name}'")
    _check_array(plugin, f"{where}: corners", opening.corners, (None, 3), np.float64)
    _check_array(plugin, f"{where}: normal", opening.normal, (3,), np.float64)
    _check_unit(plugin, f"{where}: normal", opening.normal)
    try:
        outline = opening.shape
    except ValueError as error:
        raise plugin.blame(f"{where}: {error}") from error
    if np.abs((outline.corners - outline.corners[0]) @ opening.normal).max() > 1e-6:
        raise plugin.blame(f"{where}: its normal must stand square on its outline")


def _check_bounds(plugin: Loaded, bounds: object, where: str = "flightsim_parts") -> None:
    if not (isinstance(bounds, tuple) and len(bounds) == 2):
        raise plugin.blame(f"{where}: bounds must be a lower and an upper corner, found {_kind(bounds)}")
    for corner in bounds:
        _check_array(plugin, f"{where}: bounds", corner, (3,), np.float64)
    if not (bounds[0] <= bounds[1]).all():
        raise plugin.blame(f"{where}: the lower corner of its bounds lies above the upper one")


def _check_array(plugin: Loaded, where: str, array: object, shape: tuple[int | None, ...], dtype: Any) -> None:
    """An array of this shape (None: any length) and dtype, finite throughout."""
    wanted = f"a numpy array of shape {tuple('any' if size is None else size for size in shape)}".replace("'", "")
    if not isinstance(array, np.ndarray):
        raise plugin.blame(f"{where}: {_kind(array)}; it must be {wanted}")
    fits = len(shape) == array.ndim and all(s is None or s == a for s, a in zip(shape, array.shape, strict=True))
    if not fits:
        raise plugin.blame(f"{where}: shape {array.shape}; it must be {wanted}")
    if not np.issubdtype(array.dtype, dtype):
        raise plugin.blame(
            f"{where}: dtype {array.dtype}; it must be {np.dtype(dtype) if dtype is np.float64 else 'int'}"
        )
    if not np.isfinite(array).all():
        raise plugin.blame(f"{where}: {int((~np.isfinite(array)).sum())} of {array.size} values are NaN or infinite")


def _check_unit(plugin: Loaded, where: str, normal: Array) -> None:
    length = np.sqrt((normal * normal).sum(axis=0))
    off = np.abs(length - 1.0) > UNIT
    if off.any():
        raise plugin.blame(
            f"{where}: must have length 1, found {float(np.atleast_1d(length)[np.atleast_1d(off)][0]):g}"
        )


def _all_are(plugin: Loaded, where: str, things: object, kind: type[T]) -> Sequence[T]:
    if not isinstance(things, Sequence) or isinstance(things, (str, bytes)):
        raise plugin.blame(f"{where}: {_kind(things)}; it must be a list or tuple of {kind.__name__}")
    for thing in things:
        if not isinstance(thing, kind):
            raise plugin.blame(f"{where}: holds {_kind(thing)}; all must be {kind.__name__}")
    return things


def _kind(thing: object) -> str:
    return "None" if thing is None else f"a {type(thing).__name__}"
