"""Which bars meet where: a bar's end at another bar, so close that they can be joined, or at nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flightsim.making.pieces import Bar

Array = NDArray[np.float64]
End = Literal["start", "end"]

GAP = 0.003  # m: what a joint closes up (judgement)
SHARE = 0.4  # of a square-cut end that must lie on the other bar (judgement)
NEAR = 0.6  # of a bar's size: a joint so near its end is at its end
PARALLEL = 0.98  # cosine of two bars
BRACE = "brace"  # roles that begin so are lapped or cut to fit, and bolted


@dataclass(frozen=True)
class Meeting:
    """One end of a bar on another bar. along: on that other one from its start, m."""

    bar: str
    end: End
    on: str
    along: float


def meetings(bars: Sequence[Bar]) -> tuple[Meeting, ...]:
    """Every end that lies on another bar, on the nearest one. Ends that lie on none are not in the list."""
    found = []
    for bar in bars:
        ends: tuple[End, End] = ("start", "end")
        for end in ends:
            near = [
                (gap, other.name, place) for other in bars if other is not bar for gap, place in _meets(bar, end, other)
            ]
            if near:
                _, on, place = min(near)
                found.append(Meeting(bar.name, end, on, place))
    return tuple(found)


def _meets(bar: Bar, end: End, other: Bar) -> list[tuple[float, float]]:
    """Distance of the bar's end from the other's middle line and the place on it, m, where they can be joined."""
    place, along = np.array(bar.start if end == "start" else bar.end), _along(bar)
    start, line = np.array(other.start), _along(other)
    on_other = float(np.clip((place - start) @ line, 0.0, other.span))
    away = float(np.linalg.norm(place - start - on_other * line))
    on_other = _nearest_of_lines(place, along, start, line, on_other, 1.5 * other.section.size, other.span)
    if away > 1.5 * (bar.section.size + other.section.size):
        return []
    if bar.role.startswith(BRACE):
        return [(away, on_other)] if away <= 0.75 * (bar.section.size + other.section.size) + GAP else []
    lean = abs(float(along @ line))
    if lean > PARALLEL:  # one along the other is no joint
        return []
    slack = GAP + bar.section.size * lean / float(np.sqrt(1.0 - lean**2))
    return [(away, on_other)] if _share(bar, place, along, other, slack) >= SHARE else []


def _nearest_of_lines(
    place: Array, along: Array, start: Array, line: Array, on_other: float, room: float, span: float
) -> float:
    """Where along the other bar the two middle lines, led on, come nearest: a bar then meets it without a kink, m.

    on_other: below the bar's end itself, which counts where the lines come nearest elsewhere than within the room, m.
    """
    lean = float(along @ line)
    if abs(lean) > PARALLEL:
        return on_other
    gap = place - start
    best = float((gap @ line - lean * (gap @ along)) / (1.0 - lean**2))
    return float(np.clip(best, 0.0, span)) if abs(best - on_other) <= room else on_other


def _along(bar: Bar) -> Array:
    line = np.array(bar.end) - np.array(bar.start)
    return np.asarray(line / np.linalg.norm(line))


def across(along: Array) -> tuple[Array, Array]:
    """Two directions square to a bar's, the second as upright as it can be."""
    up = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.999 else np.array([1.0, 0.0, 0.0])
    side = np.cross(up, along)
    side /= np.linalg.norm(side)
    return side, np.cross(along, side)


def _share(bar: Bar, place: Array, along: Array, other: Bar, slack: float) -> float:
    """Part of the bar's end that lies within the slack of the other bar, taken as square."""
    steps = (np.arange(7) - 3.0) / 7.0 * bar.section.size
    side, up = across(along)
    points = place + (steps[:, None, None] * side + steps[None, :, None] * up).reshape(-1, 3)
    line = _along(other)
    axes = np.array([line, *across(line)])
    middle = (np.array(other.start) + np.array(other.end)) / 2.0
    half = np.array([other.span, other.section.size, other.section.size]) / 2.0
    beyond = np.maximum(np.abs((points - middle) @ axes.T) - half, 0.0)
    return float((np.linalg.norm(beyond, axis=1) <= slack).mean())


def loose_ends(bars: Sequence[Bar], found: Sequence[Meeting], held: Sequence[tuple[str, End]]) -> list[tuple[str, End]]:
    """Ends that nothing holds and at which no other bar ends: free tips and bars that hang in the air."""
    ends: tuple[End, End] = ("start", "end")
    joined = {(m.bar, m.end) for m in found} | set(held)
    for m in found:
        on = next(bar for bar in bars if bar.name == m.on)
        room = NEAR * on.section.size + 0.5 * next(b for b in bars if b.name == m.bar).section.size
        joined |= {
            (on.name, end)
            for end, end_along in zip(ends, (0.0, on.span), strict=True)
            if abs(m.along - end_along) <= room
        }
    return [(bar.name, end) for bar in bars for end in ends if (bar.name, end) not in joined]
