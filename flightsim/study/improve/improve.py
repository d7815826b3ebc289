"""Finds changes that meet the targets of a bay, on common shots, and confirms them on fresh ones."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic, process_time

import numpy as np
from numpy.typing import NDArray

from flightsim.engine.follow import make_engine_ready
from flightsim.errors import Asked, BadInputError
from flightsim.study.improve.confirm import judged, shots_to_confirm
from flightsim.study.improve.defeats import Defeat, defeat
from flightsim.study.improve.keeps import Keeps, not_judged
from flightsim.study.improve.look import ROOM, Flight, Goal, Look, goals_of
from flightsim.study.improve.offers import Offer, offers
from flightsim.study.improve.plan import Added, Changed, Plan
from flightsim.study.improve.search import MET, Search, restarted
from flightsim.study.improve.space import Tier
from flightsim.study.improve.trials import Cost, Trial, Trials, no_prices
from flightsim.study.improve.unmeetable import Bound, lengths_beyond
from flightsim.study.run.crew import crew
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult
from flightsim.study.run.same_shots import started_in
from flightsim.study.run.target_result import TargetResult
from flightsim.study.run.targets import all_good

Array = NDArray[np.float64]
Say = Callable[[str], None]
SEARCH_SHOTS = 32_768  # shots of which the search takes those that anything goes wrong with
MOST_TRIALS = 2400  # plans that are flown in MINUTES, all tries together: the clock ends most searches before that
MORE_TRIALS = 400  # of these, after each try
MINUTES = 3.0  # of the clock
LEAST_SEARCH = 0.4  # of the time that is for the search, and of the processor's, however long all else will take
PRUNING = 0.1  # of the time that is for taking out again what a plan does not need
THREADS = min(os.cpu_count() or 1, 4)  # what comes out does not depend on it
TRIES = 3  # plans that are put to fresh shots; the error is split among them
TIGHTER = 0.6  # by how much a goal that fresh shots refute is tightened
_FRESH = 1_000_003  # between the seeds of the samples


@dataclass(frozen=True)
class Step:
    """One change. words: for a builder, the verb first; changes: as for --set; tier: how much work it is; before,
    after: rates of the targets that it changes, by name, on the search's shots, all earlier steps made.
    """

    words: str
    changes: tuple[str, ...]
    tier: Tier
    before: dict[str, float]
    after: dict[str, float]


@dataclass(frozen=True)
class Improved:
    """What came of it.

    opened: the bay with all changes; steps: in the order of the work; before: the targets of the bay as found; after:
    the same of the changed bay, on fresh shots: empty where it was stopped before they had flown; result: that run;
    defeats: what keeps each unmet target from being met; offers: what is no change of the protection; tries: plans that
    were put to fresh shots; tried: plans that were flown in the search; stopped: somebody ended the search;
    out_of_time: the time was over before all was met or tried; not_judged: what could not be kept, since nothing says
    how it is, in words; bounds: lengths of which it is shown that no change meets them.
    """

    found: OpenBay
    opened: OpenBay
    steps: tuple[Step, ...]
    before: tuple[TargetResult, ...]
    after: tuple[TargetResult, ...]
    result: RunResult | None
    defeats: tuple[Defeat, ...] = ()
    offers: tuple[Offer, ...] = ()
    tries: int = 0
    tried: int = 0
    stopped: type[BaseException] | None = None
    costs: tuple[float, float] | None = None
    out_of_time: bool = False
    not_judged: tuple[str, ...] = ()
    bounds: tuple[Bound, ...] = ()

    @property
    def met(self) -> bool:
        """Whether all targets that are asked are met, as confirmed."""
        return bool(self.after) and all_good(self.after)

    @property
    def sets(self) -> tuple[str, ...]:
        """All changes, as for --set."""
        return tuple(change for step in self.steps for change in step.changes)


@dataclass
class Improver:
    """One search, from the bay as found to what fresh shots say of it. minutes: of the clock, for all of it."""

    found: OpenBay
    seed: int = 1
    price: Cost = no_prices
    say: Say = lambda words: None
    shots: int = SEARCH_SHOTS
    minutes: float = MINUTES
    best: Trial | None = None
    tries: int = 0
    out_of_time: bool = False
    goals: tuple[Goal, ...] = field(init=False)

    def run(self) -> Improved:
        """Search and confirm. Raises BadInputError for shots of which more cannot be drawn."""
        check(self.found)
        make_engine_ready()  # compiling is no part of the minutes, nor of what a shot takes
        self.begun = monotonic()
        self.goals, self.bounds = goals_of(self.found), lengths_beyond(self.found)
        self.say("the bay as found")
        before = judged(self.found, self.seed, self.shots, 1, workers=THREADS)
        self.costs = (monotonic() - self.begun) / self.shots
        self._look_first(Flight.of_run(self.found, before))
        try:
            result = self._tried()
        except KeyboardInterrupt as stop:
            self.best = self.search.best or self.best
            return self._improved(before, None, type(stop))
        return self._improved(before, result, None)

    def _look_first(self, flight: Flight) -> None:
        """At the bay as found."""
        self.first = Look.of(flight, self.goals, np.full(len(self.goals), ROOM), self.seed)
        self.flight, self.drawn, self.elsewhere = flight, self.seed, flight.wrong(self.goals)
        most = int((MOST_TRIALS - (TRIES - 1) * MORE_TRIALS) * max(1.0, self.minutes / MINUTES))
        beyond = frozenset(bound.target for bound in self.bounds)
        self.trials = Trials(self.found, Keeps.of(self.found), self.first, self.price, most, beyond)
        kept = self.begun + 60.0 * self.minutes * (1.0 - self._confirming())
        self.trials.end = max(kept, monotonic() + 60.0 * self.minutes * LEAST_SEARCH)
        self.trials.until = self.trials.end - 60.0 * self.minutes * PRUNING
        self.trials.least = process_time() + 60.0 * self.minutes * LEAST_SEARCH
        self.search = Search(self.trials, self._accepted, self._look_at_each_taken_out)

    def _confirming(self) -> float:
        """What part of the time fresh shots will take."""
        shots = shots_to_confirm(self.found, [goal.limit for goal in self.goals], TRIES)
        return self.costs * shots / (60.0 * self.minutes)

    def _accepted(self, trial: Trial) -> None:
        self.say(_progress(trial))
        self._look_again(trial, self.trials.look.tight)

    def _look_again(self, trial: Trial, tight: Array) -> None:
        """The shots that something goes wrong with are others now; those that it went wrong with before are kept in
        sight, as long as they are the same shots.
        """
        seed = self.seed + _FRESH * self.tries
        flight = Flight.of(trial.there, self.shots, seed, self.first.cloth)
        wrong = flight.wrong(self.goals)
        self.elsewhere = wrong | self.elsewhere if seed == self.drawn else wrong
        self.flight, self.drawn = flight, seed
        self._use(tight)

    def _use(self, tight: Array) -> None:
        self.trials.use(Look.of(self.flight, self.goals, tight, self.seed, elsewhere=self.elsewhere))

    def _look_at_each_taken_out(self, best: Trial) -> None:
        """Before anything is taken out of the plan that was taken last: all its shots are flown without each change,
        with likely cloth, and those that something goes wrong with then are looked at. Of the shots that nothing goes
        wrong with in the plan's own bay a look has but one in fifty.
        """
        for change in best.plan.all:
            _, opened, _, _ = self.trials.bay(best.plan.without(change))
            if opened is not None and not self.trials.late:
                table = started_in(self.flight.table, self.flight.opened, opened)
                self.elsewhere |= Flight.flown(opened, table, self.flight.weight, False).wrong(self.goals)
        self._use(self.trials.look.tight)

    def _tried(self) -> RunResult:
        """The plan that fresh shots confirm, or the last that they do not."""
        plan = Plan()
        while True:
            best = self.search.run(plan)
            self.out_of_time |= best.score > MET and self.trials.spent
            self.best, plan, self.tries = best, best.plan, self.tries + 1
            result = self._confirmed(best.there)
            short = [k for k, goal in enumerate(self.goals) if not _good(result, goal)]
            if not short or self.tries == TRIES or not self._may_go_on(best, short):
                return result
            tight = self.trials.look.tight.copy()
            tight[short] *= TIGHTER
            self.trials.most = self.trials.flown + MORE_TRIALS
            self._look_again(best, tight)
            self.search = restarted(self.search, self.trials)

    def _may_go_on(self, best: Trial, short: list[int]) -> bool:
        """Whether the search had met any of what fresh shots refute, and time is left to mend that and confirm it."""
        left = self.begun + 60.0 * self.minutes - monotonic() - self.took
        self.trials.end = self.trials.until = monotonic() + left
        self.trials.least = 0.0
        refuted = bool((self.trials.look.short(best.rates)[short] <= 0.0).any())
        self.out_of_time |= refuted and left <= 0.0
        return refuted and left > 0.0

    def _confirmed(self, opened: OpenBay) -> RunResult:
        self.say(f"fresh shots, try {self.tries}")
        begun = monotonic()
        shots = shots_to_confirm(opened, [goal.limit for goal in self.goals], TRIES)
        result = judged(opened, self.seed + _FRESH * (self.tries + 10), shots, TRIES, self.say, THREADS)
        self.took = monotonic() - begun
        return result

    def _improved(self, before: RunResult, result: RunResult | None, stop: type[BaseException] | None) -> Improved:
        best = self.best
        opened = self.found if best is None else best.there
        steps = () if best is None else self._steps(best.plan)
        beaten, offered = ((), ()) if result is None else (self._defeats(result), self._offers(opened, result))
        costs = self.price(self.found), self.price(opened)
        known = None if costs[0] is None or costs[1] is None else (costs[0], costs[1])
        return Improved(
            self.found, opened, steps, before.targets, () if result is None else result.targets, result, beaten,
            offered, self.tries, self.trials.flown, stop, known, self.out_of_time, not_judged(opened), self.bounds,
        )  # fmt: skip

    def _steps(self, plan: Plan) -> tuple[Step, ...]:
        """Each change with what it does when those before it are made."""
        look = self.first
        rates, done, steps = look.rates(self.found), Plan(), []
        for change in in_order(plan):
            done = (
                done.with_added(change) if isinstance(change, Added) else done.with_value(change.choice, change.value)
            )
            opened, _ = self.trials.raw(done)
            after = rates if opened is None else look.rates(opened)
            steps.append(step_of(change, self.goals, rates, after))
            rates = after
        return tuple(steps)

    def _defeats(self, result: RunResult) -> tuple[Defeat, ...]:
        flight = Flight(
            self.best.there if self.best else self.found, result.shots, result.weight, {"": result.fates}
        )  # fmt: skip
        unmet = [goal for goal in self.goals if not _good(result, goal)]
        found = (defeat(result, goal, flight.masks(goal)[""]) for goal in unmet)
        return tuple(known for known in found if known is not None)

    def _offers(self, opened: OpenBay, result: RunResult) -> tuple[Offer, ...]:
        if all_good(result.targets):
            return ()
        self.say("what else would help")
        flight = Flight(opened, result.shots, result.weight, {"": result.fates})
        return offers(flight, Look.of(flight, self.goals, np.ones(len(self.goals)), self.seed))


def in_order(plan: Plan) -> tuple[Added | Changed, ...]:
    """Changes in an order in which they can be made: what is set of a new guard after the guard."""
    new = [f"{change.path}." for change in plan.added]
    of_new = [change for change in plan.changed if f"{change.path}.".startswith(tuple(new))]
    others = sorted((change for change in plan.changed if change not in of_new), key=lambda change: change.tier)
    return (*others, *plan.added, *of_new)


def step_of(change: Added | Changed, goals: tuple[Goal, ...], before: Array, after: Array) -> Step:
    """A step, with the rates that it changes."""
    names = [k for k in range(len(goals)) if abs(after[k] - before[k]) > 0.1 * goals[k].limit]
    changes = change.changes if isinstance(change, Added) else change.choice.sets(change.value)
    return Step(
        change.in_words, changes, change.tier, {goals[k].name: float(before[k]) for k in names},
        {goals[k].name: float(after[k]) for k in names},
    )  # fmt: skip


def _progress(trial: Trial) -> str:
    done = len(trial.plan.all)
    return f"{done} change{'s' if done != 1 else ''}, {np.count_nonzero(trial.rates)} targets looked at"


def _good(result: RunResult, goal: Goal) -> bool:
    return all(target.good for target in result.targets if target.name == goal.name)


def check(opened: OpenBay) -> None:
    """Raise BadInputError for shots that say nothing of how often they come."""
    if not opened.plan.sampled:
        raise BadInputError(
            "improve needs sampled shots: a grid says nothing of how often a shot comes\n"
            "  try: shots (players and clubs), or launches with `use` or `types`"
        )
    if opened.plan.grid_size:
        raise BadInputError(
            "improve draws more shots than were measured, and a repeat proves nothing\n  try: ",
            Asked("changes", "measured.spread=kernel"),
        )


def improve(
    opened: OpenBay,
    seed: int = 1,
    price: Cost = no_prices,
    say: Say = lambda words: None,
    minutes: float = MINUTES,
) -> Improved:
    """Find changes that meet the targets of a bay.

    price: what a bay costs, None where nothing says so; say is told what is being done; minutes: of the clock, about.
    Ctrl-C ends the search, and what was found until then is given. Raises BadInputError as `check`.
    """
    with crew(THREADS):
        return Improver(opened, seed, price, say, minutes=minutes).run()
