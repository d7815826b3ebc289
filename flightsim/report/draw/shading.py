"""Squares shaded by an amount: steps of ink, light to dark, as legible in grey as in colour."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from flightsim.report.draw.style import GREY, TINY

Array = NDArray[np.float64]
_PALE, _MID, _DEEP = np.array([0.90, 0.94, 0.98]), np.array([0.35, 0.55, 0.75]), np.array([0.03, 0.10, 0.25])


def shades(levels: Sequence[float]) -> tuple[ListedColormap, BoundaryNorm]:
    """Even steps of ink between these levels; what is beyond the ends has the step at the end."""
    share = np.linspace(0.0, 1.0, len(levels) - 1)[:, None]
    ramp = np.where(share < 0.5, _PALE + (_MID - _PALE) * 2 * share, _MID + (_DEEP - _MID) * (2 * share - 1))
    return ListedColormap(ramp.tolist()), BoundaryNorm(levels, len(levels) - 1, clip=True)


def squares(axes: Axes, amounts: Array, edges: tuple[Array, Array], levels: Sequence[float], zorder: float = 3) -> None:
    """Shade squares by their amounts `(across, up)`; those with nothing stay blank."""
    colours, norm = shades(levels)
    shown = np.ma.masked_less_equal(amounts.T, 0.0)
    axes.pcolormesh(*edges, shown, cmap=colours, norm=norm, zorder=zorder).set_rasterized(True)


def edges_within(low: Array, high: Array, cell: float) -> tuple[Array, Array]:
    """Edges of squares, across and up, that fill a box `(2,)`: the last row and column may be narrower."""
    across, up = (np.append(np.arange(a, b - 1e-3 * cell, cell), b) for a, b in zip(low, high, strict=True))
    return across, up


def edges_of(low: Array, high: Array, cell: float) -> tuple[Array, Array]:
    """Edges of squares of one size, across and up, that cover a box `(2,)`; the edges are whole multiples of it."""
    across, up = (np.arange(np.floor(a / cell), np.ceil(b / cell) + 1) * cell for a, b in zip(low, high, strict=True))
    return across, up


def totals(places: Array, weights: Array, edges: tuple[Array, Array]) -> Array:
    """The weights of all places `(n, 2)` in each square `(across, up)`."""
    return np.asarray(np.histogram2d(places[:, 0], places[:, 1], bins=edges, weights=weights)[0])


def shading_key(
    figure: Figure, levels: Sequence[float], title: str, place: tuple[float, float], counts: bool = False
) -> None:
    """The steps of the shading in words, the darkest first; place: upper left, in parts of the sheet.

    counts: the amounts are whole numbers, and the levels lie between them.
    """
    colours, _ = shades(levels)
    steps = [Patch(facecolor=colours(k), edgecolor=GREY, linewidth=0.4) for k in range(len(levels) - 1)]
    words = [f"{a:,g} to {b:,g}" for a, b in pairwise(levels)]
    words[0], words[-1] = f"under {levels[1]:,g}", f"over {levels[-2]:,g}"
    if counts:
        steps_of = [(int(a + 0.5), int(b - 0.5)) for a, b in pairwise((0.5, *levels[1:]))]
        words = [f"{a:,}" if a == b else f"{a:,} to {b:,}" for a, b in steps_of]
        words[-1] = f"over {steps_of[-2][1]:,}"
    look: dict[str, Any] = {"frameon": False, "fontsize": TINY, "alignment": "left", "borderaxespad": 0.0,
                            "title_fontsize": TINY, "handlelength": 1.6, "labelspacing": 0.25}  # fmt: skip
    figure.legend(steps[::-1], words[::-1], loc="upper left", bbox_to_anchor=place, title=title, **look)
