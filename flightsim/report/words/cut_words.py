"""A stock plan as somebody at the saw reads it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from itertools import groupby

from flightsim.making.cutting.stock import NANO, PlannedBar
from flightsim.making.cutting.stock_plan import SECONDS, StockPlan
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display


def plan_words(plan: StockPlan, show: Display) -> list[str]:
    """What to buy, how sure it is that nothing less will do, and what the saw takes."""
    order, saw = plan.order, plan.order.saw
    wanted = f"{_counted(len(order.pieces), 'piece')}, {_metres(sum(order.pieces), show)} in all"
    trim = f", {show.to_cut(saw.trim / NANO)} trimmed off each bar" if saw.trim else ""
    taken = f"Each cut takes {show.to_cut(saw.kerf / NANO)}{trim}."
    return [f"Buy {_bought(plan, show)} for {wanted}.\n{proof_words(plan, show)}", taken]


def _bought(plan: StockPlan, show: Display) -> str:
    bars = " + ".join(
        f"{n} x {show.to_cut(plan.order.stocks[k].length / NANO)}" for k, n in sorted(plan.bought().items())
    )
    length = sum(plan.order.stocks[bar.stock].length for bar in plan.bars)
    cost = f", {money(plan.price)}" if plan.price is not None else ""
    return f"{_counted(len(plan.bars), 'bar')}: {bars} ({_metres(length, show)}{cost})"


def proof_words(plan: StockPlan, show: Display) -> str:
    """Whether less would do."""
    if not plan.optimal:
        most = f"one up to {100.0 * plan.gap:.2g} % cheaper" if plan.gap else "one as cheap with fewer bars"
        return f"This is the best found in {SECONDS:g} s: {most} may exist."
    if len(plan.order.stocks) == 1:
        first = "No plan does with fewer bars"
    else:
        first = f"No plan {'costs less' if plan.order.priced else 'buys less length'}, nor as little in fewer bars"
    by = "" if plan.longer is None else f", by {show.to_cut(plan.longer / NANO)} at most"
    rest = "none of these leaves a longer offcut" if plan.longest_proved else f"a longer offcut may be possible{by}"
    return f"{first}; {rest}."


def plan_table(plan: StockPlan, show: Display) -> Table:
    """One row for bars that are cut alike."""
    rows = []
    bar_row = 1
    for (stock, pieces, offcut), alike in groupby(plan.bars, key=lambda bar: (bar.stock, bar.pieces, bar.offcut)):
        n = len(list(alike))
        number = f"{bar_row}" if n == 1 else f"{bar_row}-{bar_row + n - 1}"
        left = show.to_cut(offcut / NANO) if offcut else "none"
        rows.append((number, show.to_cut(plan.order.stocks[stock].length / NANO), _pieces(pieces, show), left))
        bar_row += n
    return Table("Cut", ("bar", "stock", "cut from each", "left of each"), tuple(rows), frozenset({0, 1, 3}))


def offcut_words(bars: Iterable[PlannedBar], show: Display) -> str:
    """What to keep."""
    left = Counter(bar.offcut for bar in bars if bar.offcut)
    if not left:
        return "No offcuts."
    return (
        "Offcuts: " + ", ".join(f"{n} x {show.to_cut(length / NANO)}" for length, n in sorted(left.items())[::-1]) + "."
    )


def money(amount: Decimal | float) -> str:
    """Two places, in whatever currency the prices are."""
    return f"{amount:.2f}"


def _pieces(pieces: tuple[int, ...], show: Display) -> str:
    counted = sorted(Counter(pieces).items(), reverse=True)
    return " + ".join(
        f"{n} x {show.to_cut(length / NANO)}" if n > 1 else show.to_cut(length / NANO) for length, n in counted
    )


def _metres(nano: int, show: Display) -> str:
    return show.to_cut(nano / NANO) if show.units == "imperial" else f"{nano / NANO:.2f} m"


def _counted(n: int, what: str) -> str:
    return f"{n} {what}" + ("" if n == 1 else "s")
