"""Whether a frame that only stands tips over: moments about each edge of its feet. Statics of a rigid body."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from flightsim.making.strength.actions import G, actions
from flightsim.making.strength.check_one import Check
from flightsim.making.strength.model import Model
from flightsim.making.strength.skeleton import BeamLoad, Load, LoadCase, NodeLoad

Array = NDArray[np.float64]

FACTOR = 1.5  # below it a frame must be anchored [tipping]
SOURCE = "factor of safety = moments that hold it down / moments that tip it, at 1.0; below 1.5 it must be anchored"
STIFF = 1e-6  # m: feet nearer to one line than this stand on a line


@dataclass(frozen=True)
class Edge:
    """A line that a frame could tip about. place, outward `(2,)`: a foot on it and the way that it would fall."""

    place: Array
    outward: Array
    behind: float  # how far the farthest foot is behind it, m


@dataclass(frozen=True)
class Tips:
    """The worst case: its factor of safety, in words, and the mass, kg, on the rearmost feet that makes it 1.5."""

    factor: float
    case: str
    ballast: float
    behind: float


def edges(feet: Sequence[Sequence[float]]) -> list[Edge]:
    """The sides of the feet's outline `(n, 2 or more)`, m; of feet in one line, both ways across it and its ends."""
    points = np.array([foot[:2] for foot in feet], dtype=np.float64)
    try:
        hull = ConvexHull(points, qhull_options="Qt QJ1e-12" if len(points) < 3 else "Qt")
    except (QhullError, ValueError):
        return _line(points)
    pairs = [(points[a], equation[:2]) for (a, _), equation in zip(hull.simplices, hull.equations, strict=True)]
    found = [Edge(place, out, float(((place - points) @ out).max())) for place, out in pairs]
    return _line(points) if min(edge.behind for edge in found) < STIFF else found


def _line(points: Array) -> list[Edge]:
    spread = points - points.mean(axis=0)
    line = np.linalg.svd(spread)[2][0] if len(points) > 1 else np.array([1.0, 0.0])
    side = np.array([-line[1], line[0]])
    ways = [side, -side, line, -line]
    tips = [points[(points @ way).argmax()] for way in ways]
    return [Edge(tip, way, float(((tip - points) @ way).max())) for tip, way in zip(tips, ways, strict=True)]


def pulls(model: Model, loads: Sequence[Load]) -> Iterator[tuple[Array, Array]]:
    """Place and force of each load `(3,)`, m and N."""
    beams = {beam.name: beam for beam in model.skeleton.beams}
    for load in loads:
        if isinstance(load, NodeLoad):
            yield np.array(model.skeleton.nodes[model.skeleton.number(load.node)].place), np.array(load.force)
            continue
        start, end = model.skeleton.ends(beams[load.beam])
        part, size = (load.part, 1.0) if isinstance(load, BeamLoad) else (0.5, float(np.linalg.norm(end - start)))
        yield start + part * (end - start), size * np.array(load.force)


def overturning(edge: Edge, place: Array, force: Array) -> float:
    """Moment of a force about the edge, N m: + tips, - holds down. The floor is at nought."""
    out = float((place[:2] - edge.place) @ edge.outward)
    return float(-force[2] * out + (force[:2] @ edge.outward) * place[2])


def tips(model: Model) -> Tips:
    """The worst of all edges and of all single actions, cords left out: they pull within the frame."""
    acting, structure = actions(model), model.structure
    feet = [structure.place(hold) for hold in structure.holds if hold.to == "floor"]
    cases = [LoadCase("its own weight", ()), *acting.people, *acting.sideways, *acting.ball]
    weight = list(pulls(model, acting.weight))
    found = []
    for edge in edges(feet):
        own = [overturning(edge, *pull) for pull in weight]
        for case in cases:
            single = [overturning(edge, *pull) for pull in pulls(model, case.loads)]
            down = -sum(m for m in own if m < 0.0)
            over = sum(m for m in own if m > 0.0) + sum(m for m in single if m > 0.0)
            if over > 1e-9:
                short = max(0.0, FACTOR * over - down)
                mass = short / (G * edge.behind) if edge.behind > STIFF else float("inf")
                found.append(Tips(down / over, case.name, mass, edge.behind))
    return min(found, key=lambda pull: pull.factor, default=Tips(float("inf"), "nothing", 0.0, 0.0))


def tipping_check(model: Model) -> tuple[Check, ...]:
    """Of a frame that is held by nothing but the floor; one that walls or roof hold does not tip."""
    structure = model.structure
    if any(hold.to != "floor" and hold.anchored for hold in structure.holds):
        return ()
    found = tips(model)
    anchored = all(hold.anchored for hold in structure.holds)
    ok = found.factor >= FACTOR or anchored
    help_ = "anchored feet"
    if np.isfinite(found.ballast) and found.ballast > 0.0:
        help_ += f", or {np.ceil(found.ballast):g} kg of ballast on the feet {found.behind:.2f} m behind the edge"
    why = found.case + (": its anchors hold it" if anchored and found.factor < FACTOR else "")
    factor = min(found.factor, 99.0)
    return (Check("tipping", factor, FACTOR, "", SOURCE, ok, "" if ok else help_, why, least=True),)
