"""A bay as line work: walls heavy, guards in long dashes and dots, things in the room thin, openings dashed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PathCollection
from matplotlib.patches import Circle
from matplotlib.path import Path
from numpy.typing import NDArray

from flightsim.bay.parts import OF_THE_ROOM, Bay, Opening, Part, PartKind, Role
from flightsim.report.draw.projection import Frame, hull, sheet_normal, silhouettes
from flightsim.report.draw.style import (
    FAINT,
    GREY,
    GUARD_COLOUR,
    GUARD_DASHES,
    GUARD_LINE,
    HAIR_LINE,
    HEAD_FACE,
    INK,
    OPENING_DASHES,
    THIN_LINE,
    WALL_LINE,
    ZONE_DASHES,
    ZONE_FACE,
)

Array = NDArray[np.float64]
Look = dict[str, Any]  # of an outline: its colours, width and dashes

X, Y, Z = np.eye(3)
_LOOKS = ("facecolor", "edgecolor", "linewidth", "linestyle")


@dataclass(frozen=True)
class View:
    """A way to look at the bay: its name, the paper's right and up, and the direction toward the viewer."""

    name: str
    right: Array
    up: Array

    @property
    def toward(self) -> Array:
        """Unit direction `(3,)` from the paper to the viewer."""
        return np.cross(self.right, self.up)

    def frame(self, scale: float) -> Frame:
        """The view as a drawing plane through the tee."""
        return Frame(np.zeros(3), self.right, self.up, scale)


PLAN = View("plan", X, Y)
SIDE = View("side elevation", X, Z)
FRONT = View("front elevation", -Y, Z)


def is_wall(part: Part) -> bool:
    """Whether a part is a surface of the room itself: a wall or the roof. A shut door in it is not."""
    return part.kind is PartKind.WALL


class _Outlines:
    """Closed outlines of many things, put on a drawing as one artist a layer: a fraction of an artist each."""

    def __init__(self) -> None:
        self.layers: dict[float, list[tuple[Path, Look]]] = {}

    def add(self, outline: Array, *, zorder: float, **look: Any) -> None:
        """An outline `(k, 2)`, user units. One seen edge on is a single line: drawn twice it would fill its dashes."""
        if len(outline) < 2:
            return
        path = Path(_closed(outline), closed=True) if len(outline) > 2 else Path(outline)
        self.layers.setdefault(zorder, []).append((path, {"facecolor": "none", "linestyle": "-", **look}))

    def put_on(self, axes: Axes) -> None:
        """Draw them, each layer in the order in which it was added."""
        for zorder, outlines in self.layers.items():
            looks = {f"{name}s": [look[name] for _, look in outlines] for name in _LOOKS}
            artist = PathCollection([path for path, _ in outlines], joinstyle="miter", zorder=zorder, **looks)
            axes.add_artist(artist)  # the limits are set: add_collection would measure it for them


def draw_bay(axes: Axes, bay: Bay, view: View, scale: float, faint: bool = False) -> None:
    """Draw the room's outline, every part and every opening, in a view. faint: lightly, so that ways stand out."""
    frame, drawn = view.frame(scale), _Outlines()
    wall = {"edgecolor": GREY, "linewidth": THIN_LINE} if faint else {"edgecolor": INK, "linewidth": WALL_LINE}
    drawn.add(room_outline(bay, frame), zorder=4, **wall)
    for part in bay.parts:
        if not (view is FRONT and _behind(bay, part)):
            _draw_part(drawn, part, frame, faint)
    drawn.put_on(axes)
    for opening in bay.openings:
        draw_opening(axes, bay, opening, view, frame)


def _draw_part(drawn: _Outlines, part: Part, frame: Frame, faint: bool) -> None:
    if not faint:
        _DRAW[part.role](drawn, part, frame)
    elif part.role is not Role.FLOOR and (not is_wall(part) or _oblique(part, frame)):
        look: Look = {"edgecolor": GUARD_COLOUR if part.role is Role.GUARD else FAINT, "linewidth": HAIR_LINE}
        for outline in silhouettes(part.shape, frame):
            drawn.add(outline, zorder=3, **look)


def _behind(bay: Bay, part: Part) -> bool:
    """Whether a part is in the back wall: behind whoever looks at the screen."""
    return bool(part.shape.bounds()[1][0] <= bay.lower[0] + 1e-3)


def is_surface(part: Part) -> bool:
    """Whether a part lies in the room's surfaces: walls and roof, and the shut doors and panes in them."""
    return part.kind in OF_THE_ROOM and part.role is Role.UNPROTECTED and sheet_normal(part.shape) is not None


def room_outline(bay: Bay, frame: Frame) -> Array:
    """The room's outline `(k, 2)`, user units: the hull of its surfaces, for rooms are convex."""
    corners = [outline for part in bay.parts if is_wall(part) for outline in part.shape.outlines()]
    corners += [opening.corners for opening in bay.openings]
    floor = np.stack([bay.lower, bay.upper]) * np.array([1.0, 1.0, 0.0])
    return hull(frame.flat(np.concatenate([floor, *corners])))


def _draw_floor(drawn: _Outlines, part: Part, frame: Frame) -> None:
    if part.kind is PartKind.FLOOR:
        return  # the room's outline shows it
    for outline in silhouettes(part.shape, frame):
        drawn.add(outline, edgecolor=GREY, linewidth=THIN_LINE * 0.8, zorder=2)


def _draw_unprotected(drawn: _Outlines, part: Part, frame: Frame) -> None:
    wall = is_wall(part)
    if wall and not _oblique(part, frame):
        return  # the room's outline shows it
    look = {"facecolor": "0.88"} if part.fragile else {}
    for outline in silhouettes(part.shape, frame):
        drawn.add(outline, edgecolor=INK, linewidth=THIN_LINE, zorder=3, **look)


def _oblique(part: Part, frame: Frame) -> bool:
    """Whether a sheet is seen neither square nor edge on: the two slopes of a roof."""
    normal = sheet_normal(part.shape)
    return normal is not None and 1e-6 < abs(float(normal @ frame.normal)) < 1.0 - 1e-6


def _draw_guard(drawn: _Outlines, part: Part, frame: Frame) -> None:
    look: Look = {"edgecolor": GUARD_COLOUR, "linewidth": GUARD_LINE, "linestyle": GUARD_DASHES}
    for outline in silhouettes(part.shape, frame):
        drawn.add(outline, zorder=5, **look)


_DRAW = {Role.FLOOR: _draw_floor, Role.UNPROTECTED: _draw_unprotected, Role.GUARD: _draw_guard}


def draw_opening(axes: Axes, bay: Bay, opening: Opening, view: View, frame: Frame) -> None:
    """An opening: a break in a wall seen edge on, a dashed outline seen face on."""
    facing = float(opening.normal @ view.toward)
    outline = frame.flat(opening.corners)
    look: dict[str, Any] = {"color": INK, "linewidth": THIN_LINE, "linestyle": OPENING_DASHES}
    if abs(facing) < 0.3:
        if view is not PLAN and not _fills_depth(bay, opening, view):
            return  # the wall goes on behind it
        axes.plot(*_ends(outline), color="white", linewidth=WALL_LINE + 1.2, zorder=5, solid_capstyle="butt")
        axes.plot(*_ends(outline), zorder=6, **look)
    elif not (view is FRONT and opening.normal[0] < 0.0):  # the back is behind the viewer
        axes.plot(*_closed(outline).T, zorder=3, **look)


def _fills_depth(bay: Bay, opening: Opening, view: View) -> bool:
    deep = float(np.abs((bay.upper - bay.lower) @ view.toward))
    return float(np.ptp(opening.corners @ view.toward)) > 0.95 * deep


def _closed(outline: Array) -> Array:
    return np.concatenate([outline, outline[:1]])


def _ends(outline: Array) -> Array:
    """The two ends `(2, 2)`, as x and y, of an outline seen edge on."""
    along = outline[np.argmax(np.linalg.norm(outline - outline[0], axis=1))] - outline[0]
    place = outline @ along
    return np.stack([outline[place.argmin()], outline[place.argmax()]]).T


def draw_people(axes: Axes, bay: Bay, frame: Frame, outlines_only: bool = False) -> None:
    """Where people are, lightly: dotted outlines, their heads a little darker."""
    drawn = _Outlines()
    for zone in sorted(bay.zones, key=lambda zone: zone.head):
        face = HEAD_FACE if zone.head else ZONE_FACE
        for outline in silhouettes(zone.seen, frame):
            if not outlines_only:
                drawn.add(outline, facecolor=face, edgecolor="none", linewidth=0.0, zorder=1)
            drawn.add(outline, edgecolor=GREY, linewidth=HAIR_LINE, linestyle=ZONE_DASHES, zorder=1.5)
    drawn.put_on(axes)


def draw_tee(axes: Axes, spots: Iterable[Array], frame: Frame, size: float) -> None:
    """A cross in a ring where the ball stands, for each spot `(3,)`, m; size in user units."""
    for spot in spots:
        x, y = frame.flat(spot)
        axes.plot([x - size, x + size], [y, y], color=INK, linewidth=0.9, zorder=8)
        axes.plot([x, x], [y - size, y + size], color=INK, linewidth=0.9, zorder=8)
        axes.add_artist(Circle((x, y), size * 0.6, facecolor="none", edgecolor=INK, linewidth=0.9, zorder=8))
