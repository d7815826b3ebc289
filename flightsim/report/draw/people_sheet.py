"""Who could be hit: where people are, the ways of the balls that could hit them, how fast, and off what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import fill
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from flightsim.contact.fates import Flag
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.choose import pick_from
from flightsim.report.draw.linework import draw_bay, draw_people, draw_tee
from flightsim.report.draw.numbered import free_place
from flightsim.report.draw.paths import PAD, draw_ways
from flightsim.report.draw.rulers import draw_rulers
from flightsim.report.draw.sheet import Panel, lay_out
from flightsim.report.draw.style import INK, SMALL, TINY, Stroke, bare_axes_at, heading
from flightsim.report.words.common_words import BANDS, NOBODY, as_legal, band_index, bound, one_in, per_thousand
from flightsim.scenario.reading.display import Display
from flightsim.study.run.find_troubles import FROM_TEE as AT_TEE
from flightsim.study.run.find_troubles import by_person, shares_from, zones_of
from flightsim.study.run.present import bay_as_played, zones_present
from flightsim.study.run.replay import Replay, Way
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

EACH = 4  # ways a person and a band of speeds
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
FROM_TEE = "straight from the tee"
# One a band of words.BANDS: the faster, the darker and the heavier.
BAND_STROKES = (
    Stroke("#DFA9A0", (0, (1.2, 1.2)), ".", 0.8),
    Stroke("#D08A80", (0, (5.0, 1.5)), "o", 0.9),
    Stroke("#B2524C", (0, (8.0, 1.5)), "s", 1.2),
    Stroke("#8F1D23", "-", "D", 1.4),
    Stroke("#5C0410", "-", "^", 1.7),
    Stroke("#1A0003", "-", "*", 2.1),
)


@dataclass(frozen=True)
class PersonHits:
    """One person or place: its name, the shots `(k,)` that could hit there, and off what, most first."""

    person: str
    shots: Index
    sources: tuple[str, ...]


def people_of(result: RunResult) -> list[PersonHits]:
    """Everybody in the bay as it is played, those hit most first."""
    none = np.empty(0, dtype=np.intp)
    hit = by_person(result)
    found = [(person, hit.get(person, none)) for person in dict.fromkeys(zone.person for zone in zones_present(result))]
    found = sorted(found, key=lambda pair: -float(result.weight[pair[1]].sum()))
    return [PersonHits(person, shots, _sources(result, person, shots)) for person, shots in found]


def _sources(result: RunResult, person: str, shots: Index) -> tuple[str, ...]:
    """What these balls came from last as they hit this person, most first, by the names of things."""
    if not shots.size:
        return ()
    shares = shares_from(result, zones_of(result.bay, person), shots)
    named = {FROM_TEE if label == AT_TEE else label: share for label, share in shares.items() if share > 0.0}
    return tuple(sorted(named, key=lambda label: -named[label]))


def wanted(result: RunResult) -> Index:
    """The shots whose ways are drawn."""
    shots = []
    for hits in people_of(result):
        band = band_index(result.fates.worst[Flag.PERSON_HIT, hits.shots], result)
        shots += [pick_from(result, hits.shots[band == k], EACH) for k in range(len(BANDS))]
    return np.unique(np.concatenate([np.empty(0, dtype=np.intp), *shots]))


def people_sheet(result: RunResult, flown: Replay) -> Figure:
    """The three views with where people are, and the ways of balls to them. flown: those `wanted`, flown again."""
    bay, display = result.bay, Display(result.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(bay, scale, PAD)
    balls = flown.where(wanted(result))
    balls = balls[flown.fates.with_flag(Flag.PERSON_HIT, balls)]
    ends = flown.spots(bay, Flag.PERSON_HIT, balls).T
    ways = [flown.way(int(k)).until(end) for k, end in zip(balls, ends, strict=True)]
    band = band_index(flown.fates.worst[Flag.PERSON_HIT, balls], result)
    for panel in sheet.panels:
        draw_people(panel.axes, bay_as_played(result), panel.frame)
        draw_bay(panel.axes, bay, panel.view, scale)
        draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.055 * panel.inch)
        draw_rulers(panel, unit)
        _draw(panel, ways, ends, band)
    _letters(sheet.plan, result)
    _key(sheet.figure, sheet.key, result, int(balls.size))
    heading(sheet.figure, "Who could be hit", _told(result))
    return sheet.figure


def _draw(panel: Panel, ways: Sequence[Way], ends: Array, band: Index) -> None:
    for k, stroke in enumerate(BAND_STROKES):
        in_band = np.flatnonzero(band == k)
        draw_ways(panel, [ways[int(i)] for i in in_band], stroke, 0.0)
        look: dict[str, Any] = {"linestyle": "none", "marker": stroke.mark, "markersize": 3.5 + 0.4 * k}
        panel.axes.plot(*panel.frame.flat(ends[in_band]).T, color=stroke.colour, zorder=9 + 0.1 * k, **look)


def _letters(panel: Panel, result: RunResult) -> None:
    """A ringed letter for each person, in the order of the key, where they are; one that had to go aside has a line to
    there.
    """
    taken: list[Array] = []
    for letter, hits in zip(LETTERS, people_of(result), strict=False):
        corners = [np.stack(z.seen.bounds()) for z in result.bay.zones if z.person == hits.person]
        places = panel.frame.flat(np.concatenate(corners))
        middle = (places.min(axis=0) + places.max(axis=0)) / 2.0
        place = free_place(middle, taken, panel)
        taken.append(place)
        if not np.array_equal(place, middle):
            line: dict[str, Any] = {"color": INK, "linewidth": 0.7, "marker": "o", "markersize": 2.5, "markevery": [0]}
            panel.axes.plot(*zip(middle, place, strict=True), zorder=10, gid=f"to {letter}", **line)
        ring = {"boxstyle": "circle,pad=0.22", "facecolor": "white", "edgecolor": INK, "linewidth": 0.7}
        panel.axes.text(float(place[0]), float(place[1]), letter, fontsize=TINY, ha="center", va="center", bbox=ring,
                        zorder=11)  # fmt: skip


def _told(result: RunResult) -> str:
    rate = result.rates.total[Flag.PERSON_HIT.key]
    name = result.scenario.name
    if not result.bay.zones:
        return f"{name}. {NOBODY}"
    if not rate.count:
        limit = f": {bound(rate)} balls could" if rate.upper is not None else ""
        return f"{name}: none of {rate.shots:,} shots was seen that could hit a person{limit}"
    worst = Display(result.scenario.units).speed(float(np.nanmax(result.fates.worst[Flag.PERSON_HIT])))
    return f"{name}: {one_in(rate.rate)} balls could hit a person, the fastest at {worst}"


def _key(figure: Figure, place: tuple[float, float, float, float], result: RunResult, drawn: int) -> None:
    left, bottom, width, height = place
    axes = bare_axes_at(figure, left, bottom, width, height)
    lines, words = _band_lines(result)
    for letter, hits in zip(LETTERS, people_of(result), strict=False):
        lines.append(Line2D([], [], linestyle="none", marker=f"$\\mathrm{{{letter}}}$", color=INK, markersize=7))
        words.append(fill(f"{hits.person}: {_how_often(result, hits)}", 38))
    if not words:
        return
    title = f"Of 1,000 balls, so many could hit a person\n(the ways of {drawn} are drawn):"
    axes.legend(
        lines, words, loc="upper left", fontsize=SMALL, frameon=False, handlelength=3.5, labelspacing=0.6,
        borderaxespad=0.0, title=title, title_fontsize=SMALL, alignment="left",
    )  # fmt: skip


def _how_often(result: RunResult, hits: PersonHits) -> str:
    """How many of 1,000 balls, and off what."""
    if hits.shots.size:
        off = ", ".join(hits.sources[:3]) + (" ..." if len(hits.sources) > 3 else "")
        return f"{per_thousand(1000.0 * float(result.weight[hits.shots].sum()))}, from {off}"
    return "none seen"


def _band_lines(result: RunResult) -> tuple[list[Artist], list[str]]:
    """A line and words for each band of speed that was seen: of balls at their worst, and of those at a head there."""
    display, fates = Display(result.scenario.units), result.fates
    heads = np.array([zone.head for zone in result.bay.zones], dtype=bool)
    any_hit, at_head = fates.worst[Flag.PERSON_HIT], result.hits(heads)
    band, head_band = (
        np.where(np.isnan(speed), -1, band_index(speed, result)) for speed in (any_hit, at_head)
    )  # fmt: skip
    lines: list[Artist] = []
    words = []
    for k, stroke in enumerate(BAND_STROKES):
        if (band == k).any():
            share = [1000.0 * float(result.weight[balls].sum()) for balls in (band == k, head_band == k)]
            head = f"{per_thousand(share[1])} at the head" if share[1] else "none seen at the head"
            lines.append(Line2D([], [], color=stroke.colour, linestyle=stroke.dashes, linewidth=stroke.width,
                                marker=stroke.mark, markersize=4.5, markeredgecolor=stroke.colour))  # fmt: skip
            least = display.speed(BANDS[k].least / as_legal(1.0, result))
            words.append(f"from {least} (head: {BANDS[k].words}):\n{per_thousand(share[0])}, {head}")
    return lines, words
