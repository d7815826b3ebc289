"""A frame as lines for its analysis: nodes, beams between them, what holds them, and loads.

Right-handed axes, z up, SI. A beam's own axes: x from its start to its end, y and z across it; z lies as near to `up`
as it can. Rotations are small and about the axes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from flightsim.making.strength.sections import HollowSection

Array = NDArray[np.float64]
Place: TypeAlias = tuple[float, float, float]

WAYS = ("x", "y", "z", "rx", "ry", "rz")  # a node's six ways to move
FREE: frozenset[str] = frozenset()
PINNED = frozenset(("x", "y", "z"))
FIXED = frozenset(WAYS)
BENDING = frozenset(("ry", "rz"))  # about a beam's own axes: what a pinned end does not carry
UPRIGHT = 0.999  # cosine to `up` from which a beam takes x for its z: it stands

E_STEEL, G_STEEL = 210.0e9, 81.0e9  # Pa (EN 1993-1-1, 3.2.6)


@dataclass(frozen=True)
class Node:
    """Where beams meet or are held. place: m; held: the ways that it cannot move."""

    name: str
    place: Place
    held: frozenset[str] = FREE


@dataclass(frozen=True)
class Stiffness:
    """What a beam resists with: axial E A, N; bending E I about its y and z, N m2; twisting G J, N m2."""

    axial: float
    about_y: float
    about_z: float
    twist: float


def steel(section: HollowSection) -> Stiffness:
    """Of a steel tube (EN 1993-1-1, 3.2.6: E 210 GPa, G 81 GPa)."""
    bending = E_STEEL * section.second_moment
    return Stiffness(E_STEEL * section.area, bending, bending, G_STEEL * section.torsion_constant)


@dataclass(frozen=True)
class Beam:
    """A straight beam. free_start, free_end: rotations about its own axes that its end does not pass on."""

    name: str
    start: str
    end: str
    stiffness: Stiffness
    up: Place = (0.0, 0.0, 1.0)
    free_start: frozenset[str] = FREE
    free_end: frozenset[str] = FREE


@dataclass(frozen=True)
class LineLoad:
    """Evenly along a whole beam. force: N per metre of its length, in the frame's axes."""

    beam: str
    force: Place


@dataclass(frozen=True)
class BeamLoad:
    """At one place of a beam. part: of its length from its start; force: N, in the frame's axes."""

    beam: str
    part: float
    force: Place


@dataclass(frozen=True)
class NodeLoad:
    """At a node: force, N, and moment, N m, in the frame's axes."""

    node: str
    force: Place = (0.0, 0.0, 0.0)
    moment: Place = (0.0, 0.0, 0.0)


Load: TypeAlias = LineLoad | BeamLoad | NodeLoad


@dataclass(frozen=True)
class LoadCase:
    """Loads that act together."""

    name: str
    loads: tuple[Load, ...]

    def times(self, factor: float) -> tuple[Load, ...]:
        """Its loads, all so many times as large."""
        return tuple(scaled(load, factor) for load in self.loads)


def scaled(load: Load, factor: float) -> Load:
    """The load, so many times as large."""

    def by(vector: Place) -> Place:
        return (vector[0] * factor, vector[1] * factor, vector[2] * factor)

    if isinstance(load, LineLoad):
        return LineLoad(load.beam, by(load.force))
    if isinstance(load, BeamLoad):
        return BeamLoad(load.beam, load.part, by(load.force))
    return NodeLoad(load.node, by(load.force), by(load.moment))


@dataclass(frozen=True)
class Skeleton:
    """Nodes and beams. Raises ValueError for doubled names, unknown ends, and beams without length."""

    nodes: tuple[Node, ...]
    beams: tuple[Beam, ...]
    _number: dict[str, int] = field(init=False, repr=False, compare=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Number the nodes, and check."""
        self._number.update({node.name: k for k, node in enumerate(self.nodes)})
        for kind, names in (("nodes", [n.name for n in self.nodes]), ("beams", [b.name for b in self.beams])):
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise ValueError(f"two {kind} share a name: {', '.join(twice)}")
        for beam in self.beams:
            for end in (beam.start, beam.end):
                if end not in self._number:
                    raise ValueError(f"beam '{beam.name}' ends at '{end}', which is no node")
            if self.length(beam) == 0.0:
                raise ValueError(f"beam '{beam.name}' has no length")

    def number(self, node: str) -> int:
        """The node's place in the list."""
        return self._number[node]

    def ends(self, beam: Beam) -> tuple[Array, Array]:
        """Where its two ends are `(3,)`, m."""
        start, end = self.nodes[self.number(beam.start)].place, self.nodes[self.number(beam.end)].place
        return np.array(start), np.array(end)

    def length(self, beam: Beam) -> float:
        """Of the beam, m."""
        start, end = self.ends(beam)
        return float(np.linalg.norm(end - start))

    def axes(self, beam: Beam) -> Array:
        """Its own axes as rows `(3, 3)`: along it, and the two across it."""
        start, end = self.ends(beam)
        along = (end - start) / np.linalg.norm(end - start)
        up = np.array(beam.up) / np.linalg.norm(beam.up)
        if abs(along @ up) > UPRIGHT:
            up = np.array([1.0, 0.0, 0.0]) if abs(along[0]) < UPRIGHT else np.array([0.0, 0.0, 1.0])
        across = np.cross(up, along)
        across /= np.linalg.norm(across)
        return np.array([along, across, np.cross(along, across)])

    def ways(self, beam: Beam) -> Sequence[int]:
        """The twelve numbers of its ends' ways to move."""
        return [6 * self.number(end) + way for end in (beam.start, beam.end) for way in range(6)]
