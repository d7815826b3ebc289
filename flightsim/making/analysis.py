"""A frame in space by direct stiffness: movements of nodes, what holds it, forces in beams. Linear, small movements.

W. McGuire, R. H. Gallagher, R. D. Ziemian, Matrix Structural Analysis, 2nd ed., 2000, chapters 3 to 5. A frame that can
move without resistance is found by its stiffness and named, never solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.making.skeleton import WAYS, Beam, BeamLoad, LineLoad, Load, LoadCase, NodeLoad, Skeleton
from flightsim.making.stiffness import (
    beam_stiffness,
    condensed,
    freed,
    freed_movement,
    held_ends,
    in_frame,
    turned,
)

Array = NDArray[np.float64]

LOOSE = 1e-9  # least stiffness over the frame's own, below which it moves freely (rounding is 1e-14 of it)
SHOWN = 0.05  # of the largest movement of a mechanism: what moves less is not named


class Mechanism(Exception):  # noqa: N818 - it is what was found
    """A frame that can move without any resistance. moves: node, way, and its part of the movement, largest first."""

    def __init__(self, moves: Sequence[tuple[str, str, float]]) -> None:
        self.moves = tuple(moves)
        named = ", ".join(f"{node} {_WORDS[way]}" for node, way, _ in self.moves[:3])
        super().__init__(f"it is a mechanism: nothing stops {named}")


_WORDS = {
    "x": "moving along x", "y": "moving along y", "z": "moving up or down",
    "rx": "turning about x", "ry": "turning about y", "rz": "turning about z",
}  # fmt: skip


@dataclass(frozen=True)
class BeamEnds:
    """One beam under one load case, in its own axes. movements, forces `(12,)`: m, rad, N, N m; loads: on the beam."""

    beam: Beam
    length: float
    axes: Array
    movements: Array
    forces: Array
    loads: tuple[LineLoad | BeamLoad, ...]


@dataclass(frozen=True)
class Answer:
    """A frame under one load case. movements, reactions `(n, 6)`: m, rad, N, N m, in the frame's axes, a row a node."""

    skeleton: Skeleton
    name: str
    movements: Array
    reactions: Array
    beams: tuple[BeamEnds, ...]

    def movement(self, node: str) -> Array:
        """Of a node `(3,)`, m."""
        return np.asarray(self.movements[self.skeleton.number(node), :3])

    def reaction(self, node: str) -> Array:
        """What holds the node `(6,)`, N and N m."""
        return np.asarray(self.reactions[self.skeleton.number(node)])

    def of(self, beam: str) -> BeamEnds:
        """The beam's ends."""
        return next(found for found in self.beams if found.beam.name == beam)


def solve(skeleton: Skeleton, cases: Sequence[LoadCase]) -> tuple[Answer, ...]:
    """The frame under each load case. Raises Mechanism, and ValueError for loads on what is not there."""
    stiffness = _assembled(skeleton)
    loads = np.column_stack([_node_loads(skeleton, case.loads) for case in cases])
    moving = [6 * k + way for k, n in enumerate(skeleton.nodes) for way, name in enumerate(WAYS) if name not in n.held]
    inner = stiffness[np.ix_(moving, moving)]
    moved = np.zeros_like(loads)
    if moving:
        moved[moving] = _movements(skeleton, inner, loads[moving], moving)
    held = stiffness @ moved - loads
    held[moving] = 0.0
    return tuple(_answer(skeleton, case, moved[:, k], held[:, k]) for k, case in enumerate(cases))


def _assembled(skeleton: Skeleton) -> Array:
    size = 6 * len(skeleton.nodes)
    found = np.zeros((size, size))
    for beam in skeleton.beams:
        ways = skeleton.ways(beam)
        found[np.ix_(ways, ways)] += in_frame(skeleton, beam)
    return found


def _on_beam(skeleton: Skeleton, loads: Sequence[Load], beam: Beam) -> tuple[LineLoad | BeamLoad, ...]:
    return tuple(load for load in loads if not isinstance(load, NodeLoad) and load.beam == beam.name)


def _node_loads(skeleton: Skeleton, loads: Sequence[Load]) -> Array:
    """Loads `(6 n,)` at the nodes: their own, and what beams pass on of theirs."""
    found = np.zeros(6 * len(skeleton.nodes))
    known = {beam.name for beam in skeleton.beams}
    for load in loads:
        if isinstance(load, NodeLoad):
            at = 6 * skeleton.number(load.node)
            found[at : at + 6] += [*load.force, *load.moment]
        elif load.beam not in known:
            raise ValueError(f"a load on '{load.beam}', which is no beam")
    for beam in skeleton.beams:
        mine = _on_beam(skeleton, loads, beam)
        if mine:
            axes, length = skeleton.axes(beam), skeleton.length(beam)
            _, passed = condensed(beam_stiffness(beam.stiffness, length), freed(beam))
            found[list(skeleton.ways(beam))] -= turned(axes).T @ passed @ held_ends(length, mine, axes)
    return found


def _movements(skeleton: Skeleton, inner: Array, loads: Array, moving: Sequence[int]) -> Array:
    """Movements under the loads, from the stiffness scaled to a diagonal of ones.

    Its eigenvectors without stiffness are mechanisms where a node shifts, or where a load drives them. What is left is
    a pin that turns by itself, which no beam feels: it stays where it is.
    """
    diagonal = np.diag(inner)
    weight = np.sqrt(np.maximum(diagonal, diagonal.max() * 1e-12))[:, None]
    scaled = inner / (weight * weight.T)
    values, vectors = np.linalg.eigh(scaled)
    loose = vectors[:, values < LOOSE]
    driven = np.abs(loose.T @ (loads / weight)).max(initial=0.0)
    shifts = np.array([way % 6 < 3 for way in moving])
    shape = loose / weight
    sizes = np.linalg.svd(shape * shifts[:, None])[1] if loose.size else np.zeros(1)
    if sizes.max(initial=0.0) > 1e-6 * np.abs(shape).max(initial=0.0) and loose.size:
        turn = np.linalg.svd(shape * shifts[:, None])[2][0]
        raise _mechanism(skeleton, shape @ turn, moving, shifts)
    if driven > 1e-6 * np.abs(loads / weight).max(initial=0.0):
        raise _mechanism(skeleton, shape[:, 0], moving, ~shifts)
    return np.asarray(np.linalg.solve(scaled + loose @ loose.T, loads / weight) / weight)


def _mechanism(skeleton: Skeleton, shape: Array, moving: Sequence[int], told: NDArray[np.bool_]) -> Mechanism:
    size = np.abs(shape) * told
    size = size / size.max()
    order = sorted(range(len(moving)), key=lambda k: (-round(float(size[k]), 6), moving[k]))
    return Mechanism([
        (skeleton.nodes[moving[k] // 6].name, WAYS[moving[k] % 6], float(size[k])) for k in order if size[k] >= SHOWN
    ])  # fmt: skip


def _answer(skeleton: Skeleton, case: LoadCase, moved: Array, held: Array) -> Answer:
    beams = []
    for beam in skeleton.beams:
        axes, length, mine = skeleton.axes(beam), skeleton.length(beam), _on_beam(skeleton, case.loads, beam)
        own = beam_stiffness(beam.stiffness, length)
        fixed = held_ends(length, mine, axes)
        ends = turned(axes) @ moved[list(skeleton.ways(beam))]
        ends = freed_movement(own, freed(beam), fixed, ends)
        beams.append(BeamEnds(beam, length, axes, ends, own @ ends + fixed, mine))
    rows = (len(skeleton.nodes), 6)
    return Answer(skeleton, case.name, moved.reshape(rows), held.reshape(rows), tuple(beams))
