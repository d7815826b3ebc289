"""Whole frames: against published answers, a kept frame-analysis library, and equilibrium."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from goals import bracketed, goal, with_arms
from numpy.typing import NDArray
from other_frames import FRAMES, answers, kept, random_frame

from flightsim.making.strength.actions import actions
from flightsim.making.strength.along import along
from flightsim.making.strength.analysis import Answer, solve
from flightsim.making.strength.model import model_of
from flightsim.making.strength.sections import square_hollow
from flightsim.making.strength.skeleton import (
    FIXED,
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
)
from flightsim.making.structure import Loads

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


def is_as_the_other_says(skeleton: Skeleton, loads: tuple[Load, ...], other: dict[str, Any]) -> None:
    answer = solve(skeleton, [LoadCase("load", loads)])[0]
    for ours, theirs in ((answer.movements, other["movements"]), (answer.reactions, other["reactions"])):
        assert ours == pytest.approx(np.array(theirs), abs=1e-6 * np.abs(theirs).max())
    for beam, sizes in zip(answer.beams, other["moments"], strict=True):
        largest = along([beam]).largest_moment()
        assert max(sizes) <= largest * (1.0 + 1e-3) + 1e-6  # ours is the largest of 25 places along the beam
        assert np.hypot(*sizes) >= largest * (1.0 - 1e-6) - 1e-6


@pytest.mark.parametrize("frame", range(FRAMES))
def test_random_frames_agree_with_another_library(frame: int) -> None:
    """PyniteFEA 3.2.0, an independent direct-stiffness library, as kept: movements, reactions, largest moments."""
    (skeleton, loads), other = kept()[frame]
    is_as_the_other_says(skeleton, loads, other)


@pytest.mark.outside
@pytest.mark.parametrize("seed", range(100, 110))
def test_other_random_frames_agree_with_the_library_itself(seed: int) -> None:
    skeleton, loads = random_frame(seed)
    is_as_the_other_says(skeleton, loads, answers(skeleton, loads))


@pytest.mark.outside
def test_a_bays_frame_under_all_its_loads_agrees_with_the_library() -> None:
    """With rigid joints, and braces that pass on twist: what turns by itself is more than the other library takes."""
    model = model_of(bracketed(with_arms(goal(Loads()), mass=5.0)), "rigid")
    beams = tuple(replace(beam, free_end=beam.free_end - {"rx"}) for beam in model.skeleton.beams)
    skeleton = replace(model.skeleton, beams=beams)
    for case in actions(model).strength()[::6]:
        is_as_the_other_says(skeleton, case.loads, answers(skeleton, case.loads))


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
        part, size = (load.part, 1.0) if isinstance(load, BeamLoad) else (0.5, float(np.linalg.norm(end - start)))
        add(start + part * (end - start), size * np.array(load.force))
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
            turned_loads.append(BeamLoad(load.beam, load.part, force))
        else:
            turned_loads.append(NodeLoad(load.node, force, tuple(turn @ np.array(load.moment))))
    before = solve(skeleton, [LoadCase("as it is", loads)])[0]
    after = solve(Skeleton(nodes, skeleton.beams), [LoadCase("turned", tuple(turned_loads))])[0]
    assert after.movements[:, :3] == pytest.approx(before.movements[:, :3] @ turn.T, abs=1e-12)
