"""Where the seams of a board lie that is larger than a sheet: on bars where there are any, foam off its board's seams.

Distances run from the board's left edge, as somebody sees it who faces the screen, m.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate

from flightsim.making.pieces import Bar, Board
from flightsim.making.structure import Overhead, Structure
from flightsim.scenario.reading.display import Display

LEAST_ON_A_BAR = 0.015  # m of each board, for its screws (judgement)
APART = 0.100  # m: foam's seams from those of its board, and a seam on a bar from the edge (judgement)
FOAM = ", foam"  # what the foam on a board is called after it

Seams = tuple[float, ...]


def ribs_under(boards: Sequence[Board], structures: Sequence[Structure]) -> dict[str, dict[str, float]]:
    """For each board of a canopy with ribs: each rib's middle by its name."""
    found = {}
    for structure in structures:
        for canopy in structure.canopies:
            board = next((board for board in boards if board.name == canopy.name), None)
            ribs = _ribs(structure, canopy)
            if board is not None and ribs:
                sides = [structure.bar(side).start[1] for side in canopy.sides]
                left = sum(sides) / len(sides) + board.width / 2.0
                found[board.name] = {rib.name: left - rib.start[1] for rib in ribs}
    return found


def _ribs(structure: Structure, canopy: Overhead) -> list[Bar]:
    """From front to back between the canopy's sides."""
    sides = [structure.bar(side) for side in canopy.sides]
    reach = [place[0] for side in sides for place in (side.start, side.end)]
    return [
        bar
        for bar in structure.bars
        if bar.role == "rib" and min(reach) - 0.1 < (bar.start[0] + bar.end[0]) / 2.0 < max(reach) + 0.1
    ]


def on_bars(width: float, parts: int, most: float, bars: Sequence[float]) -> tuple[float, ...]:
    """Widths of so many parts with each seam on the bar next to it; equal ones where a part would be too wide."""
    equal = (width / parts,) * parts
    seams = [min(bars, key=lambda bar: abs(bar - seam)) for seam in accumulate(equal[:-1])] if bars else []
    widths = tuple(after - before for before, after in zip([0.0, *seams], [*seams, width], strict=True))
    return widths if seams and all(APART < part <= most + 1e-9 for part in widths) else equal


def seams_of(board: Board, cut: Sequence[Board]) -> Seams:
    """Its upright seams, of parts as they are cut."""
    head = f"{board.name}, part "
    numbered = {int(part.name[len(head) :].split()[0]): part for part in cut if part.name.startswith(head)}
    ends = accumulate(numbered[k].width for k in sorted(numbered))  # of a second row, beyond the width
    return tuple(end for end in ends if end < board.width - 1e-6)


def level_seams_of(board: Board, cut: Sequence[Board]) -> Seams:
    """Its level seams, of parts as they are cut, m from its foot."""
    head = f"{board.name}, part "
    numbered = {int(part.name[len(head) :].split()[0]): part for part in cut if part.name.startswith(head)}
    rows: list[float] = []
    across = 0.0
    for k in sorted(numbered):
        across += numbered[k].width
        if across > board.width - 1e-6:  # the last of its row
            rows.append(numbered[k].height)
            across = 0.0
    return tuple(accumulate(rows[:-1]))


def base_of(name: str) -> str:
    """The board that foam of this name lies on; empty for what is no foam on a board."""
    return name.removesuffix(FOAM) if name.endswith(FOAM) else ""


def seam_notes(
    drawn: Sequence[Board], cut: Sequence[Board], ribs: Mapping[str, Mapping[str, float]], size: float, show: Display
) -> Iterator[str]:
    """For each board in parts: where its seams lie, and on what. size: of the bars, m."""
    whole, names = {board.name for board in cut}, {board.name for board in drawn}
    for board in drawn:
        if board.name in whole:
            continue
        parts = sum(part.name.startswith(f"{board.name}, part ") for part in cut)
        seams = seams_of(board, cut)
        where = " and ".join(show.to_cut(seam) for seam in seams)
        seams_from_edge = f", {'seam' if len(seams) == 1 else 'seams'} {where} from its left edge" if seams else ""
        head = f"{board.name}: larger than a sheet of {board.material}, in {parts} parts"
        if base_of(board.name) in names:
            yield f"{head}{seams_from_edge}: glue them on, none of their seams over one of the board's"
        elif board.name in ribs:
            carried = "; ".join(_carried(seam, ribs[board.name], size, show) for seam in seams)
            yield f"{head}: {carried or 'put a bar or batten under each seam'}"
        else:
            soft = "fix them side by side without a gap"
            stiff = "screw a batten behind each seam, where no bar runs there"
            yield f"{head}{seams_from_edge}: {soft if board.material.startswith('foam') else stiff}"


def _carried(seam: float, ribs: Mapping[str, float], size: float, show: Display) -> str:
    """What carries a seam."""
    name, off = min(((name, abs(rib - seam)) for name, rib in ribs.items()), key=lambda nearest: nearest[1])
    place = f"the seam {show.to_cut(seam)} from its left edge lies on"
    if off <= size / 2.0 - LEAST_ON_A_BAR:
        return f"{place} {name}"
    return f"{place} no bar, {show.to_cut(off)} off the middle of {name}: screw a batten behind it"
