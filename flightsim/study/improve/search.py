"""The search for changes: in rounds all that gains, most for its cost first; two where none helps alone; pruned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

import numpy as np

from flightsim.study.improve.adding import added
from flightsim.study.improve.plan import Added, Changed, Plan
from flightsim.study.improve.space import Choice, Tier, choices, starters
from flightsim.study.improve.trials import Trial, Trials

LEAST_GAIN = 0.05  # of the score, a log of rates: less is the luck of the draw
FIRST_PROBE = 6  # the step of a ladder that is tried first, from its near end: 300 mm with steps of 50 mm
PAIRS_OF = 5  # changes that are tried two at a time where none helps alone
MOST_OF = 0.8  # of what the best value of a change gains: a smaller change that gains as much is taken
LEADS = 2  # changes that are followed further although they gain nothing alone
LITTLE = 0.2  # of the score
MUCH = 0.3  # of the score: what a change that is followed further helps at least
MET = 1.0e-9
PROBING = 0.5  # of the time that is left, for trying each change alone: what gains has to be made upon the other yet
CHEAP = 1.0  # a change is never taken as less work than this, nor as less money


@dataclass(frozen=True)
class Move:
    """One more change to a plan: a choice with the values that it may take, or a guard that is added."""

    key: str
    plans: tuple[Plan, ...]  # least change first

    @property
    def probe(self) -> Plan:
        """The one that is tried first."""
        return self.plans[min(FIRST_PROBE, len(self.plans)) - 1]


@dataclass
class Search:
    """Looks for a plan that meets all goals of the trials' look. accepted: told of each plan that is taken; unpruned:
    of the last of them, before anything is taken out of it. Both may take another look. best: the last plan that stood
    on the look that was taken of it, or that is being looked at.
    """

    trials: Trials
    accepted: Callable[[Trial], None] = lambda trial: None
    unpruned: Callable[[Trial], None] = lambda trial: None
    stale: dict[str, float] = field(default_factory=dict)
    helps: dict[str, float] = field(default_factory=dict)
    barred: set[str] = field(default_factory=set)
    best: Trial | None = None

    def run(self, start: Plan) -> Trial:
        """From a plan on, until all is met, nothing helps, or enough was tried."""
        best = self.trials.of(start)
        while best.score > MET and not self.trials.spent:
            found = self.standing(best, self.round(best))
            if found is None:
                break
            if found is best:  # what was found does not stand, and is not tried again
                continue
            self.best = found  # whoever is told may end the search
            self.accepted(found)
            best = self.best = self.stood(best, found)
        if best.plan.all:
            self.unpruned(best)
            best = self.trials.of(best.plan)
        pruned = self.pruned(best)
        return best if self.trials.weak(pruned) else pruned

    def stood(self, before: Trial, found: Trial) -> Trial:
        """What was found, where it is better than what was before on the look that was taken of it since; else that,
        with the new ways to go wrong in sight. A look tells of few shots that go right as things are.
        """
        was, now = self.trials.of(before.plan), self.trials.of(found.plan)
        return now if now.score < was.score else was

    def standing(self, best: Trial, found: Trial | None) -> Trial | None:
        """What was found without a change by which its frame fails a check of `build`; itself where it fails none."""
        while found is not None and found is not best and self.trials.weak(found):
            new = [change for change in found.plan.all if change not in best.plan.all and not _follows(change)]
            if not new:
                return None
            others = [self.trials.of(found.plan.without(change)) for change in new]
            good = [k for k, other in enumerate(others) if other.opened is not None and not self.trials.weak(other)]
            first = max(good, key=lambda k: self.gain(best, others[k]), default=len(new) - 1)
            self.barred.add(_name(new[first]))
            gains = self.gain(best, others[first]) > 0.0 and others[first].plan != found.plan
            found = others[first] if gains else best
        return found

    def moves(self, best: Trial) -> Iterator[Move]:
        """Every change that may be made to a plan's bay, without those by which its frame does not stand."""
        return (move for move in moves(best) if not any(move.key.startswith(name) for name in self.barred))

    def round(self, best: Trial) -> Trial | None:
        """The next plan: all changes that gain; where these gain little, one that helps much, with what has to follow
        it; where none does, two together.
        """
        tried = sorted(self.probed(best), key=lambda probe: -probe[0])
        now = self.together(best, tried)
        if self.gain(best, now) >= LITTLE:
            return now
        few = sorted(self.moves(best), key=lambda move: -self.helps.get(move.key, 0.0))
        led = self.ahead(best, few[:LEADS])
        if led is not None and self.gain(best, led) > self.gain(best, now):
            return led
        return now if now is not best else self._pair(best, [move for _, move in tried[:PAIRS_OF]])

    def together(self, best: Trial, tried: list[tuple[float, Move]]) -> Trial:
        """A plan with all changes that gain, one after the other, the first first; itself where none does."""
        now = best
        for gain, move in tried:
            if gain <= 0.0 or now.score <= MET or self.trials.late:
                break
            same = move if now is best else _same(now, move)
            now = (self.refined(now, same) if same is not None else None) or now
        return now

    def ahead(self, best: Trial, few: list[Move]) -> Trial | None:
        """The best plan that begins with a change that makes one goal much better and others worse, as a tee that is
        moved back does, and goes on with all that gains then; None where what follows does not make up for it.
        """
        found, known = [], self.stale
        for move in few:
            if self.helps.get(move.key, 0.0) < MUCH or self.trials.spent:
                break
            led = max((self.trials.of(plan) for plan in _spread(move.plans)), key=lambda trial: self.help(best, trial))
            if led.opened is not None:
                self.stale = {}
                found.append(self.together(led, sorted(self.probed(led), key=lambda probe: -probe[0])))
        self.stale = known
        good = [trial for trial in found if self.gain(best, trial) > 0.0]
        return max(good, key=lambda trial: self.gain(best, trial), default=None)

    def help(self, best: Trial, other: Trial) -> float:
        """How much better a trial makes those goals that it makes better, whatever it does to the others."""
        if other.opened is None:
            return 0.0
        short = self.trials.look.short
        return float(np.maximum(short(best.rates) - short(other.rates), 0.0).sum())

    def step(self, best: Trial) -> Trial | None:
        """The one change that gains most for its cost; None where none does."""
        gain, move = max(self.probed(best), key=lambda probe: probe[0], default=(0.0, None))
        return self.refined(best, move) if move is not None and gain > 0.0 else None

    def probed(self, best: Trial) -> list[tuple[float, Move]]:
        """Moves with what each gains for its cost, those first that gained most when they were last tried.

        What gained nothing when it was last tried is not tried again while another gains; and while another gains,
        they have a part of the time that is left.
        """
        enough = self.trials.after(PROBING)
        waiting = sorted(self.moves(best), key=lambda move: -self.stale.get(move.key, float("inf")))
        tried: list[tuple[float, Move]] = []
        for move in waiting:
            gains = any(gain > 0.0 for gain, _ in tried)
            if (gains and (self.stale.get(move.key, float("inf")) <= 0.0 or enough())) or self.trials.spent:
                break
            trial = self.trials.of(move.probe, best.score)
            found, self.helps[move.key] = self.worth(best, trial), self.help(best, trial)
            if found <= 0.0 and len(move.plans) > 1:
                found = self.worth(best, self.trials.of(move.plans[0], best.score))
            self.stale[move.key] = found
            tried.append((found, move))
        return tried

    def gain(self, best: Trial, other: Trial) -> float:
        """What a trial gains over another; a goal that it makes worse counts once more. Nought for next to nothing."""
        if other.opened is None:
            return float("-inf")
        short = self.trials.look.short
        worse = float(np.maximum(short(other.rates) - short(best.rates), 0.0).sum())
        gain = min(best.score - other.score, best.score) - worse
        if gain < LEAST_GAIN and other.score > MET:
            return min(gain - LEAST_GAIN, 0.0)
        return gain

    def worth(self, best: Trial, other: Trial) -> float:
        """What a trial gains over another for what it costs more; nought or less where it gains nothing to speak of."""
        gain = self.gain(best, other)
        return gain if gain <= 0.0 else gain / max(self.trials.cost(other) - self.trials.cost(best), CHEAP)

    def refined(self, best: Trial, move: Move) -> Trial | None:
        """The best of a move's values: the least change that gains most of what any of them does."""
        found = [self.trials.of(plan, best.score) for plan in _spread(move.plans)]
        gains = [self.gain(best, trial) for trial in found]
        most = max(gains, default=0.0)
        return next((trial for trial, gain in zip(found, gains, strict=True) if gain > MOST_OF * most), None)

    def _pair(self, best: Trial, few: list[Move]) -> Trial | None:
        """Two changes together, of a few that gained nothing, or lost least, alone."""
        found = []
        for move, other_move in combinations(few, 2):
            if self.trials.spent:
                break
            first = self.trials.of(move.probe)
            then = None if first.opened is None else _same(first, other_move)
            if then is not None:
                found.append(self.trials.of(then.probe))
        good = [trial for trial in found if self.worth(best, trial) > 0.0]
        return max(good, key=lambda trial: self.worth(best, trial), default=None)

    def pruned(self, best: Trial) -> Trial:
        """The plan without what it does not need: what is most work first; then each change as small as will do."""
        for step in sorted(best.plan.all, key=lambda change: -change.effort):
            still_there = next((change for change in best.plan.all if change.in_words == step.in_words), None)
            if still_there is not None and not self.trials.late:
                best = self._cheaper(best, self.trials.of(best.plan.without(still_there)))
        for path in [step.path for step in best.plan.changed]:
            if not self.trials.late:
                best = self._smaller(best, path)
        return best

    def _cheaper(self, best: Trial, other: Trial) -> Trial:
        return other if other.opened is not None and self._as_good(best, other) else best

    def _as_good(self, best: Trial, other: Trial) -> bool:
        return other.score <= max(MET, best.score + (0.0 if best.score <= MET else LEAST_GAIN / 3.0))

    def _smaller(self, best: Trial, path: str) -> Trial:
        """One size as near to where it was as will do, by halving what is known not to do."""
        change = next((each for each in best.plan.changed if each.path == path), None)
        if change is None or isinstance(change.value, str):
            return best
        for value in _between(change):
            other = self.trials.of(best.plan.with_value(change.choice, value))
            if other.opened is not None and self._as_good(best, other):
                return other
        return best


def _name(change: Added | Changed) -> str:
    """What the keys of a change's moves begin with."""
    return change.starter.words if isinstance(change, Added) else change.path


def _follows(change: Added | Changed) -> bool:
    """Whether it is there because another change needs it."""
    return isinstance(change, Added) and change.starter.follows


def _between(change: Changed) -> list[Any]:
    """Values from where a size was to where it is now, nearest to where it was first, three at most."""
    now, was = change.value, change.choice.present
    found = [x for x in change.choice.values if min(now, was) - 1e-9 < x < max(now, was) + 1e-9 and abs(x - now) > 1e-9]
    found.sort(key=lambda x: abs(x - was))
    return found if len(found) <= 3 else [found[0], found[len(found) // 2], found[-1]]


def _spread(plans: tuple[Plan, ...]) -> list[Plan]:
    """All of a few plans; of many, both ends and some between."""
    if len(plans) <= 5:
        return list(plans)
    return [plans[k] for k in (0, 2, min(5, len(plans) - 2), len(plans) - 1)]


def moves(best: Trial) -> Iterator[Move]:
    """Every change that may be made to a plan's bay: what is had otherwise, new guards, sizes, then the other way."""
    opened, plan = best.there, best.plan
    known: Counter[str] = Counter()
    for starter in sorted(starters(opened), key=lambda start: start.adds):
        if starter.follows:
            continue
        known[starter.words] += 1
        yield Move(f"{starter.words} {known[starter.words]}", (plan.with_added(added(starter, opened)),))
    every = choices(opened)
    yield from (move for choice in every for move in _set(plan, choice, choice.path, choice.better))
    for choice in every:
        if choice.tier is Tier.ADJUST:  # nobody is helped by less of what stops balls
            yield from _set(plan, choice, f"{choice.path} the other way", _others(choice))


def _same(trial: Trial, move: Move) -> Move | None:
    """The same change, made to another plan; None where it is no change there."""
    return next((other_move for other_move in moves(trial) if other_move.key == move.key), None)


def _set(plan: Plan, choice: Choice, key: str, values: tuple[Any, ...]) -> Iterator[Move]:
    if values:
        yield Move(key, tuple(plan.with_value(choice, value) for value in values))


def _others(choice: Choice) -> tuple[Any, ...]:
    return tuple(value for value in choice.values if value not in choice.better)


def restarted(search: Search, trials: Trials) -> Search:
    """The search with other trials; what it learnt of the gains is forgotten."""
    return replace(search, trials=trials, stale={}, helps={})
