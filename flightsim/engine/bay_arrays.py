"""A bay, with what its faces do, put into arrays. Cheap: re-flights open many bays."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import Box, Capsule, ConvexPolygon, HalfSpace, RoundTube, Shape, across
from flightsim.bay.triangles import TriangleMesh
from flightsim.contact.arc_test import ArcTest
from flightsim.contact.facings import Facing
from flightsim.contact.giving import Give
from flightsim.contact.law_table import LawTable
from flightsim.contact.limits import CLEAR_OF_BOX
from flightsim.contact.rebound import by_facing
from flightsim.contact.surroundings import Surroundings
from flightsim.engine import layout as layout
from flightsim.engine.cloth_block import cloth_block
from flightsim.engine.law import law_numbers
from flightsim.engine.nearest_triangle import mesh_numbers
from flightsim.engine.world import OPENINGS, PARTS, WORDS, ZONES
from flightsim.flight.ball import Ball
from flightsim.flight.bounce import foam_capacity, plate_share

Array = NDArray[np.float64]
_ROLES = {Role.GUARD: layout.GUARD_ROLE, Role.UNPROTECTED: layout.UNPROTECTED, Role.FLOOR: layout.FLOOR}
_SLACK = 1.0e-6  # m by which a bin is wider than it is, so that no rounding shuts a part out


class NotDataError(ValueError):
    """A shape or law that is a Python function: it cannot be put into arrays."""


class _Pool:
    """Numbers one after the other; each block is known by where it begins."""

    def __init__(self) -> None:
        self.size, self.blocks = 0, list[Array]()

    def add(self, numbers: Array) -> int:
        """Add a block; returns where it begins."""
        begins, self.size = self.size, self.size + numbers.size
        self.blocks.append(np.asarray(numbers, dtype=np.float64).ravel())
        return begins


def bay_arrays(around: Surroundings, ball: Ball, world: Array, cloths: Collection[int] = ()) -> layout.BayArrays:
    """The bay, its faces and people as arrays; world: the row of what holds for every ball, completed here.

    cloths: parts whose cloths are wanted, with all tables; the others are left out until a ball asks. Raises
    NotDataError for a shape or law that is none of ours.
    """
    pool = _Pool()
    solids, codes, masks = _geometry(around.bay, world, pool)
    _put_tests(around.bay, around.tests, codes)
    _put_faces(around, ball, solids, codes, pool, cloths)
    count = len(around.bay.parts)
    solids[count : count + len(around.bay.zones), layout.HARM] = around.zone_harm
    return layout.BayArrays(solids, codes, np.concatenate(pool.blocks), masks, world)


def bay_geometry(bay: Bay, world: Array, tests: Sequence[ArcTest] = ()) -> layout.BayArrays:
    """The bay without what its faces do: enough to know what is touched first. Raises as `bay_arrays`."""
    pool = _Pool()
    solids, codes, masks = _geometry(bay, world, pool)
    _put_tests(bay, tests, codes)
    return layout.BayArrays(solids, codes, np.concatenate(pool.blocks), masks, world)


def _geometry(bay: Bay, world: Array, pool: _Pool) -> tuple[Array, NDArray[np.int64], NDArray[np.uint64]]:
    """Solids, codes and masks of the shapes, and of what the parts are."""
    shapes, count = _shapes_of(bay), len(bay.parts)
    solids, codes = (
        np.zeros((len(shapes), layout.SOLID_SIZE)),
        np.zeros((len(shapes), layout.CODE_SIZE), dtype=np.int64),
    )
    bounds = [shape.bounds() for shape in shapes]
    solids[:, layout.LOW : layout.LOW + 3] = [low for low, _ in bounds]
    solids[:, layout.HIGH : layout.HIGH + 3] = [high for _, high in bounds]
    grid = _grid(solids[:count])
    pool.add(grid)
    for k, shape in enumerate(shapes):
        _put_shape(shape, solids[k], codes[k], pool)
    order = np.lexsort(([p.name for p in bay.parts], [p.role is Role.GUARD for p in bay.parts]))
    codes[order, layout.RANK] = np.arange(count)
    codes[:count, layout.ROLE] = [_ROLES[part.role] for part in bay.parts]
    codes[count : count + len(bay.zones), layout.OWN] = [bool(zone.own_spot) for zone in bay.zones]
    masks = _masks(bay, solids[:count], grid)
    world[PARTS], world[ZONES], world[OPENINGS], world[WORDS] = count, len(bay.zones), len(bay.openings), len(masks[0])
    return solids, codes, masks


def _put_tests(bay: Bay, tests: Sequence[ArcTest], codes: NDArray[np.int64]) -> None:
    """Write where plugins' own tests begin."""
    address = {test.part: test.test.address for test in tests}
    codes[: len(bay.parts), layout.TEST] = [address.get(part.name, 0) for part in bay.parts]


def _shapes_of(bay: Bay) -> list[Shape]:
    """All shapes in the order of the rows."""
    beyond = [HalfSpace(o.normal, float(o.normal @ o.corners[0])) for o in bay.openings]
    for axis in range(3):
        for sign, face in ((1.0, bay.upper[axis]), (-1.0, bay.lower[axis])):
            beyond.append(HalfSpace(sign * np.eye(3)[axis], float(sign * face) + CLEAR_OF_BOX))
    solid: list[Shape] = [*(part.shape for part in bay.parts), *(zone.shape for zone in bay.zones)]
    return [*solid, *(opening.shape for opening in bay.openings), *beyond]


def _put_shape(shape: Shape, row: Array, code: NDArray[np.int64], pool: _Pool) -> None:
    """Write one shape."""
    if type(shape) is Box:
        code[layout.KIND], code[layout.STRAIGHT] = layout.BOX, np.array_equal(shape.axes, np.eye(3))
        row[layout.CENTRE : layout.CENTRE + 3], row[layout.AXES : layout.AXES + 9] = shape.centre, shape.axes.ravel()
        row[layout.CORE : layout.CORE + 3], row[layout.CORNER] = shape.half - shape.corner_radius, shape.corner_radius
    elif type(shape) is ConvexPolygon:
        code[layout.KIND], code[layout.COUNT], code[layout.AT] = layout.POLYGON, len(shape.flat), pool.add(shape.flat)
        row[layout.CENTRE : layout.CENTRE + 3], row[layout.AXES : layout.AXES + 9] = (
            shape.corners[0],
            shape.frame.ravel(),
        )
    elif type(shape) is TriangleMesh:
        code[layout.KIND], code[layout.STRAIGHT], row[layout.CORNER] = layout.MESH, shape.closed, -shape.inset
        code[layout.AT], code[layout.COUNT] = mesh_numbers(shape, pool.add)
    elif type(shape) is RoundTube or type(shape) is Capsule:
        axis, length = shape.axis()
        code[layout.KIND] = layout.TUBE if type(shape) is RoundTube else layout.CAPSULE
        row[layout.AXES + 3 : layout.AXES + 6] = across(axis)
        row[layout.CENTRE : layout.CENTRE + 3], row[layout.AXES : layout.AXES + 3] = (shape.start + shape.end) / 2, axis
        row[layout.CORE], row[layout.CORE + 1] = length / 2, shape.radius
    elif type(shape) is HalfSpace:
        code[layout.KIND] = layout.HALF_SPACE
        row[layout.CENTRE : layout.CENTRE + 3], row[layout.CORE] = shape.outward, shape.offset
    else:
        raise NotDataError(f"a {type(shape).__name__} is a shape of its own")


def _put_faces(
    around: Surroundings, ball: Ball, solids: Array, codes: NDArray[np.int64], pool: _Pool, cloths: Collection[int]
) -> None:
    """Write what the faces of the parts do."""
    bay, damage = around.bay, around.damage
    guards = {label: k for k, label in enumerate(bay.guard_labels())}
    for k, (part, facing) in enumerate(zip(bay.parts, around.facings, strict=True)):
        codes[k, layout.GUARD] = guards[part.label] if part.role is Role.GUARD else -1
        _put_facing(facing, ball, solids[k], codes[k], pool)
        solids[k, layout.DAMAGE], codes[k, layout.CLOTH_AT] = damage[k], -1
        law = around.laws[k]
        if type(law) is Give:
            codes[k, layout.LAW] = layout.GIVES
            if k in cloths:
                codes[k, layout.CLOTH_AT] = pool.add(cloth_block(law, ball.mass, pool.add))
        elif type(law) is LawTable:
            codes[k, layout.LAW], codes[k, layout.LAW_AT] = layout.BY_LAW, pool.add(law_numbers(law))
        elif law is not by_facing:
            raise NotDataError(f"the law of part '{part.name}' is a function")


def _put_facing(facing: Facing, ball: Ball, row: Array, code: NDArray[np.int64], pool: _Pool) -> None:
    """Write one facing, for this ball."""
    row[layout.FOAM], code[layout.SOFT] = -1.0, layout.LIVELY if facing.soft and facing.lively else facing.soft
    if facing.foam is not None:
        row[layout.FOAM] = foam_capacity(facing.foam.crush_stress, facing.foam.thickness, ball.radius)
    row[layout.FRICTION], row[layout.TANGENTIAL], row[layout.HOLD] = facing.friction, facing.tangential, facing.hold
    row[layout.BROKEN], row[layout.ROLLING] = facing.broken, facing.rolling
    if facing.turf:
        code[layout.RETURNS] = layout.TURF
    elif facing.fixed is not None:
        code[layout.RETURNS], row[layout.RETURN] = layout.FIXED, facing.fixed
    elif facing.table:
        code[layout.RETURNS], code[layout.TABLE_COUNT] = layout.BY_TABLE, len(facing.table)
        code[layout.TABLE_AT] = pool.add(np.array(facing.table).T)
    else:
        p = facing.plate
        share = float(facing.own or 0.0)
        if p is not None:
            share = plate_share(p.stiffness, p.thickness, p.density, p.poisson, ball.mass)
        code[layout.RETURNS], row[layout.RETURN] = layout.BY_SHARE, share


def _grid(solids: Array) -> Array:
    """Where the bins of each axis begin, m, and how many there are in a metre."""
    low, high = (solids[:, k : k + 3] for k in (layout.LOW, layout.HIGH))
    begins = np.where(np.isfinite(low), low, np.inf).min(axis=0, initial=np.inf)
    ends = np.where(np.isfinite(high), high, -np.inf).max(axis=0, initial=-np.inf)
    sound = np.isfinite(begins) & np.isfinite(ends) & (ends > begins)
    begins = np.where(sound, begins, 0.0)
    return np.concatenate([begins, layout.BINS / np.where(sound, ends - begins, 1.0)])


def _masks(bay: Bay, solids: Array, grid: Array) -> NDArray[np.uint64]:
    """The bit masks of the parts."""
    parts = bay.parts
    rows = np.zeros((layout.BEHIND + len(parts) + 1, len(parts)), dtype=bool)
    for axis in range(3):
        edges = grid[axis] + np.arange(layout.BINS + 1) / grid[3 + axis]
        near, far = edges[:-1] - _SLACK, edges[1:] + _SLACK
        near[0], far[-1] = -np.inf, np.inf
        of_axis = slice(2 * layout.BINS * axis, 2 * layout.BINS * (axis + 1))
        rows[of_axis][0::2] = solids[:, layout.LOW + axis] <= far[:, None]
        rows[of_axis][1::2] = solids[:, layout.HIGH + axis] >= near[:, None]
    hard = np.array([part.role is Role.UNPROTECTED for part in parts], dtype=bool)
    _, labels = np.unique([part.label for part in parts], return_inverse=True)  # numbers: quicker to tell apart
    for k, part in enumerate(parts):
        rows[layout.BEHIND + k] = hard & (labels != part.label)
    rows[-1] = True
    return _packed(rows)


def _packed(rows: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Rows of bits as words of 64."""
    words = max(1, -(-rows.shape[1] // 64))
    padded = np.zeros((len(rows), 64 * words), dtype=bool)
    padded[:, : rows.shape[1]] = rows
    return np.packbits(padded, axis=1, bitorder="little").view("<u8").astype(np.uint64)
