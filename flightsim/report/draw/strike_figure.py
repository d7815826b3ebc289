"""One player's strikes with one club, drawn: strike classes as areas of the face, and beside it where the balls go.

The face is seen from behind the ball, as the player looks to the screen, so that right on the face is right in the bay.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from math import cos, sin, tan
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Ellipse, Rectangle
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

from flightsim.errors import BadInputError
from flightsim.report.draw.style import GREY, HAIR_LINE, INK, NORMAL, SMALL, TINY, axes_at, heading, new_figure, save
from flightsim.report.words.common_words import percent
from flightsim.report.words.strike_words import WEAK_LINES, mix_terms, mix_title
from flightsim.scenario.reading.display import INCH, Display
from flightsim.scenario.reading.text import cut
from flightsim.strike.classes import StrikeClass
from flightsim.study.single.strike_mix import ClassMix, StrikeMix

Array = NDArray[np.float64]

DRAWN = 500  # strikes of a class
BANDS = 4  # of ball speed
_ROUND = (5.0, 2.0, 1.0, 0.5, 0.1)  # what their borders are rounded to
# Light to dark by even steps of lightness, so that grey print tells them apart too.
SHADES = ("#c6d8e6", "#7fadd0", "#2f78b0", "#08305c")
# Fill and hatch of the areas; what is clean stays white.
_AREAS = {
    StrikeClass.FACE: ("white", ""),
    StrikeClass.SKY: ("#f3e8c8", "///"),
    StrikeClass.HOSEL: ("#f2d3c2", "xxx"),
    StrikeClass.THIN: ("#dcebf5", "---"),
    StrikeClass.TOP: ("#c3d9e8", "\\\\\\"),
    StrikeClass.TOE: ("#d8ece3", "..."),
    StrikeClass.FAT: ("#e4e4e4", "|||"),
}
_REACH = 0.062  # m drawn to either side of the middle
_LEFT, _FACE, _GAP, _PANEL, _ROW_GAP, _RIGHT = 0.65, 4.1, 0.75, 1.95, 0.5, 0.2  # inches
_BOTTOM, _TOP, _TALL = 0.95, 1.0, 4.4
_LINE = 0.165  # inches between lines of notes


@dataclass(frozen=True)
class _View:
    """Face coordinates on paper: toe-side sign (left-handers' toes are on the left), and user units a metre."""

    mix: StrikeMix
    sign: float
    scale: float
    unit: str

    @property
    def driver(self) -> bool:
        """Whether the height is that above the intended point."""
        return self.mix.club.kind == "driver"

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest place drawn, m."""
        if self.driver:
            return (-0.048, 0.048)
        return (min(-0.024, self.up(self.mix.ball.radius) - 0.014), 0.060)

    def up(self, height: float) -> float:
        """Where on the face a ball is met, m: above the intended point of a driver; else up from the leading edge, for
        a leading edge at this height above the mat, (r (1 - sin L) - h)/cos L.
        """
        if self.driver:
            return height
        loft, r = self.mix.loft, self.mix.ball.radius
        return (r * (1.0 - sin(loft)) - height) / cos(loft)

    def box(self, strike_class: ClassMix) -> tuple[float, float, float, float]:
        """A class's area within what is drawn, m: toe from, to; up from, to."""
        cell, (low, high) = strike_class.stratum.cell, self.span
        ends = sorted(self.up(float(np.clip(end, -1.0, 1.0))) for end in cell.height)
        toe = np.clip(cell.toe, -_REACH, _REACH)
        return float(toe[0]), float(toe[1]), max(ends[0], low), min(ends[1], high)


def strike_figure(mix: StrikeMix, units: str) -> Figure:
    """Areas of the face with their shares; launches of each class, shaded by ball speed."""
    rows = -(-len(mix.classes) // 2)
    width = _LEFT + _FACE + _GAP + 2 * _PANEL + 0.3 + _RIGHT
    figure = new_figure(width, _BOTTOM + _TALL + _TOP)
    imperial = units == "imperial"
    view = _View(mix, -1.0 if mix.order.left else 1.0, *((1.0 / INCH, "in") if imperial else (1000.0, "mm")))
    tall = _FACE * (view.span[1] - view.span[0]) / (2.0 * _REACH)
    below = _BOTTOM + _TALL - tall
    _face(axes_at(figure, _LEFT, below, _FACE, tall), view)
    _notes(figure, view, below - 0.62)
    tall_of_panel = (_TALL - (rows - 1) * _ROW_GAP) / rows
    bands, window = _bands(mix, units), _window(mix)
    for k, strike_class in enumerate(mix.classes):
        row, column = divmod(k, 2)
        left = _LEFT + _FACE + _GAP + column * (_PANEL + 0.3)
        axes = axes_at(figure, left, _BOTTOM + (rows - 1 - row) * (tall_of_panel + _ROW_GAP), _PANEL, tall_of_panel)
        _cloud(axes, strike_class, bands[0], window)
        axes.tick_params(labelbottom=k + 2 >= len(mix.classes), labelleft=column == 0)
        if column == 0:
            axes.set_ylabel("up (deg)", fontsize=SMALL)
        if k + 2 >= len(mix.classes):
            axes.set_xlabel("left-right (deg), right +", fontsize=SMALL)
    _key(figure, bands)
    heading(figure, f"Strikes of a {mix_title(mix)}", f"{mix_terms(mix)}; {_drawn(mix)}")
    return figure


def write_strike_figure(mix: StrikeMix, units: str, path: Path) -> None:
    """Draw into a PNG file, whole or not at all. Raises BadInputError where it cannot go."""
    if path.suffix.lower() != ".png":
        raise BadInputError(f"--figure {path}: is no PNG file\n  allowed: a name that ends in .png\n  try: strikes.png")
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        save(strike_figure(mix, units), beside)
        beside.replace(path)
    except OSError as error:
        words = error.strerror or str(error)
        refusal = f"--figure {cut(str(path), 120)}: cannot be written: {words}\n  try: another name or folder"
        raise BadInputError(refusal) from error
    finally:
        with suppress(OSError):
            beside.unlink()


def _drawn(mix: StrikeMix) -> str:
    drawn = min(DRAWN, min(len(strike_class.speed) for strike_class in mix.classes))
    return f"{drawn:,} launches of each class drawn, seed {mix.order.seed}"


# The face


def _face(axes: Axes, view: _View) -> None:
    low, high = view.span
    for strike_class in view.mix.classes:
        _area(axes, view, strike_class)
    _outline(axes, view)
    _scatter(axes, view)
    for strike_class in view.mix.classes:
        _share(axes, view, strike_class)
    _thresholds(axes, view)
    axes.set_xlim(-_REACH * view.scale, _REACH * view.scale)
    axes.set_ylim(low * view.scale, high * view.scale)
    side = ("toe", "heel") if view.sign < 0.0 else ("heel", "toe")
    axes.set_xlabel(f"toward the {side[0]}   |   toward the {side[1]}, from the middle ({view.unit})", fontsize=SMALL)
    height_words = "above the intended point" if view.driver else "up the face from the leading edge"
    axes.set_ylabel(f"{height_words} ({view.unit})", fontsize=SMALL)
    axes.set_title("Where the ball is met, and how often", fontsize=NORMAL, loc="left", pad=4)


def _area(axes: Axes, view: _View, strike_class: ClassMix) -> None:
    left, right, low, high = view.box(strike_class)
    if low >= high:
        return
    ends = sorted((view.sign * left, view.sign * right))
    fill, hatch = _AREAS[strike_class.stratum.cell.strike_class]
    axes.add_patch(Rectangle(
        (ends[0] * view.scale, low * view.scale), (ends[1] - ends[0]) * view.scale, (high - low) * view.scale,
        facecolor=fill, edgecolor="0.80", hatch=hatch, linewidth=0.0, zorder=1,
    ))  # fmt: skip
    axes.add_patch(Rectangle(
        (ends[0] * view.scale, low * view.scale), (ends[1] - ends[0]) * view.scale, (high - low) * view.scale,
        facecolor="none", edgecolor=INK, linewidth=0.8, zorder=4,
    ))  # fmt: skip


def _outline(axes: Axes, view: _View) -> None:
    """A plain outline, for orientation: no club's in particular."""
    toe, up = _OUTLINES[view.mix.club.kind]()
    axes.plot(view.sign * toe * view.scale, up * view.scale, color=INK, linewidth=1.6, zorder=3)
    if not view.driver:
        for across in (-0.0065, 0.0065):
            rise = np.array([0.012, 0.075])
            hosel = -0.0365 + across - (rise - 0.012) / tan(float(view.mix.club.lie))
            axes.plot(view.sign * hosel * view.scale, rise * view.scale, color=INK, linewidth=1.0,
                      dashes=(5, 2), zorder=3)  # fmt: skip


def _driver() -> tuple[Array, Array]:
    return _oval(0.054, 0.027, 0.0)


def _wood() -> tuple[Array, Array]:
    return _oval(0.045, 0.018, 0.018)


def _oval(wide: float, tall: float, middle: float) -> tuple[Array, Array]:
    turn = np.linspace(0.0, 2.0 * np.pi, 241)
    c, s = np.cos(turn), np.sin(turn)
    return wide * np.sign(c) * np.abs(c) ** 0.8, middle + tall * np.sign(s) * np.abs(s) ** 0.8


def _iron() -> tuple[Array, Array]:
    """Leading edge, rounded toe, top line; the face's middle is half of 40 mm up."""
    bend = np.linspace(-np.pi / 2.0, np.pi / 2.0, 61)
    toe = np.concatenate([[-0.030], 0.026 + 0.016 * np.cos(bend), [-0.030, -0.030]])
    up = np.concatenate([[0.0], 0.0245 + 0.0245 * np.sin(bend), [0.026, 0.0]])
    return toe, up


_OUTLINES = {"driver": _driver, "wood": _wood, "iron": _iron, "wedge": _iron}


def _scatter(axes: Axes, view: _View) -> None:
    """This player's spread: one and two standard deviations of the strike point."""
    player, mix = view.mix.player, view.mix
    if view.driver:
        middle, wide, tall = 0.0, player.driver_toe_sd, player.driver_up_sd
    else:
        middle, wide, tall = view.up(mix.mean_edge), player.iron_toe_sd, player.iron_edge_sd / cos(mix.loft)
    for size, dashes in ((1.0, (None, None)), (2.0, (4.0, 2.0))):
        ring = Ellipse((0.0, middle * view.scale), 2 * size * wide * view.scale, 2 * size * tall * view.scale,
                       facecolor="none", edgecolor=GREY, linewidth=0.9, zorder=5)  # fmt: skip
        if dashes[0] is not None:
            ring.set_linestyle((0, dashes))
        axes.add_patch(ring)


def _share(axes: Axes, view: _View, strike_class: ClassMix) -> None:
    """What a class is called and its share: toward the toe in the rows, low in the columns, clear of face and hosel."""
    left, right, low, high = view.box(strike_class)
    if low >= high:
        return
    column = (low, high) == view.span
    toe = (left + right) / 2.0 if column else right - 0.013
    up = low + (0.12 if column else 0.5 if high < view.span[1] else 0.3) * (high - low)
    axes.text(
        view.sign * toe * view.scale, up * view.scale, f"{strike_class.word}\n{percent(strike_class.share)}",
        fontsize=SMALL, ha="center", va="center", zorder=7, linespacing=1.1,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.4},
    )  # fmt: skip


def _thresholds(axes: Axes, view: _View) -> None:
    """Where one class ends and the next begins, written at the borders."""
    places = 0 if view.unit == "mm" else 2
    heel, toe = -view.mix.thresholds.hosel(view.mix.club), float(view.mix.thresholds.toe)
    rows = {end for strike_class in view.mix.classes for end in view.box(strike_class)[2:]} - set(view.span)
    style: dict[str, Any] = {
        "fontsize": TINY,
        "zorder": 8,
        "bbox": {"facecolor": "white", "edgecolor": "none", "pad": 0.6},
    }
    for border in (heel, toe):
        axes.text(view.sign * border * view.scale, (view.span[1] - 0.002) * view.scale,
                  f"{abs(border) * view.scale:.{places}f}", ha="center", va="top", **style)  # fmt: skip
    for border in rows:
        words = f"{border * view.scale:.{places}f}".replace("-", "\u2212")
        axes.text(
            view.sign * (heel + 0.004) * view.scale, border * view.scale, words, ha="center", va="center", **style
        )


def _notes(figure: Figure, view: _View, top: float) -> None:
    """Under the face: how to read it, and how much to believe of it."""
    wide, tall = figure.get_size_inches()
    rings = [Line2D([], [], color=GREY, linewidth=0.9), Line2D([], [], color=GREY, linewidth=0.9, dashes=(4, 2))]
    figure.legend(
        rings, ["1", "2 standard deviations of the strike point, round its mean"], loc="upper left",
        bbox_to_anchor=(_LEFT / wide, top / tall), ncol=2, fontsize=TINY, frameon=False, borderaxespad=0.0,
        borderpad=0.0, columnspacing=1.0, handlelength=2.4,
    )  # fmt: skip
    lines = ["Seen from behind the ball. Areas go on past the drawing;", "the outline is no club's in particular."]
    if not view.driver:
        lines += ["The lower the club comes, the higher on its face it meets the ball;",
                  "lower still, it meets the mat first: fat."]  # fmt: skip
    lines += WEAK_LINES
    for k, line in enumerate(lines):
        figure.text(_LEFT / wide, (top - (k + 1.2) * _LINE) / tall, line, fontsize=TINY, color=GREY, va="top")


# The launches


def _bands(mix: StrikeMix, units: str) -> tuple[Array, list[str]]:
    """Inner borders of the bands of ball speed, m/s, and the words of each band."""
    scale, unit = Display("imperial" if units == "imperial" else "metric").speed_axis
    speeds = np.concatenate([strike_class.speed[:DRAWN] for strike_class in mix.classes]) * scale
    low, high = np.quantile(speeds, (0.02, 0.98))
    wide = (high - low) / BANDS
    step = next((step for step in _ROUND if step <= wide), _ROUND[-1])
    borders = step * np.floor((low + wide * np.arange(1, BANDS)) / step + 0.5)
    words = [f"under {borders[0]:g} {unit}"]
    words += [f"{a:g} to {b:g} {unit}" for a, b in pairwise(borders)]
    return borders / scale, [*words, f"from {borders[-1]:g} {unit}"]


def _window(mix: StrikeMix) -> Bbox:
    """Launch angles that hold every launch drawn, deg."""
    side = np.degrees(np.concatenate([strike_class.azimuth[:DRAWN] for strike_class in mix.classes]))
    up = np.degrees(np.concatenate([strike_class.elevation[:DRAWN] for strike_class in mix.classes]))
    step = 10.0
    ends = [(step * np.floor((x.min() - 2.0) / step), step * np.ceil((x.max() + 2.0) / step)) for x in (side, up)]
    return Bbox.from_extents(ends[0][0], ends[1][0], ends[0][1], ends[1][1])


def _cloud(axes: Axes, strike_class: ClassMix, borders: Array, window: Bbox) -> None:
    side, up = np.degrees(strike_class.azimuth[:DRAWN]), np.degrees(strike_class.elevation[:DRAWN])
    band = np.searchsorted(borders, strike_class.speed[:DRAWN], side="right")
    axes.axhline(0.0, color=GREY, linewidth=HAIR_LINE, zorder=1)
    axes.axvline(0.0, color=GREY, linewidth=HAIR_LINE, zorder=1)
    axes.scatter(side, up, s=5.0, c=np.array(SHADES)[band], linewidths=0.0, zorder=3)
    axes.set_xlim(window.x0, window.x1)
    axes.set_ylim(window.y0, window.y1)
    axes.set_title(f"{strike_class.word}, {percent(strike_class.share)}", fontsize=NORMAL, loc="left", pad=3)


def _key(figure: Figure, bands: tuple[Array, list[str]]) -> None:
    marks = [Line2D([], [], linestyle="none", marker="o", markersize=5, color=shade) for shade in SHADES]
    wide, tall = figure.get_size_inches()
    left = (_LEFT + _FACE + _GAP) / wide
    figure.legend(
        marks, bands[1], loc="lower left", bbox_to_anchor=(left, 0.1 / tall), ncol=BANDS, fontsize=TINY,
        frameon=False, borderaxespad=0.0, handletextpad=0.2, columnspacing=1.0, title="ball speed",
        title_fontsize=TINY, alignment="left",
    )  # fmt: skip
