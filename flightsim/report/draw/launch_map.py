"""The launch map: which up angles and left-right angles get past the protection, and how, club by club."""

from __future__ import annotations

from textwrap import fill
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path
from numpy.typing import NDArray

from flightsim.contact.fates import Outcome
from flightsim.report.draw.style import (
    ESCAPES,
    GREY,
    INK,
    NORMAL,
    SMALL,
    STROKES,
    TINY,
    axes_at,
    heading,
    mark_look,
    new_figure,
)
from flightsim.report.words.common_words import OUTCOME_WORDS, one_in
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Cells = NDArray[np.intp]

FEW = 5  # shots a cell needs before its share is shown
LEVELS = (0.05, 0.25, 0.5, 0.75)  # shares at which the square in a cell grows
SIDES = (0.34, 0.52, 0.70, 0.86, 1.0)  # of the square, as a part of the cell's
WORDS = ("under 5 %", "5 to 25 %", "25 to 50 %", "50 to 75 %", "over 75 %")
QUIET = "0.93"  # a cell of which no ball got past
_PANEL, _GAP, _LEFT, _BOTTOM, _TOP, _RIGHT = 2.1, 0.4, 0.6, 0.5, 0.95, 1.85  # inches
_LEAST_WIDE, _LEAST_TALL = 6.6, 4.1  # inches: room for the heading and the key
_ACROSS = 3  # panels a row
MARK, FEW_MARK = 6.5, 2.2  # points: the largest mark, and that of a cell with few shots


def launch_map(result: RunResult) -> Figure:
    """Share of shots that got past the protection, and what most of those did, over launch angles, a panel a club."""
    clubs = list(dict.fromkeys(kind.club for kind in result.types))
    up, side = np.degrees(result.shots.elevation), np.degrees(result.shots.azimuth)
    edges = _edges(side), _edges(up)
    columns = min(_ACROSS, len(clubs))
    rows = -(-len(clubs) // columns)
    tall = _PANEL * float(np.clip(np.ptp(edges[1]) / np.ptp(edges[0]), 0.4, 1.3))
    wide = _LEFT + columns * _PANEL + (columns - 1) * _GAP + _RIGHT
    height = max(_TOP + rows * tall + (rows - 1) * 0.8 + _BOTTOM, _LEAST_TALL)
    figure = new_figure(max(wide, _LEAST_WIDE), height)
    club_of = np.array([clubs.index(kind.club) for kind in result.types])[result.shots.type]
    for k, club in enumerate(clubs):
        row, column = divmod(k, columns)
        bottom = height - _TOP - tall - row * (tall + 0.8)
        axes = axes_at(figure, _LEFT + column * (_PANEL + _GAP), bottom, _PANEL, tall)
        _panel(axes, result, club_of == k, side, up, edges)
        axes.set_title(f"{club}: {_past(result, club_of == k)}", fontsize=NORMAL, loc="left", pad=4)
        axes.set_xlabel("left-right (deg), right +", fontsize=SMALL)
        if column == 0:
            axes.set_ylabel("up (deg)", fontsize=SMALL)
    _key(figure, result)
    cell = " by ".join(f"{edge[1] - edge[0]:g}" for edge in edges)
    below = f"size: the share that gets past, in cells of {cell} deg; mark and colour: what most of those do"
    heading(figure, "Launch directions that get past the protection", below)
    return figure


def _past(result: RunResult, chosen: NDArray[np.bool_]) -> str:
    """How often a ball of these shots gets past the protection."""
    weight = result.weight[chosen]
    past = weight[result.fates.escaped[chosen]].sum()
    return f"{one_in(float(past / weight.sum()) if past > 0.0 else 0.0)} past"


def _edges(angles: Array) -> Array:
    """Cell edges that hold every angle, deg; finer where the spread is small."""
    low, high = float(angles.min()), float(angles.max())
    span = high - low
    step = 2.0 if span < 70.0 else 3.0 if span < 120.0 else 4.0 if span < 180.0 else 6.0
    return np.arange(np.floor(low / step), np.floor(high / step) + 2) * step


def _panel(
    axes: Axes, result: RunResult, chosen: NDArray[np.bool_], side: Array, up: Array, edges: tuple[Array, Array]
) -> None:
    count, share, commonest = cells_of(result, chosen, side, up, edges)
    enough = count >= _few(result)
    _squares(axes, edges, np.argwhere(enough), np.ones(int(enough.sum())), {"facecolor": QUIET, "edgecolor": "white"})
    few = (count > 0) & ~enough
    _hatch(axes, few, edges)
    middles = [(edge[:-1] + edge[1:]) / 2.0 for edge in edges]
    for outcome in ESCAPES:
        here = (commonest == outcome) & (share > 0.0)
        big = np.array(SIDES)[np.searchsorted(LEVELS, share[here & enough], side="right")]
        i, j = np.nonzero(here & enough)
        _marks(axes, outcome, middles[0][i], middles[1][j], MARK * big)
        i, j = np.nonzero(here & few)
        _marks(axes, outcome, middles[0][i], middles[1][j], np.full(i.size, FEW_MARK))
    axes.axhline(0.0, color=GREY, linewidth=0.6)
    axes.axvline(0.0, color=GREY, linewidth=0.6)
    axes.set_xlim(edges[0][0], edges[0][-1])
    axes.set_ylim(edges[1][0], edges[1][-1])


def _marks(axes: Axes, outcome: Outcome, across: Array, up: Array, size: Array) -> None:
    """Marks of an outcome, told apart by shape as well as by colour; size `(k,)`, points."""
    stroke = STROKES[outcome]
    line = 0.9 if stroke.mark in "x+" else 0.3
    axes.scatter(across, up, s=size**2, marker=stroke.mark, color=stroke.colour, linewidths=line, zorder=3)


def cells_of(
    result: RunResult, chosen: NDArray[np.bool_], side: Array, up: Array, edges: tuple[Array, Array]
) -> tuple[Array, Array, Cells]:
    """For each cell: its shots, the share of them that got past, and which outcome most of those have, the worse one
    of two that are alike.
    """
    bins = [
        np.searchsorted(edge, angle[chosen], side="right") - 1 for edge, angle in zip(edges, (side, up), strict=True)
    ]
    shape = len(edges[0]) - 1, len(edges[1]) - 1
    cell = np.ravel_multi_index((bins[0], bins[1]), shape)
    size, weight, outcome = shape[0] * shape[1], result.weight[chosen], result.outcome[chosen]
    count = np.bincount(cell, minlength=size).astype(float)
    whole = np.bincount(cell, weights=weight, minlength=size)
    gone = np.stack([np.bincount(cell, weight * (outcome == kind), minlength=size) for kind in ESCAPES])
    share = np.divide(gone.sum(axis=0), whole, out=np.zeros(size), where=whole > 0.0)
    return count.reshape(shape), share.reshape(shape), gone.argmax(axis=0).reshape(shape)


def _squares(axes: Axes, edges: tuple[Array, Array], cells: Cells, sides: Array, look: dict[str, Any]) -> None:
    """Rectangles in the middles of cells `(k, 2)`, their sides as parts `(k,)` of the cells'."""
    if not len(cells):
        return
    low = np.stack([edge[cells[:, k]] for k, edge in enumerate(edges)], axis=-1)
    high = np.stack([edge[cells[:, k] + 1] for k, edge in enumerate(edges)], axis=-1)
    middle, half = (low + high) / 2.0, (high - low) / 2.0 * sides[:, None]
    turns = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    corners = middle[:, None, :] + half[:, None, :] * turns
    axes.add_collection(PolyCollection(list(corners), linewidths=0.3, **look), autolim=False)


def _hatch(axes: Axes, cells: NDArray[np.bool_], edges: tuple[Array, Array]) -> None:
    """Hatch these cells, as one outline: a hatch for each would be slow."""
    across, up = edges
    squares = [
        Path([(across[i], up[j]), (across[i + 1], up[j]), (across[i + 1], up[j + 1]), (across[i], up[j + 1])])
        for i, j in np.argwhere(cells)
    ]
    if squares:
        whole = Path.make_compound_path(*squares)
        axes.add_patch(PathPatch(whole, facecolor="none", edgecolor="0.6", linewidth=0.0, hatch="//////"))


def _few(result: RunResult) -> int:
    """A grid point stands for itself; a sampled cell needs some shots."""
    return FEW if result.sampled else 1


def _key(figure: Figure, result: RunResult) -> None:
    wide, tall = figure.get_size_inches()
    place = 1.0 - (_RIGHT - 0.15) / wide, 1.0 - _TOP / tall
    look: dict[str, Any] = {"fontsize": TINY, "frameon": False, "alignment": "left", "borderaxespad": 0.0,
                            "title_fontsize": TINY, "handlelength": 1.8, "labelspacing": 0.35}  # fmt: skip
    steps: list[Artist] = [Patch(facecolor=QUIET)]
    words = ["none seen"]
    for side, share in zip(SIDES, WORDS, strict=True):
        steps.append(Line2D([], [], linestyle="none", marker="D", markersize=MARK * side * 0.8, color=INK))
        words.append(share)
    if result.sampled:
        steps.append(Patch(facecolor="white", edgecolor="0.6", linewidth=0.0, hatch="//////"))
        words.append(f"fewer than {FEW} shots")
        steps.append(Line2D([], [], linestyle="none", marker=".", markersize=4, color=INK))
        words.append("small: any of these")
    figure.legend(steps, words, loc="upper left", bbox_to_anchor=place, title="share that got past", **look)
    seen = [outcome for outcome in ESCAPES if (result.outcome == outcome).any()]
    colours = [Line2D([], [], **mark_look(outcome, 5.0, hollow=False)) for outcome in seen]
    low = place[0], 1.0 - (_TOP + 0.35 + 0.14 * len(steps)) / tall
    if seen:
        figure.legend(
            colours,
            [_wrapped(outcome) for outcome in seen],
            loc="upper left",
            bbox_to_anchor=low,
            title="most of those",
            **look,
        )


def _wrapped(outcome: Outcome) -> str:
    return fill(OUTCOME_WORDS[outcome], 22)
