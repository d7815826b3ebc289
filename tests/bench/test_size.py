"""The curve of many sizes from one batch of flights, beside flying each size by itself. `pytest -m bench -s`."""

import time
from pathlib import Path

import numpy as np
import pytest

from flightsim.engine.follow_any import first_contacts
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.size.first_curve import first_curve

SCENARIOS = Path(__file__).parents[2] / "scenarios"
CASES = [
    ("single_garage", "canopy.depth", 0.4, 2.5),
    ("single_garage", "side_nets.right.depth", 0.4, 2.6),
    ("lean_to", "canopy.depth", 0.4, 2.2),
    ("village_hall", "canopy.0.depth", 0.4, 2.2),
]
SHOTS, TURNS = 8_000, 3
WHOLE_RUNS = 10.0  # the aim: beside runs that follow balls through rebounds, as one would do without the curve
FIRST_CONTACTS = 2.0  # beside first contacts alone, at ten sizes: the flights are shared, the searches are not


def many(demo, path, low, high, sizes):
    """Bays at so many sizes, and the shots of the first."""
    bays = [open_bay(SCENARIOS / f"{demo}.yaml", [f"{path}={x:.4f}m"]) for x in np.linspace(low, high, sizes)]
    return bays, Flyer.of(bays[0], 1).draw(0, SHOTS)


def one_batch(bays, table):
    return first_curve([bay.bay for bay in bays], bays[0].plugins, bays[0].physics, table.launches())


def each_alone(bays, table):
    for bay in bays:
        first_contacts(bay.physics, table.launches(), bay.bay, bay.plugins.touch_tests(bay.bay))


@pytest.mark.bench
@pytest.mark.timeout(900)
@pytest.mark.parametrize(("demo", "path", "low", "high"), CASES)
def test_one_batch_for_ten_sizes_beats_ten_runs(demo, path, low, high, capsys):
    """Processor time, in turn; bays are opened beforehand. Ten times is the most that shared flights could win of ten
    sizes if the search for what they meet cost nothing: beside first contacts alone the ratio is below it.
    """
    bays, table = many(demo, path, low, high, 10)
    ends = [Flyer.of(bay, 1) for bay in bays]
    for flyer in ends:
        flyer.follow(table.take(slice(0, 300)))  # warm: a law of a cloth is worked out once
    one, alone, whole = [], [], []
    for _ in range(TURNS):
        one.append(timed(lambda: one_batch(bays, table)))
        alone.append(timed(lambda: each_alone(bays, table)))
        whole.append(timed(lambda: [flyer.follow(table) for flyer in ends]))
    ratios = [np.median(other) / np.median(one) for other in (alone, whole)]
    with capsys.disabled():
        print(
            f"\n{demo} {path}, ten sizes, {SHOTS:,} shots: {np.median(one):.2f} s from one batch; "
            f"{ratios[0]:.1f} times as fast as first contacts alone, {ratios[1]:.1f} times as fast as whole runs"
        )
    assert ratios[0] >= FIRST_CONTACTS
    assert ratios[1] >= WHOLE_RUNS


@pytest.mark.bench
def test_one_batch_for_sixty_one_sizes_beats_first_contacts_at_each(capsys):
    bays, table = many(*CASES[0], 61)
    pairs = [(timed(lambda: one_batch(bays, table)), timed(lambda: each_alone(bays, table))) for _ in range(TURNS)]
    ratio = np.median([alone / one for one, alone in pairs])
    with capsys.disabled():
        print(f"\n61 sizes: {ratio:.1f} times as fast as first contacts alone")
    assert ratio >= FIRST_CONTACTS


def timed(what):
    start = time.process_time()
    what()
    return time.process_time() - start
