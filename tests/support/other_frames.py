"""Random frames and what another library says of them: kept as data, so that the tests need no such library.

`python tests/support/other_frames.py` writes the data again; it needs the extra `outside` (see docs/decisions).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from flightsim.making.strength.sections import square_hollow
from flightsim.making.strength.skeleton import (
    BENDING,
    E_STEEL,
    FIXED,
    FREE,
    G_STEEL,
    PINNED,
    WAYS,
    Beam,
    BeamLoad,
    LineLoad,
    Load,
    Node,
    NodeLoad,
    Place,
    Skeleton,
    Stiffness,
    steel,
)

KEPT = Path(__file__).parent.parent / "making" / "strength" / "other_frames.json"
FRAMES = 10

Frame = tuple[Skeleton, tuple[Load, ...]]


def _three(values: Any) -> Place:
    x, y, z = (round(float(v), 6) for v in values)
    return x, y, z


def random_frame(seed: int) -> Frame:
    """Posts, rails and braces of jittered corners, some ends pinned, all kinds of loads."""
    rng = np.random.default_rng(seed)
    corners = [(x, y, z) for z in (0.0, 2.4) for x in (0.0, 1.5) for y in (0.0, 3.0)]
    places = [np.array(c) + (rng.uniform(-0.2, 0.2, 3) if c[2] else 0.0) for c in corners]
    nodes = [
        Node(f"n{k}", _three(p), (FIXED, PINNED)[int(rng.integers(2))] if p[2] == 0 else FREE)
        for k, p in enumerate(places)
    ]
    pairs = [(0, 4), (1, 5), (2, 6), (3, 7), (4, 5), (6, 7), (4, 6), (5, 7), (0, 6), (4, 7)]
    beams = []
    for k, (i, j) in enumerate(pairs):
        free = [BENDING if k > 3 and rng.random() < 0.4 else FREE for _ in range(2)]
        tube = square_hollow(*((0.04, 0.002), (0.05, 0.003), (0.06, 0.004))[int(rng.integers(3))])
        beams.append(Beam(f"b{k}", f"n{i}", f"n{j}", steel(tube), free_start=free[0], free_end=free[1]))
    loads: list[Load] = [LineLoad(beam.name, _three(rng.normal(0, 50, 3))) for beam in beams[4:]]
    loads += [
        BeamLoad(beam.name, round(float(rng.uniform(0.1, 0.9)), 6), _three(rng.normal(0, 300, 3)))
        for beam in beams[::3]
    ]
    loads += [NodeLoad(f"n{k}", _three(rng.normal(0, 400, 3)), _three(rng.normal(0, 50, 3))) for k in (4, 6, 7)]
    return Skeleton(tuple(nodes), tuple(beams)), tuple(loads)


def other_model(skeleton: Skeleton, loads: tuple[Load, ...]) -> Any:
    """The same frame for the other library, solved."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("steel", E_STEEL, G_STEEL, 0.3, 0.0)
    for node in skeleton.nodes:
        model.add_node(node.name, *(float(c) for c in node.place))
        model.def_support(node.name, *(way in node.held for way in WAYS))
    for beam in skeleton.beams:
        s = beam.stiffness
        model.add_section(beam.name, s.axial / E_STEEL, s.about_y / E_STEEL, s.about_z / E_STEEL, s.twist / G_STEEL)
        model.add_member(beam.name, beam.start, beam.end, "steel", beam.name)
        start, end = (
            [False] * 3 + [way in free for way in ("rx", "ry", "rz")] for free in (beam.free_start, beam.free_end)
        )
        model.def_releases(beam.name, *start, *end)
    for load in loads:
        for axis, force in zip("XYZ", load.force, strict=True):
            if isinstance(load, LineLoad):
                model.add_member_dist_load(load.beam, f"F{axis}", force, force)
            elif isinstance(load, BeamLoad):
                beam = next(b for b in skeleton.beams if b.name == load.beam)
                model.add_member_pt_load(load.beam, f"F{axis}", force, load.at * skeleton.length(beam))
            else:
                model.add_node_load(load.node, f"F{axis}", force)
        if isinstance(load, NodeLoad):
            for axis, moment in zip("XYZ", load.moment, strict=True):
                model.add_node_load(load.node, f"M{axis}", moment)
    model.analyze(log=False)
    return model


def answers(skeleton: Skeleton, loads: tuple[Load, ...]) -> dict[str, Any]:
    """Movements and reactions `(n, 6)`, and each beam's largest moments about its own two axes."""
    model = other_model(skeleton, loads)

    def rows(names: tuple[str, ...]) -> list[list[float]]:
        return [[float(getattr(node, name)["Combo 1"]) for name in names] for node in model.nodes.values()]

    return {
        "movements": rows(("DX", "DY", "DZ", "RX", "RY", "RZ")),
        "reactions": rows(("RxnFX", "RxnFY", "RxnFZ", "RxnMX", "RxnMY", "RxnMZ")),
        "moments": [
            [max(abs(float(m.max_moment(axis))), abs(float(m.min_moment(axis)))) for axis in ("My", "Mz")]
            for m in (model.members[beam.name] for beam in skeleton.beams)
        ],
    }


def as_data(frame: Frame) -> dict[str, Any]:
    """A frame with its loads as plain data."""
    skeleton, loads = frame
    return {
        "nodes": [[n.name, n.place, sorted(n.held)] for n in skeleton.nodes],
        "beams": [
            [b.name, b.start, b.end, [b.stiffness.axial, b.stiffness.about_y, b.stiffness.about_z, b.stiffness.twist],
             sorted(b.free_start), sorted(b.free_end)] for b in skeleton.beams
        ],
        "loads": [
            ["even", load.beam, load.force] if isinstance(load, LineLoad)
            else ["at", load.beam, load.at, load.force] if isinstance(load, BeamLoad)
            else ["node", load.node, load.force, load.moment] for load in loads
        ],
    }  # fmt: skip


def from_data(data: dict[str, Any]) -> Frame:
    """The frame that `as_data` wrote."""
    nodes = tuple(Node(name, _three(place), frozenset(held)) for name, place, held in data["nodes"])
    beams = tuple(
        Beam(name, start, end, Stiffness(*stiff), free_start=frozenset(first), free_end=frozenset(last))
        for name, start, end, stiff, first, last in data["beams"]
    )
    kinds = {"even": LineLoad, "at": BeamLoad, "node": NodeLoad}
    loads = tuple(kinds[kind](*(tuple(v) if isinstance(v, list) else v for v in rest)) for kind, *rest in data["loads"])
    return Skeleton(nodes, beams), loads


def kept() -> list[tuple[Frame, dict[str, Any]]]:
    """The kept frames, and the other library's answers to each."""
    return [(from_data(entry["frame"]), entry["answers"]) for entry in json.loads(KEPT.read_text(encoding="utf-8"))]


def write() -> None:
    """Ask the other library, and keep what it says."""
    found = []
    for seed in range(FRAMES):
        frame = from_data(as_data(random_frame(seed)))
        found.append({"frame": as_data(frame), "answers": answers(*frame)})
    KEPT.write_text("[\n" + ",\n".join(json.dumps(entry) for entry in found) + "\n]\n", encoding="utf-8")


if __name__ == "__main__":
    write()
