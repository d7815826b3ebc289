"""Where each ball of a run went: what it touched, and boxes along the axes that hold its way. The rest it never met.

From the touches of a run that was flown once more with all of them kept. Between two touches a ball strays from the
throw through their places and times by no more than the air's greatest pull times the square of the time over 8.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates
from flightsim.contact.giving import SLOW, Give
from flightsim.contact.law_table import SINK, LawTable
from flightsim.contact.limits import STEEPEST
from flightsim.contact.log import ContactList, ContactLog
from flightsim.engine.aero import TABLE, aero_numbers
from flightsim.engine.aero_table import MOST_RE, MOST_SPUN, PLACES_RE, PLACES_S, strongest
from flightsim.engine.follow import make_engine_ready
from flightsim.flight.aerodynamics import AeroModel
from flightsim.flight.integrator import Physics
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.crew import chunks_of, each_chunk
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay

Array = NDArray[np.float64]
Boxes = NDArray[np.float32]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

BETWEEN_PLACES = 1.05  # times its largest value at places as close as these, that a published model has between them
DEEPER = 1.001  # times what a cloth's own table says, for what is rounded on the way
SPARE = 0.01  # m
RESTS_ON = 1e-6  # m/s off a face: a ball that leaves it no faster slides or rolls there
NEARLY_ALL = 0.9  # of all shots: to look for the others takes longer than to fly them
CUT = 4  # pieces of a way, each with a box of its own: a slanting way has a wide one


@dataclass(frozen=True)
class Swept:
    """Where balls went. ways `(6, m)`, m: boxes of their free ways, lower corner then upper, with a ball's radius
    around; of: whose `(m,)`; into `(6, k)`: boxes of where they may have gone with cloth, into it and along it; into_of
    `(k,)`: whose; parts `(k,)`: what they touched, as in Bay.parts, into_of them too.
    """

    of: Index
    ways: Boxes
    into_of: Index
    into: Boxes
    parts: Index

    def first(self, shots: int) -> Swept:
        """Of so many of the first shots alone."""
        ways, into = self.of < shots, self.into_of < shots
        if ways.all() and into.all():
            return self
        return Swept(self.of[ways], self.ways[:, ways], self.into_of[into], self.into[:, into], self.parts[into])

    def near(self, shots: int, boxes: Array, touched: Index, behind: Array) -> Mask:
        """Which of so many shots `(n,)` came near any of the boxes `(k, 6)`, touched any of these parts, or may have
        gone with cloth to where what is behind `(j, 6)` is.
        """
        found = np.zeros(shots, dtype=bool)
        found[self.into_of[np.isin(self.parts, touched)]] = True
        for of, ways, near_boxes in ((self.of, self.ways, boxes), (self.into_of, self.into, behind)):
            for box in near_boxes:
                if found.mean() > NEARLY_ALL:
                    return np.ones(shots, dtype=bool)
                found[of[_meeting(ways, box)]] = True
        return found


def _meeting(boxes: Boxes, box: Array) -> Index:
    """Which of the boxes `(6, m)` meet one `(6,)`; what is no number meets all. Side by side, for few meet on all."""
    left = np.flatnonzero(~(boxes[0] > box[3]))
    for axis in (1, 2):
        left = left[~(boxes[axis, left] > box[3 + axis])]
    for axis in range(3):
        left = left[~(boxes[3 + axis, left] < box[axis])]
    return left


@dataclass
class Tracks:
    """Where the first shots of a run went, kept while it is flown. most: of how many shots, at least; pieces: by the
    first shot of each chunk.
    """

    opened: OpenBay
    most: int
    pieces: dict[int, Swept] = field(default_factory=dict)

    def wants(self, first: int) -> bool:
        """Whether a chunk that begins with this shot is kept."""
        return first < self.most

    def keep(self, first: int, shots: ShotTable, fates: Fates, log: ContactLog) -> None:
        """A chunk that was flown with all its touches kept."""
        reach = _reach(self.opened, shots, fates, log.sorted())
        self.pieces[first] = replace(reach, of=reach.of + first, into_of=reach.into_of + first)

    def of(self, shots: int) -> Swept:
        """Where so many of the first shots went."""
        pieces = [self.pieces[first].first(shots) for first in sorted(self.pieces) if first < shots]
        return Swept(
            *(np.concatenate([getattr(piece, column.name) for piece in pieces], axis=-1) for column in fields(Swept))
        )


def reach_of(opened: OpenBay, shots: ShotTable, seed: int) -> Swept:
    """Where each shot went in this bay: all are flown once more."""
    flyer, tracks = Flyer.of(opened, seed), Tracks(opened, len(shots))

    def fly(first: int, count: int) -> None:
        table, log = shots.take(slice(first, first + count)), ContactLog()
        _, fates = flyer.follow(table, False, log)
        tracks.keep(first, table, fates, log)

    make_engine_ready()
    for _ in each_chunk(chunks_of(len(shots)), fly):
        pass
    return tracks.of(len(shots))


def _reach(opened: OpenBay, shots: ShotTable, fates: Fates, log: ContactList) -> Swept:
    """Where the shots of one chunk went: between the strike, each touch, and where they were followed to."""
    n, launches = len(shots), shots.launches()
    own, begins = np.arange(n), np.zeros(n)
    shot = np.concatenate([own, log.shot, own])
    time = np.concatenate([begins, log.time, fates.time])
    point = np.concatenate([launches.start, log.point, fates.point], axis=1)
    left = np.concatenate([launches.start, log.left, fates.point], axis=1)
    left_time = np.concatenate([begins, log.left_time, fates.time])
    leaving = np.concatenate([launches.velocity, log.leaving, np.zeros((3, n))], axis=1)
    order = np.lexsort((np.concatenate([begins - 1, log.number, begins + np.inf]), shot))
    shot, time, point, leaving = shot[order], time[order], point[:, order], leaving[:, order]
    left, left_time = left[:, order], left_time[order]
    rolls = np.concatenate([own < 0, np.abs((log.leaving * log.normal).sum(axis=0)) < RESTS_ON, own < 0])[order]
    same = shot[1:] == shot[:-1]
    length, fast = (time[1:] - left_time[:-1])[same], leaving[:, :-1][:, same]
    strays = _strays(opened.physics, length, fast, rolls[:-1][same])
    first, last = left[:, :-1][:, same], point[:, 1:][:, same]
    around = opened.physics.ball.radius + SPARE
    ways = _ways(first, last, opened.physics.gravity * length**2, strays + around)
    along = _boxes(log.point, log.left, around)  # with cloth: what stops a ball there is not logged as touched
    ways = np.concatenate([ways, along], axis=1)
    of = np.concatenate([np.tile(shot[:-1][same], CUT), log.shot])
    into = _boxes(log.point, _into_cloth(opened, log), around)
    into = np.concatenate([np.minimum(into[:3], along[:3]), np.maximum(into[3:], along[3:])])
    return Swept(of, ways, log.shot, into, log.part)


def _ways(first: Array, last: Array, drop: Array, around: Array) -> Boxes:
    """Boxes of free ways, CUT a way: as high as a throw without air, as low as a roll. drop `(m,)`, m: g T^2."""
    pieces = []
    for begin, end in pairwise(np.arange(CUT + 1) / CUT):
        box = _boxes(first + begin * (last - first), first + end * (last - first), around)
        middle = min(max(0.5, begin), end)  # where a throw is highest over the line
        box[5] += 0.5 * drop * middle * (1.0 - middle)
        pieces.append(box)
    return np.concatenate(pieces, axis=1)


def _boxes(first: Array, last: Array, around: Array | float) -> Boxes:
    """Boxes `(6, m)` that hold two points `(3, m)` each and so much around."""
    corners = np.concatenate([np.minimum(first, last) - around, np.maximum(first, last) + around])
    return corners.astype(np.float32)  # what is rounded off is far less than SPARE


def _strays(physics: Physics, length: Array, leaving: Array, rolls: Mask) -> Array:
    """How far balls stray, m `(k,)`, from a throw without air, or a roll without friction, of so many seconds."""
    speed = np.sqrt((leaving**2).sum(axis=0)) + physics.gravity * length + float(np.linalg.norm(physics.wind))
    area = np.pi * physics.ball.radius**2
    air = 0.5 * physics.air.density * area / physics.ball.mass * drag_and_lift(physics.aero)
    pull = air * speed**2 + np.where(rolls, physics.gravity, 0.0)
    return np.asarray(np.where(length > 0.0, pull * length**2 / 8.0, 0.0))


@cache
def drag_and_lift(model: AeroModel) -> float:
    """CD and CL of a model together, at most: of those that are flown as a table, of that table."""
    if aero_numbers(model)[0] == TABLE:
        return strongest(model)
    spun, re = np.linspace(0.0, MOST_SPUN, PLACES_S), np.linspace(1.0, MOST_RE, PLACES_RE)
    drag, lift = model(*np.meshgrid(spun / (1.0 - spun), re))
    return BETWEEN_PLACES * float((np.abs(drag) + np.abs(lift)).max())


def _into_cloth(opened: OpenBay, log: ContactList) -> Array:
    """Where balls may have gone with the cloth that they touched `(3, m)`, m; the touched place where it is none."""
    deep = _depths(opened, log)
    inward = np.maximum(-(log.arriving * log.normal).sum(axis=0), 1e-9)
    sideways = log.arriving / inward + log.normal
    steep = np.sqrt((sideways**2).sum(axis=0))
    way = sideways * np.minimum(1.0, STEEPEST / np.maximum(steep, 1e-9)) - log.normal
    return np.asarray(log.point + np.where(deep == 0.0, 0.0, deep * way))


def _depths(opened: OpenBay, log: ContactList) -> Array:
    """How far at most the touched part went with the ball `(m,)`, m: by its own table. What nobody knows is NaN."""
    laws, deep = opened.surroundings().laws, np.zeros(log.part.size)
    speed = np.maximum(-(log.arriving * log.normal).sum(axis=0), SLOW)
    for k in np.unique(log.part[log.part >= 0]):
        law, hits = laws[k], np.flatnonzero(log.part == k)
        if isinstance(law, LawTable):
            deep[hits] = float(law.values[..., SINK].max())
        elif isinstance(law, Give):
            places = law.frame.places(log.point[:, hits])
            deep[hits] = DEEPER * law.reach(speed[hits], *places, opened.physics.ball.mass)
    return deep
