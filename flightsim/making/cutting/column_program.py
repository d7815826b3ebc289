"""A whole-number program with very many columns, solved exactly: a bound first, then only the columns that can matter.

The bound is that of column generation ([gilmore-1961]). A column whose reduced
cost is more than the best plan known lies above the bound is in no better plan, so it may be left out (reduced-cost
fixing, a textbook argument). scipy's `linprog` and `milp` (HiGHS) do the solving.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from flightsim.errors import stop_if_asked

Array = NDArray[np.float64]
_TINY = 1e-7
_FEW = 300  # columns to look for any answer among
_A_ROUND = 100  # columns added each time
_SHY = 0.99  # of a step: no value is nearer to the best without being the best
_SHARE_OF_TIME = 0.25  # for a first plan from few columns


@dataclass(frozen=True)
class Program:
    """Least `cost @ x + more_cost @ y` with `rows @ x + more @ y <= most`, x and y whole, y <= `more_most`.

    rows: `(r, n)`, of the many columns; more: `(r, m)`, of those always kept; step: two values of the objective
    differ by this at least, or nought where nothing is known.
    """

    rows: Array
    cost: Array
    most: Array
    more: Array
    more_cost: Array
    more_most: Array
    step: float


@dataclass(frozen=True)
class Answer:
    """times `(n,)` and more `(m,)`: whole numbers, None where none were found in time; bound: nothing is below it.

    reduced `(n,)`: a plan with this column lies above `relaxed`, the first bound, by this at least; impossible: there
    is no plan.
    """

    times: NDArray[np.int64] | None
    more: NDArray[np.int64] | None
    value: float
    bound: float
    proved: bool
    reduced: Array
    relaxed: float
    impossible: bool = False


def solve(program: Program, first: NDArray[np.intp], end: float) -> Answer:
    """The best whole-number answer by the time `end` of the monotonic clock. first: columns to begin with."""
    bound, reduced, pool = relaxed(program, first, end)
    near = _whole(program, pool, end - (1.0 - _SHARE_OF_TIME) * max(end - monotonic(), 0.0), bound)
    if near.times is not None and near.value - bound < program.step - _TINY * max(1.0, abs(bound)):
        return Answer(near.times, near.more, near.value, near.value, True, reduced, bound)
    room = near.value - program.step - bound + _TINY * max(1.0, abs(bound))
    rest = _whole(program, np.flatnonzero(reduced <= room), end, bound)
    best = rest if rest.value < near.value else near
    if rest.proved or rest.impossible:  # no column that was left out is in anything better
        none_at_all = rest.impossible and near.times is None
        return Answer(best.times, best.more, best.value, best.value, not none_at_all, reduced, bound, none_at_all)
    return Answer(best.times, best.more, best.value, max(bound, min(rest.bound, best.value)), False, reduced, bound)


def relaxed(program: Program, pool: NDArray[np.intp], end: float) -> tuple[float, Array, NDArray[np.intp]]:
    """Bound, reduced costs of all columns, and the columns used to find them, by column generation.

    Rows that the pool cannot meet are met at a price no plan has, so there is always an answer; it stays a bound.
    Where the time is over first there is none: -inf, and nought for all columns.
    """
    r = len(program.most)
    price = 1.0 + 10.0 * float(np.abs(program.cost).max(initial=0.0) + np.abs(program.more_cost).max(initial=0.0))
    kept = np.hstack([program.more, -np.eye(r)])
    kept_cost = np.concatenate([program.more_cost, np.full(r, price)])
    top = np.concatenate([program.more_most, np.full(r, np.inf)])
    while True:
        limits = np.column_stack([np.zeros(len(pool) + len(top)), np.concatenate([np.full(len(pool), np.inf), top])])
        found = linprog(
            np.concatenate([program.cost[pool], kept_cost]),
            A_ub=np.hstack([program.rows[:, pool], kept]), b_ub=program.most, bounds=limits, method="highs",
        )  # fmt: skip
        stop_if_asked()
        reduced = program.cost - found.ineqlin.marginals @ program.rows
        worst = np.argsort(reduced)[:_A_ROUND]
        if monotonic() > end:
            return -np.inf, np.zeros(len(program.cost)), pool
        fresh = np.setdiff1d(worst[reduced[worst] < -_TINY * price], pool)
        if not len(fresh):
            return float(found.fun), np.maximum(reduced, 0.0), pool
        pool = np.union1d(pool, fresh)


def quick(program: Program, columns: NDArray[np.intp], seconds: float) -> Answer:
    """The best of these columns that so many seconds give."""
    return _whole(program, columns, monotonic() + seconds)


def first_that_does(program: Program, ranked: NDArray[np.intp], end: float) -> Answer:
    """Any whole-number answer, sought among few of the ranked columns at first, then among twice as many."""
    few, answer = _FEW, _whole(program, ranked[:_FEW], end)
    while answer.times is None and few < len(ranked):
        few *= 2
        answer = _whole(program, np.sort(ranked[:few]), end)
    return answer


def _whole(program: Program, columns: NDArray[np.intp], end: float, bound: float = 0.0) -> Answer:
    """The best with these columns only. bound: of the objective; below nought, it need not be told nearer than a step.

    An objective between bound and nought is no larger than the bound, so a share of it is at most that of the bound.
    """
    near = _SHY * program.step / -bound if np.isfinite(bound) and bound < 0.0 else 0.0
    options = {"time_limit": max(end - monotonic(), 0.05), "mip_rel_gap": near}
    found = milp(
        np.concatenate([program.cost[columns], program.more_cost]),
        constraints=LinearConstraint(np.hstack([program.rows[:, columns], program.more]), -np.inf, program.most),
        bounds=Bounds(0.0, np.concatenate([np.full(len(columns), np.inf), program.more_most])),
        integrality=1, options=options,
    )  # fmt: skip
    stop_if_asked()
    bound = -np.inf if found.mip_dual_bound is None else float(found.mip_dual_bound)
    none = np.zeros(0)
    if found.x is None:
        return Answer(None, None, np.inf, bound, False, none, bound, found.status == 2)
    whole = np.rint(found.x).astype(np.int64)
    times = np.zeros(program.rows.shape[1], dtype=np.int64)
    times[columns] = whole[: len(columns)]
    return Answer(times, whole[len(columns) :], float(found.fun), bound, found.status == 0, none, bound)
