"""A bay as line work: walls heavy, guards in long dashes and dots, things in the room thin, openings dashed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon
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

X, Y, Z = np.eye(3)


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


def draw_bay(axes: Axes, bay: Bay, view: View, scale: float, faint: bool = False) -> None:
    """Draw the room's outline, every part and every opening, in a view. faint: lightly, so that ways stand out."""
    frame = view.frame(scale)
    wall = {"edgecolor": GREY, "linewidth": THIN_LINE} if faint else {"edgecolor": INK, "linewidth": WALL_LINE}
    _polygon(axes, room_outline(bay, frame), zorder=4, **wall)
    for part in bay.parts:
        if not (view is FRONT and _behind(bay, part)):
            _draw_part(axes, part, frame, faint)
    for opening in bay.openings:
        draw_opening(axes, bay, opening, view, frame)


def _draw_part(axes: Axes, part: Part, frame: Frame, faint: bool) -> None:
    if not faint:
        _DRAW[part.role](axes, part, frame)
    elif part.role is not Role.FLOOR and (not is_wall(part) or _oblique(part, frame)):
        look = {"edgecolor": GUARD_COLOUR if part.role is Role.GUARD else FAINT, "linewidth": HAIR_LINE, "zorder": 3}
        for outline in silhouettes(part.shape, frame):
            _polygon(axes, outline, **look)


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


def _draw_floor(axes: Axes, part: Part, frame: Frame) -> None:
    if part.kind is PartKind.FLOOR:
        return  # the room's outline shows it
    for outline in silhouettes(part.shape, frame):
        _polygon(axes, outline, edgecolor=GREY, linewidth=THIN_LINE * 0.8, zorder=2)


def _draw_unprotected(axes: Axes, part: Part, frame: Frame) -> None:
    wall = is_wall(part)
    if wall and not _oblique(part, frame):
        return  # the room's outline shows it
    look = {"facecolor": "0.88"} if part.fragile else {}
    for outline in silhouettes(part.shape, frame):
        _polygon(axes, outline, edgecolor=INK, linewidth=THIN_LINE, zorder=3, **look)


def _oblique(part: Part, frame: Frame) -> bool:
    """Whether a sheet is seen neither square nor edge on: the two slopes of a roof."""
    normal = sheet_normal(part.shape)
    return normal is not None and 1e-6 < abs(float(normal @ frame.normal)) < 1.0 - 1e-6


def _draw_guard(axes: Axes, part: Part, frame: Frame) -> None:
    look = {"edgecolor": GUARD_COLOUR, "linewidth": GUARD_LINE, "linestyle": GUARD_DASHES, "zorder": 5}
    for outline in silhouettes(part.shape, frame):
        _polygon(axes, outline, **look)


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
    for zone in sorted(bay.zones, key=lambda zone: zone.head):
        face = HEAD_FACE if zone.head else ZONE_FACE
        for outline in silhouettes(zone.seen, frame):
            if not outlines_only:
                _polygon(axes, outline, facecolor=face, edgecolor="none", zorder=1)
            _polygon(axes, outline, edgecolor=GREY, linewidth=HAIR_LINE, linestyle=ZONE_DASHES, zorder=1.5)


def draw_tee(axes: Axes, spots: Iterable[Array], frame: Frame, size: float) -> None:
    """A cross in a ring where the ball stands, for each spot `(3,)`, m; size in user units."""
    for spot in spots:
        x, y = frame.flat(spot)
        axes.plot([x - size, x + size], [y, y], color=INK, linewidth=0.9, zorder=8)
        axes.plot([x, x], [y - size, y + size], color=INK, linewidth=0.9, zorder=8)
        axes.add_artist(Circle((x, y), size * 0.6, facecolor="none", edgecolor=INK, linewidth=0.9, zorder=8))


def _polygon(axes: Axes, outline: Array, **look: Any) -> None:
    """A closed outline; one seen edge on is a single line, for a line drawn twice would fill its own dashes."""
    if len(outline) < 2:
        return
    look = {"facecolor": "none", "joinstyle": "miter", "closed": len(outline) > 2, **look}
    axes.add_artist(Polygon(outline, **look))  # the limits are set: add_patch would measure it for them
