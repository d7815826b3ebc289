"""The first step of an improvement, flown on a run's own shots: what `run` tells to do first."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.study.improve.keeps import Keeps
from flightsim.study.improve.look import LIKELY, ROOM, Flight, Goal, Look, goals_of
from flightsim.study.improve.plan import Plan
from flightsim.study.improve.search import MET, Search
from flightsim.study.improve.trials import Trial, Trials
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import FirstStep

Array = NDArray[np.float64]
FEWEST = 2000  # shots of a run: with fewer, what a change does is lost in the luck of the draw
MOST_TRIALS = 30  # changes that are flown
FEW = 600  # shots of either kind that they are flown on


def first_step(opened: OpenBay, result: RunResult) -> FirstStep | None:
    """The change that gains most on all targets for its work; None where all are met, nothing helps, or too few flew.

    Likely cloth alone, and of one change at a time: `improve` looks further.
    """
    if any(target.kind == "length" and not target.good for target in result.targets):
        return None  # a swing that is not clear comes first, whatever the balls do
    goals = goals_of(opened)
    if not (result.sampled and goals) or len(result.shots) < FEWEST or opened.plan.grid_size:
        return None
    flight = Flight(opened, result.shots, result.weight, {LIKELY: result.fates})
    look = Look.of(flight, goals, np.full(len(goals), ROOM), result.seed, FEW)
    trials = Trials(opened, Keeps.of(opened), look, most=MOST_TRIALS)
    best = trials.of(Plan())
    if best.score <= MET:
        return None
    found = Search(trials).step(best)
    return None if found is None else _told(found, goals, Look.of(flight, goals, look.tight, result.seed))


def _told(found: Trial, goals: tuple[Goal, ...], look: Look) -> FirstStep | None:
    """The step with the rate that it helps most, on more shots; None where these refute it."""
    before, after = look.rates(look.home), look.rates(found.there)
    short = look.short(before) - look.short(after)
    if short.sum() <= 0.0:
        return None
    best = int(short.argmax())
    change = found.plan.all[0]
    return FirstStep(change.in_words, found.plan.sets, goals[best].name, float(before[best]), float(after[best]))
