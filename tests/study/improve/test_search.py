"""The search against every plan there is: it costs no more than the best by more than a step."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from improve_bays import bare_hall, opened_hall, trials_of

from flightsim.study.improve.plan import Plan
from flightsim.study.improve.search import MET, Search
from flightsim.study.improve.space import choices
from flightsim.study.improve.trials import Trial, Trials
from flightsim.study.run.open_bay import open_bay


def by_brute_force(trials, every):
    """The least effort of all plans of the two sizes that meet the goal; every: of how many values one is taken."""
    depth, overhang = (next(c for c in choices(trials.home) if c.path == f"canopy.{key}") for key in KEYS)
    low, high = (0.6, 0.0), (2.5, 0.95)
    grid = [[round(low[k] + i * step, 3) for i in range(0, 20, every)] for k, step in enumerate((0.1, 0.05))]
    assert grid[0][-1] <= high[0]
    plans = [
        Plan().with_value(depth, x).with_value(overhang, y) for x, y in product(*grid)
    ]  # fmt: skip
    met = [trial for trial in map(trials.of, plans) if trial.score <= MET]
    return min((trial.plan.effort for trial in met), default=None), len(plans)


KEYS = ("depth", "side_overhang")
STEP = 3.0 * (0.1 / 0.6)  # what a step of the depth is worth avoiding: see Changed.effort


def held_against_all(tmp_path, every):
    opened = opened_hall(tmp_path)
    trials = trials_of(opened)
    best, plans = by_brute_force(trials, every)
    found = Search(trials_of(opened)).run(Plan())
    assert best is not None
    assert trials.of(Plan()).score > MET
    assert found.score <= MET
    assert found.plan.effort <= best + STEP
    return plans


def test_the_search_costs_no_more_than_the_best_of_a_coarse_grid_by_more_than_a_step(tmp_path):
    assert held_against_all(tmp_path, 4) == 25


@pytest.mark.slow
def test_the_search_costs_no_more_than_the_best_of_four_hundred_by_more_than_a_step(tmp_path):
    assert held_against_all(tmp_path, 1) == 400


def test_a_bay_that_meets_its_targets_is_left_as_it_is(tmp_path):
    found = Search(trials_of(opened_hall(tmp_path, hit_unprotected="9 in 10"))).run(Plan())
    assert found.plan == Plan()
    assert found.score <= MET


def test_the_same_search_twice_finds_the_same(tmp_path):
    opened = opened_hall(tmp_path)
    first, second = (Search(trials_of(opened)).run(Plan()).plan.sets for _ in range(2))
    assert first == second


def test_nothing_is_tried_that_must_stay(tmp_path):
    opened = open_bay(bare_hall(tmp_path, may_change="may_change: {stays: [screen, canopy, tee], new_guards: false}\n"))
    trials = trials_of(opened)
    found = Search(trials).run(Plan())
    assert found.plan == Plan()
    assert trials.flown == 1


def test_a_plan_is_held_against_others_on_the_look_that_they_are_flown_on(tmp_path):
    opened = opened_hall(tmp_path, hit_unprotected="1 in 23")  # which takes two changes
    trials, scores = trials_of(opened), []
    other = trials_of(opened, 8192).look

    def look_again(trial):
        trials.use(other)
        scores.append(trials.of(trial.plan).score)

    found = Search(trials, look_again).run(Plan())
    assert trials.look is other
    assert found.score == trials.of(found.plan).score
    assert scores == sorted(scores, reverse=True)


def test_a_step_that_a_look_taken_of_its_bay_refutes_is_not_kept(tmp_path):
    """As where its own bay has ways to go wrong that the look before did not hold."""
    opened = opened_hall(tmp_path)
    trials = trials_of(opened)
    taken = []

    def look_again(trial):
        taken.append(trial)
        trials.use(replace(trials.look, tight=trials.look.tight))
        trials.seen[taken[0].plan.sets] = replace(taken[0], rates=taken[0].rates + 1.0, score=99.0)

    search = Search(trials, look_again)
    found = search.run(Plan())
    assert len(taken) > 1
    assert taken[0].plan != found.plan
    assert found.score <= MET
    assert search.best is not None
    assert search.best.plan != taken[0].plan


def test_before_anything_is_taken_out_of_a_plan_whoever_asks_is_told_once(tmp_path):
    unpruned = []
    found = Search(trials_of(opened_hall(tmp_path)), unpruned=unpruned.append).run(Plan())
    (last,) = unpruned
    assert last.plan.all
    assert found.plan.effort <= last.plan.effort


def made_up(trials, plan, *rates):
    """A plan with rates that nobody flew."""
    return Trial(plan, trials.home, "", np.array(rates), trials.look.score(np.array(rates)))


def test_a_goal_that_becomes_worse_counts_twice(tmp_path):
    opened = opened_hall(tmp_path, hit_unprotected="1 in 17", got_out="1 in 1000")
    trials = trials_of(opened)
    search = Search(trials)
    row = [goal.key for goal in trials.look.goals].index("got_out")

    def other(out, bare):
        rates = np.array([bare, bare])
        rates[row] = out
        return made_up(trials, Plan(), *rates)

    found, better = other(0.004, 0.4), other(0.004, 0.2)
    assert search.gain(found, better) > 0.0
    worse = other(0.0045, 0.2)
    lost = trials.look.score(worse.rates) - trials.look.score(better.rates)
    assert search.gain(found, worse) == pytest.approx(search.gain(found, better) - 2.0 * lost)


def test_no_plan_is_looked_for_when_the_time_is_over(tmp_path):
    trials = trials_of(opened_hall(tmp_path))
    trials.until = trials.end = 0.0
    found = Search(trials).run(Plan())
    assert found.plan == Plan()
    assert trials.flown == 1


def test_what_was_seen_to_gain_is_made_though_the_time_for_new_changes_is_over(tmp_path):
    trials = trials_of(opened_hall(tmp_path))
    search = Search(trials)
    best = trials.of(Plan())
    tried = sorted(search.probed(best), key=lambda each: -each[0])
    trials.until = 0.0
    assert trials.spent
    assert not trials.late
    assert search.together(best, tried).score < best.score


def test_a_busy_machine_does_not_end_a_search_before_it_has_had_its_share_of_the_processor(tmp_path):
    trials = trials_of(opened_hall(tmp_path))
    trials.until = trials.end = 0.0
    trials.least = float("inf")
    assert not trials.spent
    assert not trials.late
    trials.least = 0.0
    assert trials.spent
    assert trials.late


def test_one_round_goes_as_far_as_one_change_or_further(tmp_path):
    opened = opened_hall(tmp_path, hit_unprotected="1 in 23")  # which takes two changes
    trials = trials_of(opened)
    best = trials.of(Plan())
    one, round_ = Search(trials).step(best), Search(trials).round(best)
    assert one is not None
    assert round_ is not None
    assert round_.score <= one.score < best.score


def test_a_change_by_which_the_frame_fails_a_check_of_build_is_left_out(tmp_path, monkeypatch):
    opened = opened_hall(tmp_path, hit_unprotected="1 in 23")  # which takes two changes
    monkeypatch.setattr(Trials, "weak", lambda self, trial: frozenset(paths(trial) & {"canopy.side_overhang"}))
    found = Search(trials_of(opened)).run(Plan())
    assert paths(found) == {"canopy.depth"}


def paths(trial):
    return {one.path for one in trial.plan.changed}
