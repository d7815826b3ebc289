"""The long lists of a build, for its page: what to cut from each bar, where to weld and drill, plates, checks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from flightsim.making.build_list import BuildList, StockList
from flightsim.making.cutting.stock import NANO
from flightsim.making.strength.check import Checks
from flightsim.making.strength.check_one import Check
from flightsim.making.structure import Structure
from flightsim.report.words.imperial import told_in, value_in
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display


def build_sheets(
    made: BuildList, checks: Checks, structures: Sequence[Structure], tee: tuple[float, float], show: Display
) -> Iterator[Table]:
    """Lists that are too long for a terminal; those without rows are not shown. tee: from end and left wall, m."""
    yield _cuts([*made.stock, *made.strips], show)
    yield _holes(made, show)
    yield _marking_out(made, show)
    yield _plates(checks, structures, tee, show)
    yield _nearest(checks, show)


def _cuts(lists: Sequence[StockList], show: Display) -> Table:
    rows = [
        (each.material, str(n), show.to_cut(each.plan.order.stocks[bar.stock].length / NANO),
         _pieces(marks, [show.to_cut(piece / NANO) for piece in bar.pieces]),
         show.to_cut(bar.offcut / NANO))
        for each in lists
        for n, (bar, marks) in enumerate(zip(each.plan.bars, each.marks, strict=True), start=1)
    ]  # fmt: skip
    return Table("What to cut from each bar", ("of", "bar", "stock", "cut", "left"), tuple(rows), frozenset({1, 2, 4}))


def _pieces(marks: Sequence[str], lengths: Sequence[str]) -> str:
    """A1 3000 mm + 4 x A11 100 mm."""
    alike = Counter(f"{mark} {length}" for mark, length in zip(marks, lengths, strict=True))
    return " + ".join(f"{n} x {piece}" if n > 1 else piece for piece, n in alike.items())


def _holes(made: BuildList, show: Display) -> Table:
    """The holes by mark: bars of one mark have their holes in common."""
    first = {bar.mark: bar for bar in reversed(made.bars) if bar.holes}
    rows = [
        (mark, ", ".join(show.to_cut(hole.along) for hole in bar.holes),
         f"{bar.holes[0].diameter * 1e3:g} mm", "; ".join(dict.fromkeys(hole.use for hole in bar.holes)))
        for mark, bar in sorted(first.items(), key=lambda each: int(each[0][1:]))
    ]  # fmt: skip
    note = (
        "Which end is the start, and through which walls: start_is and holes_through in cut_list.csv." if rows else ""
    )
    return Table("Holes, from the start of each bar", ("mark", "at", "drill", "for"), tuple(rows), frozenset(), note)


def _marking_out(made: BuildList, show: Display) -> Table:
    marks = {bar.name: bar.mark for bar in made.bars}
    rows = [
        (marks.get(m.bar, ""), m.bar, f"{show.to_cut(m.along)} from its {m.measured_from}", m.face,
         told_in(m.what, show), m.joins)
        for m in made.markings
    ]  # fmt: skip
    head = ("mark", "on", "to the middle", "face", "what", "for")
    note = "Measured on the tube itself, foot plates left out." if rows else ""
    return Table("Where to weld and drill", head, tuple(rows), frozenset(), note)


def _plates(checks: Checks, structures: Sequence[Structure], tee: tuple[float, float], show: Display) -> Table:
    places = {
        hold.name: structure.bar(hold.bar).start if hold.end == "start" else structure.bar(hold.bar).end
        for structure in structures
        for hold in structure.holds
    }
    rows = []
    for anchor in checks.anchors:
        x, y, z = places[anchor.name]
        rows.append(
            (anchor.name, anchor.to, *(show.to_cut(metres) for metres in (tee[0] - x, tee[1] - y, z)),
             str(anchor.count), value_in(anchor.pull_each, "N", show), value_in(anchor.shear_each, "N", show))
        )  # fmt: skip
    head = ("plate", "into", "from end wall", "from left wall", "above slab", "anchors", "pull each", "shear each")
    return Table("Feet and brackets", head, tuple(rows), frozenset(range(2, 8)))


def _nearest(checks: Checks, show: Display) -> Table:
    """The check of each kind that is nearest to its limit."""
    worst: dict[str, Check] = {}
    for check in checks.checks:
        kind = check.name.split(" of ")[0].split(" on ")[0]
        if check.limit and check.value is not None and (kind not in worst or _used(check) > _used(worst[kind])):
            worst[kind] = check
    rows = [
        (told_in(check.name, show), value_in(check.value or 0.0, check.unit, show),
         f"{'at least' if check.least else 'at most'} {value_in(check.limit or 0.0, check.unit, show)}",
         "yes" if check.ok else "no", told_in(check.why, show), check.source)
        for check in worst.values()
    ]  # fmt: skip
    note = f"The nearest to its limit of each kind; all {len(checks.checks)} are in checks.csv." if rows else ""
    return Table("Checks", ("check", "found", "limit", "passes", "when", "source"), tuple(rows), frozenset({1}), note)


def _used(check: Check) -> float:
    value, limit = check.value or 0.0, check.limit or 1.0
    return (limit / max(value, 1e-9)) if check.least else value / limit
