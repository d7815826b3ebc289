"""What it takes to build a bay, as somebody who orders and cuts reads it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from flightsim.making.build_list import BuildList, StockList
from flightsim.making.costing.bill import NOT_LISTED, UNPRICED, Bill
from flightsim.making.cutting.stock import NANO
from flightsim.making.ordering.cloth_order import weight
from flightsim.making.ordering.floor import Laid
from flightsim.making.strength.check import Checks
from flightsim.making.strength.check_one import Check
from flightsim.report.words.cut_words import money, proof_words
from flightsim.report.words.imperial import told_in, value_in
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display

MOST_NOTES = 6
NOT_PASSED = "What does not pass"
NO_FRAME = "The bay's file has no frame: nothing to cut, and nothing was checked. Add a `frame` section."


def build_words(name: str, made: BuildList, checks: Checks, show: Display) -> Iterator[str]:
    """The answer in a few lines, the worst first, and the first notes."""
    yield from answer_words(name, made, checks, show)
    if made.notes:
        more = len(made.notes) - MOST_NOTES
        rest = [f"- and {more} more in order_of_work.txt"] if more > 0 else []
        yield "\n".join(["Notes:", *(f"- {note}" for note in made.notes[:MOST_NOTES]), *rest])


def answer_words(name: str, made: BuildList, checks: Checks, show: Display) -> Iterator[str]:
    """The answer without notes."""
    failed = [check for check in checks.checks if not check.ok]
    if not made.bars:
        yield f"{name}: {NO_FRAME}"
    elif failed:
        yield f"{name}: {len(failed)} of {len(checks.checks)} checks do not pass. Change the frame before you order."
    else:
        but = " What was measured does not fit: order nothing yet." if made.problems else ""
        yield f"{name}: all {len(checks.checks)} checks pass under the loads given.{but}"
    yield from made.problems
    yield from _not_known(failed, show)
    yield from (told_in(words, show) for words in checks.advice)
    if made.bill is not None:
        yield cost_words(made.bill)
    elif made.bars or made.cloths or made.boards:
        yield "No price list: give --prices FILE, or build.prices in the bay's file, for the cost."


def cost_words(bill: Bill) -> str:
    """The total, and what is missing from it."""
    listed, extra = bill.prices, ", invented prices" if bill.prices.invented else ""
    least = "at least " if bill.unpriced else ""
    words = f"Cost: {least}{money(bill.total)} {listed.currency}, prices of {listed.date.isoformat()}{extra}"
    words += (
        f"; {money(listed.delivery)} delivery, {money(listed.consumables)} consumables, {money(bill.tax)} tax in it."
    )
    if bill.unpriced:
        names = dict.fromkeys(
            line.need.material + ("" if line.why == NOT_LISTED else f" ({line.why})") for line in bill.unpriced
        )
        words += f"\nUnpriced, and not in that sum: {', '.join(names)}."
    return words


def two_costs_words(first: Bill | None, second: Bill | None) -> str:
    """What two bays cost, and what the second costs more; empty where neither has prices."""
    if first is None or second is None:
        missing = "the first" if first is None else "the second"
        return (
            ""
            if first is second
            else f"Cost: {missing} names no price list (build.prices), so the two are not compared."
        )
    if first.prices.currency != second.prices.currency:
        return f"Cost: {_total(first)} and {_total(second)}: two currencies, so the two are not compared."
    more = second.total - first.total
    words = f"Cost: {_total(first)} and {_total(second)}"
    if first.unpriced or second.unpriced:
        return f"{words}; what is unpriced is not in it, so their difference is not known."
    change = (
        "the same" if abs(more) < 0.005 else f"{money(abs(more))} {'more' if more > 0.0 else 'less'} for the second"
    )
    parts = _changed_systems(first, second)
    return f"{words}: {change}" + (f" (before tax: {', '.join(parts)})." if parts else ".")


def _total(bill: Bill) -> str:
    return f"{'at least ' if bill.unpriced else ''}{money(bill.total)} {bill.prices.currency}"


def _changed_systems(first: Bill, second: Bill) -> list[str]:
    """Systems whose cost is not the same, the second less the first."""
    before, after = first.by_system(), second.by_system()
    found = []
    for system in dict.fromkeys([*before, *after]):
        more = after.get(system, (0.0, 0))[0] - before.get(system, (0.0, 0))[0]
        if abs(more) >= 0.005:
            found.append(f"{system} {more:+.2f}")
    return found


def build_tables(made: BuildList, checks: Checks, show: Display) -> Iterator[Table]:
    """Every list; those without rows are not shown."""
    yield _failed(checks, show)
    yield _cut_list(made, show)
    yield _stock(made.stock, "Bars to buy", show)
    yield _cloth(made, show)
    yield _sheets(made, show)
    yield _stock(made.strips, "Strips to buy", show)
    yield _fittings(made)
    yield _floor(made, show)
    if made.bill is not None:
        yield _costs(made.bill)


def _not_known(failed: list[Check], show: Display) -> Iterator[str]:
    """Checks that fail for want of a number: the anchors' maker's, or one taken with a tape."""
    unknown = [check for check in failed if check.limit is None]
    if not unknown:
        return
    worst: dict[str, Check] = {}
    for check in unknown:
        kind = check.name.split(" of ")[0]
        if kind not in worst or (check.value or 0.0) > (worst[kind].value or 0.0):
            worst[kind] = check
    lines = [
        kind
        + ("" if check.value is None else f" up to {_value(check, check.value, show)}")
        + (f" ({check.why}: {check.passes})" if check.why and check.passes and "anchor" not in kind else "")
        for kind, check in worst.items()
    ]
    many = f"{len(unknown)} checks" if len(unknown) > 1 else "1 check"
    way = "Give the maker's figures in frame.anchors. " if any("anchor" in kind for kind in worst) else ""
    yield f"Not passed because a limit is not known ({many}): {'; '.join(lines)}. {way}Each is in build.json."


def _failed(checks: Checks, show: Display) -> Table:
    rows = [
        (told_in(check.name, show), _value(check, check.value, show), _value(check, check.limit, show),
         told_in(check.passes or check.why, show))
        for check in checks.checks
        if not check.ok and check.limit is not None
    ]  # fmt: skip
    return Table(NOT_PASSED, ("check", "found", "limit", "what would"), tuple(rows), frozenset({1, 2}))


def _value(check: Check, value: float | None, show: Display) -> str:
    return "not known" if value is None else value_in(value, check.unit, show)


def _cut_list(made: BuildList, show: Display) -> Table:
    alike = Counter(bar.mark for bar in made.bars)
    first = {bar.mark: bar for bar in reversed(made.bars)}
    names: dict[str, list[str]] = {}
    for bar in made.bars:
        names.setdefault(bar.mark, []).append(bar.name)
    rows = [
        (mark, str(n), show.to_cut(first[mark].length), first[mark].section.name, _which(names[mark]))
        for mark, n in alike.items()
    ]
    return Table("Cut list", ("mark", "pieces", "length", "of", "which"), tuple(rows), frozenset({1, 2}))


def _which(names: list[str]) -> str:
    """Up to four names; the list beside has them all."""
    if len(names) > 4 and all(name.startswith("sleeve of ") for name in names):
        return "sleeves; of which bar: cut_list.csv"
    return ", ".join(names[:4]) + (f" and {len(names) - 4} more (cut_list.csv)" if len(names) > 4 else "")


def _stock(lists: tuple[StockList, ...], title: str, show: Display) -> Table:
    rows = [
        (each.material, str(n), show.to_cut(each.plan.order.stocks[k].length / NANO), proof_words(each.plan, show))
        for each in lists
        for k, n in sorted(each.plan.bought().items())
    ]
    return Table(title, ("of", "bars", "length", "how sure"), tuple(rows), frozenset({1, 2}))


def _cloth(made: BuildList, show: Display) -> Table:
    rows = [
        (
            cloth.name,
            cloth.material + ("" if cloth.areal_mass is None else f", {weight(cloth.areal_mass, show)}"),
            f"{show.to_cut(cloth.finished_width)} x {show.to_cut(cloth.finished_height)}",
            cloth.basis,
            f"{cloth.cords} cords of {show.to_cut(cloth.cord_length)}" if cloth.eyelets else
            f"{show.length(cloth.cord_total)} of lacing",
        )
        for cloth in made.cloths
    ]  # fmt: skip
    note = "Width x height, finished; a screen's height holds its foot fold. Details in cloth.csv." if rows else ""
    return Table(
        "Cloth and nets to order", ("name", "material", "size", "basis", "hung by"), tuple(rows), frozenset(), note
    )


def _sheets(made: BuildList, show: Display) -> Table:
    rows = []
    for each in made.sheets:
        size, n = each.plan.size, len(each.plan.sheets)
        sure = "no plan does with fewer" if each.plan.proved else f"best of those tried; at least {each.plan.at_least}"
        pieces = sum(len(sheet) for sheet in each.plan.sheets)
        rows.append(
            (each.material, str(n), f"{show.to_cut(size.length)} x {show.to_cut(size.width)}", str(pieces), sure)
        )
    return Table("Sheets to buy", ("of", "sheets", "size", "pieces", "how sure"), tuple(rows), frozenset({1, 3}))


def _fittings(made: BuildList) -> Table:
    counted: dict[str, int] = {}
    for fitting in made.fittings:
        counted[fitting.material] = counted.get(fitting.material, 0) + fitting.count
    rows = [(material, str(n)) for material, n in counted.items()]
    return Table("Fittings", ("what", "pieces"), tuple(rows), frozenset({1}))


def _floor(made: BuildList, show: Display) -> Table:
    rows = [
        (str(f.number), f.name, f"{show.to_cut(f.length)} x {show.to_cut(f.width)}",
         _cut_out(f, show))
        for f in made.floor
    ]  # fmt: skip
    return Table("Floor, in the order of laying", ("", "piece", "size", ""), tuple(rows), frozenset({0}))


def _cut_out(laid: Laid, show: Display) -> str:
    place = laid.cut_out_from()
    if laid.cut_out is None or place is None:
        return ""
    length, width, end, left = (show.to_cut(each) for each in (*laid.cut_out[2:], *place))
    return f"cut out {length} x {width}, {end} from its end at the screen, {left} from its left edge"


def _costs(bill: Bill) -> Table:
    rows = []
    for system, (cost, missing) in bill.by_system().items():
        lines = sum(system in dict(line.shares) for line in bill.lines)
        price = UNPRICED if missing == lines else money(cost)
        rows.append((system, price, f"{missing} of {lines} {UNPRICED}" if missing else ""))
    head = ("system", f"{bill.prices.currency} before tax", "")
    return Table("Cost by system", head, tuple(rows), frozenset({1}))
