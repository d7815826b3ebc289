"""One `cut` from a list of lengths to its plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flightsim.jobs.print_json import print_json
from flightsim.making.cutting.read_order import read_order
from flightsim.making.cutting.stock import in_mm
from flightsim.making.cutting.stock_plan import StockPlan, plan_stock
from flightsim.report.words.cut_words import offcut_words, plan_table, plan_words
from flightsim.report.words.say import Paper, say
from flightsim.report.words.say import show as show_table
from flightsim.scenario.reading.display import Display


def cut_and_print(
    pieces: Sequence[str], stocks: Sequence[str], kerf: float, trim: float, show: Display, as_json: bool
) -> int:
    """Plan and print it. kerf, trim: m."""
    plan = plan_stock(read_order(pieces, stocks, kerf, trim))
    if as_json:
        print_json(plan_facts(plan))
        return 0
    console = Paper(highlight=False)
    for words in plan_words(plan, show):
        say(console, words)
    show_table(console, plan_table(plan, show))
    say(console, offcut_words(plan.bars, show))
    return 0


def plan_facts(plan: StockPlan) -> dict[str, Any]:
    """The plan as data: bars (a count), optimal, gap, what is bought, and one entry a bar."""
    order, bought = plan.order, plan.bought()
    return {
        "bars": len(plan.bars),
        "optimal": plan.optimal,
        "gap": plan.gap,
        "longest_offcut_proved": plan.longest_proved,
        "offcut_may_be_longer_by_mm": None if plan.longer is None else in_mm(plan.longer),
        "length_bought_mm": sum(in_mm(order.stocks[bar.stock].length) for bar in plan.bars),
        "cost": None if plan.price is None else float(plan.price),
        "kerf_mm": in_mm(order.saw.kerf),
        "trim_mm": in_mm(order.saw.trim),
        "bought": [
            {
                "stock_mm": in_mm(order.stocks[k].length),
                "bars": n,
                "price": None if (price := order.stocks[k].price) is None else float(price),
            }
            for k, n in sorted(bought.items())
        ],
        "plan": [
            {
                "stock_mm": in_mm(order.stocks[bar.stock].length),
                "pieces_mm": [in_mm(length) for length in bar.pieces],
                "offcut_mm": in_mm(bar.offcut),
            }
            for bar in plan.bars
        ],
    }
