"""Lines and dimensions are the frame's own measures."""

from __future__ import annotations

import json
from math import dist

import pytest
from goals import ARM, HEIGHT, WIDTH, bracketed, goal, with_arms

from flightsim.making.lines import frame_lines


def test_every_bar_has_a_line_a_text_and_its_length() -> None:
    structure = bracketed(with_arms(goal()))
    found = frame_lines(structure)
    assert [line.name for line in found.lines] == [bar.name for bar in structure.bars]
    assert len(found.labels) == len(structure.bars)
    lengths = {each.name: each.value for each in found.dimensions}
    assert all(lengths[f"{bar.name}, length"] == pytest.approx(bar.span) for bar in structure.bars)


def test_opening_and_outer_size_differ_by_the_tubes() -> None:
    found = {each.name: each for each in frame_lines(with_arms(goal())).dimensions}
    assert found["clear opening, width"].value == pytest.approx(WIDTH - 0.05)
    assert found["outer width"].value == pytest.approx(WIDTH + 0.05)
    assert found["clear opening, height"].value == pytest.approx(HEIGHT - 0.025)
    assert found["outer height"].value == pytest.approx(HEIGHT + 0.025)
    assert found["front bar, out from the top bar, middles"].value == pytest.approx(ARM - 0.025)


def test_a_dimension_is_the_distance_between_its_places() -> None:
    for each in frame_lines(bracketed(with_arms(goal()))).dimensions:
        assert dist(each.start, each.end) == pytest.approx(each.value), each.name


def test_the_data_are_plain_and_say_that_they_are_no_certificate() -> None:
    data = json.loads(json.dumps(frame_lines(goal()).as_data()))
    assert set(data) == {"lines", "dimensions", "labels", "note"}
    assert data["note"].startswith("Not a structural certificate")
