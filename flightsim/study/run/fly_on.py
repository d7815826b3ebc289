"""A run that flies on while more shots may show a target: the first n shots are always the run of n."""

from __future__ import annotations

from collections.abc import Callable

from flightsim.study.run.fly import Tracking
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult
from flightsim.study.run.walk import run

STEPS = (60_000, 200_000)  # shots


def may_fly_on(opened: OpenBay) -> bool:
    """Whether more shots cost seconds, and prove anything: they are sampled."""
    return opened.plan.sampled and not opened.plan.grid_size


def walk_on(
    opened: OpenBay,
    shots: int,
    seed: int,
    workers: int = 1,
    progress: Callable[[int], None] = lambda done: None,
    say: Callable[[str], None] = lambda words: None,
    tracks: Tracking | None = None,
) -> RunResult:
    """As `run`, from these shots on in steps, until no target may yet be shown. Each look has its part of the error.

    Where more shots prove nothing, or take minutes, it is the run of these shots.
    """
    if not may_fly_on(opened):
        return run(opened, shots, seed, workers, progress, tracks=tracks)
    steps = [step for step in STEPS if step > shots]
    looks = 1 + len(steps)
    found = run(opened, shots, seed, workers, progress, looks=looks, tracks=tracks)
    for step in steps:
        open_targets = undecided(found)
        if not open_targets:
            break
        say(f"flying on to {step:,} shots, for {len(open_targets)} targets")
        found = run(opened, step, seed, workers, progress, begun=found, looks=looks, tracks=tracks)
    return found


def undecided(result: RunResult) -> list[str]:
    """The targets that more shots may show: not met, and yet seen below the limit."""
    return [
        target.name
        for target in result.targets
        if target.asked and target.kind == "rate" and not target.met and (target.rate or 0.0) < target.limit
    ]
