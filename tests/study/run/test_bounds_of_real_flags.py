"""Bounds of a total as a bay's own flags try them: 400 runs of its own shots, each piece of one long run."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from flightsim.contact.fates import Flag
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.pooled import total_bounds
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
RUNS = 400


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_of_400_runs_of_the_single_garage_no_more_than_the_error_told_miss_the_rate_of_any_flag() -> None:
    """The rate is that of all of them together, so that it is known some twenty times better than by one."""
    bay = open_bay(GARAGE)
    types = len(bay.plan.types)
    each = 2 * types * 5  # whole rounds: one of each type, and as many as they are played
    found = run(bay, RUNS * each)
    share = np.array([kind.share for kind in found.types])
    kind = found.shots.type
    assert all(np.array_equal(kind[:types], kind[k : k + types]) for k in range(0, RUNS * each, each))
    few = 3.0 * np.sqrt(0.05 * 0.95 / RUNS)
    widths = {}
    for flag in Flag:
        hits = ~np.isnan(found.fates.worst[flag])
        counts = np.bincount(kind, hits, types) / np.bincount(kind, minlength=types)
        truth = float(share @ counts)
        bounds = np.array(
            [total_bounds(hits[k : k + each], kind[k : k + each], share, 0.05) for k in range(0, RUNS * each, each)]
        )
        assert (bounds[:, 0] > truth).mean() <= 0.05 + few, flag
        assert (bounds[:, 1] < truth).mean() <= 0.05 + few, flag
        widths[flag.key] = float(np.median(bounds[:, 1] - bounds[:, 0]))
    assert max(widths.values()) < 0.2, widths
