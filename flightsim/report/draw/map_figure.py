"""The map of launch directions: what is met first, by name, what gets past, what the club can do, and the escapes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.patheffects import withStroke
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_cdt, find_objects, label

from flightsim.contact.fates import Outcome
from flightsim.report.draw.style import GUARD_COLOUR, INK, SMALL, STROKES, TINY, axes_at, heading, new_figure
from flightsim.report.words.map_ways import at_its_speed, gap_width, gap_words, is_guard, way_words
from flightsim.report.words.map_words import title
from flightsim.study.map.bay_map import BayMap, ClubMap
from flightsim.study.map.direction_map import DirectionMap
from flightsim.study.map.nearest_escapes import Escape
from flightsim.study.map.shooting import Meets
from flightsim.study.map.ways_out import Way, paint

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
Extent = tuple[float, float, float, float]

WIDE = 9.6  # inches
MOST = 9  # escapes marked, the nearest
LOWEST_DEG = -15.0  # shown: below it all is floor, where it is
AHEAD = (-60.0, 60.0, -10.0, 70.0)  # deg: the view from the tee toward the screen, drawn first and larger
_LEFT, _RIGHT, _BOTTOM, _TOP, _KEY, _BETWEEN = 0.55, 0.2, 0.45, 0.75, 1.75, 0.62
_LEAST_PATCH = 40  # finest cells: a smaller patch has no room for its name
_LINE = 3.0  # deg up for a line of a name

# Told apart by lightness: what is stopped is pale, what gets past by itself is dark; harm after a rebound is hatched.
STOPPED, AFTER, FLOOR, FLOOR_AFTER, SLOW, BARE, OUT, UNKNOWN = range(8)
_PROTECTED, _FLOOR = STROKES[Outcome.HELD].colour, "#EEF3EC"
FACES = {
    STOPPED: (_PROTECTED, "met protection first, and did no harm after"),
    AFTER: (_PROTECTED, "met protection first, and did harm after"),
    FLOOR: (_FLOOR, "met the floor first, and did no harm after"),
    FLOOR_AFTER: (_FLOOR, "met the floor first, and did harm after"),
    SLOW: ("#B5B5B5", "hit something unprotected or left, too slow to do harm"),
    BARE: (STROKES[Outcome.HIT_UNPROTECTED].colour, "hit something unprotected first"),
    OUT: (STROKES[Outcome.GOT_OUT].colour, "left the room first"),
    UNKNOWN: ("#000000", "could not be followed"),
}
HATCHED = (AFTER, FLOOR_AFTER)
HATCH = "////"
LINES = ("protection, as seen from the ball", "what this club can launch", "a normal shot")


def map_figure(club: ClubMap, found: BayMap) -> Figure:
    """Elevation over azimuth: as seen from the tee toward the screen, and below it the whole way round."""
    kind, region = _kinds(club.map), _regions(club.map)
    lowest = _lowest(club.map)
    across = WIDE - _LEFT - _RIGHT
    ahead, round_ = (across * (up1 - up0) / (a1 - a0) for a0, a1, up0, up1 in (AHEAD, (-180.0, 180.0, lowest, 90.0)))
    figure = new_figure(WIDE, ahead + round_ + _BOTTOM + _BETWEEN + _TOP + _KEY)
    shown = at_its_speed(club)[:MOST]
    panels = (
        (axes_at(figure, _LEFT, _BOTTOM + _KEY + round_ + _BETWEEN, across, ahead), AHEAD, 15),
        (axes_at(figure, _LEFT, _BOTTOM + _KEY, across, round_), (-180.0, 180.0, lowest, 90.0), 30),
    )
    for axes, window, step in panels:
        _panel(axes, club, found, (kind, region), window, step)
        _marks(axes, club, [escape for escape in shown if _within(escape, window)], shown)
        _names(axes, club.map, region, window)
    panels[1][0].set_xlabel("left-right angle (deg), right +, 180 behind the player", fontsize=SMALL)
    _gaps(panels[0][0], shown, found)
    _key(figure, kind, shown, found)
    heading(
        figure, f"Where a ball may go: {title(club, found)}",
        "From the tee toward the screen, then the whole way round: what each launch direction meets first. Areas near "
        "straight up look larger than they are.",
    )  # fmt: skip
    return figure


def _panel(axes: Axes, club: ClubMap, found: BayMap, cells: tuple[Index, Index], window: Extent, step: int) -> None:
    kind, region = cells
    extent: Extent = (-180.0, 180.0, -90.0, 90.0)
    colours = ListedColormap([colour for colour, _ in FACES.values()])
    axes.imshow(
        kind, origin="lower", extent=extent, cmap=colours, vmin=-0.5, vmax=len(FACES) - 0.5, interpolation="nearest",
        aspect="auto",
    )  # fmt: skip
    _hatched(axes, np.isin(kind, HATCHED), extent)
    _borders(axes, region, extent)
    _guards(axes, club, found, region, extent)
    _outline(axes, paint(club.map, club.map.reach).astype(bool), extent)
    axes.set_xlim(window[:2])
    axes.set_ylim(window[2:])
    axes.set_xticks(np.arange(window[0], window[1] + 1, step))
    axes.set_yticks(np.arange(np.ceil(window[2] / 15) * 15, window[3] + 1, 15))
    axes.set_ylabel("up angle (deg)", fontsize=SMALL)


def _grid(shape: tuple[int, ...], extent: Extent) -> tuple[Array, Array]:
    tall, wide = shape
    x = np.linspace(extent[0], extent[1], wide, endpoint=False) + 180.0 / wide
    return x, np.linspace(extent[2], extent[3], tall, endpoint=False) + 90.0 / tall


def _hatched(axes: Axes, after: Mask, extent: Extent) -> None:
    """Lines over what does harm only after a rebound."""
    if not after.any():
        return
    x, y = _grid(after.shape, extent)
    drawn = axes.contourf(x, y, after.astype(float), levels=[0.5, 1.5], colors="none", hatches=[HATCH])
    drawn.set_edgecolor("0.45")
    drawn.set_linewidth(0.0)


def _guards(axes: Axes, club: ClubMap, found: BayMap, region: Index, extent: Extent) -> None:
    """A line round each thing that stops balls, as it is seen from the ball."""
    regions = club.map.shooter.regions
    for name in sorted({piece.name for piece in regions if is_guard(found, piece.name)}):
        covered = np.isin(region, [k for k, piece in enumerate(regions) if piece.name == name])
        if covered.any():
            axes.contour(*_grid(covered.shape, extent), covered.astype(float), levels=[0.5], colors=[GUARD_COLOUR],
                         linewidths=[1.6])  # fmt: skip


def _within(escape: Escape, window: Extent) -> bool:
    x, y = np.degrees([escape.shot.azimuth, escape.shot.elevation])
    return bool(window[0] <= x <= window[1] and window[2] <= y <= window[3])


def _gaps(axes: Axes, shown: list[Escape], found: BayMap) -> None:
    """How wide each gap is, beside its number."""
    rim = [withStroke(linewidth=2.2, foreground="white")]
    for escape in shown:
        wide = gap_width(found.opened.bay, escape) if escape.way is Way.GAP and _within(escape, AHEAD) else None
        if wide is not None and wide >= 2.0 * found.opened.physics.ball.radius:
            x, y = np.degrees([escape.shot.azimuth, escape.shot.elevation])
            axes.annotate(gap_words(wide, found), (x, y), (8, 5), textcoords="offset points", fontsize=TINY,
                          path_effects=rim, zorder=10)  # fmt: skip


def _kinds(found: DirectionMap) -> Index:
    """Which of FACES each finest cell is."""
    meets, first, past = found.shooter.meets[found.region[0]], found.first[0], found.open[0]
    kind = np.where(meets == Meets.FLOOR, np.where(past, FLOOR_AFTER, FLOOR), np.where(past, AFTER, STOPPED))
    for met, harm in ((Meets.UNPROTECTED, BARE), (Meets.OUT, OUT)):
        kind = np.where(meets == met, np.where(first | past, harm, SLOW), kind)
    return np.asarray(paint(found, np.where(meets == Meets.UNKNOWN, UNKNOWN, kind)), dtype=np.intp)


def _regions(found: DirectionMap) -> Index:
    return np.asarray(paint(found, found.region[0]), dtype=np.intp)


def _lowest(found: DirectionMap) -> float:
    """The lowest elevation that is worth showing, deg."""
    below = found.cells.middle[0] < np.radians(LOWEST_DEG)
    floor = found.shooter.meets[found.region[0]] == Meets.FLOOR
    return LOWEST_DEG if floor[below].all() else -90.0


def _borders(axes: Axes, region: Index, extent: Extent) -> None:
    """A thin line round every region."""
    edge = np.zeros(region.shape, dtype=bool)
    edge[:, 1:] |= region[:, 1:] != region[:, :-1]
    edge[1:] |= region[1:] != region[:-1]
    ink = np.ma.masked_where(~edge, np.ones(region.shape))
    axes.imshow(ink, origin="lower", extent=extent, cmap=ListedColormap(["0.25"]), interpolation="nearest",
                aspect="auto", alpha=0.8)  # fmt: skip


def _outline(axes: Axes, reach: Mask, extent: Extent) -> None:
    """What the club can launch: a heavy line with a white rim."""
    x, y = _grid(reach.shape, extent)
    for width, colour in ((3.2, "white"), (1.5, INK)):
        axes.contour(x, y, reach.astype(float), levels=[0.5], colors=[colour], linewidths=[width])


def _marks(axes: Axes, club: ClubMap, here: list[Escape], shown: list[Escape]) -> None:
    """The normal shot and the nearest escapes, numbered."""
    aim = club.aim
    rim = [withStroke(linewidth=2.2, foreground="white")]
    axes.plot(*np.degrees([aim.azimuth, aim.elevation]), "+", color=INK, markersize=11, markeredgewidth=1.6,
              path_effects=rim, zorder=9)  # fmt: skip
    for escape in here:
        number = 1 + next(k for k, other in enumerate(shown) if other is escape)
        x, y = np.degrees([escape.shot.azimuth, escape.shot.elevation])
        axes.plot(x, y, "o", markersize=10, markerfacecolor="white", markeredgecolor=INK, markeredgewidth=1.0, zorder=9)
        axes.text(x, y - 0.15, str(number), fontsize=TINY, ha="center", va="center", fontweight="bold", zorder=10)


def _names(axes: Axes, found: DirectionMap, whole: Index, window: Extent) -> None:
    """The name of each region, in its largest patch, where there is room; of two that would lie on one another the one
    of the larger patch.
    """
    per_deg = whole.shape[0] / 180.0
    first, last = (max(0, round((up + 90.0) * per_deg)) for up in window[2:])
    left, right = (max(0, round((across + 180.0) * per_deg)) for across in window[:2])
    region = whole[first:last, left:right]
    zoom = 360.0 / (window[1] - window[0])
    rim = [withStroke(linewidth=2.0, foreground="white")]
    labels: list[tuple[float, float, float, float, str, bool]] = []  # size, place, half a width, name, whether it fits
    for k in np.unique(region):
        patches, count = label(region == k)
        sizes = np.bincount(patches.ravel())[1:]
        name, boxes = found.shooter.regions[k].name, find_objects(patches)
        for patch in np.argsort(-sizes)[: 2 if count > 1 else 1] + 1:
            if sizes[patch - 1] * zoom**2 < _LEAST_PATCH:
                continue
            box = boxes[patch - 1]
            inside = np.pad(patches[box] == patch, 1)
            depth = distance_transform_cdt(inside, "chessboard")[1:-1, 1:-1]
            row, column = np.unravel_index(int(depth.argmax()), depth.shape)
            row, column = row + box[0].start, column + box[1].start
            half = 1.25 * len(name) / zoom  # deg: about half as wide as the name
            x = float(np.clip((column + left + 0.5) / per_deg - 180.0, half + window[0], window[1] - half))
            y = (row + first + 0.5) / per_deg - 90.0
            room = float(depth.max()) / per_deg
            fits = room > _LINE / 2.0 / zoom
            if sizes[patch - 1] * zoom**2 < 900 and not fits:
                continue
            labels.append((float(sizes[patch - 1]), x, y, half, name, fits))
    taken: list[tuple[float, float, float]] = []
    for _, x, y, half, name, fits in sorted(labels, key=lambda drawn: (-drawn[0], drawn[4])):
        if free(taken, (x, y, half), 1.5 * _LINE / zoom):
            taken.append((x, y, half))
            axes.text(x, y, name, fontsize=TINY if fits else TINY - 1.0, ha="center", va="center", path_effects=rim,
                      zorder=8, clip_on=True)  # fmt: skip


def free(taken: Sequence[tuple[float, float, float]], place: tuple[float, float, float], line: float) -> bool:
    """Whether a name at a place (middle across and up, half its width) lies on no other; line: a line's height."""
    x, y, half = place
    return all(abs(x - across) >= half + wide or abs(y - up) >= line for across, up, wide in taken)


def _key(figure: Figure, kind: Index, shown: list[Escape], found: BayMap) -> None:
    there = [k for k in FACES if (kind == k).any()]
    faces = [
        Patch(facecolor=FACES[k][0], edgecolor="0.45", linewidth=0.5, hatch=HATCH if k in HATCHED else None)
        for k in there
    ]
    lines = [
        Line2D([], [], color=GUARD_COLOUR, linewidth=1.6),
        Line2D([], [], color=INK, linewidth=1.5),
        Line2D([], [], linestyle="none", marker="+", color=INK, markersize=9, markeredgewidth=1.6),
    ]
    words = [FACES[k][1] for k in there]
    left, height = _LEFT / WIDE, figure.get_size_inches()[1]
    figure.legend(
        [*faces, *lines], [*words, *LINES], loc="upper left",
        bbox_to_anchor=(left, (_KEY - 0.02) / height), fontsize=TINY, frameon=False, borderaxespad=0.0,
        labelspacing=0.3,
    )  # fmt: skip
    turned = [f"{n}  {way_words(e, found)}: {np.degrees(e.shot.turn):.1f} deg" for n, e in enumerate(shown, start=1)]
    words_beside = "Nearest escapes, turned from a normal shot\n" + ("\n".join(turned) if turned else "none found")
    figure.text(0.5, (_KEY - 0.06) / height, words_beside, fontsize=TINY, va="top", ha="left", linespacing=1.35)
