"""Several bays in one picture: how many balls get past in each, seen and at worst, and each target."""

from __future__ import annotations

from collections.abc import Sequence
from math import log
from textwrap import fill

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from flightsim.report.draw.style import BLUE, GREY, INK, NORMAL, SMALL, TINY, axes_at, heading, new_figure
from flightsim.report.words.common_words import ESCAPE_WORDS
from flightsim.report.words.variant_words import VariantRow, letter
from flightsim.study.run.rates import ESCAPE

_WIDTH, _ROW, _HEAD, _FOOT, _LEFT, _GAP = 10.0, 0.34, 1.25, 0.75, 2.7, 0.3  # inches
_LETTER = 0.085  # inches, of a name or a title
_LABEL = 0.75  # inches that a tick's label takes
_MOST = 5  # columns that can be read; all targets are in the table
_LONGEST = 44  # characters of a name beside its row
Marks = list[tuple[float, float | None]]  # of each bay: rate and bound


def variants_figure(rows: Sequence[VariantRow]) -> Figure:
    """A row a bay, a column for escapes and one for each target; the scale is by tens."""
    columns: list[tuple[str, float | None, Marks]] = [(ESCAPE_WORDS, None, [_escape(row) for row in rows])]
    for k, target in enumerate(rows[0].result.targets):
        marks = [(each.rate, each.upper) for row in rows for each in row.result.targets[k : k + 1]
                 if each.name == target.name and each.asked and each.rate is not None]  # fmt: skip
        if len(marks) == len(rows) and target.kind == "rate":
            columns.append((target.words, target.limit, marks))
    columns = columns[:_MOST]
    tall = _ROW * len(rows)
    figure = new_figure(_WIDTH, _HEAD + tall + _FOOT)
    left = min(_LEFT, 0.3 + _LETTER * max(len(_name(k, row)) for k, row in enumerate(rows)))
    wide = (_WIDTH - left - 0.2) / len(columns) - _GAP
    for k, (title, limit, marks) in enumerate(columns):
        axes = axes_at(figure, left + k * (wide + _GAP), _FOOT, wide, tall)
        _column(axes, fill(title, int(wide / _LETTER)), limit, marks, wide)
        axes.set_yticks(range(len(rows)), [_name(j, row) for j, row in enumerate(rows)] if k == 0 else [])
    below = "share of all balls as they are played; scale by tens, left is better"
    heading(figure, "The same shots in each bay", below)
    words = "Mark: as seen. Bar: to the worst that these shots allow (95 % bound). Dashes: the target's limit."
    figure.text(0.3 / _WIDTH, 0.12 / (_HEAD + tall + _FOOT), words, fontsize=TINY, color=GREY)
    return figure


def _escape(row: VariantRow) -> tuple[float, float | None]:
    rate = row.result.rates.total[ESCAPE]
    return rate.rate, rate.upper


def _name(k: int, row: VariantRow) -> str:
    name = row.name if len(row.name) <= _LONGEST else f"{row.name[: _LONGEST - 3]}..."
    return f"{letter(k)}  {name}"


def _column(axes: Axes, title: str, limit: float | None, marks: Marks, wide: float) -> None:
    there = [x for pair in marks for x in (*pair, limit) if x]
    low = min(there, default=1e-4) / 2.0
    axes.set_xscale("log")
    high = min(1.0, 2.0 * max(there, default=0.5))
    axes.set_xlim(low, high)
    axes.set_ylim(len(marks) - 0.5, -0.5)
    for k, (rate, upper) in enumerate(marks):
        if upper is not None:
            axes.plot([max(rate, low), upper], [k, k], color=BLUE, linewidth=3.0, solid_capstyle="butt", alpha=0.55)
            axes.plot([upper], [k], marker="|", markersize=9, color=BLUE)
        axes.plot([max(rate, low)], [k], marker="o" if rate > 0.0 else "<", markersize=5, color=INK)
    if limit is not None:
        axes.axvline(limit, color=INK, linewidth=1.0, linestyle=(0, (4.0, 2.5)))
    axes.set_title(title, fontsize=NORMAL, loc="left")
    steps = (1.0, 2.0, 5.0) if high < 100.0 * low else (1.0,)
    ticks = _apart([x for k in range(8) for step in steps if low <= (x := 1.0 / (step * 10.0**k)) <= high], axes, wide)
    axes.set_xticks(ticks, ["all" if x == 1.0 else f"1 in {round(1.0 / x):,}" for x in ticks])
    axes.minorticks_off()
    axes.tick_params(labelsize=SMALL, length=2)
    axes.grid(axis="x", linewidth=0.3, color="0.8")


def _apart(ticks: list[float], axes: Axes, wide: float) -> list[float]:
    """The ticks whose labels meet neither one another nor the next column's; wide: of the axes, inches."""
    low, high = axes.get_xlim()
    kept: list[tuple[float, float]] = []
    for tick in ticks:
        place = wide * log(tick / low) / log(high / low)
        inside = 0.4 * _LABEL <= place <= wide - 0.4 * _LABEL
        if inside and all(abs(place - other) >= _LABEL for other, _ in kept):
            kept.append((place, tick))
    return [tick for _, tick in kept] or ticks[len(ticks) // 2 :][:1]
