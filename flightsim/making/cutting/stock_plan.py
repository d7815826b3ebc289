"""The cheapest way to cut a list of lengths from stock, by exact optimisation in three steps, each held by the next.

Least cost (else least length bought), then fewest bars, then the longest offcut. scipy's `milp` (HiGHS) solves each.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil, isfinite
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError
from flightsim.making.cutting.cutting_program import Columns, Cut, CuttingProgram
from flightsim.making.cutting.greedy_cuts import greedy_cuts, least_cost
from flightsim.making.cutting.mixes import Rank, better_mixes
from flightsim.making.cutting.stock import NANO, CutOrder, PlannedBar, in_mm

SECONDS = 60.0  # after which the best found is given, with its gap
SECONDS_OF_A_TIE = (
    10.0  # for the longest offcut of plans that cost the same; then it is told by how much one may be longer
)


@dataclass(frozen=True)
class StockPlan:
    """Bars to buy and what to cut from each.

    optimal: no plan is cheaper, nor as cheap with fewer bars; gap: the share of its cost by which one may be cheaper;
    longest_proved: nor does one as cheap, of as many bars, leave a longer offcut; longer: by how much one may, nm,
    where that is not proved and yet known.
    """

    order: CutOrder
    bars: tuple[PlannedBar, ...]
    optimal: bool
    gap: float
    longest_proved: bool
    longer: int | None = None

    @property
    def price(self) -> Decimal | None:
        """Of all bars; None where stock has no price."""
        prices = [self.order.stocks[bar.stock].price for bar in self.bars]
        return sum((p for p in prices if p is not None), Decimal(0)) if self.order.priced else None

    def bought(self) -> Counter[int]:
        """Bars of each stock, by its place in the order."""
        return Counter(bar.stock for bar in self.bars)


def plan_stock(order: CutOrder, seconds: float = SECONDS) -> StockPlan:
    """The best plan. Raises BadInputError where the stock does not suffice."""
    end = monotonic() + seconds
    columns = Columns.all_of(order) or Columns.some_of(order)
    if not len(columns.stock):
        raise not_enough(order, surely=False)
    program = CuttingProgram(order, columns, end)
    found = _by_mixes(program) or _in_steps(program)
    if not found.optimal:
        gap = max(found.rank[0] - found.least, 0) / found.rank[0] if found.rank[0] else 0.0
        return StockPlan(order, _bars(order, found.cuts), False, gap, False)
    end = min(end, monotonic() + SECONDS_OF_A_TIE)
    program = replace(program, columns=columns.keep(found.useful), end=end)
    longest = program.longest_offcut(*found.rank)
    proved = columns.whole and longest.proved
    bars = _bars(order, found.cuts if longest.times is None else program.read(longest))
    if proved or not columns.whole or not isfinite(longest.bound):
        return StockPlan(order, bars, True, 0.0, proved)
    left = max(bar.offcut for bar in bars)
    return StockPlan(order, bars, True, 0.0, False, max(0, ceil(-longest.bound * 1e6) - left))


@dataclass(frozen=True)
class _Found:
    """Cuts of so much cost and so many bars; least: no plan costs less; useful `(columns,)`: may be in one as good."""

    cuts: list[Cut]
    rank: Rank
    least: int
    optimal: bool
    useful: NDArray[np.bool_]


def _by_mixes(program: CuttingProgram) -> _Found | None:
    """The first mix of bars, cheapest and fewest first, that gives all pieces; None where there are too many mixes."""
    order, (bound, reduced, known), whole = program.order, program.start(), program.columns.whole
    if not whole:
        bound, reduced = least_cost(order), np.zeros_like(reduced)
    above = program.rank(known) if known else (max(order.costs) * len(order.pieces) + 1, 0)
    mixes = better_mixes(order, _whole_bound(max(bound, least_cost(order))), above)
    if mixes is None:
        return None
    undecided: Rank | None = None
    for rank, mix in mixes:
        if monotonic() > program.end:
            undecided = undecided or rank
            break
        useful = reduced <= rank[0] - bound + _slack(bound)
        ranked = np.argsort(np.where(useful, reduced, np.inf), kind="stable")[: int(useful.sum())]
        answer = program.of_mix(mix, ranked, (monotonic() + program.end) / 2.0)
        if answer.times is not None:
            return _Found(program.read(answer), rank, (undecided or rank)[0], undecided is None, useful)
        if undecided is None and not (answer.impossible and whole):
            undecided = rank
    if known is None:
        raise not_enough(order, surely=undecided is None)
    useful = reduced <= above[0] - bound + _slack(bound)
    return _Found(known, above, (undecided or above)[0], undecided is None, useful)


def _in_steps(program: CuttingProgram) -> _Found:
    """Least cost, then fewest bars, where the mixes are too many; of some columns only, nothing is proved."""
    order, cheapest = program.order, program.cheapest()
    if cheapest.impossible and program.columns.whole:
        raise not_enough(order)
    cuts = greedy_cuts(order) if cheapest.times is None else program.read(cheapest)
    if cuts is None:
        raise not_enough(order, surely=False)
    cost = program.rank(cuts)[0]
    least = _whole_bound(max(least_cost(order), cheapest.bound if program.columns.whole else 0.0))
    optimal = program.columns.whole and cheapest.times is not None and cost <= least
    if optimal:
        fewer = program.fewest_bars(cost)
        cuts = cuts if fewer.times is None else program.read(fewer)
        optimal = fewer.proved
    return _Found(cuts, program.rank(cuts), least, optimal, np.ones(len(program.columns.stock), dtype=bool))


def _slack(bound: float) -> float:
    """What solved numbers may be off."""
    return 1e-6 * max(1.0, abs(bound)) if isfinite(bound) else 0.0


def _whole_bound(bound: float) -> int:
    """Costs are whole numbers, so a bound of them is one too."""
    return ceil(bound - _slack(bound))


def _bars(order: CutOrder, cuts: Sequence[Cut]) -> tuple[PlannedBar, ...]:
    """Bars with just what is wanted: what a full pattern gives beyond it stays in the offcut. Longest stock first."""
    wanted, bars = list(order.demand), []
    for stock, counts in cuts:
        taken = [min(n, want) for n, want in zip(counts, wanted, strict=True)]
        wanted = [want - n for want, n in zip(wanted, taken, strict=True)]
        pieces = tuple(length for length, n in zip(order.lengths, taken, strict=True) for _ in range(n))
        if pieces:
            bars.append(PlannedBar(stock, pieces, order.offcut(stock, pieces)))
    assert not any(wanted), "a plan that leaves pieces uncut"
    assert all(order.fits(bar.stock, bar.pieces) for bar in bars), "a plan that does not fit"
    return tuple(sorted(bars, key=lambda bar: (-order.stocks[bar.stock].length, [-p for p in bar.pieces])))


def not_enough(order: CutOrder, surely: bool = True) -> BadInputError:
    """What to say where the stock that there is does not give all pieces, or no plan was found in time."""
    have = ", ".join(f"{s.count} of {in_mm(s.length):g} mm" for s in order.stocks if s.count is not None)
    found = "the stock does not suffice" if surely else "no plan was found in time"
    return BadInputError(
        f"{found}: {have}, for {len(order.pieces)} pieces of {sum(order.pieces) / NANO:.3f} m in all\n"
        "  try: more bars, or another stock length without a count"
    )
