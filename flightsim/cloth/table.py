"""How far one cloth sinks and what it gives back, by speed and place: a few lattice hits, and between them by rule."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flightsim.cloth.closed_form import BALL_MASS, FAR_FACTOR, NEAR_FACTOR, shear_factor
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.kept_tables import kept_arrays
from flightsim.cloth.mesh import cell_counts

if TYPE_CHECKING:
    from scipy.interpolate import RegularGridInterpolator

Array = NDArray[np.float64]
Nodes = NDArray[np.intp]

WORKED_SPEEDS = (10.0, 20.0, 40.0, 60.0, 80.0)  # m/s
CELLS_OF_SHORT_SIDE = 32  # more would change returns by 3 % in the mean (docs/decisions/0032)
MOST_NODES = 2050
LEAST = 1e-6  # of what goes into logarithms: a rim held fast moves nothing
STIFF_IN_SHEAR = 0.09  # G/E at the stiff end of what a cloth of unknown weave may have [cloth-band]


@dataclass(frozen=True)
class Band:
    """A length with what it may be, near and far, m `(n,)`."""

    near: Array
    centre: Array
    far: Array


@dataclass(frozen=True)
class DepthTable:
    """Hits of a lattice by speed, and by place across and up.

    depths, m, restitutions, edges, m: how far the nearest edge was pulled inward, stays, s: how long the ball was in
    the cloth, and turns, s: when it was deepest, `(speeds, columns, rows)`. NaN where the lattice gave no answer in its
    time, or was not asked: then what is read near it is NaN too.
    """

    cloth: Cloth
    speeds: Array
    across: Array
    up: Array
    depths: Array
    restitutions: Array
    edges: Array
    stays: Array
    turns: Array

    def depth(self, speed: ArrayLike, across: ArrayLike, up: ArrayLike) -> Array:
        """Depth, m `(n,)`, for a square speed, m/s, at a place, m: as a power of the speed, linear in place."""
        points = self._points(speed, across, up)
        return np.asarray(np.exp(self._log_depth(points)).reshape(points.shape[:-1]))

    def restitution(self, speed: ArrayLike, across: ArrayLike, up: ArrayLike) -> Array:
        """Speed back over speed in `(n,)`, without the damping of a real cloth (a factor .6-.9) [cloth-band]."""
        points = self._points(speed, across, up, within=True)
        return np.asarray(np.clip(self._restitution(points), 0.0, 1.0).reshape(points.shape[:-1]))

    def edge_moved(self, speed: ArrayLike, across: ArrayLike, up: ArrayLike) -> Array:
        """How far the edge nearest to the hit is pulled inward, m `(n,)`."""
        points = self._points(speed, across, up)
        return np.asarray(np.exp(self._log_edge(points)).reshape(points.shape[:-1]))

    def stay(self, speed: ArrayLike, across: ArrayLike, up: ArrayLike) -> Array:
        """How long a ball is in the cloth, s `(n,)`; a hit beyond the table's speeds as long as at its ends."""
        points = self._points(speed, across, up, within=True)
        return np.asarray(np.exp(self._log_stay(points)).reshape(points.shape[:-1]))

    def deepest(self, speed: ArrayLike) -> Array:
        """Depth where the cloth sinks deepest, m `(n,)`, of the table's places."""
        speeds = np.asarray(speed, dtype=np.float64).reshape(-1)
        places = np.stack(np.meshgrid(self.across, self.up)).reshape(2, -1)
        return np.asarray(self.depth(speeds[:, None], places[0], places[1]).max(axis=1))

    def _points(self, speed: ArrayLike, across: ArrayLike, up: ArrayLike, within: bool = False) -> Array:
        """Points `(n, 3)` of the table; places nearer to a rim than the table goes are taken at its end."""
        speed, across, up = np.broadcast_arrays(*(np.asarray(each, dtype=np.float64) for each in (speed, across, up)))
        if not np.all(speed > 0.0):
            raise ValueError("a hit needs a speed above 0 m/s")
        if within:
            speed = np.clip(speed, self.speeds[0], self.speeds[-1])
        across = np.clip(across, self.across[0], self.across[-1])
        return np.stack([np.log(speed), across, np.clip(up, self.up[0], self.up[-1])], axis=-1)

    @cached_property
    def _log_depth(self) -> RegularGridInterpolator:
        return self._between(np.log(self.depths))

    @cached_property
    def _restitution(self) -> RegularGridInterpolator:
        return self._between(self.restitutions)

    @cached_property
    def _log_edge(self) -> RegularGridInterpolator:
        return self._between(np.log(np.maximum(self.edges, LEAST)))

    @cached_property
    def _log_stay(self) -> RegularGridInterpolator:
        return self._between(np.log(self.stays))

    def _between(self, values: Array) -> RegularGridInterpolator:
        from scipy.interpolate import RegularGridInterpolator

        axes = (np.log(self.speeds), self.across, self.up)
        return RegularGridInterpolator(axes, values, bounds_error=False, fill_value=None)


@lru_cache(maxsize=64)
def depth_table(cloth: Cloth, ball_mass: float = BALL_MASS, to_deepest: bool = False) -> DepthTable:
    """The table of one cloth, worked out once on a machine: a hundred hits on a lattice, under a second.

    to_deepest: in a fifth of the time, without returns, edges and stays, which are NaN.
    """
    what = {each.name: getattr(cloth, each.name) for each in fields(cloth)} | {"corded": sorted(cloth.corded)}
    arrays = kept_arrays(repr((what, ball_mass, to_deepest)), lambda: _worked_out(cloth, ball_mass, to_deepest))
    return DepthTable(cloth, **arrays)


def _worked_out(cloth: Cloth, ball_mass: float, to_deepest: bool) -> dict[str, Array]:
    """The arrays of a DepthTable, from the lattice."""
    from flightsim.cloth.square_hits import strike  # and with it the compiler

    spacing = table_spacing(cloth)
    columns, rows = cell_counts(cloth, spacing)
    across, worked_across, same_across = _places(columns, len(cloth.corded & {"left", "right"}) != 1)
    up, worked_up, same_up = _places(rows, len(cloth.corded & {"foot", "top"}) != 1)
    cell_across, cell_up = cloth.width / columns, cloth.height / rows
    hits = np.meshgrid(np.array(WORKED_SPEEDS), worked_across * cell_across, worked_up * cell_up, indexing="ij")
    done = strike(
        cloth, *(each.ravel() for each in hits), spacing=spacing, ball_mass=ball_mass, to_deepest=to_deepest, quick=True
    )
    back: Array = done.return_speed / hits[0].ravel()
    found = (done.depth, back, done.edge_moved, done.return_time, done.depth_time)
    whole = (each.reshape(hits[0].shape)[:, same_across][:, :, same_up] for each in found)
    worked = tuple(
        np.asarray(axis, dtype=np.float64) for axis in (np.log(WORKED_SPEEDS), across * cell_across, up * cell_up)
    )
    wanted = tuple(_with_middles(axis) for axis in worked)
    values = (_in_between(each, worked, wanted) for each in whole)
    names = [each.name for each in fields(DepthTable) if each.name != "cloth"]
    return dict(zip(names, (np.exp(wanted[0]), *wanted[1:], *values), strict=True))


def _with_middles(axis: Array) -> Array:
    """The places of an axis, and those half-way between them."""
    return np.asarray(np.interp(np.arange(2 * axis.size - 1), 2 * np.arange(axis.size), axis))


def _in_between(values: Array, worked: tuple[Array, ...], wanted: tuple[Array, ...]) -> Array:
    """Values that were worked at some speeds and places, at more of them: cubics of their logarithms without overshoot.

    So what is between 0 and 1 stays there. Next to a hit without an answer there is none.
    """
    found = np.log(np.maximum(values, LEAST))
    for axis in range(found.ndim):
        rows = np.moveaxis(found, axis, 0)
        found = np.moveaxis(_along(rows, worked[axis], wanted[axis]), 0, axis)
    return np.ascontiguousarray(np.exp(found))


def _along(rows: Array, worked: Array, wanted: Array) -> Array:
    """Rows `(worked, ...)` at the wanted places; through gaps in them straight lines, so that they stay gaps."""
    from scipy.interpolate import PchipInterpolator

    flat = rows.reshape(worked.size, -1)
    known = np.isfinite(flat)
    found = np.asarray(PchipInterpolator(worked, np.where(known, flat, 0.0), axis=0)(wanted))
    for k in np.flatnonzero(~known.all(axis=0)):
        found[:, k] = np.interp(wanted, worked, flat[:, k])
    return found.reshape(wanted.size, *rows.shape[1:])


def table_spacing(cloth: Cloth) -> float:
    """Mesh of a table, m: 32 cells up the shorter side, fewer on a long strip so that a table stays quick."""
    short = min(cloth.width, cloth.height)
    return min(max(short / CELLS_OF_SHORT_SIDE, sqrt(cloth.width * cloth.height / MOST_NODES)), short / 6.0)


def _places(cells: int, alike: bool) -> tuple[Nodes, Nodes, Nodes]:
    """Node numbers of the table's places along a side, those that are worked, and which of them stands for each place.

    Near each rim, a little in, a quarter and three eighths in, and the middle. A side alike at both ends is worked on
    one half.
    """
    half = np.array([min(2, cells // 2), min(5, cells // 2), max(1, cells // 4), max(1, 3 * cells // 8), cells // 2])
    places = np.unique([*half, *(cells - half)])
    worked, same = np.unique(np.minimum(places, cells - places) if alike else places, return_inverse=True)
    return places, worked, same


def stiff_weave(cloth: Cloth) -> float:
    """Depth of the stiffest weave, G/E .09, over this cloth's, by the closed form: near ends need no lattice."""
    return min(1.0, float(shear_factor(STIFF_IN_SHEAR) / shear_factor(cloth.shear_ratio)))


def slack_weave(cloth: Cloth) -> Cloth:
    """The same cloth without any shear stiffness: it sinks deepest."""
    return replace(cloth, shear_ratio=0.0)


def depth_band(
    cloth: Cloth,
    speed: ArrayLike,
    across: ArrayLike,
    up: ArrayLike,
    *,
    shear_known: bool = False,
    ball_mass: float = BALL_MASS,
) -> Band:
    """Depth with what it may be, m `(n,)`, for a square speed, m/s, at a place, m.

    x0.6 to x1.6 at a known G/E [cloth-band]. If it is not known, the band also runs from a stiff weave, G/E .09, to a
    cloth with no shear stiffness at all.
    """
    centre = depth_table(cloth, ball_mass).depth(speed, across, up)
    near, far = NEAR_FACTOR * centre, FAR_FACTOR * centre
    if not shear_known:
        near = np.minimum(near, stiff_weave(cloth) * centre)
        far = np.maximum(far, depth_table(slack_weave(cloth), ball_mass, True).depth(speed, across, up))
    return Band(near, centre, far)
