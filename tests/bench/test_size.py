"""What a curve of sizes costs: first contacts at each size, beside whole runs. `pytest -m bench -s`."""

import time
from pathlib import Path

import numpy as np
import pytest

from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.size.missed_first import missed_first

SCENARIOS = Path(__file__).parents[2] / "scenarios"
CASES = [
    ("single_garage", "canopy.depth", 0.4, 2.5),
    ("village_hall", "canopy.0.depth", 0.4, 2.2),
]
SHOTS, TURNS = 8_000, 3
WHOLE_RUNS = 3.0  # at least so many times as fast as runs that follow balls through rebounds


@pytest.mark.bench
@pytest.mark.timeout(900)
@pytest.mark.parametrize(("demo", "path", "low", "high"), CASES)
def test_a_curve_of_ten_sizes_beats_ten_runs(demo, path, low, high, capsys):
    """Processor time, in turn; bays are opened beforehand."""
    bays = [open_bay(SCENARIOS / f"{demo}.yaml", [f"{path}={x:.4f}m"]) for x in np.linspace(low, high, 10)]
    table = Flyer.of(bays[0], 1).draw(0, SHOTS)
    ends = [Flyer.of(bay, 1) for bay in bays]
    for flyer in ends:
        flyer.follow(table.take(slice(0, 300)))  # warm: a law of a cloth is worked out once
    curve, whole = [], []
    for _ in range(TURNS):
        curve.append(timed(lambda: missed_first(bays, bays[0], table)))
        whole.append(timed(lambda: [flyer.follow(table) for flyer in ends]))
    ratio = np.median(whole) / np.median(curve)
    with capsys.disabled():
        print(
            f"\n{demo} {path}, ten sizes, {SHOTS:,} shots: {np.median(curve):.2f} s, {ratio:.1f} times as fast as runs"
        )
    assert ratio >= WHOLE_RUNS


def timed(what):
    start = time.process_time()
    what()
    return time.process_time() - start
