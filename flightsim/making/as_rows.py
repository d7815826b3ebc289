"""Every list as a table for CSV: lengths in mm, and as the tape reads where the bay is in feet and inches."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from math import degrees
from typing import TypeAlias

from flightsim.making.build_list import BuildList, StockList
from flightsim.making.costing.bill import UNPRICED, Bill
from flightsim.making.cutting.stock import in_mm
from flightsim.making.marking_out import end_names
from flightsim.making.pieces import Bar, BarEnd, Hole
from flightsim.scenario.reading.display import Display

Cell: TypeAlias = str | float | int
Rows: TypeAlias = tuple[tuple[str, ...], list[tuple[Cell, ...]]]
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")

WALLS = {"side": "one side", "top": "the top", "through_side": "both sides", "through_top": "top and underside"}
STANDING = {"through_side": "both sides, left and right", "through_top": "both sides, tee and wall"}


def all_rows(made: BuildList, show: Display, tee: tuple[float, float]) -> dict[str, Rows]:
    """File name without ending to head and rows; lists without rows are left out.

    tee: from the end wall and from the left wall, m: places are told from there, as a tape lies, and in the bay's axes.
    """
    found = {
        "cut_list": _cut_list(made, show.to_cut),
        "marking_out": _marking_out(made, show.to_cut),
        "stock_plan": _stock_plan([*made.stock, *made.strips], show.to_cut),
        "boards": _boards(made, show.to_cut),
        "sheet_plan": _sheet_plan(made),
        "strips": _strips(made, show.to_cut),
        "cloth": _cloth(made, show.to_cut),
        "fittings": _fittings(made),
        "floor": _floor(made, show.to_cut, tee),
        "on_the_slab": _standing(made, tee),
        "costs": _costs(made.bill),
    }
    return {name: with_tape(rows, show) for name, rows in found.items() if rows[1]}


def with_tape(rows: Rows, show: Display) -> Rows:
    """In a bay in feet and inches each column in mm has one beside the last as the tape reads, where it has none yet.

    Places in the bay's axes (x_mm, y_mm) are for no tape.
    """
    head, cells = rows
    added = [k for k, name in enumerate(head) if name.endswith("_mm") and name not in ("x_mm", "y_mm", "cut_out_mm")
             and name.removesuffix("_mm") not in head]  # fmt: skip
    if show.units != "imperial" or not added:
        return rows
    return (*head, *(head[k].removesuffix("_mm") for k in added)), [
        (*row, *(_as_tape(row[k], show.to_cut) for k in added)) for row in cells
    ]


def _as_tape(cell: Cell, tape: Callable[[float], str]) -> str:
    """25 dia 9; 75 dia 9, or 4267.2 + 561.2, in mm, as the tape reads."""
    return _NUMBER.sub(lambda found: tape(float(found.group()) / 1e3), str(cell))


def _mm(metres: float) -> float:
    return round(metres * 1e3, 1)


def _cut_list(made: BuildList, tape: Callable[[float], str]) -> Rows:
    head = (
        "mark",
        "name",
        "role",
        "section",
        "length_mm",
        "length",
        "mass_kg",
        "start",
        "end",
        "holes_from_start_mm",
        "holes_for",
        "start_is",
        "holes_through",
    )
    return head, [
        (b.mark, b.name, b.role, b.section.name, _mm(b.length), tape(b.length), round(b.mass, 2),
         _end(b.ends[0]), _end(b.ends[1]),
         "; ".join(f"{_mm(h.along):g} dia {_mm(h.diameter):g}" for h in b.holes), _uses(b), _start(b),
         "; ".join(dict.fromkeys(_walls(b, h) for h in b.holes)))
        for b in made.bars
    ]  # fmt: skip


def _marking_out(made: BuildList, tape: Callable[[float], str]) -> Rows:
    head = ("mark", "bar", "measured_from", "to_middle_mm", "to_middle", "face", "what", "joins", "joins_mark")
    marks = {bar.name: bar.mark for bar in made.bars}
    stubs = {bar.name.removeprefix("sleeve of "): bar.mark for bar in made.bars if bar.role == "sleeve"}
    return head, [
        (marks.get(m.bar, ""), m.bar, m.measured_from, _mm(m.along), tape(m.along), m.face,
         f"{m.what} ({stub})" if (stub := stubs.get(f"{m.joins} on {m.bar}")) and "stub" in m.what else m.what,
         m.joins, marks.get(m.joins, ""))
        for m in made.markings
    ]  # fmt: skip


def _uses(bar: Bar) -> str:
    """What each hole is for, and through which walls it goes; alike ones once."""
    return "; ".join(dict.fromkeys(f"{hole.use}, through {_walls(bar, hole)}" for hole in bar.holes))


def _walls(bar: Bar, hole: Hole) -> str:
    """Of a bar that stands the sides have names of their own."""
    return STANDING.get(hole.face, WALLS[hole.face]) if end_names(bar)[0] in ("foot", "top") else WALLS[hole.face]


def _start(bar: Bar) -> str:
    """Which end holes are measured from."""
    return "welded end" if bar.role == "sleeve" else end_names(bar)[0]


def _end(end: BarEnd) -> str:
    sawn = end.cut if end.cut == "square" else f"{end.cut} {degrees(end.angle):.1f} deg"
    return f"{sawn}, {end.fitting}" if end.fitting else sawn


def _stock_plan(lists: Sequence[StockList], tape: Callable[[float], str]) -> Rows:
    head = ("material", "bar", "stock_mm", "stock", "marks", "pieces_mm", "offcut_mm", "optimal")
    return head, [
        (stock_list.material, n, in_mm(order.stocks[bar.stock].length), tape(order.stocks[bar.stock].length / 1e9),
         " + ".join(marks), " + ".join(f"{round(in_mm(p), 1):.6g}" for p in bar.pieces),
         round(in_mm(bar.offcut), 1), "yes" if stock_list.plan.optimal else "no")
        for stock_list in lists
        for order in [stock_list.plan.order]
        for n, (bar, marks) in enumerate(zip(stock_list.plan.bars, stock_list.marks, strict=True), start=1)
    ]  # fmt: skip


def _boards(made: BuildList, tape: Callable[[float], str]) -> Rows:
    head = ("mark", "name", "material", "width_mm", "height_mm", "width", "height", "system")
    return head, [
        (b.mark, b.name, b.material, _mm(b.width), _mm(b.height), tape(b.width), tape(b.height), b.system)
        for b in made.boards
    ]


def _sheet_plan(made: BuildList) -> Rows:
    head = ("material", "sheet", "sheet_mm", "mark", "name", "from_left_mm", "from_foot_mm", "along_mm", "across_mm",
            "fewest_by_area")  # fmt: skip
    return head, [
        (listed.material, n, f"{_mm(listed.plan.size.length):g} x {_mm(listed.plan.size.width):g}", p.board.mark,
         p.board.name, _mm(p.x), _mm(p.y), _mm(p.along), _mm(p.across), listed.plan.at_least)
        for listed in made.sheets
        for n, sheet in enumerate(listed.plan.sheets, start=1)
        for p in sheet
    ]  # fmt: skip


def _strips(made: BuildList, tape: Callable[[float], str]) -> Rows:
    head = ("mark", "name", "material", "count", "length_mm", "length", "system")
    return head, [(s.mark, s.name, s.material, s.count, _mm(s.length), tape(s.length), s.system) for s in made.lengths]


def _cloth(made: BuildList, tape: Callable[[float], str]) -> Rows:
    head = (
        "name", "kind", "basis", "finished_width_mm", "finished_height_mm", "finished_width", "finished_height",
        "cut_width_mm", "cut_height_mm", "foot_fold_mm", "room_each_side_mm", "eyelets", "pitch_across_mm",
        "pitch_up_mm", "cords", "cord_length_mm", "seams", "notes", "flown_g_per_m2",
    )  # fmt: skip
    return head, [
        (c.name, c.kind, c.basis, _mm(c.finished_width), _mm(c.finished_height), tape(c.finished_width),
         tape(c.finished_height), _mm(c.cut_width), _mm(c.cut_height), _mm(c.foot_fold),
         "" if c.room_each_side is None else _mm(c.room_each_side), c.eyelets, _mm(c.pitch_across), _mm(c.pitch_up),
         c.cords, _mm(c.cord_length), c.seams, "; ".join(c.notes),
         "" if c.areal_mass is None else round(c.areal_mass * 1e3, 1))
        for c in made.cloths
    ]  # fmt: skip


def _fittings(made: BuildList) -> Rows:
    head = ("name", "material", "count", "system", "note")
    return head, [(f.name, f.material, f.count, f.system, f.note) for f in made.fittings]


def _floor(made: BuildList, tape: Callable[[float], str], tee: tuple[float, float]) -> Rows:
    head = ("number", "name", "material", "length_mm", "width_mm", "length", "width", "thickness_mm", "x_mm", "y_mm",
            "cut_out_mm", "from_end_wall_mm", "from_left_wall_mm", "cut_out_from_its_screen_end_mm",
            "cut_out_from_its_left_edge_mm", "cut_out_length_mm", "cut_out_width_mm")  # fmt: skip
    return head, [
        (f.number, f.name, f.material, _mm(f.length), _mm(f.width), tape(f.length), tape(f.width), _mm(f.thickness),
         _mm(f.x), _mm(f.y),
         "" if f.cut_out is None else "{:g},{:g} {:g} x {:g}".format(*(_mm(c) for c in f.cut_out)),
         _mm(tee[0] - f.x - f.length), _mm(tee[1] - f.y - f.width),
         *(_mm(each) for each in (*(f.cut_out_from() or ()), *(f.cut_out or ())[2:])), *[""] * (0 if f.cut_out else 4))
        for f in made.floor
    ]  # fmt: skip


def _standing(made: BuildList, tee: tuple[float, float]) -> Rows:
    """Bars by their middle; what is laid by the corner nearest to the tee and the right wall, and from the walls."""
    head = ("name", "x_mm", "y_mm", "on", "from_end_wall_mm", "from_left_wall_mm")
    laid = {f.name: (f.length, f.width) for f in made.floor}
    rows: list[tuple[Cell, ...]] = []
    for s in made.standing:
        length, width = laid.get(s.name, (0.0, 0.0))
        places: tuple[Cell, ...] = ("", "", s.on, "", "")
        if s.place is not None:
            x, y, _ = s.place
            places = (_mm(x), _mm(y), s.on, _mm(tee[0] - x - length), _mm(tee[1] - y - width))
        rows.append((s.name, *places))
    return head, rows


def _costs(bill: Bill | None) -> Rows:
    head = ("system", "material", "quantity", "unit", "bought", "per", "price", "cost", "currency", "why",
            "weight_g_per_m2")  # fmt: skip
    if bill is None:
        return head, []
    rows: list[tuple[Cell, ...]] = [
        (line.need.system, line.need.material, round(line.need.quantity, 3), line.need.unit,
         "" if line.bought is None else round(line.bought, 3), "" if line.price is None else line.price.per,
         "" if line.price is None else line.price.price, UNPRICED if line.cost is None else round(line.cost, 2),
         bill.prices.currency, line.why, "" if line.need.weight is None else round(line.need.weight * 1e3, 1))
        for line in bill.lines
    ]  # fmt: skip
    return head, rows
