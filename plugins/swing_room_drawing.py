"""The swing that comes nearest to something, drawn: for `swing_room`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import Shape
from flightsim.bay.swing import Swing

Array = NDArray[np.float64]
INK, GREY, BLUE, RED = "black", "0.35", "#0072B2", "#D55E00"  # Okabe & Ito 2008, told apart by all eyes


def silhouette(flat: Array) -> Array:
    """The outline `(2, k)` of points `(2, n)` seen in a view: their hull; the two ends where they lie on a line."""
    from scipy.spatial import ConvexHull

    middle = flat - flat.mean(axis=1, keepdims=True)
    across, size, _ = np.linalg.svd(middle, full_matrices=False)
    if size[1] < 1e-6 * max(size[0], 1e-6):
        along = across[:, 0] @ middle
        return flat[:, [int(along.argmin()), int(along.argmax())]]
    return flat[:, ConvexHull(flat.T).vertices]


def draw_bay(axes: Any, bay: Bay, view: Array) -> None:
    """Outlines of all things; the room's sheets seen face on are left out: those seen edge on draw it."""
    for part in bay.parts:
        outlines = part.shape.outlines()
        outline = silhouette(view @ np.concatenate(outlines).T) if outlines else np.empty((2, 0))
        if part.owner == "room" and len(outlines) == 1 and outline.shape[1] > 2 and part.label != "roof":
            continue
        look: dict[str, Any] = {"color": INK, "linewidth": 1.8 if part.owner == "room" and len(outlines) == 1 else 0.9}
        if part.role is Role.GUARD:
            look = {"color": BLUE, "linewidth": 1.4, "linestyle": (0, (7.0, 1.6, 1.4, 1.6))}
        axes.fill(*outline, fill=False, **look)
    for zone in bay.zones:
        if not zone.own_hand and zone.shape.outlines():
            outline = silhouette(view @ np.concatenate(zone.shape.outlines()).T)
            axes.fill(*outline, facecolor="0.93", edgecolor=GREY, linewidth=0.5, linestyle=":", zorder=0)


def draw_swing(
    axes: Any, swing: Swing, view: Array, ground: float, margin: float, show: Callable[[float], str]
) -> None:
    """The disc, what is around it, the hub, and how high it reaches above what the player stands on."""
    rim, ring = view @ swing.rim(120), np.linspace(0.0, 2.0 * np.pi, 60)
    around = (rim[:, :, None] + margin * np.stack([np.cos(ring), np.sin(ring)])[:, None, :]).reshape(2, -1)
    axes.fill(*silhouette(around), fill=False, color=RED, linewidth=0.8, linestyle=":")
    axes.fill(*silhouette(rim), fill=False, color=RED, linewidth=1.8)
    axes.plot(*(view @ swing.hub), marker="+", color=RED, markersize=9)
    x, top = view @ swing.places(np.array([[0.0], [swing.radius]]))[:, 0]
    arrow = {"arrowstyle": "<->", "color": GREY, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (x, top), (x, ground), arrowprops=arrow)
    label = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
    axes.text(x, ground + 0.3 * (top - ground), show(top - ground), fontsize=7, color=GREY, ha="center", bbox=label)


def draw_gap(axes: Any, shapes: Sequence[Shape], gap: float, point: Array, view: Array, number: int) -> None:
    """The shortest way from a point of the disc to a thing, with its number; a cross where it hits."""
    distance, normal = min((shape.distance(point[:, None]) for shape in shapes), key=lambda way: float(way[0][0]))
    start, end = view @ point, view @ (point - distance[0] * normal[:, 0])
    mark = {"marker": "x", "markersize": 7} if gap <= 0.0 else {"marker": ".", "markersize": 4}
    axes.plot(*np.stack([start, end]).T, color=INK, linewidth=0.8, **mark)
    look = {"boxstyle": "circle,pad=0.2", "facecolor": "white", "edgecolor": INK, "linewidth": 0.6}
    axes.annotate(f"{number}", (start + end) / 2.0, (7, 7), textcoords="offset points", fontsize=7, bbox=look)
