"""One strike, drawn from the side and from above: the way of the head, where the face points, how the ball leaves."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle
from numpy.typing import NDArray

from flightsim.report.draw.style import BLUE, GREY, INK, NORMAL, SMALL, TINY, axes_at, heading, new_figure
from flightsim.scenario.reading.display import Display
from flightsim.study.single.one_strike import OneStrike, Struck, loft_of

Array = NDArray[np.float64]

_WIDTH, _PANEL, _GAP, _LEFT, _HEAD, _FOOT = 9.0, 4.1, 0.3, 0.25, 0.85, 0.35  # inches
_LONGEST = 1.95  # inches: the ball's arrow
_NORMAL, _FACE = 1.0, 0.55  # inches: the face's normal, and half of the line along the face
_BALL = 0.16  # inches
_APART = 0.19  # inches between words


@dataclass(frozen=True)
class _Arrow:
    """An arrow from the ball's middle in one view: where it ends `(2,)`, inches, its words and its look."""

    end: Array
    words: str
    colour: str
    width: float
    dashes: bool = False


def one_strike_figure(struck: Struck, order: OneStrike, units: str) -> Figure:
    """The strike from the side and from above; the arrows of head and ball are as long as they are fast."""
    ways = _ways(struck, order)
    ends = [np.concatenate([[np.zeros(2)], [way[list(axes)] for way, _, _ in ways]]) for axes in ((0, 2), (0, 1))]
    tall = max(1.9, *(float(np.ptp(points[:, 1])) + 1.0 for points in ends))
    figure = new_figure(_WIDTH, _HEAD + tall + _FOOT)
    views = (("From the side", (0, 2), ("down", "up")), ("From above", (0, 1), ("right", "left")))
    for column, ((title, axes, sides), points) in enumerate(zip(views, ends, strict=True)):
        place = axes_at(figure, _LEFT + column * (_PANEL + _GAP), _FOOT, _PANEL, tall)
        _view(place, title, [_arrow(way, axes, sides, name, look) for way, name, look in ways], points, tall)
    display = Display("imperial" if units == "imperial" else "metric")
    speed = float(struck.numbers["ball_speed_m_s"])
    below = f"the head at {display.speed(order.club_speed)}, the ball at {display.speed(speed)}: arrows as long as fast"
    heading(figure, "The strike, from the side and from above", below)
    figure.text(0.3 / _WIDTH, 0.12 / (_HEAD + tall + _FOOT), "the target is to the right; blue: where the face points",
                fontsize=TINY, color=GREY)  # fmt: skip
    return figure


def _ways(struck: Struck, order: OneStrike) -> list[tuple[Array, str, tuple[str, float, bool]]]:
    """Head, face and ball: each as `(3,)` inches, its name, and its look."""
    number = {name: float(value) for name, value in struck.numbers.items() if not isinstance(value, str)}
    hand = -1.0 if order.left else 1.0
    fastest = max(order.club_speed, number["ball_speed_m_s"])
    head = _LONGEST * order.club_speed / fastest * _way(order.attack, hand * order.path)
    face = _NORMAL * _way(loft_of(order), hand * order.face)
    launch = _way(radians(number["elevation_deg"]), radians(number["azimuth_deg"]))
    ball = _LONGEST * number["ball_speed_m_s"] / fastest * launch
    return [(head, "head", (GREY, 1.0, True)), (face, "face", (BLUE, 1.0, False)), (ball, "ball", (INK, 1.6, False))]


def _way(up: float, right: float) -> Array:
    """Unit direction `(3,)`: down-range, to the left, up."""
    return np.array([cos(up) * cos(right), -cos(up) * sin(right), sin(up)])


def _arrow(
    way: Array, axes: tuple[int, int], sides: tuple[str, str], name: str, look: tuple[str, float, bool]
) -> _Arrow:
    off = np.degrees(np.arcsin(np.clip(way[2] / np.linalg.norm(way), -1, 1)) if axes[1] == 2 else
                     np.arctan2(way[1], way[0]))  # fmt: skip
    words = (
        f"{name}: {abs(off):.1f} deg {sides[1] if off > 0.0 else sides[0]}" if abs(off) >= 0.05 else f"{name}: 0 deg"
    )
    return _Arrow(way[list(axes)], words, *look)


def _view(axes: Axes, title: str, arrows: list[_Arrow], points: Array, tall: float) -> None:
    """The whole strike in one view, 1 unit an inch; words in a column at the right, each tied to its arrow."""
    low = min(float(points[:, 1].min()) - 0.35, -0.75)
    axes.set_xlim(-0.75, _PANEL - 0.75)
    axes.set_ylim(low, low + tall)
    axes.set_axis_off()
    axes.set_title(title, fontsize=NORMAL, loc="left")
    axes.plot([-0.75, _PANEL - 0.75], [0.0, 0.0], color="0.8", linewidth=0.5, zorder=1)
    axes.add_patch(Circle((0.0, 0.0), _BALL, facecolor="white", edgecolor=INK, linewidth=0.9, zorder=3))
    levels = _levels([float(arrow.end[1]) for arrow in arrows])
    for arrow, level in zip(arrows, levels, strict=True):
        line = (0, (4.0, 2.0)) if arrow.dashes else "-"
        look = {"arrowstyle": "-|>", "color": arrow.colour, "linewidth": arrow.width, "linestyle": line,
                "shrinkA": 0, "shrinkB": 0}  # fmt: skip
        axes.annotate("", tuple(arrow.end), (0.0, 0.0), arrowprops=look, zorder=4)
        right = float(max(arrow.end[0], 0.0)) + 0.1
        axes.plot([arrow.end[0], right + 0.1], [arrow.end[1], level], color="0.7", linewidth=0.4, zorder=2)
        axes.text(right + 0.12, level, arrow.words, fontsize=SMALL, va="center", color=arrow.colour, zorder=5,
                  bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})  # fmt: skip
    _face(axes, next(arrow for arrow in arrows if arrow.words.startswith("face")).end)


def _face(axes: Axes, normal: Array) -> None:
    """The face, seen edge on, where it touches the ball."""
    length = float(np.hypot(*normal))
    if length < 1e-6:
        return
    along, middle = np.array([-normal[1], normal[0]]) / length, -normal / length * _BALL
    axes.plot(*np.stack([middle - _FACE * along, middle + _FACE * along]).T, color=BLUE, linewidth=1.4, zorder=2)


def _levels(wanted: list[float]) -> list[float]:
    """Heights for words near those wanted, at least `_APART` from one another."""
    order = np.argsort(wanted, kind="stable")
    found = np.array(wanted)[order]
    for k in range(1, len(found)):
        found[k] = max(found[k], found[k - 1] + _APART)
    found -= (found - np.array(wanted)[order]).mean()
    levels = np.empty(len(found))
    levels[order] = found
    return [float(level) for level in levels]
