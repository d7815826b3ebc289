"""The swing that comes nearest to something, drawn: for `swing_room`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import Shape
from flightsim.bay.swing import Swing

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]
INK, GREY, BLUE, RED = "black", "0.35", "#0072B2", "#C03A00"  # Okabe & Ito 2008, told apart by all eyes

APART = 0.26  # m between the middles of numbers


def silhouette(flat: Array) -> Array:
    """The outline `(2, k)` of points `(2, n)` seen in a view: their hull; the two ends where they lie on a line."""
    from scipy.spatial import ConvexHull

    middle = flat - flat.mean(axis=1, keepdims=True)
    across, size, _ = np.linalg.svd(middle, full_matrices=False)
    if size[1] < 1e-6 * max(size[0], 1e-6):
        along = across[:, 0] @ middle
        return flat[:, [int(along.argmin()), int(along.argmax())]]
    return flat[:, ConvexHull(flat.T).vertices]


def draw_bay(axes: Axes, bay: Bay, view: Array) -> None:
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
        if not zone.own_hand and zone.seen.outlines():
            outline = silhouette(view @ np.concatenate(zone.seen.outlines()).T)
            axes.fill(*outline, facecolor="0.93", edgecolor=GREY, linewidth=0.5, linestyle=":", zorder=0)


def draw_swing(axes: Axes, swing: Swing, view: Array, room: tuple[Array, Array], margin: float) -> None:
    """The disc inside the room, dotted what is around it, the hub; red and hatched what of it lies outside the room."""
    rim, ring = swing.rim(180), np.linspace(0.0, 2.0 * np.pi, 60)
    inside = within(rim.T, *room)
    for outside in beyond(rim.T, *room):
        flat = view @ outside.T
        edge_on = silhouette(flat).shape[1] == 2
        look: dict[str, Any] = {"linewidth": 5.0} if edge_on else {"facecolor": "#F6C9B8", "hatch": "////"}
        axes.fill(*silhouette(flat), edgecolor=RED, zorder=2.5, **look)
    if len(inside) > 2:
        flat = silhouette(view @ inside.T)
        around = (flat[:, :, None] + margin * np.stack([np.cos(ring), np.sin(ring)])[:, None, :]).reshape(2, -1)
        axes.fill(*silhouette(around), fill=False, color=RED, linewidth=0.7, linestyle=":")
        axes.fill(*flat, fill=False, color=RED, linewidth=1.8, zorder=3)
    axes.plot(*(view @ swing.hub), marker="+", color=RED, markersize=9, zorder=4)


def within(polygon: Array, lower: Array, upper: Array) -> Array:
    """What of a flat convex polygon `(k, 3)`, m, is in a box: `(m, 3)`, empty where nothing is."""
    for axis in range(3):
        for sign, limit in ((1.0, upper[axis]), (-1.0, -lower[axis])):
            polygon = _cut(polygon, sign * np.eye(3)[axis], float(limit))
    return polygon


def beyond(polygon: Array, lower: Array, upper: Array) -> list[Array]:
    """What of it is beyond each wall, the floor left out: a club may be said to reach the ground."""
    found = []
    for axis, sign, limit in ((0, 1.0, upper[0]), (0, -1.0, lower[0]), (1, 1.0, upper[1]), (1, -1.0, lower[1]),
                              (2, 1.0, upper[2])):  # fmt: skip
        outside = _cut(polygon, -sign * np.eye(3)[axis], float(-sign * limit))
        if len(outside) > 2:
            found.append(outside)
    return found


def _cut(polygon: Array, normal: Array, limit: float) -> Array:
    """The part of a convex polygon `(k, 3)` with normal . p <= limit: Sutherland & Hodgman 1974, CACM 17:32."""
    if not len(polygon):
        return polygon
    depth = polygon @ normal - limit
    kept: list[Array] = []
    for k in range(len(polygon)):
        here, before = depth[k], depth[k - 1]
        if (here <= 0.0) != (before <= 0.0):
            part = before / (before - here)
            kept.append(polygon[k - 1] + part * (polygon[k] - polygon[k - 1]))
        if here <= 0.0:
            kept.append(polygon[k])
    return np.array(kept).reshape(-1, 3)


def draw_player(axes: Axes, swing: Swing, view: Array, ground: float, height: float) -> None:
    """A plain figure of somebody of this stature at the ball, arms at the hub: proportions by eye, for scale alone."""
    from matplotlib.patches import Circle

    hub = swing.hub

    def point(along: float, back: float, up: float) -> Array:
        return np.asarray(view @ np.array([hub[0] + along, hub[1] + swing.side * back, ground + up * height]))

    shoulder, hips, head = point(0.0, 0.05, 0.78), point(0.0, 0.26, 0.5), point(0.0, 0.02, 0.9)
    feet = point(0.22, 0.14, 0.0), point(-0.22, 0.14, 0.0)
    ball = view @ np.array([hub[0], hub[1] - swing.side * 0.02, hub[2]])
    look: dict[str, Any] = {"color": "0.6", "linewidth": 4.5, "solid_capstyle": "round", "zorder": 1}
    for line in ((shoulder, hips), (hips, feet[0]), (hips, feet[1]), (shoulder, ball)):
        axes.plot(*np.stack(line).T, **look)
    axes.add_patch(Circle((float(head[0]), float(head[1])), 0.065 * height, facecolor="0.6", zorder=1))


def draw_height(axes: Axes, swing: Swing, view: Array, ground: float, show: Callable[[float], str]) -> None:
    """How high the disc reaches above what the player stands on, as an arrow beside it."""
    x, top = view @ swing.places(np.array([[0.0], [swing.radius]]))[:, 0]
    arrow = {"arrowstyle": "<->", "color": GREY, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (x, top), (x, ground), arrowprops=arrow)
    label = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
    axes.text(x, ground + 0.3 * (top - ground), show(top - ground), fontsize=7, color=GREY, ha="center", bbox=label)


def draw_gap(
    axes: Axes, shapes: Sequence[Shape], gap: float, point: Array, view: Array, number: int, taken: list[Array]
) -> None:
    """The shortest way from a point of the disc to a thing, with its number beside all others; a cross where it hits.

    taken: where numbers are already, m in the view; this one is added.
    """
    distance, normal = min((shape.distance(point[:, None]) for shape in shapes), key=lambda way: float(way[0][0]))
    start, end = view @ point, view @ (point - distance[0] * normal[:, 0])
    mark: dict[str, Any] = {"marker": ".", "markersize": 4, "color": INK}
    if gap <= 0.0:
        mark = {"marker": "x", "markersize": 9, "markeredgewidth": 2.0, "color": RED}
    axes.plot(*np.stack([start, end]).T, linewidth=0.8, zorder=5, **mark)
    place = apart((start + end) / 2.0, taken)
    taken.append(place)
    axes.plot(*np.stack([(start + end) / 2.0, place]).T, color=GREY, linewidth=0.5, zorder=5)
    look = {
        "boxstyle": "circle,pad=0.2",
        "facecolor": "white",
        "edgecolor": RED if gap <= 0.0 else INK,
        "linewidth": 0.8,
    }
    axes.text(float(place[0]), float(place[1]), f"{number}", fontsize=7, ha="center", va="center", bbox=look, zorder=6)


def apart(place: Array, taken: Sequence[Array]) -> Array:
    """The free place `(2,)`, m, nearest to this one, that keeps APART from all that are taken."""
    angles = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False) + 0.8
    for reach in (0.22, 0.34, 0.46, 0.6, 0.8):
        for angle in angles:
            candidate = place + reach * np.array([np.cos(angle), np.sin(angle)])
            if all(np.hypot(*(candidate - other)) >= APART for other in taken):
                return np.asarray(candidate)
    return place
