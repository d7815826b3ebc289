"""Answers about shapes are kept by their values: the same again for the same, and anew for anything else."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from flightsim.bay.kept_answers import kept_by_value, value_of
from flightsim.bay.shapes import Box, Capsule, HalfSpace, Shape, block, rectangle, square_tube
from flightsim.bay.swing import least_gap, moves_to_clear, swing_of

BOX = block(np.zeros(3), np.ones(3))


def test_the_same_value_is_asked_once_and_another_anew():
    asked = []

    @kept_by_value
    def width(shape: Shape, scale: float = 1.0) -> float:
        asked.append(shape)
        return float(np.ptp([corner[0] for corner in shape.bounds()])) * scale

    assert width(BOX) == width(block(np.zeros(3), np.ones(3))) == 1.0
    assert len(asked) == 1
    assert width(block(np.zeros(3), np.array([2.0, 1.0, 1.0]))) == 2.0
    assert width(BOX, scale=3.0) == 3.0
    assert width(BOX, 3.0) == 3.0
    assert len(asked) == 4


def test_a_shape_that_is_not_ours_is_asked_each_time():
    asked = []

    @dataclass(frozen=True)
    class Own:
        convex: bool = True

        def bounds(self):
            return np.zeros(3), np.ones(3)

    @kept_by_value
    def question(shape) -> int:
        asked.append(shape)
        return len(asked)

    assert [question(Own()), question(Own())] == [1, 2]


def test_kept_arrays_cannot_be_written():
    swing = swing_of(1.76, 1.1, np.zeros(3), 1.0)
    for answer in (least_gap(swing, BOX)[1], moves_to_clear(swing, np.concatenate(BOX.outlines()).T)):
        with pytest.raises(ValueError, match="read-only"):
            answer[0] = 1.0


def test_an_answer_is_that_of_the_question_to_the_bit():
    ball = np.array([0.1, 0.2, 0.0])
    for side in (1.0, -1.0):
        swing = swing_of(1.9, 1.1, ball, side)
        for shape in (BOX, square_tube(np.zeros(3), np.array([1.0, 2.0, 2.5]), 0.05)):
            for _ in range(2):
                kept, anew = least_gap(swing, shape, 0.3), least_gap.__wrapped__(swing, shape, 0.3)
                assert kept[0] == anew[0]
                assert (kept[1] == anew[1]).all()


def test_values_tell_shapes_apart_by_kind_size_and_place():
    ends = np.zeros(3), np.array([0.0, 0.0, 1.0])
    shapes = [
        BOX, block(np.zeros(3), np.array([1.0, 1.0, 1.0 + 1e-15])), rectangle(*np.eye(3)),
        Box(BOX.centre, BOX.axes, BOX.half, 0.1), Capsule(*ends, 0.1), Capsule(*ends, 0.2), Capsule(*ends[::-1], 0.1),
        HalfSpace(np.array([0.0, 0.0, 1.0]), 0.0),
    ]  # fmt: skip
    assert len({value_of(shape) for shape in shapes}) == len(shapes)
    assert value_of(object()) is None
    assert value_of((BOX, object())) is None
