"""The look of all pictures: line work on white paper, told apart by line and mark as well as by colour.

Colours: Okabe & Ito 2008, "Color Universal Design", the set that people with any colour vision can tell apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from PIL import Image

from flightsim.contact.fates import Outcome
from flightsim.report.draw.glyphs import GlyphCanvas
from flightsim.report.draw.lettering import make_legible

DPI = 150
NEARLY_WHITE = 254  # of 255: what octrees make of white paper
LEVEL = 6  # of compression: 9 takes three times as long for a file as large
COLOURS = 160  # of a picture: line work needs no more, and its file is a third as large
INK, GREY, FAINT = "black", "0.35", "0.72"
BLUE, VERMILLION, PURPLE, GREEN = "#0072B2", "#D55E00", "#CC79A7", "#009E73"
TINY, SMALL, NORMAL, TITLE = 7.0, 8.0, 9.0, 12.0  # points

WALL_LINE, GUARD_LINE, THIN_LINE, HAIR_LINE = 2.4, 1.8, 0.8, 0.5  # points
GUARD_COLOUR = BLUE
ZONE_FACE, HEAD_FACE, ZONE_DASHES = "0.94", "0.87", (0, (1.0, 1.8))
GUARD_DASHES = (0, (7.0, 1.6, 1.4, 1.6))
OPENING_DASHES = (0, (4.0, 2.5))


@dataclass(frozen=True)
class Stroke:
    """How the paths of one outcome are drawn, and the mark at their end."""

    colour: str
    dashes: Any
    mark: str
    width: float = 0.9


# The worse, the darker and the heavier, in even steps of lightness, so that grey print tells them apart too; told
# apart as well by eyes without one kind of cone (simulated after Machado et al. 2009, IEEE Trans. Vis. 15:1291).
STROKES = {
    Outcome.UNRESOLVED: Stroke("#000000", (0, (1.0, 1.0)), "*", 1.7),
    Outcome.PERSON_HIT: Stroke("#6A0518", "-", "D", 1.6),
    Outcome.GOT_OUT: Stroke("#4B2E9E", (0, (7.0, 1.5, 1.2, 1.5)), "^", 1.5),
    Outcome.BROKE_THROUGH: Stroke("#9C391E", (0, (3.0, 1.2)), "v", 1.4),
    Outcome.PAST_EDGE: Stroke("#237D5C", (0, (5.0, 1.2, 1.2, 1.2, 1.2, 1.2)), ">", 1.3),
    Outcome.STRUCK_THROUGH: Stroke("#DA5F33", (0, (1.8, 1.0)), "P", 1.2),
    Outcome.HIT_UNPROTECTED: Stroke("#D18F00", (0, (7.0, 2.0)), "x", 1.1),
    Outcome.ROLLED_DEAD: Stroke("#74C0AE", (0, (1.6, 1.6)), "s", 1.0),
    Outcome.HELD: Stroke("#B3DCE4", "-", "o", 0.9),
}
WORST_FIRST = tuple(Outcome)
ESCAPES = tuple(outcome for outcome in Outcome if outcome.escape)


def mark_look(outcome: Outcome, size: float, hollow: bool = True) -> dict[str, Any]:
    """How marks of an outcome are plotted: size in points; hollow, or filled."""
    stroke = STROKES[outcome]
    face = "none" if hollow else stroke.colour
    return {"linestyle": "none", "marker": stroke.mark, "markersize": size, "color": stroke.colour,
            "markeredgewidth": 0.7, "markerfacecolor": face}  # fmt: skip


def new_figure(width: float, height: float) -> Figure:
    """A white sheet, inches, with its own canvas: nothing global."""
    figure = Figure(figsize=(width, height), facecolor="white")
    GlyphCanvas(figure)
    return figure


def axes_at(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Axes at a place given in inches from the sheet's lower left corner."""
    across, up = figure.get_size_inches()
    axes: Axes = figure.add_axes((left / across, bottom / up, width / across, height / up))
    axes.tick_params(labelsize=SMALL, width=0.6, length=3)
    for spine in axes.spines.values():
        spine.set_linewidth(0.6)
    return axes


class _BareAxes(Axes):
    """Axes without ticks: making those that nobody sees takes three times as long as all else of an empty picture."""

    def _init_axis(self) -> None:
        super()._init_axis()  # type: ignore[misc]
        for axis in (self.xaxis, self.yaxis):
            axis.set_clip_path = partial(Artist.set_clip_path, axis)  # type: ignore[method-assign]

    def tick_params(self, axis: str = "both", **look: Any) -> None:
        """Nothing has this look."""

    def grid(self, *given: Any, **look: Any) -> None:
        """There is none."""


def bare_axes_at(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Axes at a place, without anything to read from."""
    across, up = figure.get_size_inches()
    place = (left / across, bottom / up, width / across, height / up)
    axes: Axes = figure.add_axes(place, axes_class=_BareAxes)
    axes.set_axis_off()
    return axes


def heading(figure: Figure, title: str, below: str = "") -> None:
    """Title and a line under it, at the sheet's upper left."""
    across, up = figure.get_size_inches()
    figure.text(0.3 / across, 1.0 - 0.16 / up, title, fontsize=TITLE, fontweight="bold", va="top", ha="left")
    if below:
        figure.text(0.3 / across, 1.0 - 0.42 / up, below, fontsize=SMALL, va="top", ha="left", color=GREY)


def save(figure: Figure, path: Path, dpi: int = DPI) -> None:
    """Write as PNG of at most COLOURS colours, without a trace of when or by what. Raises OSError."""
    few_colours(pixels(figure, dpi)).save(path, "PNG", compress_level=LEVEL)


def pixels(figure: Figure, dpi: int = DPI) -> Image.Image:
    """A figure as it is on paper, white all over."""
    make_legible(figure)
    figure.set_dpi(dpi)
    canvas: Any = GlyphCanvas(figure)
    canvas.draw()
    return Image.fromarray(np.asarray(canvas.buffer_rgba())).convert("RGB")


def few_colours(drawn: Image.Image) -> Image.Image:
    """The picture in at most COLOURS colours: by eighths of the colours' cube, six times as fast as by median cut."""
    found = drawn.quantize(COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    found.putpalette([255 if part == NEARLY_WHITE else part for part in found.getpalette() or []])
    return found
