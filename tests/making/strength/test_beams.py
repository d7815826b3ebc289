"""One beam against textbook formulae: 1e-6 of the value."""

from __future__ import annotations

import numpy as np
import pytest

from flightsim.making.strength.along import along
from flightsim.making.strength.analysis import Answer, Mechanism, solve
from flightsim.making.strength.sections import square_hollow
from flightsim.making.strength.skeleton import (
    BENDING,
    FIXED,
    FREE,
    PINNED,
    Beam,
    BeamLoad,
    LineLoad,
    Load,
    LoadCase,
    Node,
    NodeLoad,
    Skeleton,
    steel,
)

TUBE = square_hollow(0.050, 0.003)
EI = 210e9 * TUBE.second_moment
SPAN = 5.0
ROLLER = frozenset(("y", "z", "rx"))
ENDS = {"pinned": (PINNED | {"rx"}, ROLLER), "fixed": (FIXED, FIXED), "cantilever": (FIXED, FREE)}


def beam(ends: str, load: Load, along_axis: tuple[float, float, float] = (1.0, 0.0, 0.0)) -> Answer:
    far = tuple(SPAN * c for c in along_axis)
    left, right = ENDS[ends]
    nodes = (Node("a", (0.0, 0.0, 0.0), left), Node("b", far, right))
    return solve(Skeleton(nodes, (Beam("bar", "a", "b", steel(TUBE)),)), [LoadCase("load", (load,))])[0]


def test_own_weight_of_the_references_pinned_beam() -> None:  # the reference: 50 x 50 x 3, 5.0 m: 8.29 mm, L/603
    weight = TUBE.mass * 9.81
    sag = along([beam("pinned", LineLoad("bar", (0, 0, -weight))).of("bar")]).largest_sag()
    assert sag == pytest.approx(5.0 * weight * SPAN**4 / (384.0 * EI), rel=1e-6)
    assert sag * 1e3 == pytest.approx(8.29, abs=0.01)
    assert SPAN / sag == pytest.approx(603.0, abs=1.0)


@pytest.mark.parametrize(("ends", "load", "sag", "moment"), [
    ("pinned", "even", 5 / 384, 1 / 8), ("pinned", "middle", 1 / 48, 1 / 4),
    ("fixed", "even", 1 / 384, 1 / 12), ("fixed", "middle", 1 / 192, 1 / 8),
    ("cantilever", "even", 1 / 8, 1 / 2), ("cantilever", "end", 1 / 3, 1),
])  # fmt: skip
@pytest.mark.parametrize("way", [1, 2])
def test_textbook_beams(ends: str, load: str, sag: float, moment: float, way: int) -> None:
    """Young & Budynas, Roark's Formulas, 7th ed., table 8.1; the reference's list. P 100 N, or w 20 N/m: P = w L."""
    force = np.zeros(3)
    force[way] = -100.0
    put: dict[str, Load] = {
        "even": LineLoad("bar", tuple(force / SPAN)), "middle": BeamLoad("bar", 0.5, tuple(force)),
        "end": NodeLoad("b", tuple(force)),
    }  # fmt: skip
    answer = beam(ends, put[load])
    found = along([answer.of("bar")])
    deepest = found.largest_sag() if ends != "cantilever" else float(np.abs(answer.movement("b")).max())
    assert deepest == pytest.approx(sag * 100.0 * SPAN**3 / EI, rel=1e-6)
    assert found.largest_moment() == pytest.approx(moment * 100.0 * SPAN, rel=1e-6)


@pytest.mark.parametrize("part", [0.1, 0.35, 0.8])
def test_load_anywhere_on_a_pinned_beam(part: float) -> None:
    """Sag below the load: P a2 b2 / 3 E I L (Roark, table 8.1, case 1e)."""
    found = along([beam("pinned", BeamLoad("bar", part, (0, 0, -100.0))).of("bar")])
    below = np.interp(part * SPAN, found.distance, -found.sag[0, :, 1])
    assert below == pytest.approx(100.0 * SPAN**3 * part**2 * (1 - part) ** 2 / (3 * EI), rel=1e-6)
    assert found.largest_moment() == pytest.approx(100.0 * SPAN * part * (1 - part), rel=1e-6)


def test_beam_fixed_at_one_end_and_released_at_the_other_is_a_propped_cantilever() -> None:
    """Moment w L2 / 8 at the fixed end, reaction 3 w L / 8 at the prop (Roark, table 8.1, case 2c)."""
    nodes = (Node("a", (0, 0, 0), FIXED), Node("b", (SPAN, 0, 0), FIXED))
    bar = Beam("bar", "a", "b", steel(TUBE), free_end=BENDING)
    answer = solve(Skeleton(nodes, (bar,)), [LoadCase("load", (LineLoad("bar", (0, 0, -20.0)),))])[0]
    assert answer.reaction("b")[2] == pytest.approx(3 * 20 * SPAN / 8, rel=1e-9)
    assert abs(answer.reaction("a")[4]) == pytest.approx(20 * SPAN**2 / 8, rel=1e-9)
    sag = along([answer.of("bar")]).largest_sag()
    assert sag == pytest.approx(0.0054 * 20 * SPAN**4 / EI, rel=5e-3)  # Roark prints 0.0054


def test_both_ends_released_is_a_pinned_beam_between_fixed_nodes() -> None:
    nodes = (Node("a", (0, 0, 0), FIXED), Node("b", (SPAN, 0, 0), FIXED))
    bar = Beam("bar", "a", "b", steel(TUBE), free_start=BENDING, free_end=BENDING)
    answer = solve(Skeleton(nodes, (bar,)), [LoadCase("load", (BeamLoad("bar", 0.5, (0, 0, -100.0)),))])[0]
    assert along([answer.of("bar")]).largest_sag() == pytest.approx(100 * SPAN**3 / (48 * EI), rel=1e-6)


@pytest.mark.parametrize("direction", [(0, 0, 1), (0.6, 0.8, 0), (1 / 3, 2 / 3, 2 / 3)])
def test_column_shortens_and_twists_by_hand(direction: tuple[float, float, float]) -> None:
    pushed = beam("cantilever", NodeLoad("b", tuple(-1e4 * c for c in direction)), direction)
    assert np.linalg.norm(pushed.movement("b")) == pytest.approx(1e4 * SPAN / (210e9 * TUBE.area), rel=1e-6)
    twisted = beam("cantilever", NodeLoad("b", moment=tuple(10.0 * c for c in direction)), direction)
    turn = twisted.movements[1, 3:] @ np.array(direction)
    assert turn == pytest.approx(10.0 * SPAN / (81e9 * TUBE.torsion_constant), rel=1e-6)


def test_beam_on_one_pin_is_a_mechanism_and_its_free_end_is_named() -> None:
    nodes = (Node("wall", (0, 0, 0), PINNED), Node("tip", (2, 0, 0)))
    with pytest.raises(Mechanism) as found:
        solve(Skeleton(nodes, (Beam("bar", "wall", "tip", steel(TUBE)),)), [LoadCase("none", ())])
    assert {move[:2] for move in found.value.moves} <= {("tip", "y"), ("tip", "z")}


def test_four_bars_with_pinned_corners_fold_sideways() -> None:
    nodes = (
        Node("left foot", (0, 0, 0), PINNED), Node("right foot", (0, 3, 0), PINNED),
        Node("left corner", (0, 0, 2.5), frozenset("x")), Node("right corner", (0, 3, 2.5), frozenset("x")),
    )  # fmt: skip
    pins = {"free_start": BENDING, "free_end": BENDING}
    bars = [
        Beam("left post", "left foot", "left corner", steel(TUBE), **pins),
        Beam("right post", "right foot", "right corner", steel(TUBE), **pins),
        Beam("top bar", "left corner", "right corner", steel(TUBE), **pins),
    ]
    with pytest.raises(Mechanism, match="left corner moving sideways, right corner moving sideways"):
        solve(Skeleton(nodes, tuple(bars)), [LoadCase("none", ())])
    bars.append(Beam("brace", "left foot", "right corner", steel(TUBE), **pins))
    push = LoadCase("push", (NodeLoad("left corner", (0, 100.0, 0)),))
    braced = solve(Skeleton(nodes, tuple(bars)), [push])[0]
    assert braced.of("brace").forces[6] == pytest.approx(100.0 * np.hypot(3, 2.5) / 3, rel=1e-6)  # it is pulled


def test_names_that_do_not_fit_are_refused() -> None:
    a, b = Node("a", (0, 0, 0), FIXED), Node("b", (1, 0, 0))
    with pytest.raises(ValueError, match="'c', which is no node"):
        Skeleton((a, b), (Beam("bar", "a", "c", steel(TUBE)),))
    with pytest.raises(ValueError, match="share a name: a"):
        Skeleton((a, a), ())
    with pytest.raises(ValueError, match="no length"):
        Skeleton((a, Node("b", (0, 0, 0))), (Beam("bar", "a", "b", steel(TUBE)),))
    with pytest.raises(ValueError, match="'brace', which is no beam"):
        solve(Skeleton((a, b), (Beam("bar", "a", "b", steel(TUBE)),)), [LoadCase("x", (LineLoad("brace", (0, 0, 1)),))])
