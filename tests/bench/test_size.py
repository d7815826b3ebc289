"""The curve of many sizes from one batch of flights, beside flying each size by itself. `pytest -m bench -s`."""

import time
from pathlib import Path

import numpy as np
import pytest

from flightsim.contact.first import first_contacts
from flightsim.study.build import open_bay
from flightsim.study.first_curve import first_curve
from flightsim.study.fly import Flyer

SCENARIOS = Path(__file__).parents[2] / "scenarios"
CASES = [
    ("single_garage", "canopy.depth", 0.4, 2.5),
    ("single_garage", "side_nets.right.depth", 0.4, 2.6),
    ("lean_to", "canopy.depth", 0.4, 2.2),
    ("village_hall", "canopy.0.depth", 0.4, 2.2),
]
SHOTS, TURNS = 20_000, 3
WHOLE_RUNS = 10.0  # the aim: beside runs that follow balls through rebounds, as one would do without the curve
FIRST_CONTACTS = 2.0  # beside first contacts alone, at ten sizes: the flights are shared, the searches are not


@pytest.mark.bench
@pytest.mark.timeout(900)
@pytest.mark.parametrize(("demo", "path", "low", "high"), CASES)
def test_one_batch_for_ten_sizes_beats_ten_runs(demo, path, low, high, capsys):
    """Processor time, in turn; bays are opened beforehand. First contacts are timed at all ten sizes."""
    bays = [open_bay(SCENARIOS / f"{demo}.yaml", [f"{path}={x:.4f}m"]) for x in np.linspace(low, high, 10)]
    first = bays[0]
    table = Flyer.of(first, 1).draw(0, SHOTS)
    launches = table.launches()
    tests = [bay.plugins.touch_tests(bay.bay) for bay in bays]
    ends = [Flyer.of(bay, 1) for bay in bays]
    some = table.take(slice(0, 300))
    for flyer in ends:
        flyer.follow(some)  # warm: a law of a cloth is worked out once
    one, alone, whole = [], [], []
    for _ in range(TURNS):
        one.append(timed(lambda: first_curve([bay.bay for bay in bays], first.plugins, first.physics, launches)))
        alone.append(
            timed(lambda: [first_contacts(b.physics, launches, b.bay, t) for b, t in zip(bays, tests, strict=True)])
        )
        whole.append(timed(lambda: [flyer.follow(table) for flyer in ends]))
    ratios = [np.median(other) / np.median(one) for other in (alone, whole)]
    with capsys.disabled():
        print(
            f"\n{demo} {path}, ten sizes, {SHOTS:,} shots: {np.median(one):.2f} s from one batch; "
            f"{ratios[0]:.1f} times as fast as first contacts alone, {ratios[1]:.1f} times as fast as whole runs"
        )
    assert ratios[0] >= FIRST_CONTACTS
    assert ratios[1] >= WHOLE_RUNS


def timed(what):
    start = time.process_time()
    what()
    return time.process_time() - start
