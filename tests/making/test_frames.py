"""Whole frames: against published answers, a kept frame-analysis library, and equilibrium."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray
from Pynite import FEModel3D

from flightsim.making.along import along
from flightsim.making.analysis import Answer, solve
from flightsim.making.sections import square_hollow
from flightsim.making.skeleton import (
    BENDING,
    E_STEEL,
    FIXED,
    FREE,
    G_STEEL,
    PINNED,
    Beam,
    BeamLoad,
    LineLoad,
    Load,
    LoadCase,
    Node,
    NodeLoad,
    Skeleton,
    Stiffness,
    steel,
)

Array = NDArray[np.float64]
TUBE = square_hollow(0.050, 0.003)


def test_published_space_frame() -> None:
    """A. J. M. Ferreira, MATLAB Codes for Finite Element Analysis, Springer 2009, chapter 8, first space frame.

    Its printed movements of node 1 (m, rad), to their last digit: kN and m, three beams to fixed ends, Iz twice Iy.
    """
    stiff = Stiffness(210e6 * 0.02, 210e6 * 10e-5, 210e6 * 20e-5, 84e6 * 5e-5)
    far = {"2": (3.0, 0.0, 0.0), "3": (0.0, 0.0, -3.0), "4": (0.0, -4.0, 0.0)}
    nodes = (Node("1", (0, 0, 0)), *(Node(name, place, FIXED) for name, place in far.items()))
    beams = tuple(Beam(name, "1", name, stiff) for name in far)
    load = NodeLoad("1", (-10.0, 0.0, 20.0))
    answer = solve(Skeleton(nodes, beams), [LoadCase("load", (load,))])[0]
    printed = [-7.05e-6, -7e-8, 1.418e-5, 1.45e-6, 1.75e-6, 1.14e-6]
    assert answer.movements[0] == pytest.approx(printed, abs=0.51e-8)


def portal(height: float, width: float, feet: frozenset[str]) -> Skeleton:
    """In the plane of y and z; no bar gets longer or shorter worth telling, as in the tables of portals."""
    stiff = Stiffness(2e11, 1e4, 1e4, 1e4)
    flat = frozenset(("x", "ry", "rz"))
    places = {"a": (0, 0, 0), "b": (0, 0, height), "c": (0, width, height), "d": (0, width, 0)}
    nodes = tuple(Node(name, place, (feet | flat) if name in "ad" else flat) for name, place in places.items())
    return Skeleton(nodes, tuple(Beam(f"{i}{j}", i, j, stiff) for i, j in ("ab", "bc", "cd")))


@pytest.mark.parametrize(("height", "width"), [(2.5, 3.0), (4.0, 2.0)])
def test_portal_pushed_sideways_has_kleinlogels_moments(height: float, width: float) -> None:
    """A. Kleinlogel, Rigid Frame Formulas, frame 40 (fixed feet), push P at the head, from memory:

    k = (I bar / I post) (h / L); foot P h (3 k + 1) / (2 (6 k + 1)), head P h 3 k / (2 (6 k + 1)). Pinned: P h / 2.
    """
    k, push = height / width, LoadCase("push", (NodeLoad("b", (0, 100.0, 0)),))
    fixed = solve(portal(height, width, FIXED), [push])[0]
    foot, head = (100.0 * height * part / (2 * (6 * k + 1)) for part in (3 * k + 1, 3 * k))
    assert abs(fixed.of("ab").forces[[3, 4, 5]]).max() == pytest.approx(foot, rel=1e-6)
    assert abs(fixed.of("ab").forces[[9, 10, 11]]).max() == pytest.approx(head, rel=1e-6)
    pinned = solve(portal(height, width, PINNED), [push])[0]
    assert abs(pinned.of("ab").forces[[9, 10, 11]]).max() == pytest.approx(50.0 * height, rel=1e-6)


def test_portal_under_an_even_load_has_kleinlogels_moments() -> None:
    """As above: fixed feet, w on the bar: head w L2 / (6 (k + 2)), foot w L2 / (12 (k + 2))."""
    height, width, even = 2.5, 3.0, LoadCase("even", (LineLoad("bc", (0, 0, -50.0)),))
    answer, k = solve(portal(height, width, FIXED), [even])[0], height / width
    assert abs(answer.of("ab").forces[[9, 10, 11]]).max() == pytest.approx(50 * width**2 / (6 * (k + 2)), rel=1e-6)
    assert abs(answer.of("ab").forces[[3, 4, 5]]).max() == pytest.approx(50 * width**2 / (12 * (k + 2)), rel=1e-6)


def random_frame(seed: int) -> tuple[Skeleton, tuple[Load, ...]]:
    """Posts, rails and braces of jittered corners, some ends pinned, all kinds of loads."""
    rng = np.random.default_rng(seed)
    corners = [(x, y, z) for z in (0.0, 2.4) for x in (0.0, 1.5) for y in (0.0, 3.0)]
    places = [np.array(c) + (rng.uniform(-0.2, 0.2, 3) if c[2] else 0.0) for c in corners]
    nodes = [
        Node(f"n{k}", tuple(p), rng.choice([FIXED, PINNED]) if p[2] == 0 else FREE) for k, p in enumerate(places)
    ]
    pairs = [(0, 4), (1, 5), (2, 6), (3, 7), (4, 5), (6, 7), (4, 6), (5, 7), (0, 6), (4, 7)]
    beams = []
    for k, (i, j) in enumerate(pairs):
        free = [BENDING if k > 3 and rng.random() < 0.4 else FREE for _ in range(2)]
        tube = square_hollow(*rng.choice([(0.04, 0.002), (0.05, 0.003), (0.06, 0.004)]))
        beams.append(Beam(f"b{k}", f"n{i}", f"n{j}", steel(tube), free_start=free[0], free_end=free[1]))
    loads: list[Load] = [LineLoad(beam.name, tuple(rng.normal(0, 50, 3))) for beam in beams[4:]]
    loads += [BeamLoad(beam.name, rng.uniform(0.1, 0.9), tuple(rng.normal(0, 300, 3))) for beam in beams[::3]]
    loads += [NodeLoad(f"n{k}", tuple(rng.normal(0, 400, 3)), tuple(rng.normal(0, 50, 3))) for k in (4, 6, 7)]
    return Skeleton(tuple(nodes), tuple(beams)), tuple(loads)


def other_model(skeleton: Skeleton, loads: tuple[Load, ...]) -> FEModel3D:
    """The same frame for the other library."""
    model = FEModel3D()
    model.add_material("steel", E_STEEL, G_STEEL, 0.3, 0.0)
    for node in skeleton.nodes:
        model.add_node(node.name, *(float(c) for c in node.place))
        model.def_support(node.name, *(way in node.held for way in ("x", "y", "z", "rx", "ry", "rz")))
    for beam in skeleton.beams:
        s = beam.stiffness
        model.add_section(
            beam.name, s.axial / E_STEEL, s.about_y / E_STEEL, s.about_z / E_STEEL, s.twist / G_STEEL
        )
        model.add_member(beam.name, beam.start, beam.end, "steel", beam.name)
        start, end = ([False] * 4 + ["ry" in free, "rz" in free] for free in (beam.free_start, beam.free_end))
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


def rows(model: FEModel3D, what: tuple[str, ...]) -> Iterator[list[float]]:
    for node in model.nodes.values():
        yield [getattr(node, name)["Combo 1"] for name in what]


@pytest.mark.parametrize("seed", range(10))
def test_random_frames_agree_with_the_other_library(seed: int) -> None:
    """PyNiteFEA, an independent direct-stiffness library: movements, turns and reactions to 1e-6 of the largest."""
    skeleton, loads = random_frame(seed)
    answer, model = solve(skeleton, [LoadCase("load", loads)])[0], other_model(skeleton, loads)
    shifts = np.array(list(rows(model, ("DX", "DY", "DZ", "RX", "RY", "RZ"))))
    assert answer.movements == pytest.approx(shifts, abs=1e-6 * np.abs(shifts).max())
    held = np.array(list(rows(model, ("RxnFX", "RxnFY", "RxnFZ", "RxnMX", "RxnMY", "RxnMZ"))))
    assert answer.reactions == pytest.approx(held, abs=1e-6 * np.abs(held).max())
    for beam in answer.beams:
        ours, theirs = along(beam), model.members[beam.beam.name]
        sizes = [max(abs(theirs.max_moment(a)), abs(theirs.min_moment(a))) for a in ("My", "Mz")]
        assert max(sizes) <= np.hypot(*ours.moment.T).max() * (1.0 + 1e-6) + 1e-6
        assert np.hypot(*sizes) >= np.hypot(*ours.moment.T).max() * (1.0 - 1e-6) - 1e-6


def pulls(skeleton: Skeleton, loads: tuple[Load, ...], answer: Answer) -> Array:
    """Sum of forces and of moments about the origin `(6,)`, of loads and of what holds the frame."""
    total = np.zeros(6)

    def add(place: Array, force: Array, moment: Array | None = None) -> None:
        total[:3] += force
        total[3:] += np.cross(place, force) + (0.0 if moment is None else moment)

    by_name = {beam.name: beam for beam in skeleton.beams}
    for load in loads:
        if isinstance(load, NodeLoad):
            place = np.array(skeleton.nodes[skeleton.number(load.node)].place)
            add(place, np.array(load.force), np.array(load.moment))
            continue
        start, end = skeleton.ends(by_name[load.beam])
        at, size = (load.at, 1.0) if isinstance(load, BeamLoad) else (0.5, float(np.linalg.norm(end - start)))
        add(start + at * (end - start), size * np.array(load.force))
    for node, reaction in zip(skeleton.nodes, answer.reactions, strict=True):
        add(np.array(node.place), reaction[:3], reaction[3:])
    return total


@pytest.mark.parametrize("seed", range(10, 20))
def test_what_holds_a_frame_balances_its_loads(seed: int) -> None:
    skeleton, loads = random_frame(seed)
    answer = solve(skeleton, [LoadCase("load", loads)])[0]
    assert pulls(skeleton, loads, answer) == pytest.approx(np.zeros(6), abs=1e-6)


def test_work_of_one_load_through_another_is_the_same_both_ways() -> None:
    """Maxwell and Betti: for any linear frame."""
    skeleton, _ = random_frame(3)
    one, two = NodeLoad("n5", (100.0, 20.0, -30.0)), NodeLoad("n6", (10.0, -70.0, 40.0))
    first, second = solve(skeleton, [LoadCase("one", (one,)), LoadCase("two", (two,))])
    assert np.dot(one.force, second.movement("n5")) == pytest.approx(np.dot(two.force, first.movement("n6")), rel=1e-9)


def test_turning_the_whole_frame_turns_its_answer() -> None:
    skeleton, loads = random_frame(5)
    turn = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    nodes = tuple(Node(n.name, tuple(turn @ np.array(n.place)), n.held) for n in skeleton.nodes)
    turned_loads: list[Load] = []
    for load in loads:
        force = tuple(turn @ np.array(load.force))
        if isinstance(load, LineLoad):
            turned_loads.append(LineLoad(load.beam, force))
        elif isinstance(load, BeamLoad):
            turned_loads.append(BeamLoad(load.beam, load.at, force))
        else:
            turned_loads.append(NodeLoad(load.node, force, tuple(turn @ np.array(load.moment))))
    before = solve(skeleton, [LoadCase("as it is", loads)])[0]
    after = solve(Skeleton(nodes, skeleton.beams), [LoadCase("turned", tuple(turned_loads))])[0]
    assert after.movements[:, :3] == pytest.approx(before.movements[:, :3] @ turn.T, abs=1e-12)
