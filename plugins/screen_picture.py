"""The picture on a screen: whether strips along its edges, and what hangs before it, leave it whole."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import TYPE_CHECKING

from flightsim.bay.parts import OF_THE_ROOM, Part, PartKind, Role
from flightsim.plugin.hookspecs import BayView
from flightsim.scenario.reading.names import one_word

if TYPE_CHECKING:
    from flightsim_plugins.screen import Screen

EYES = 1.65  # m above the ground: of a man of 1.76 m (from memory)
BEFORE = 0.3  # m before the cloth: what is nearer covers it (judgement)


def spare_of_pictures(view: BayView) -> dict[str, float]:
    """By how much each picture that is said has room on its screen, m: `screen.picture_screen`; below 0 not.

    What covers the cloth's edges takes of it, and what hangs before it, as seen from where balls are hit.
    """
    return {
        f"screen.picture_{one_word(screen.name)}": min(_room(view, screen, cloth))
        for screen in view.entries
        for cloth in view.bay.guards_of(PartKind.SCREEN)
        if cloth.label == screen.name and screen.picture_width is not None and screen.picture_height is not None
    }


def _room(view: BayView, screen: Screen, cloth: Part) -> tuple[float, float]:
    """Width and height that are left beyond the picture's, m."""
    lower, upper = cloth.shape.bounds()
    right, left = float(lower[1]), float(upper[1])
    foot, top = float(lower[2]), float(upper[2])
    for part in _before(view, cloth):
        (_, r, f), (_, w, t) = part.shape.bounds()
        if t - f > w - r:  # along a side
            right, left = (max(right, float(w)), left) if r <= lower[1] else (right, min(left, float(r)))
        elif f > (foot + top) / 2.0:
            top = min(top, float(f))
    top = min(top, _seen_to(view, cloth))
    return (left - right) - float(screen.picture_width or 0.0), (top - foot) - float(screen.picture_height or 0.0)


def _before(view: BayView, cloth: Part) -> Iterator[Part]:
    """What lies over the edges of the cloth, close before it."""
    lower, upper = cloth.shape.bounds()
    for part in view.bay.parts:
        near, far = part.shape.bounds()
        close = far[0] <= lower[0] + 1e-6 and far[0] > lower[0] - BEFORE
        over = (near[1:] < upper[1:] - 1e-6).all() and (far[1:] > lower[1:] + 1e-6).all()
        if part is not cloth and part.kind not in OF_THE_ROOM and part.role is not Role.FLOOR and close and over:
            yield part


def _seen_to(view: BayView, cloth: Part) -> float:
    """How high the cloth is seen past what hangs before it, m, from the eyes of whoever stands at each tee."""
    scenario, face = view.scenario, float(cloth.shape.bounds()[0][0])
    spots = [(spot.from_end_wall, spot.from_left_wall) for spot in scenario.tee.spots]
    eyes = [scenario.along(s) for s, _ in spots] or [0.0]
    height, seen = scenario.ground_height + EYES, inf
    for part in view.bay.parts:
        if part.role is not Role.GUARD or part.kind in (PartKind.SCREEN, PartKind.SIDE):
            continue
        for corner in (corner for outline in part.shape.outlines() for corner in outline):
            for eye in eyes:
                if eye < corner[0] < face - BEFORE and corner[2] > height:
                    seen = min(seen, height + (float(corner[2]) - height) * (face - eye) / (float(corner[0]) - eye))
    return seen
