"""A frame in space by direct stiffness: movements of nodes, what holds it, forces in beams. Linear, small movements.

W. McGuire, R. H. Gallagher, R. D. Ziemian, Matrix Structural Analysis, 2nd ed., 2000, chapters 3 to 5. A frame that can
move without resistance is found by its stiffness and named, never solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve

from flightsim.making.strength.skeleton import WAYS, Beam, BeamLoad, LineLoad, LoadCase, NodeLoad, Skeleton
from flightsim.making.strength.stiffness import Ready, held_ends, ready

Array = NDArray[np.float64]

LOOSE = 1e-9  # least stiffness over the frame's own, below which it moves freely (rounding is 1e-14 of it)
FIRM = 1e-7  # least pivot of the scaled stiffness above which no eigenvalue needs a look
SPINS = 0.03  # m of shift a radian (of all nodes): less is a bar that spins, bent by half a tube at its joints
SHOWN = 0.05  # of the largest movement of a mechanism: what moves less is not named


class Mechanism(Exception):  # noqa: N818 - it is what was found
    """A frame that can move without any resistance. moves: node, way, and its part of the movement, largest first."""

    def __init__(self, moves: Sequence[tuple[str, str, float]]) -> None:
        self.moves = tuple(moves)
        named = ", ".join(f"{node} {_WORDS[way]}" for node, way, _ in self.moves[:3])
        super().__init__(f"it is a mechanism: nothing stops {named}")


_WORDS = {  # in the bay's axes
    "x": "moving toward the wall or the tee", "y": "moving sideways", "z": "moving up or down",
    "rx": "rolling sideways", "ry": "rolling to and fro", "rz": "turning about an upright line",
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
        return self._by_name[beam]

    @cached_property
    def _by_name(self) -> dict[str, BeamEnds]:
        return {found.beam.name: found for found in self.beams}


def solve(skeleton: Skeleton, cases: Sequence[LoadCase]) -> tuple[Answer, ...]:
    """The frame under each load case. Raises Mechanism, and ValueError for loads on what is not there."""
    beams = [ready(skeleton, beam) for beam in skeleton.beams]
    stiffness = _assembled(skeleton, beams)
    on_beams = [_on_beams(beams, case) for case in cases]
    loads = np.column_stack([_at_nodes(skeleton, beams, c, on) for c, on in zip(cases, on_beams, strict=True)])
    moving, inner = _free(skeleton, stiffness)
    moved = np.zeros_like(loads)
    if moving:
        moved[moving] = _movements(skeleton, inner, loads[moving], moving)
    held = stiffness @ moved - loads
    held[moving] = 0.0
    return tuple(_answer(skeleton, beams, case, on_beams[k], moved[:, k], held[:, k]) for k, case in enumerate(cases))


def _assembled(skeleton: Skeleton, beams: Sequence[Ready]) -> Array:
    found = np.zeros((6 * len(skeleton.nodes),) * 2)
    for beam in beams:
        found[np.ix_(beam.ways, beam.ways)] += beam.whole
    return found


def _free(skeleton: Skeleton, stiffness: Array) -> tuple[list[int], Array]:
    """The ways that are not held, and their stiffness."""
    moving = [6 * k + way for k, n in enumerate(skeleton.nodes) for way, name in enumerate(WAYS) if name not in n.held]
    return moving, stiffness[np.ix_(moving, moving)]


def _weight(inner: Array) -> Array:
    """What scales the stiffness to ones on its diagonal `(n, 1)`."""
    diagonal = np.diag(inner)
    return np.asarray(np.sqrt(np.maximum(diagonal, diagonal.max() * 1e-12))[:, None])


_OnBeam = tuple[tuple[LineLoad | BeamLoad, ...], Array]  # a beam's loads, and what holds its ends against them


def _on_beams(beams: Sequence[Ready], case: LoadCase) -> list[_OnBeam]:
    """Each beam's loads. Raises ValueError for a load on what is no beam."""
    loads_of: dict[str, list[LineLoad | BeamLoad]] = {ready_beam.beam.name: [] for ready_beam in beams}
    for load in case.loads:
        if not isinstance(load, NodeLoad):
            if load.beam not in loads_of:
                raise ValueError(f"a load on '{load.beam}', which is no beam")
            loads_of[load.beam].append(load)
    return [
        (
            tuple(loads_of[ready_beam.beam.name]),
            held_ends(ready_beam.length, loads_of[ready_beam.beam.name], ready_beam.axes),
        )
        for ready_beam in beams
    ]


def _at_nodes(skeleton: Skeleton, beams: Sequence[Ready], case: LoadCase, on_beams: Sequence[_OnBeam]) -> Array:
    """Loads `(6 n,)` at the nodes: their own, and what beams pass on of theirs."""
    found = np.zeros(6 * len(skeleton.nodes))
    for load in case.loads:
        if isinstance(load, NodeLoad):
            row = 6 * skeleton.number(load.node)
            found[row : row + 6] += [*load.force, *load.moment]
    for beam, (loads, held) in zip(beams, on_beams, strict=True):
        if loads:
            found[beam.ways] += beam.at_nodes(held)
    return found


def _movements(skeleton: Skeleton, inner: Array, loads: Array, moving: Sequence[int]) -> Array:
    """Movements under the loads, from the stiffness scaled to a diagonal of ones. Raises Mechanism."""
    weight = _weight(inner)
    scaled = inner / (weight * weight.T)
    try:
        lower = np.linalg.cholesky(scaled)
        firm = bool(np.diag(lower).min() ** 2 > FIRM)
    except np.linalg.LinAlgError:
        firm = False
    if not firm:
        scaled = _without_loose(skeleton, scaled, weight, loads, moving)
        lower = np.linalg.cholesky(scaled)
    return np.asarray(cho_solve((lower, True), loads / weight) / weight)


def _without_loose(skeleton: Skeleton, scaled: Array, weight: Array, loads: Array, moving: Sequence[int]) -> Array:
    """The scaled stiffness, made firm where what is loose is harmless. Raises Mechanism where it is not.

    What has no stiffness is a mechanism where a node shifts, or where a load drives it. What is left is a pin or a bar
    that turns by itself: it stays where it is.
    """
    loose = _loose(scaled)
    if not loose.size:
        return scaled
    shape, shifts = loose / weight, _shifts(moving)
    _refuse(skeleton, shape, moving, shifts)
    if np.abs(loose.T @ (loads / weight)).max(initial=0.0) > 1e-6 * np.abs(loads / weight).max(initial=0.0):
        raise _mechanism(skeleton, shape[:, 0], moving, ~shifts)
    return np.asarray(scaled + loose @ loose.T)


def _loose(scaled: Array) -> Array:
    """Eigenvectors without stiffness, as columns."""
    values, vectors = np.linalg.eigh(scaled)
    return np.asarray(vectors[:, values < LOOSE])


def _shifts(moving: Sequence[int]) -> NDArray[np.bool_]:
    return np.array([way % 6 < 3 for way in moving])


def _refuse(skeleton: Skeleton, shape: Array, moving: Sequence[int], shifts: NDArray[np.bool_]) -> None:
    """Raise Mechanism where some movement without stiffness shifts nodes more than a bar's spin about itself does."""
    basis = np.linalg.qr(shape)[0]
    _, sizes, turn = np.linalg.svd(basis * shifts[:, None], full_matrices=False)
    if sizes.max() > SPINS:
        raise _mechanism(skeleton, basis @ turn[0], moving, shifts)


def refuse_mechanism(skeleton: Skeleton) -> None:
    """Raise Mechanism where a node can shift without resistance; bars that spin about themselves are let be."""
    moving, inner = _free(skeleton, _assembled(skeleton, [ready(skeleton, beam) for beam in skeleton.beams]))
    if moving:
        weight = _weight(inner)
        loose = _loose(inner / (weight * weight.T))
        if loose.size:
            _refuse(skeleton, loose / weight, moving, _shifts(moving))


def _mechanism(skeleton: Skeleton, shape: Array, moving: Sequence[int], counted: NDArray[np.bool_]) -> Mechanism:
    size = np.abs(shape) * counted
    size = size / size.max()
    order = sorted(range(len(moving)), key=lambda k: (-round(float(size[k]), 6), moving[k]))
    return Mechanism([
        (skeleton.nodes[moving[k] // 6].name, WAYS[moving[k] % 6], float(size[k])) for k in order if size[k] >= SHOWN
    ])  # fmt: skip


def _answer(
    skeleton: Skeleton, beams: Sequence[Ready], case: LoadCase, on_beams: Sequence[_OnBeam], moved: Array, held: Array
) -> Answer:
    found = []
    for beam, (loads, fixed) in zip(beams, on_beams, strict=True):
        ends = beam.ends(moved[beam.ways], fixed)
        found.append(BeamEnds(beam.beam, beam.length, beam.axes, ends, beam.own @ ends + fixed, loads))
    rows = (len(skeleton.nodes), 6)
    return Answer(skeleton, case.name, moved.reshape(rows), held.reshape(rows), tuple(found))
