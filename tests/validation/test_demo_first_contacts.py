"""First contacts of every demo against a shot-by-shot scipy loop: same part, contact point within 0.1 mm.

Outside reference: scipy's DOP853 at rtol 1e-10 with the equations of naruo2004 and the distances written again.
"""

import numpy as np
import pytest
from scipy_loop import Facts, Surfaces, first_contact
from shipped import AS_FOUND

from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run


@pytest.mark.parametrize("shots", [100, pytest.param(300, marks=pytest.mark.slow)])
@pytest.mark.parametrize("path", AS_FOUND, ids=lambda path: path.stem)
def test_shots_of_a_demo_meet_the_same_part_within_a_tenth_of_a_millimetre(path, shots):
    opened = open_bay(path)
    result = run(opened, shots, seed=2026)
    launches, bay, physics = result.shots.launches(), opened.bay, opened.physics
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    surfaces = Surfaces(bay)
    part, opening = result.contacts.part, result.contacts.opening
    names = [bay.parts[p].name if p >= 0 else "> " + bay.openings[o].name for p, o in zip(part, opening, strict=True)]
    for k in range(shots):
        name, time, point = first_contact(
            facts, bay, surfaces, launches.start[:, k], launches.velocity[:, k], launches.spin[:, k], 1e-10
        )
        assert names[k] == name, f"shot {k}"
        assert np.linalg.norm(result.contacts.point[:, k] - point) < 1e-4, f"shot {k}"
        assert result.contacts.time[k] == pytest.approx(time, abs=1e-5)
