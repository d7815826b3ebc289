"""Covers along a screen's edges, and the mesh of nets: the gaps that a builder closes."""

import numpy as np
import pytest

from flightsim.bay.parts import Role
from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.testing import SMALL_BAY, bay_of, scenario_of, with_plugins
from flightsim.scenario.reading.problems import ScenarioError, Severity

COVERED = SMALL_BAY.replace(
    "gap_behind: 350 mm}", "gap_behind: 350 mm, covers: [{side: left, reach: 300 mm}, {side: top, reach: 300 mm}]}"
)
PLUGINS = with_plugins()


def first_part(text: str, y: float, z: float) -> str:
    """What a ball meets first that flies level toward the end wall at this height and this far to the left."""
    bay, _ = bay_of(text, PLUGINS)
    launches = Launches(np.array([[0.0], [y], [z]]), np.array([[70.0], [0.0], [0.0]]), np.zeros((3, 1)))
    contacts = first_contacts(Physics(gravity=0.0), launches, bay, PLUGINS.touch_tests(bay))
    return bay.parts[contacts.part[0]].name


def test_a_ball_through_the_edge_gap_strikes_the_wall_and_with_a_cover_does_not():
    """The screen is 2.8 m wide: 100 mm past its left edge there is nothing but the end wall."""
    assert first_part(SMALL_BAY, 1.5, 1.0) == "end wall"
    assert first_part(COVERED, 1.5, 1.0) == "screen left cover"
    assert first_part(COVERED, -1.5, 1.0) == "end wall"
    assert first_part(COVERED, 0.0, 2.5) == "screen top cover"


def test_a_cover_overlaps_the_cloth_on_the_tee_side_and_is_a_guard():
    bay, _ = bay_of(COVERED, PLUGINS)
    cover = next(part for part in bay.parts if part.name == "screen left cover")
    cloth = next(part for part in bay.parts if part.name == "screen")
    (low, high), (_, cloth_high) = cover.shape.bounds(), cloth.shape.bounds()
    assert cover.role is Role.GUARD
    assert low[1] == pytest.approx(cloth_high[1] - 0.06)
    assert high[1] == pytest.approx(cloth_high[1] + 0.30)
    assert high[0] == pytest.approx(cloth_high[0] - 0.05)


def test_two_covers_of_one_side_are_refused():
    twice = COVERED.replace("side: top", "side: left")
    with pytest.raises(ScenarioError, match="one cover for each side"):
        scenario_of(twice, PLUGINS)


def mesh_said(mesh: str) -> list:
    nets = f"side_nets: {{left: {{depth: 1.5 m, height: 2.2 m, mesh: {mesh}}}}}\n"
    _, pieces = bay_of(SMALL_BAY + nets, PLUGINS)
    return [problem for problem in pieces.problems if problem.key == "side_nets.left.mesh"]


@pytest.mark.parametrize(("mesh", "severity"), [("45 mm", Severity.ERROR), ("42.67 mm", Severity.ERROR)])
def test_a_net_that_a_ball_goes_through_is_an_error(mesh, severity):
    (problem,) = mesh_said(mesh)
    assert problem.severity is severity
    assert "goes through" in problem.found


def test_a_wide_mesh_warns_and_practice_passes():
    (problem,) = mesh_said("35 mm")
    assert problem.severity is Severity.WARNING
    assert mesh_said("25 mm") == mesh_said("20 mm") == []
