"""One hung cloth as a block of numbers: its frame, its tables, and where its edges may be opened.

The lattice behind the tables takes seconds, so a block is made only for a cloth that a ball hits.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.table import DepthTable, depth_table, slack_weave
from flightsim.contact.fates import EDGES
from flightsim.contact.giving import Give

Array = NDArray[np.float64]

CORNER, RIGHT, UP = 0, 3, 6  # m and unit vectors, three each
WIDTH, HEIGHT = 9, 10  # m
SCALE_ACROSS, SCALE_UP = 11, 12  # a place on the cloth times these is one in the table
REACH = 13  # times the depth
NET, LOOSE_FOOT = 14, 15  # 1 or 0
HARM_SPEED = 16  # m/s
BALL_RADIUS = 17  # m
SPEEDS, COLUMNS, ROWS = 18, 19, 20  # how many of each the table has
TABLE = 21  # where in the pool: log speeds, places across, places up, then log depth, return, log edge, stay, turn
SLACK = 22  # the same for the slack weave; -1 without
SIDES = 23  # of left, right, foot, top: 1 where a hit can open it
SEAMS = SIDES + 4  # of the same: 1 where another part continues it
DAMPING = SEAMS + 4
EDGE_REACH = DAMPING + 1  # times how far an edge comes in
BLOCK_SIZE = EDGE_REACH + 1


def cloth_block(give: Give, ball_mass: float, add: Callable[[Array], int]) -> Array:
    """The block; `add` puts its tables into the pool and says where they begin."""
    block, frame = np.zeros(BLOCK_SIZE), give.frame
    block[CORNER : CORNER + 3], block[RIGHT : RIGHT + 3], block[UP : UP + 3] = frame.corner, frame.right, frame.up
    block[WIDTH], block[HEIGHT] = frame.width, frame.height
    cloth = give.rounded
    block[SCALE_ACROSS], block[SCALE_UP] = cloth.width / frame.width, cloth.height / frame.height
    block[REACH], block[EDGE_REACH] = give.far if give.deep else 1.0, give.edge_factor
    block[NET], block[LOOSE_FOOT] = give.net, give.loose_foot
    block[DAMPING] = give.damping
    block[HARM_SPEED], block[BALL_RADIUS] = give.harm_speed, give.ball_radius
    table = give.table(ball_mass)
    block[SPEEDS], block[COLUMNS], block[ROWS] = table.depths.shape
    block[TABLE], block[SLACK] = add(_numbers(table)), -1.0
    if give.deep and not (give.shear_known or give.cloth.shear_ratio == 0.0):
        slack = depth_table(slack_weave(cloth), ball_mass, True)
        assert slack.depths.shape == table.depths.shape
        block[SLACK] = add(_numbers(slack))
    for k, side in enumerate(EDGES):
        block[SIDES + k], block[SEAMS + k] = side in give.open_at, side in give.seams
    return block


def _numbers(table: DepthTable) -> Array:
    axes = [np.log(table.speeds), table.across, table.up]
    edges, times = np.log(np.maximum(table.edges, 1e-6)), (np.log(table.stays), np.log(table.turns))
    values = [np.log(table.depths), table.restitutions, edges, *times]
    return np.concatenate([*axes, *(each.ravel() for each in values)])
