"""A scenario file with changes keeps its comments and its order, and says exactly what the changes say."""

from __future__ import annotations

import pytest
from shipped import SHIPPED

from flightsim.scenario.reading.overrides import apply_sets
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.rewrite import in_one_line, rewritten
from flightsim.scenario.reading.source import read_source
from flightsim.scenario.reading.written import Written

TEXT = """# A bay.
name: Bay  # mine
screen:
  height: 2.3 m  # as the cloth came
  gap_behind: 400 mm
# Overhead.
canopy:
  depth: 1.1 m
  # of cloth
  front_lip: 80 mm
side_nets:
  left: {depth: 1.6 m, height: 2.3 m}  # a net
ceiling:
  pads:
    - {name: one, length: 1.3 m}
"""


def changed(*sets):
    return rewritten(Written(TEXT), sets)


def data(text, *sets):
    source = read_source(Written(text))
    apply_sets(source, sets)
    return source.data


@pytest.mark.parametrize(
    ("change", "line"),
    [
        ("canopy.depth=1.35 m", "  depth: 1.35 m\n  # of cloth\n"),
        ("screen.height=2.4 m", "  height: 2.4 m  # as the cloth came\n"),
        ("side_nets.left.depth=2.1 m", "  left: {depth: 2.1 m, height: 2.3 m}  # a net\n"),
        ("side_nets.left.offset=50 mm", "  left: {depth: 1.6 m, height: 2.3 m, offset: 50 mm}  # a net\n"),
        ("side_nets.right={depth: 1 m}", "  right: {depth: 1 m}\n"),
        ("canopy.slope=4 deg", "  front_lip: 80 mm\n  slope: 4 deg\n"),
        ("ceiling.pads.+={name: two, length: 1 m}", "    - {name: two, length: 1 m}\n"),
        ("ceiling.pads.one.length=1.5 m", "    - {name: one, length: 1.5 m}\n"),
        ("ceiling.baffles.+={name: b}", "  baffles: [{name: b}]\n"),
        ("canopy.+={name: upper, depth: 1 m}", "    front_lip: 80 mm\n  - {name: upper, depth: 1 m}\n"),
        ("screen.gap_behind=null", "  height: 2.3 m  # as the cloth came\n# Overhead.\n"),
        ("screen_give.pretension=100 N/m", "screen_give: {pretension: 100 N/m}\n"),
    ],
)
def test_a_change_is_made_where_its_value_stands_and_nothing_else_moves(change, line):
    text = changed(change)
    assert line in text
    assert data(text) == data(TEXT, change)
    assert text.count("#") == TEXT.count("#")


def test_changes_are_made_in_order_also_within_what_was_just_added():
    sets = ("ceiling.pads.+={name: two, length: 1 m}", "ceiling.pads.1.length=1.2 m", "ceiling.pads.0.length=900 mm")
    assert data(changed(*sets)) == data(TEXT, *sets)


@pytest.mark.parametrize("demo", SHIPPED, ids=lambda path: path.stem)
def test_a_demo_with_no_change_stays_as_it_is_to_the_letter(demo):
    assert rewritten(demo, ()) == demo.read_text(encoding="utf-8")


def test_a_change_that_cannot_be_placed_is_refused_as_by_set():
    with pytest.raises(ScenarioError, match="which has no keys"):
        changed("canopy.depth.more=1 m")


def test_nothing_is_added_to_what_is_no_list():
    with pytest.raises(ScenarioError, match="which is no list"):
        changed("canopy.depth.+=1 m")


def test_plain_data_in_one_line_reads_back():
    value = {"a": "1.5 m", "b": [1, True, "x: y"], "c": {"d": "no #1"}, "e": "true"}
    assert data(f"k: {in_one_line(value)}\n")["k"] == value
