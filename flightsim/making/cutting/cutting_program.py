"""The three whole-number programs of one cutting order: least cost, fewest bars, longest offcut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd
from time import monotonic
from typing import Self, TypeAlias

import numpy as np
from numpy.typing import NDArray

from flightsim.making.cutting.column_program import Answer, Array, Program, first_that_does, quick, relaxed, solve
from flightsim.making.cutting.greedy_cuts import greedy_cuts
from flightsim.making.cutting.mixes import Mix, Rank
from flightsim.making.cutting.patterns import Patterns, full_patterns
from flightsim.making.cutting.stock import CutOrder

Cut: TypeAlias = tuple[int, tuple[int, ...]]  # a stock, and how many of each length one bar of it gives

MOST_PATTERNS = 400_000  # beyond, plans are sought among some of them, and proved by the bound of lengths alone
QUICK = 3.0  # s, for a first plan


@dataclass(frozen=True)
class Columns:
    """Ways to cut a bar. stock `(n,)`, cut `(n, lengths)`; whole: they are all the full ones there are."""

    stock: NDArray[np.int64]
    cut: Patterns
    whole: bool

    @classmethod
    def all_of(cls, order: CutOrder) -> Self | None:
        """Every full pattern of every stock; None where they are too many."""
        found: list[Patterns] = []
        for k in range(len(order.stocks)):
            patterns = full_patterns(order.takes, order.demand, order.room(k), MOST_PATTERNS)
            if patterns is None:
                return None
            found.append(patterns)
        stock = np.repeat(np.arange(len(found)), [len(patterns) for patterns in found])
        return cls(stock, np.vstack(found), True) if len(stock) <= MOST_PATTERNS else None

    @classmethod
    def some_of(cls, order: CutOrder, tries: int = 400) -> Self:
        """Those of greedy plans with the lengths put first in another order each time, always the same ones."""
        streams = np.random.default_rng(16)
        cuts: set[Cut] = set()
        for attempt in range(tries):
            rank = np.arange(len(order.lengths)) + (streams.normal(0.0, 4.0, len(order.lengths)) if attempt else 0.0)
            cuts |= set(greedy_cuts(order, np.argsort(rank).tolist()) or ())
        ordered = sorted(cuts)
        return cls(np.array([k for k, _ in ordered]), np.array([c for _, c in ordered], dtype=np.int32), False)

    def keep(self, which: NDArray[np.bool_]) -> Columns:
        """Some of them."""
        return Columns(self.stock[which], self.cut[which], self.whole)


@dataclass(frozen=True)
class CuttingProgram:
    """The programs of one order over these columns, to be solved by the time `end` of the monotonic clock."""

    order: CutOrder
    columns: Columns
    end: float

    def start(self) -> tuple[float, Array, list[Cut] | None]:
        """A cost that no plan is below, by how much one with each column lies above it at least, and a plan."""
        program = self._cheapest()
        bound, reduced, pool = relaxed(program, self._first(), self.end)
        answer = quick(program, pool, min(QUICK, (self.end - monotonic()) / 4.0))
        plans = [
            plan for plan in (greedy_cuts(self.order), self.read(answer) if answer.times is not None else None) if plan
        ]
        return bound, reduced, min(plans, key=self.rank) if plans else None

    def rank(self, cuts: Sequence[Cut]) -> Rank:
        """What a plan costs, and how many bars it has."""
        return sum(self.order.costs[stock] for stock, _ in cuts), len(cuts)

    def cheapest(self) -> Answer:
        """Least cost, in the order's whole numbers."""
        return solve(self._cheapest(), self._first(), self.end)

    def _cheapest(self) -> Program:
        return self._program(np.asarray(self.order.costs, float)[self.columns.stock], self._rows(), 1.0)

    def of_mix(self, mix: Mix, ranked: NDArray[np.intp], end: float) -> Answer:
        """Any plan with so many bars of each stock at most, by the time `end`; columns are tried in this order."""
        rows, most = self._rows()
        stock = (self.columns.stock == np.arange(len(mix))[:, None]).astype(float)
        asked = np.vstack([rows, stock]), np.concatenate([most, np.asarray(mix, float)])
        program = self._program(np.zeros(rows.shape[1]), asked, 1.0)
        missing, reduced, _ = relaxed(program, self._first(), self.end)
        if missing > 1e-6:  # not even in parts of bars
            return Answer(None, None, np.inf, np.inf, False, reduced, missing, impossible=True)
        return first_that_does(program, ranked, end)

    def fewest_bars(self, cost: int) -> Answer:
        """The fewest bars of this cost at most."""
        return solve(
            self._program(np.ones(len(self.columns.stock)), self._rows(cost=cost), 1.0), self._first(), self.end
        )

    def longest_offcut(self, cost: int, bars: int) -> Answer:
        """One bar with as long an offcut as can be. more: pieces of each length in it, then which stock it is of."""
        kinds, stocks = len(self.order.lengths), len(self.order.stocks)
        takes = np.asarray(self.order.takes) / 1e6
        rooms = np.array([self.order.room(k) for k in range(stocks)]) / 1e6
        rows, most = self._rows(cost=cost, bars=bars)
        own = np.zeros((3, rows.shape[1]))
        weights = np.concatenate([np.zeros(kinds), np.ones(stocks)])
        more = np.vstack([self._rows_of_one(cost=True, bars=True), weights, -weights, np.concatenate([takes, -rooms])])
        program = self._program(
            np.zeros(rows.shape[1]),
            (np.vstack([rows, own]), np.concatenate([most, [1.0, -1.0, 0.0]])),
            gcd(*self.order.takes, *(self.order.room(k) - self.order.room(0) for k in range(stocks))) / 1e6,
            (more, np.concatenate([takes, -rooms]), np.concatenate([self.order.demand, np.ones(stocks)])),
        )
        return solve(program, self._first(), self.end)

    def read(self, answer: Answer) -> list[Cut]:
        """The bars of an answer, one entry a bar; the one with the longest offcut first, if it was asked for."""
        assert answer.times is not None
        assert answer.more is not None
        kinds = len(self.order.lengths)
        first = [(int(np.argmax(answer.more[kinds:])), _whole(answer.more[:kinds]))] if len(answer.more) else []
        taken = [int(j) for j in np.flatnonzero(answer.times) for _ in range(int(answer.times[j]))]
        return first + [(int(self.columns.stock[j]), _whole(self.columns.cut[j])) for j in taken]

    def _program(
        self, cost: Array, rows: tuple[Array, Array], step: float, more: tuple[Array, Array, Array] | None = None
    ) -> Program:
        none = (np.zeros((len(rows[1]), 0)), np.zeros(0), np.zeros(0))
        return Program(rows[0], cost, rows[1], *(more or none), step)

    def _first(self) -> NDArray[np.intp]:
        """Columns to begin with: of each stock the one that gives most of each length."""
        best = {
            int(of[np.argmax(self.columns.cut[of, i])])
            for k in range(len(self.order.stocks))
            if len(of := np.flatnonzero(self.columns.stock == k))
            for i in range(len(self.order.lengths))
        }
        return np.array(sorted(best), dtype=np.intp)

    def _rows(self, cost: int | None = None, bars: int | None = None) -> tuple[Array, Array]:
        """Enough of each length, no more than there is of each stock, and no more cost or bars."""
        stock, every = self.columns.stock, np.arange(len(self.order.stocks))
        rows: list[Array] = [-self.columns.cut.T.astype(float)]
        most = [-float(wanted) for wanted in self.order.demand]
        limited = [k for k in every if self.order.stocks[k].count is not None]
        rows.append((stock == np.array(limited, dtype=int)[:, None]).astype(float))
        most += [float(self.order.stocks[k].count or 0) for k in limited]
        if cost is not None:
            rows.append(np.asarray(self.order.costs, float)[None, stock])
            most.append(float(cost))
        if bars is not None:
            rows.append(np.ones((1, len(stock))))
            most.append(float(bars))
        return np.vstack(rows), np.array(most)

    def _rows_of_one(self, cost: bool, bars: bool) -> Array:
        """The same rows for one bar's pieces, then for its stock."""
        kinds, stocks = len(self.order.lengths), len(self.order.stocks)
        limited = [k for k in range(stocks) if self.order.stocks[k].count is not None]
        rows = [np.hstack([-np.eye(kinds), np.zeros((kinds, stocks))])]
        of = np.hstack([np.zeros((len(limited), kinds)), np.eye(stocks)[limited]])
        rows.append(of)
        none = np.zeros(kinds)
        rows += [np.concatenate([none, self.order.costs])[None, :]] if cost else []
        rows += [np.concatenate([none, np.ones(stocks)])[None, :]] if bars else []
        return np.vstack(rows)


def _whole(counts: Sequence[int] | NDArray[np.integer]) -> tuple[int, ...]:
    return tuple(int(count) for count in counts)
