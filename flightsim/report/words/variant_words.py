"""Several bays on the same shots: a row each, in words and as data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from flightsim.making.costing.bill import Bill
from flightsim.report.words.common_words import at_worst, one_in, seen_in_all
from flightsim.report.words.compare_words import LUCK
from flightsim.report.words.cut_words import money
from flightsim.report.words.plain_table import Table
from flightsim.report.words.verdict import BAD, GOOD, SIGNS
from flightsim.scenario.reading.display import Display
from flightsim.study.compare.paired_bays import MOST_TOSSES, Changed, Comparison
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.result import RunResult
from flightsim.study.run.target_result import TargetResult

BAR = 5  # characters of a full bar: at the limit, or past it
ABREAST = 4  # bays whose targets stand beside one another on a terminal
NOTE = (
    "Got past: got past the protection, of all balls as they are played. Change: against the first bay, on the same "
    "shots. Chance: whether that may be luck, and how often so uneven a split comes by luck if neither bay is the "
    "better. It is told apart where that is less than 1 in {of}: 1 in 20, shared among the {n} comparisons."
)
JUDGED = "there may be too few shots. Judged with the likely cloth, as drawn."


@dataclass(frozen=True, eq=False)
class VariantRow:
    """One bay of several. pair: with the first; None for the first itself; measures: m, what plugins measure of it."""

    name: str
    result: RunResult
    pair: Comparison | None
    measures: Mapping[str, float]
    bill: Bill | None

    @property
    def past(self) -> Changed | None:
        """Escapes in it against the first."""
        return None if self.pair is None else self.pair.changed[0]


def letter(k: int) -> str:
    """What a bay is called in the table: A, B, ..."""
    return chr(ord("A") + k)


def not_chance(row: VariantRow, count: int) -> bool:
    """Whether these shots tell it from the first, as one of `count` that are held against it."""
    past = row.past
    return past is not None and row.result.sampled and past.chance <= LUCK / count


def variants_headline(rows: Sequence[VariantRow]) -> str:
    """What the rows come to, in a few sentences."""
    n, others = len(rows[0].result.shots), rows[1:]
    sentences = [f"{len(rows)} bays on the same {n:,} shots."]
    better = [row for row in others if not_chance(row, len(others)) and _less(row)]
    worse = [row for row in others if not_chance(row, len(others)) and not _less(row)]
    unsure = [row for row in others if row not in better and row not in worse]
    for bays, words in (
        (better, "fewer balls get past than in the first"), (worse, "more balls get past than in the first"),
    ):  # fmt: skip
        if bays:
            sentences.append(f"In {', '.join(_called(rows, row) for row in bays)} {words}; that is not chance.")
    if unsure and rows[0].result.sampled:
        sentences.append(f"These shots do not tell {', '.join(_called(rows, row) for row in unsure)} from the first.")
    if not rows[0].result.sampled:
        sentences.append("A grid says nothing of how often a ball goes there: no test can be made.")
    return " ".join(sentences)


def _called(rows: Sequence[VariantRow], row: VariantRow) -> str:
    k = next(k for k, other in enumerate(rows) if other is row)
    return f"{letter(k)} ({row.name})"


def _less(row: VariantRow) -> bool:
    assert row.past is not None
    return row.past.second.rate < row.past.first.rate


def variants_table(rows: Sequence[VariantRow]) -> Table:
    """A row a bay: how many balls get past, what changed against the first and whether that is chance, room, cost.

    What plugins measure has a column where it differs, and is told once below where it is the same in all.
    """
    differ, alike = _told_apart(rows)
    costs = _costs(rows)
    lines = []
    for k, row in enumerate(rows):
        escape = row.result.rates.total[ESCAPE]
        cells = [letter(k), row.name, seen_in_all(escape), "" if escape.upper is None else at_worst(escape.upper)]
        cells += _change_cells(row, len(rows) - 1)
        lines.append((*cells, *(column[k] for column in (*differ.values(), *costs.values()))))
    head = ("", "bay", "got past", "at worst", "change", "chance?", *differ, *costs)
    others = max(len(rows) - 1, 1)
    note = NOTE.format(of=round(others / LUCK), n=others) if rows[0].result.sampled else ""
    same = "; ".join(f"{name} {cell}" for name, cell in alike.items())
    note = " ".join(part for part in (note, f"The same in all: {same}." if same else "") if part)
    return Table("The bays, a row each", head, tuple(lines), frozenset(), note)


def _told_apart(rows: Sequence[VariantRow]) -> tuple[dict[str, list[str]], dict[str, str]]:
    """Targets met and what plugins measure, by name: a cell a bay of what differs, and what is the same in all."""
    show = Display(rows[0].result.scenario.units).estimate
    columns = {"targets met": [met_words(row) for row in rows]} if any(row.result.targets for row in rows) else {}
    for name in sorted({name for row in rows for name in row.measures if "." not in name}):
        columns[name.replace("_", " ")] = [show(row.measures[name]) if name in row.measures else "" for row in rows]
    alike = {name: cells[0] for name, cells in columns.items() if len(rows) > 1 and len(set(cells)) == 1}
    return {name: cells for name, cells in columns.items() if name not in alike}, alike


def _costs(rows: Sequence[VariantRow]) -> dict[str, list[str]]:
    """The column of costs, where any bay has prices; one currency stands in its head."""
    bills = [row.bill for row in rows if row.bill is not None]
    if not bills:
        return {}
    cells = [_cost(row.bill) for row in rows]
    currency = bills[0].prices.currency
    if any(bill.prices.currency != currency for bill in bills):
        return {"cost": cells}
    return {f"cost, {currency}": [cell.removesuffix(f" {currency}") for cell in cells]}


def _change_cells(row: VariantRow, count: int) -> list[str]:
    past = row.past
    if past is None:
        return ["", ""]
    if not past.only_first + past.only_second:
        return ["no ball differs", ""]
    less = past.second.rate - past.first.rate
    change = f"{one_in(abs(less))} {'more' if less > 0.0 else 'fewer'}" if less else "as many"
    if not row.result.sampled:
        return [change, "no test"]
    return [change, f"{'no' if not_chance(row, count) else 'may be'}, {_luck(past.chance)}"]


def _luck(chance: float) -> str:
    """How often it comes by luck, in as few letters as a column has: `47%`."""
    least = 2.0 / MOST_TOSSES
    return f"<{100.0 * least:.2g}%" if chance < least else f"{100.0 * chance:.2g}%".replace("1e+02", "100")


def _cost(bill: Bill | None) -> str:
    if bill is None:
        return "no prices"
    return f"{'at least ' if bill.unpriced else ''}{money(bill.total)} {bill.prices.currency}"


@dataclass(frozen=True)
class _Asked:
    """One target, in words, with its limit, and what each bay makes of it: None where a bay is not asked."""

    words: str
    limit: str
    each: tuple[TargetResult | None, ...]


def _asked(rows: Sequence[VariantRow]) -> list[_Asked]:
    """Every target that any bay is asked."""
    show, found = Display(rows[0].result.scenario.units), []
    for name in dict.fromkeys(target.name for row in rows for target in row.result.targets if _judged(target)):
        each = [next((t for t in row.result.targets if t.name == name and _judged(t)), None) for row in rows]
        first = next(target for target in each if target is not None)
        words = f"{first.words}{f' ({first.place})' if first.place else ''}"
        limit = f"over {show.length(first.limit)}" if first.kind == "length" else one_in(first.limit)
        found.append(_Asked(words, limit, tuple(each)))
    return found


def targets_table(rows: Sequence[VariantRow]) -> Table:
    """Every target, a column a bay, with a bar of letters: full is the limit; no rows where nothing is asked."""
    show = Display(rows[0].result.scenario.units)
    lines = [
        (row.words, row.limit,
         *("not asked" if t is None else f"{bar(taken_up(t))} {_bound(t, show)}" for t in row.each))
        for row in _asked(rows)
    ]  # fmt: skip
    note = (
        "The bound of each, and how much of its limit it takes up: a full bar, and a > behind it, is not shown to be "
        f"met: {JUDGED}"
    )
    return Table("Targets", _targets_head(rows), tuple(lines), frozenset(), note)


def targets_drawn(rows: Sequence[VariantRow]) -> Table:
    """The table of targets for a page, which draws the bars."""
    show, asked = Display(rows[0].result.scenario.units), _asked(rows)
    lines = [
        (row.words, row.limit,
         *("not asked" if t is None else f"{SIGNS[GOOD if t.met else BAD]} {_bound(t, show)}" for t in row.each))
        for row in asked
    ]  # fmt: skip
    taken = tuple((None, None, *(None if t is None else min(taken_up(t), 1.0) for t in row.each)) for row in asked)
    note = (
        f"The bound of each, and as a bar how much of its limit it takes up. {SIGNS[GOOD]} is met; {SIGNS[BAD]}, and a "
        f"full bar, is not shown to be met: {JUDGED}"
    )
    return Table("Targets", _targets_head(rows), tuple(lines), frozenset(), note, taken)


def _targets_head(rows: Sequence[VariantRow]) -> tuple[str, ...]:
    return "target", "limit", *(letter(k) for k in range(len(rows)))


def targets_tables(rows: Sequence[VariantRow]) -> list[Table]:
    """The table of targets for a terminal: a few bays abreast, then the next ones; the note stands under the last."""
    table = targets_table(rows)
    bays = table.head[2:]
    cut = [bays[k : k + ABREAST] for k in range(0, len(bays), ABREAST)]
    tables = [table.without(*(bay for bay in bays if bay not in few)) for few in cut]
    titles = [table.title if len(cut) == 1 else f"{table.title} of {', '.join(few)}" for few in cut]
    notes = [*("" for _ in cut[1:]), table.note]
    return [
        replace(part, title=title, note=note, rows=tuple(tuple(map(_bar_above, row)) for row in part.rows))
        for part, title, note in zip(tables, titles, notes, strict=True)
    ]


def _bar_above(cell: str) -> str:
    """A bar over its bound, so that a narrow column breaks there and nowhere else."""
    return f"{cell[: BAR + 1]}\n{cell[BAR + 2 :]}" if cell[:1] in "#." and cell else cell


def _judged(target: TargetResult) -> bool:
    return target.asked and target.upper is not None


def _bound(target: TargetResult, show: Display) -> str:
    assert target.upper is not None
    return show.estimate(target.upper) if target.kind == "length" else at_worst(target.upper)


def met_words(row: VariantRow) -> str:
    """How many of its targets a bay meets: `2 of 9`."""
    asked = [target for target in row.result.targets if _judged(target)]
    return f"{sum(bool(target.met) for target in asked)} of {len(asked)}" if asked else ""


def taken_up(target: TargetResult) -> float:
    """How much of a target's limit is taken up, by its bound: above 1 it is not met."""
    assert target.upper is not None
    if target.kind == "length":
        return target.limit / target.upper if target.upper > 0.0 else float("inf")
    return target.upper / target.limit


def bar(share: float) -> str:
    """How much of a limit is taken up: `###..`; an arrow where it is all or more."""
    full = BAR if share >= 1.0 else min(BAR - 1, max(round(share * BAR), 1 if share > 0.0 else 0))
    return f"{'#' * full}{'.' * (BAR - full)}" + (">" if share >= 1.0 else " ")


def variants_data(rows: Sequence[VariantRow]) -> list[dict[str, Any]]:
    """`variants` of compare.json: one entry a bay."""
    return [
        {
            "name": row.name,
            "escape": asdict(row.result.rates.total[ESCAPE]),
            "targets": [
                {"name": t.name, "limit": t.limit, "upper": t.upper, "met": t.met}
                for t in row.result.targets
            ],
            "measures_m": {name: float(value) for name, value in sorted(row.measures.items())},
            "against_the_first": None if row.pair is None else _against(row, len(rows) - 1),
        }
        for row in rows
    ]  # fmt: skip


def _against(row: VariantRow, count: int) -> dict[str, Any]:
    past, pair = row.past, row.pair
    assert past is not None
    assert pair is not None
    return {
        "rate_difference": past.second.rate - past.first.rate,
        "only_first": past.only_first,
        "only_second": past.only_second,
        "chance": past.chance if pair.sampled else None,
        "told_apart": not_chance(row, count) if pair.sampled else None,
    }
