"""What a builder may make of a drawing: long or short in what is varied, all else off to its worse side."""

from itertools import pairwise

import numpy as np
import pytest
from size_bays import HALL, hall, search, target

from flightsim.bay.parts import Role
from flightsim.engine.follow import first_contacts
from flightsim.errors import BadInputError
from flightsim.study.run.built_off import TOLERANCE
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.proportional import draw_sample, groups_of
from flightsim.study.size.builds import Builds, Worse, _off_by, worse_sides
from flightsim.study.size.size_look import look_at
from flightsim.study.size.vary import parse_varies

NETS = "side_nets: {right: {depth: 2 m, height: 2.4 m, above_floor: 20 mm, offset: -100 mm}}\n"


def of(file, *varies, **more):
    return Builds(file, (), parse_varies(varies, None), **more)


def sample_of(bay, reach=400.0):
    return draw_sample(Flyer.of(bay, 2).draw, bay.plan.types, groups_of(bay.plan.types), reach)


def test_both_ends_of_all_that_is_varied_are_built_with_the_other_sizes_off(tmp_path):
    worse = (Worse("screen.height", "screen: height", 2.48, -0.02),)
    builds = of(hall(tmp_path), "canopy.height=2.4m..2.6m", "canopy.depth=1m..2m", worse=worse)
    bays = builds.built((2.5, 1.2))
    canopies = [bay.scenario.entries("canopy")[0] for bay in bays]
    assert sorted((round(c.height, 3), round(c.depth, 3)) for c in canopies) == [
        (2.48, 1.18), (2.48, 1.22), (2.52, 1.18), (2.52, 1.22)
    ]  # fmt: skip
    assert {bay.scenario.entries("screen")[0].height for bay in bays} == {2.48}
    assert builds.drawn((2.5, 1.2)).scenario.entries("screen")[0].height == 2.5


def test_nothing_is_built_less_than_nought_that_was_not_drawn_so():
    assert _off_by(0.01, -TOLERANCE) == 0.0
    assert _off_by(-0.1, TOLERANCE) == pytest.approx(-0.08)
    assert _off_by(-0.1, -TOLERANCE) == pytest.approx(-0.12)


def test_an_angle_has_no_tolerance_in_lengths(tmp_path):
    bays = of(hall(tmp_path), "canopy.slope=0deg..5deg").built((3.0,))
    assert len({bay.scenario.entries("canopy")[0].slope for bay in bays}) == 1


def test_each_other_size_is_taken_to_the_side_that_lets_more_past(tmp_path):
    file = hall(tmp_path)
    builds = of(file, "canopy.depth=0.5m..2m")
    home = builds.drawn((0.8,))
    sample = sample_of(home)
    for worse in worse_sides(builds, (0.8,), sample, home):
        counts = []
        for value in (worse.value, worse.value - 2.0 * worse.off):
            bay = open_bay(file, ["canopy.depth=0.8m", f"{worse.path}={value:.6f}m"])
            part = first_contacts(
                bay.physics, sample.table.launches(), bay.bay, bay.plugins.touch_tests(bay.bay)
            ).part  # fmt: skip
            guard = np.array([*(part.role is Role.GUARD for part in bay.bay.parts), False])
            counts.append(int((~guard[part]).sum()))
        assert counts[0] >= counts[1], worse.path
        assert abs(worse.off) == pytest.approx(TOLERANCE)


def test_sizes_as_small_as_the_tolerance_and_those_below_nought_are_taken_off_too(tmp_path):
    builds = of(hall(tmp_path, text=HALL + NETS), "canopy.depth=0.5m..2m")
    home = builds.drawn((0.8,))
    found = {worse.path: worse for worse in worse_sides(builds, (0.8,), sample_of(home, 60.0), home)}
    assert found["side_nets.right.above_floor"].value == pytest.approx(0.04)
    assert "canopy.front_lip" not in found  # there is none


TWO = HALL.replace(
    "canopy: {depth: 1 m,", "canopy:\n  - {name: back, depth: 500 mm, height: 3 m, underside: net}\n  - {depth: 1 m,"
)


def test_what_is_varied_is_left_as_it_is_by_whatever_name_and_other_entries_are_not(tmp_path):
    for name in ("canopy.0.depth", "canopy.back.depth"):
        builds = of(hall(tmp_path, text=TWO), f"{name}=0.3m..0.8m")
        home = builds.drawn((0.5,))
        paths = {worse.path for worse in worse_sides(builds, (0.5,), sample_of(home, 60.0), home)}
        assert "canopy.0.depth" not in paths
        assert {"canopy.1.depth", "canopy.0.height"} <= paths


def test_a_size_too_near_to_one_that_cannot_be_built_is_refused_with_the_reason(tmp_path):
    builds = of(hall(tmp_path), "canopy.height=6.9m..7.2m")
    home = builds.drawn((6.9,))
    sample = sample_of(home, 30.0)
    fits, near, over = (look_at(builds, (x,), sample, home, target(), (), 0.05) for x in (6.95, 7.0, 7.1))
    assert fits.refused == ""
    assert near.refused.startswith("built 20 mm off")
    assert "roof" in near.refused
    assert "roof" in over.refused
    assert not near.met
    assert not over.met


def test_where_all_else_off_cannot_be_built_what_is_varied_is_still_off(tmp_path):
    worse = (Worse("canopy.height", "canopy: height", 9.0, 6.5),)
    bays = of(hall(tmp_path), "canopy.depth=1m..2m", worse=worse).built((1.2,))
    assert [round(bay.scenario.entries("canopy")[0].depth, 3) for bay in bays] == [1.18, 1.22]


def test_a_larger_tolerance_never_makes_a_smaller_size_do(tmp_path):
    found = []
    for tolerance in (0.0, 0.02, 0.15):
        one = search(hall(tmp_path), "canopy.depth=0.9m..1.1m", step="100mm")
        builds = Builds(one.builds.origin, (), one.builds.varies, (), tolerance)
        home = builds.drawn((1.0,))
        found.append(look_at(builds, (1.0,), sample_of(home, 600.0), home, target(), (), 0.05).hits)
    assert all(a <= b for a, b in pairwise(found))
    assert found[0] < found[-1]


def test_what_can_never_be_built_says_why(tmp_path):
    with pytest.raises(BadInputError, match="depth"):
        of(hall(tmp_path), "canopy.dept=1m..2m").drawn((1.0,))
