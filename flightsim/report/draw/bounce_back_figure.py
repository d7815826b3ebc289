"""How far from the screen balls first land and where they end: two lines a club, along the floor from screen to tee."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from flightsim.bay.parts import PartKind
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.style import GREY, GUARD_COLOUR, INK, NORMAL, SMALL, TINY, axes_at, heading, new_figure
from flightsim.scenario.reading.display import Display
from flightsim.study.run.bounce_back import in_front
from flightsim.study.run.result import Reach, RunResult

_WIDE, _ROW, _LEFT, _RIGHT, _BOTTOM, _TOP = 7.5, 0.62, 1.35, 0.35, 0.75, 0.95  # inches
_LANDS, _ENDS = 0.16, -0.16  # of a row, above and below its middle
BELOW = (
    "Thick: half of the balls. Thin: 9 in 10. Tick: the farthest. Black: where they first land; grey: where they end."
)


def bounce_back_figure(result: RunResult) -> Figure:
    """The picture of a run that has bounce-backs. Raises ValueError where it has none."""
    clubs = result.bounce_back
    if not clubs:
        raise ValueError("no bounce-back to draw")
    scale, unit = Display(result.scenario.units).length_axis
    figure = new_figure(_WIDE, _BOTTOM + _TOP + _ROW * len(clubs))
    axes = axes_at(figure, _LEFT, _BOTTOM, _WIDE - _LEFT - _RIGHT, _ROW * len(clubs))
    for row, club in enumerate(clubs):
        for reach, height, colour in ((club.first_landing, row - _LANDS, INK), (club.end, row - _ENDS, GREY)):
            if reach is not None:
                _line(axes, reach, height, scale, colour)
    _tees(axes, result, scale)
    axes.set_yticks(range(len(clubs)), [club.club for club in clubs], fontsize=NORMAL)
    axes.set_ylim(len(clubs) - 0.5, -0.5)
    axes.set_xlim(left=min(0.0, axes.get_xlim()[0]))
    axes.axvline(0.0, color=GUARD_COLOUR, linewidth=2.0)
    axes.set_xlabel(f"from the screen ({unit})", fontsize=SMALL)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    heading(figure, "Bounce-back", BELOW)
    return figure


def _line(axes: Axes, reach: Reach, height: float, scale: float, colour: str) -> None:
    median, long, farthest = (scale * each for each in (reach.median, reach.p90, reach.max))
    axes.plot([0.0, median], [height, height], color=colour, linewidth=3.2, solid_capstyle="butt")
    axes.plot([median, long], [height, height], color=colour, linewidth=1.0)
    axes.plot([farthest], [height], color=colour, marker="|", markersize=8, linestyle="none")


def _tees(axes: Axes, result: RunResult, scale: float) -> None:
    """Where balls are hit from."""
    screen = result.bay.guards_of(PartKind.SCREEN)[0]
    for number, spot in enumerate(tee_spots(result.scenario)):
        far = scale * float(in_front(screen, spot[:, None])[0])
        axes.axvline(far, color=GREY, linewidth=0.8, linestyle=(0, (4.0, 2.5)))
        words = "tee" if number == 0 else ""
        axes.annotate(words, (far, 1.0), (2, 2), xycoords=("data", "axes fraction"), textcoords="offset points",
                      fontsize=TINY, color=GREY)  # fmt: skip
