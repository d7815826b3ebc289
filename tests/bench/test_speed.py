"""Shots a second to first contact, beside a shot-by-shot scipy loop in the same run. `pytest -m bench -s`."""

import time
from pathlib import Path

import numpy as np
import pytest
from scipy_loop import Facts, Surfaces, first_contact

from flightsim.study.run.fly import CHUNK, Flyer
from flightsim.study.run.open_bay import open_bay

SCENARIO = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
LEAST, AIM = 500.0, 1500.0


@pytest.mark.bench
@pytest.mark.timeout(600)
def test_a_demo_bay_flies_at_least_500_times_as_fast_as_a_scipy_loop(capsys):
    """One core, full default aerodynamics, all parts of the demo; processor time, the two in turn."""
    opened = open_bay(SCENARIO)
    flyer = Flyer(opened.plan, opened.bay, opened.physics, opened.plugins.touch_tests(opened.bay), 1)
    launches = flyer.plan.draw(flyer.draw_for(0, CHUNK), 0, CHUNK).launches()
    physics = opened.physics
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    surfaces = Surfaces(opened.bay)
    flyer.fly(0, CHUNK)  # warm
    ratios, ours, theirs = [], [], []
    for turn in range(5):
        start = time.process_time()
        for k in range(4):
            flyer.fly(k * CHUNK, CHUNK)
        ours.append(4 * CHUNK / (time.process_time() - start))
        start = time.process_time()
        for k in range(turn * 60, turn * 60 + 60):
            first_contact(
                facts, opened.bay, surfaces, launches.start[:, k], launches.velocity[:, k], launches.spin[:, k], 1e-8
            )
        theirs.append(60 / (time.process_time() - start))
        ratios.append(ours[-1] / theirs[-1])
    with capsys.disabled():
        print(
            f"\n{len(opened.bay.parts)} parts: {np.median(ours):,.0f} shots/s here, {np.median(theirs):,.0f} shots/s "
            f"in the scipy loop, ratio {np.median(ratios):,.0f} ({min(ratios):,.0f}-{max(ratios):,.0f}); aim {AIM:,.0f}"
        )
    assert np.median(ratios) >= LEAST
