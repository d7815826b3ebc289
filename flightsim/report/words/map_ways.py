"""Ways past the protection in words: escapes over one edge told once, gaps with their size, things by their name."""

from __future__ import annotations

from math import degrees

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.scenario.reading.display import Display
from flightsim.study.map.bay_map import BayMap, ClubMap
from flightsim.study.map.directions import apart, unit
from flightsim.study.map.nearest_escapes import Escape
from flightsim.study.map.ways_out import Way

Array = NDArray[np.float64]
ONE_EDGE = 2.0  # deg: escapes past the same thing that leave nearer to one another than this are over one edge
TOUCHING = 0.001  # m: things that are nearer to one another meet
_EVERY = 0.02  # m between the points at which a gap is measured
WAY_WORDS = {
    Way.OVER: "over the {past}",
    Way.LEFT: "left of the {past}",
    Way.RIGHT: "right of the {past}",
    Way.UNDER: "under the {past}",
    Way.CEILING: "to the {met}",
    Way.GAP: "through the gap between {past} and {other}",
    Way.BACK: "backward",
}
_PLAIN = {Way.OVER: "over", Way.LEFT: "to the left", Way.RIGHT: "to the right", Way.UNDER: "under"}


def at_its_speed(club: ClubMap) -> list[Escape]:
    """The nearest escapes at the map's own speed, nearest first: of those over one edge the nearest alone."""
    kept: list[Escape] = []
    for escape in (one for one in club.escapes if one.factor == 1.0):
        if not any(_one_edge(escape, other) for other in kept):
            kept.append(escape)
    return kept


def _one_edge(a: Escape, b: Escape) -> bool:
    """Whether two escapes pass the same thing within a few degrees."""
    things = {a.past, a.other} & {b.past, b.other} - {""}
    one, other = (unit(shot.elevation, shot.azimuth) for shot in (a.shot, b.shot))
    alike = bool(things) or (a.way is b.way and not (a.past or b.past))
    return alike and degrees(float(apart(one, other))) < ONE_EDGE


def way_words(escape: Escape, found: BayMap | None = None) -> str:
    """`left of the left side net`; of a gap with how wide it is, where the bay is known; of a thing by its name.

    A gap that is narrower somewhere than a ball is no slot, but a corner that opens away from there: it is told so.
    """
    if not escape.past and escape.way in _PLAIN:
        return _PLAIN[escape.way]
    words = WAY_WORDS[escape.way].format(past=escape.past, other=escape.other, met=escape.shot.region.name)
    wide = None if found is None or escape.way is not Way.GAP else gap_width(found.opened.bay, escape)
    if wide is None or found is None:
        return words
    if wide >= 2.0 * found.opened.physics.ball.radius:
        return f"{words}, {gap_words(wide, found)} wide"
    if wide < TOUCHING:
        return f"past the corner where {escape.past} and {escape.other} meet"
    return f"past the corner of {escape.past} and {escape.other}, {gap_words(wide, found)} apart there"


def gap_words(wide: float, found: BayMap) -> str:
    """How wide a gap is: `34 mm`, `1 3/8 in`."""
    show = Display(found.opened.scenario.units)
    return show.length(wide) if show.units == "imperial" else f"{wide * 1000.0:.0f} mm"


def gap_width(bay: Bay, escape: Escape) -> float | None:
    """The least distance between the two things that a gap is between, m; None where one is not there."""
    one, other = (_parts(bay, name) for name in (escape.past, escape.other))
    if not one or not other:
        return None
    points = np.concatenate([_rim(part) for part in one]).T
    return max(0.0, min(float(part.shape.distance(points)[0].min()) for part in other))


def _parts(bay: Bay, name: str) -> list[Part]:
    return [part for part in bay.parts if name in (part.label, part.name) and part.role is Role.GUARD]


def _rim(part: Part) -> Array:
    """Points `(n, 3)` along a part's outlines."""
    points = []
    for outline in part.shape.outlines():
        for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            count = max(2, int(np.linalg.norm(end - start) / _EVERY))
            points.append(start + np.linspace(0.0, 1.0, count)[:, None] * (end - start))
    return np.concatenate(points)


def is_guard(found: BayMap, name: str) -> bool:
    """Whether anything of this name stops balls."""
    return bool(_parts(found.opened.bay, name))
