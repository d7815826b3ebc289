"""The map of directions: told apart in grey, harm after a rebound hatched, the view from the tee first."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from size_bays import hall

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import block
from flightsim.library.look_everywhere import map_directions
from flightsim.report.draw.map_figure import AFTER, AHEAD, FACES, FLOOR_AFTER, HATCHED, STOPPED, free
from flightsim.report.words.map_ways import at_its_speed, gap_width, way_words
from flightsim.study.map.ways_out import Way

LEAST_GREY = 0.05  # of lightness, between two faces that are not told apart by hatching


def grey(colour: str) -> float:
    """Lightness as print without colour has it (ITU-R BT.601 luma)."""
    return float(np.dot(to_rgb(colour), (0.299, 0.587, 0.114)))


def test_faces_are_told_apart_in_grey_by_lightness_or_hatching():
    for one, other in combinations(FACES, 2):
        if (one in HATCHED) == (other in HATCHED):
            assert abs(grey(FACES[one][0]) - grey(FACES[other][0])) >= LEAST_GREY, (FACES[one], FACES[other])


def test_harm_after_a_rebound_has_the_colour_of_what_was_met_and_not_that_of_an_escape():
    assert set(HATCHED) == {AFTER, FLOOR_AFTER}
    assert FACES[AFTER][0] == FACES[STOPPED][0]


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    return map_directions(hall(tmp_path_factory.mktemp("map")))


def test_the_view_from_the_tee_comes_first_and_is_60_deg_to_either_side(found):
    ahead, round_ = found.figure().axes[:2]
    assert ahead.get_xlim() == AHEAD[:2] == (-60.0, 60.0)
    assert round_.get_xlim() == (-180.0, 180.0)
    assert ahead.get_position().y0 > round_.get_position().y1


def test_escapes_over_one_edge_are_told_once_and_all_stay_in_the_data(found):
    club = found.result.clubs[0]
    shown = at_its_speed(club)
    assert shown
    assert {id(one) for one in shown} <= {id(one) for one in club.escapes}
    doubled = SimpleNamespace(escapes=[*club.escapes, *club.escapes])
    assert at_its_speed(doubled) == shown


def an_escape(way: Way, met: str = "lamp") -> SimpleNamespace:
    return SimpleNamespace(way=way, past="left", other="right", shot=SimpleNamespace(region=SimpleNamespace(name=met)))


def test_a_gap_is_told_with_its_width_in_mm_or_inches():
    sides = [
        Part(name, block(np.array([0.0, y, 0.0]), np.array([0.1, y + 1.0, 2.0])), Role.GUARD, "net", "x")
        for name, y in (("left", 0.0), ("right", 1.06))
    ]
    bay = Bay(tuple(sides), (), np.zeros(3), np.full(3, 9.0))
    gap = an_escape(Way.GAP)
    assert gap_width(bay, gap) == pytest.approx(0.06)
    physics = SimpleNamespace(ball=SimpleNamespace(radius=0.0213))
    opened = SimpleNamespace(opened=SimpleNamespace(bay=bay, scenario=SimpleNamespace(units="metric"), physics=physics))
    assert way_words(gap, opened) == "through the gap between left and right, 60 mm wide"
    opened.opened.scenario.units = "imperial"
    assert way_words(gap, opened) == "through the gap between left and right, 2 3/8 in wide"
    assert gap_width(Bay((), (), np.zeros(3), np.ones(3)), gap) is None
    physics.ball.radius = 0.04
    opened.opened.scenario.units = "metric"
    assert way_words(gap, opened) == "past the corner of left and right, 60 mm apart there"
    touching = Bay((sides[0], replace(sides[1], shape=sides[0].shape)), (), np.zeros(3), np.full(3, 9.0))
    opened.opened.bay = touching
    assert way_words(gap, opened) == "past the corner where left and right meet"


def test_what_hangs_overhead_is_told_by_its_own_name():
    assert way_words(an_escape(Way.CEILING, "door opener")) == "to the door opener"


def test_a_name_that_would_lie_on_another_is_left_out():
    assert free([], (0.0, 0.0, 5.0), 1.0)
    assert not free([(0.0, 0.0, 5.0)], (8.0, 0.5, 4.0), 1.0)
    assert free([(0.0, 0.0, 5.0)], (8.0, 1.0, 4.0), 1.0)  # on the next line
    assert free([(0.0, 0.0, 5.0)], (9.0, 0.0, 4.0), 1.0)  # beside it
