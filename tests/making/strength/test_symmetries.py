"""A frame's answer knows neither left from right nor which bar was listed first."""

from __future__ import annotations

from dataclasses import replace

import pytest
from goals import bar, bracketed, goal, with_arms
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.making.strength.bar_checks import bar_checks
from flightsim.making.strength.model import model_of
from flightsim.making.structure import Loads, Structure

FRAME = bracketed(with_arms(goal(Loads(stored=5.0)), mass=4.0))


def values(structure: Structure) -> dict[str, float]:
    return {check.name: float(check.value or 0.0) for check in bar_checks(model_of(structure, "rigid"))}


def test_left_and_right_bars_of_an_even_frame_are_as_much_stressed() -> None:
    found = values(FRAME)
    left = {name: value for name, value in found.items() if "left" in name}
    assert len(left) > 8
    for name, value in left.items():
        assert found[name.replace("left", "right")] == pytest.approx(value, rel=1e-6), name


@settings(max_examples=8, deadline=None)
@given(order=st.permutations(range(len(FRAME.bars))))
def test_the_order_of_bars_changes_no_check(order: list[int]) -> None:
    shuffled = replace(FRAME, bars=tuple(FRAME.bars[k] for k in order))
    assert values(shuffled) == pytest.approx(values(FRAME), rel=1e-6, abs=1e-9)


@settings(max_examples=8, deadline=None)
@given(names=st.sets(st.sampled_from([each.name for each in FRAME.bars]), min_size=1))
def test_which_end_of_a_bar_is_its_start_changes_no_check(names: set[str]) -> None:
    loose = {"left upright", "right upright"} | {f"{side} side bar" for side in ("left", "right")}  # held or named ends
    held = {hold.bar for hold in FRAME.holds}
    turned = tuple(
        bar(each.name, each.end, each.start, each.section) if each.name in names - loose - held else each
        for each in FRAME.bars
    )
    assert values(replace(FRAME, bars=turned)) == pytest.approx(values(FRAME), rel=1e-6, abs=1e-9)


@settings(max_examples=6, deadline=None)
@given(x=st.floats(-5.0, 5.0), y=st.floats(-5.0, 5.0))
def test_where_the_frame_stands_changes_no_check(x: float, y: float) -> None:
    moved = tuple(
        bar(b.name, (b.start[0] + x, b.start[1] + y, b.start[2]), (b.end[0] + x, b.end[1] + y, b.end[2]), b.section)
        for b in FRAME.bars
    )
    assert values(replace(FRAME, bars=moved)) == pytest.approx(values(FRAME), rel=1e-5, abs=1e-9)


def test_a_stiffer_steel_grade_raises_limits_and_no_stress() -> None:
    better = replace(FRAME, grade="S355")
    assert values(better) == pytest.approx({**values(FRAME), **_buckling(better)}, rel=1e-9)
    limits = {c.name: c.limit for c in bar_checks(model_of(better, "rigid")) if c.name.startswith("stress of left")}
    assert set(limits.values()) == {355.0}


def _buckling(structure: Structure) -> dict[str, float]:
    return {name: value for name, value in values(structure).items() if name.startswith("buckling")}
