"""The launch map: which up angles and left-right angles do not end at a guard, club by club."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path
from numpy.typing import NDArray

from flightsim.contact.outcomes import Outcome
from flightsim.report.style import GREY, NORMAL, SMALL, TINY, axes_at, heading, new_figure
from flightsim.report.words import NOT_MET_WORDS
from flightsim.study.result import RunResult

Array = NDArray[np.float64]

FEW = 5  # shots a cell needs before its share is shown
LEVELS = (0.0, 1e-9, 0.05, 0.25, 0.5, 0.75, 1.0 - 1e-9, 1.0)
WORDS = ("none seen", "under 5 %", "5 to 25 %", "25 to 50 %", "50 to 75 %", "over 75 %", "all of them")
# White to dark by way of vermillion: even steps of lightness, so that grey print tells them apart too.
SHADES = ("#ffffff", "#fdeee2", "#fbd3b4", "#f4a873", "#d9722f", "#9c4310", "#4a1d05")
_PANEL, _GAP, _LEFT, _BOTTOM, _TOP, _RIGHT = 2.1, 0.4, 0.6, 0.5, 0.95, 1.6  # inches
_LEAST_WIDE = 6.0  # inches: room for the heading
_ACROSS = 3  # panels a row


def launch_map(result: RunResult) -> Figure:
    """Share of shots that did not meet a guard first, over launch angles, one panel a club."""
    clubs = list(dict.fromkeys(kind.club for kind in result.types))
    up, side = np.degrees(result.shots.elevation), np.degrees(result.shots.azimuth)
    edges = _edges(side), _edges(up)
    columns = min(_ACROSS, len(clubs))
    rows = -(-len(clubs) // columns)
    tall = _PANEL * float(np.clip(np.ptp(edges[1]) / np.ptp(edges[0]), 0.4, 1.3))
    wide = _LEFT + columns * _PANEL + (columns - 1) * _GAP + _RIGHT
    figure = new_figure(max(wide, _LEAST_WIDE), _TOP + rows * tall + (rows - 1) * 0.8 + _BOTTOM)
    club_of = np.array([clubs.index(kind.club) for kind in result.types])[result.shots.type]
    for k, club in enumerate(clubs):
        row, column = divmod(k, columns)
        bottom = _BOTTOM + (rows - 1 - row) * (tall + 0.8)
        axes = axes_at(figure, _LEFT + column * (_PANEL + _GAP), bottom, _PANEL, tall)
        _panel(axes, result, club_of == k, side, up, edges)
        axes.set_title(f"{club}: {int((club_of == k).sum()):,} shots", fontsize=NORMAL, loc="left", pad=4)
        axes.set_xlabel("left-right (deg), right +", fontsize=SMALL)
        if column == 0:
            axes.set_ylabel("up (deg)", fontsize=SMALL)
    _key(figure, result)
    cell = " by ".join(f"{edge[1] - edge[0]:g}" for edge in edges)
    below = f"share of shots that {NOT_MET_WORDS}, in cells of {cell} deg, each shot at its weight"
    heading(figure, "Launch directions that do not end at a guard", below)
    return figure


def _edges(angles: Array) -> Array:
    """Cell edges that hold every angle, deg; finer where the spread is small."""
    low, high = float(angles.min()), float(angles.max())
    span = high - low
    step = 2.0 if span < 70.0 else 3.0 if span < 120.0 else 4.0 if span < 180.0 else 6.0
    return np.arange(np.floor(low / step), np.floor(high / step) + 2) * step


def _panel(
    axes: Axes, result: RunResult, mine: NDArray[np.bool_], side: Array, up: Array, edges: tuple[Array, Array]
) -> None:
    past = result.outcome != Outcome.MET_GUARD
    count, _, _ = np.histogram2d(side[mine], up[mine], bins=edges)
    whole, _, _ = np.histogram2d(side[mine], up[mine], bins=edges, weights=result.weight[mine])
    gone, _, _ = np.histogram2d(side[mine], up[mine], bins=edges, weights=(result.weight * past)[mine])
    share = np.divide(gone, whole, out=np.zeros_like(gone), where=whole > 0.0)
    enough = count >= _few(result)
    colours, norm = ListedColormap(list(SHADES)), BoundaryNorm(LEVELS, len(SHADES))
    shown = np.ma.array(np.clip(share, 0.0, 1.0 - 5e-10), mask=~enough)
    axes.pcolor(*edges, shown.T, cmap=colours, norm=norm, edgecolors="0.75", linewidth=0.3)
    few = (count > 0) & ~enough
    _hatch(axes, few, edges)
    middles = [(edge[:-1] + edge[1:]) / 2.0 for edge in edges]
    i, j = np.nonzero(few & (gone > 0.0))
    axes.plot(middles[0][i], middles[1][j], linestyle="none", marker=".", markersize=2.5, color=SHADES[-1])
    axes.axhline(0.0, color=GREY, linewidth=0.6)
    axes.axvline(0.0, color=GREY, linewidth=0.6)


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
    steps: list[Artist] = [Patch(facecolor=shade, edgecolor=GREY, linewidth=0.4) for shade in SHADES]
    words = list(WORDS)
    if result.sampled:
        steps.append(Patch(facecolor="white", edgecolor="0.6", linewidth=0.0, hatch="//////"))
        words.append(f"fewer than {FEW} shots")
        steps.append(Line2D([], [], linestyle="none", marker=".", markersize=4, color=SHADES[-1]))
        words.append("one or more of these")
    wide, tall = figure.get_size_inches()
    figure.legend(
        steps, words, loc="upper left", bbox_to_anchor=(1.0 - (_RIGHT - 0.15) / wide, 1.0 - _TOP / tall),
        fontsize=TINY, frameon=False, alignment="left", borderaxespad=0.0, title="share of the shots\nin a cell",
        title_fontsize=TINY, handlelength=1.8, labelspacing=0.35,
    )  # fmt: skip
