"""Rulers along two sides of a view, in the user's units."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.report.draw.sheet import Panel
from flightsim.report.draw.style import GREY, TINY

Array = NDArray[np.float64]


def draw_rulers(panel: Panel, unit: str) -> None:
    """A ruler below a view and one to its left, and the view's name over it."""
    view = panel.view
    level = {"front elevation": f"left and right of the tee ({unit})"}.get(
        view.name, f"from the tee toward the screen ({unit})"
    )
    rise = f"across ({unit}), left +" if view.name == "plan" else f"height ({unit})"
    _across(panel, level)
    _up(panel, rise)
    panel.axes.text(
        panel.lower[0], panel.upper[1] + 0.16 * panel.inch, view.name.upper(), fontsize=TINY + 0.5, color=GREY,
        fontweight="bold",
    )  # fmt: skip


def _across(panel: Panel, words: str) -> None:
    axes, height, tick = panel.axes, panel.lower[1] - 0.1 * panel.inch, 0.06 * panel.inch
    axes.plot([panel.lower[0], panel.upper[0]], [height, height], color=GREY, linewidth=0.6)
    for mark in _marks(panel.lower[0], panel.upper[0]):
        axes.plot([mark, mark], [height, height - tick], color=GREY, linewidth=0.6)
        axes.text(mark, height - 1.5 * tick, f"{mark:g}", fontsize=TINY, ha="center", va="top", color=GREY)
    middle = float(panel.lower[0] + panel.upper[0]) / 2.0
    axes.text(middle, height - 0.3 * panel.inch, words, fontsize=TINY, ha="center", va="center", color=GREY)


def _up(panel: Panel, words: str) -> None:
    axes, side, tick = panel.axes, panel.lower[0] - 0.1 * panel.inch, 0.06 * panel.inch
    axes.plot([side, side], [panel.lower[1], panel.upper[1]], color=GREY, linewidth=0.6)
    for mark in _marks(panel.lower[1], panel.upper[1]):
        axes.plot([side, side - tick], [mark, mark], color=GREY, linewidth=0.6)
        axes.text(side - 1.5 * tick, mark, f"{mark:g}", fontsize=TINY, ha="right", va="center", color=GREY)
    middle = float(panel.lower[1] + panel.upper[1]) / 2.0
    look: dict[str, Any] = {"ha": "center", "va": "center", "color": GREY, "rotation": 90}
    axes.text(side - 0.36 * panel.inch, middle, words, fontsize=TINY, **look)


def _marks(low: float, high: float) -> Array:
    """Round places from low to high, about six of them."""
    step = next(s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0) if (high - low) / s <= 8)
    return np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1) * step + 0.0
