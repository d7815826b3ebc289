"""The bay as a few arrays: what stands where in them. `bay_arrays` fills them, everything else reads by these names."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flightsim.engine.compiled import compiled, place
from flightsim.engine.world import OPENINGS, PARTS, ZONES

# ---- solids: one row of floats a thing: the parts, then zones, outlines of openings, and half spaces beyond the bay.
LOW, HIGH = place(0), place(3)  # m, three each: corners of a box along the axes that holds it
CENTRE = place(6)  # m, three: a box's or tube's middle, a polygon's first corner, a half space's outward direction
AXES = place(9)  # nine: rows of unit directions; a tube's first row is its axis
CORE = place(18)  # m, three: a box's half sizes less its corners' radius; a tube's half length, radius; an offset
CORNER = 21  # m: radius of a box's edges and corners; of a mesh, less what its surface is behind its triangles
RETURN = 22  # of the facing: the share or the one value that `code RETURNS` asks for
FOAM = 23  # J that foam in front of it takes; below 0 without foam
FRICTION, TANGENTIAL = 24, 25
HOLD = 26  # m/s
DAMAGE, BROKEN = 27, 28  # J of normal energy
ROLLING = 29
HARM = 30  # m/s: from which on a ball harms in a zone
SOLID_SIZE = 31

# ---- codes: one row of whole numbers a thing.
KIND = 0  # which shape, see below
STRAIGHT = 1  # a box along the room's axes; a mesh that is a solid
TEST = 2  # where in memory a plugin's own compiled test of an arc begins; 0: none
AT, COUNT = 3, 4  # in the pool: where a polygon's corners stand and how many; a mesh and its last nodes
RANK = 5  # of a part: of two touched at once the lower one wins
ROLE = 6
RETURNS = 7  # which way its facing returns a ball, see below
TABLE_AT, TABLE_COUNT = 8, 9  # of the facing's table in the pool: speeds, then restitutions
LAW = 10  # how a ball leaves it, see below
CLOTH_AT = 11  # where in the pool its cloth stands; -1: not worked out yet
GUARD = 12  # number of the guard that a part belongs to; -1: none
OWN = 13  # a zone of the hitter's own, that counts after a contact only
SOFT = 14  # 1 where its facing gives way, as cloth does; 2 where that is as lively as any
LIVELY = 2
LAW_AT = 15  # where in the pool the table of its law stands
CODE_SIZE = 16

BOX, POLYGON, TUBE, HALF_SPACE, CAPSULE, MESH = 0, 1, 2, 3, 4, 5
GUARD_ROLE, UNPROTECTED, FLOOR = 0, 1, 2
BY_SHARE, FIXED, BY_TABLE, TURF = 0, 1, 2, 3
BY_FACING, GIVES, BY_LAW = 0, 1, 2

# ---- pool: first the grid of the masks, then corners, tables and cloths, each where a code says.
GRID_FROM, GRID_PER_M = 0, 3  # three each
POOL_START = 6

# ---- masks: bits of the parts, 64 a word. For each axis and bin two rows: parts that begin before the bin's far end,
# and parts that do not end before its near one. Then, for each part, what may be struck through it; then all parts.
BINS = 64
BEHIND = 6 * BINS


class BayArrays(NamedTuple):
    """Everything that a ball may meet. world: see `world`."""

    solids: np.ndarray
    codes: np.ndarray
    pool: np.ndarray
    masks: np.ndarray
    world: np.ndarray


@compiled
def parts_of(bay: BayArrays) -> int:
    """How many parts there are: rows 0 to this."""
    return int(bay.world[PARTS])


@compiled
def zones_of(bay: BayArrays) -> int:
    """How many zones there are, in the rows after the parts."""
    return int(bay.world[ZONES])


@compiled
def openings_of(bay: BayArrays) -> int:
    """How many openings there are, their outlines in the rows after the zones."""
    return int(bay.world[OPENINGS])
