"""A bay judged on fresh shots: with likely cloth as drawn, with adverse cloth, and built off its drawing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from flightsim.study.run.adverse import with_adverse
from flightsim.study.run.built_off import with_built_off
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.pooled import shots_needed_of
from flightsim.study.run.result import RunResult
from flightsim.study.run.targets import with_targets
from flightsim.study.run.walk import run

FEWEST, MOST = 60_000, 200_000  # shots of a confirmation
SPARE = 2.5  # of the shots that show a target when none is seen: with a few seen they still do


def judged(
    opened: OpenBay,
    seed: int,
    shots: int,
    looks: int,
    say: Callable[[str], None] = lambda words: None,
    workers: int = 1,
) -> RunResult:
    """The bay's shots of this seed with all that its targets are judged by. looks: among so many the error is split."""
    result = with_adverse(opened, replace(run(opened, shots, seed, workers), looks=looks), say)
    return with_targets(with_built_off(opened, result, say))


def shots_to_confirm(opened: OpenBay, limits: list[float], looks: int) -> int:
    """How many shots show the least of these limits, with some to spare."""
    alpha = (1.0 - opened.scenario.targets.confidence) / looks
    needed = SPARE * shots_needed_of(opened.plan.types, min(limits, default=0.1), alpha)
    return int(min(max(needed, FEWEST), MOST))
