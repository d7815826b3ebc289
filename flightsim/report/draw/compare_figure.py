"""A few balls that only one of two bays lets past, drawn with their whole ways in both, side by side."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.fates import Outcome
from flightsim.contact.log import ContactLog
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.linework import PLAN, SIDE, View, draw_bay, draw_people, draw_tee
from flightsim.report.draw.paths import draw_ways
from flightsim.report.draw.sheet import Panel
from flightsim.report.draw.style import GREY, NORMAL, SMALL, STROKES, TINY, axes_at, heading, mark_look, new_figure
from flightsim.report.words.common_words import ESCAPE_WORDS, OUTCOME_WORDS
from flightsim.scenario.reading.display import Display
from flightsim.study.compare.paired_bays import Comparison
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.proportional import joined
from flightsim.study.run.replay import Replay

Index = NDArray[np.intp]

EACH = 3  # balls of a kind: more ways with all their rebounds would hide one another
_WIDTH, _PAD, _HEAD, _FOOT = 10.0, 0.25, 0.95, 0.75  # inches


def compare_figure(found: Comparison, bays: Sequence[OpenBay]) -> Figure:
    """Side elevation over plan, the first bay on the left, the second on the right, the same balls in both."""
    chosen = _chosen(found)
    sizes = [bay.bay.upper - bay.bay.lower for bay in bays]
    half = _WIDTH / 2.0
    per_metre = min((half - 2.0 * _PAD) / max(size[0] for size in sizes), 3.2 / max(size[1] for size in sizes))
    rows = [max(size[k] for size in sizes) * per_metre + 2.0 * _PAD for k in (2, 1)]
    figure = new_figure(_WIDTH, _HEAD + sum(rows) + _FOOT)
    seen: set[Outcome] = set()
    for column, (bay, name) in enumerate(zip(bays, found.names, strict=True)):
        flown = flown_again(bay, chosen, found.seed)
        seen |= {Outcome(code) for code in flown.fates.outcomes()}
        places = ((SIDE, _FOOT + rows[1], rows[0]), (PLAN, _FOOT, rows[1]))
        for view, low, tall in places:
            panel = _panel(figure, bay, view, per_metre, (column * half, low, half, tall))
            _draw(panel, bay, flown, bay_as_played(found.results[column]))
        words = ("First: ", "Second: ")[column] + name
        figure.text(column / 2.0 + 0.03, 1.0 - 0.75 / figure.get_size_inches()[1], words, fontsize=NORMAL, va="top")
    _legend(figure, seen)
    heading(figure, "Balls that only one of the two bays lets past", _below(found, chosen))
    return figure


def _chosen(found: Comparison) -> Index:
    """The first few balls of either kind."""
    return np.sort(np.concatenate([found.worse[:EACH], found.better[:EACH]]))


def flown_again(bay: OpenBay, shots: Index, seed: int) -> Replay:
    """Fly these shots again in a bay, with every contact kept."""
    flyer, log = Flyer.of(bay, seed), ContactLog()
    table = joined([flyer.draw(int(shot), 1) for shot in shots])
    launches = table.launches()
    _, fates = flyer.follow(table, False, log)
    physics = bay.physics
    return Replay(shots, launches.start, launches.velocity, log.sorted(), fates, physics.ball.radius, physics.gravity)


def _panel(
    figure: Figure, bay: OpenBay, view: View, per_metre: float, place: tuple[float, float, float, float]
) -> Panel:
    scale, _ = Display(bay.scenario.units).length_axis
    axes = axes_at(figure, *place)
    frame, inch = view.frame(scale), scale / per_metre
    corners = frame.flat(np.stack([bay.bay.lower, bay.bay.upper]))
    lower, upper = corners.min(axis=0), corners.max(axis=0)
    left, foot = lower - _PAD * inch
    axes.set_xlim(left, left + place[2] * inch)
    axes.set_ylim(foot, foot + place[3] * inch)
    axes.set_axis_off()
    return Panel(axes, view, frame, inch, lower, upper)


def _draw(panel: Panel, opened: OpenBay, flown: Replay, played: Bay) -> None:
    scale, _ = Display(opened.scenario.units).length_axis
    draw_people(panel.axes, played, panel.frame)
    draw_bay(panel.axes, opened.bay, panel.view, scale)
    draw_tee(panel.axes, tee_spots(opened.scenario), panel.frame, 0.055 * panel.inch)
    outcomes = flown.fates.outcomes()
    for k in range(len(flown)):
        outcome = Outcome(outcomes[k])
        draw_ways(panel, [flown.way(k)], STROKES[outcome], opened.scenario.harm_speed_of(opened.physics.ball.mass))
        x, y = panel.frame.flat(flown.fates.point[:, k][None, :])[0]
        panel.axes.plot([x], [y], zorder=9, **mark_look(outcome, 4.5))
        panel.axes.annotate(f"{k + 1}", (x, y), (4, 3), textcoords="offset points", fontsize=TINY, zorder=10)


def _below(found: Comparison, chosen: Index) -> str:
    if not chosen.size:
        return "No ball tells the two apart on these shots."
    return (
        f"{min(found.worse.size, EACH)} of {found.worse.size:,} that {ESCAPE_WORDS} only in the second, "
        f"{min(found.better.size, EACH)} of {found.better.size:,} only in the first; a ball has the same number in both"
    )


def _legend(figure: Figure, seen: set[Outcome]) -> None:
    handles = [
        Line2D([], [], color=STROKES[o].colour, linestyle=STROKES[o].dashes, linewidth=STROKES[o].width,
               marker=STROKES[o].mark, markersize=4.5, markerfacecolor="none", label=OUTCOME_WORDS[o])
        for o in sorted(seen)
    ]  # fmt: skip
    tall = figure.get_size_inches()[1]
    if handles:
        figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(0.03, 0.3 / tall), ncol=4, fontsize=SMALL,
                      frameon=False, borderaxespad=0.0)  # fmt: skip
    words = "Mark: where the ball was followed to. Hairline: slower than the harm speed."
    figure.text(0.03, 0.1 / tall, words, fontsize=TINY, color=GREY)
