"""All pictures of a run, drawn and written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from flightsim.contact.outcomes import Outcome
from flightsim.plugin.hookspecs import ReportFigure
from flightsim.report.bay_sheet import bay_sheet
from flightsim.report.guard_hits import guards, hits_figure
from flightsim.report.launch_map import FEW, launch_map
from flightsim.report.paths import EACH, follow, paths_sheet, pick
from flightsim.report.style import DPI, save
from flightsim.report.unfolded import MOST_MARKS, unfolded
from flightsim.report.words import NOT_MET_WORDS
from flightsim.study.result import RunResult

MOST_FOLLOWED = 1500  # balls that met no guard, an outcome, whose paths are looked at beside the guards
FEW_WORDS = (
    f"Cells with fewer than {FEW} shots are hatched, with a dot where any of them met no guard; cells with none are "
    "blank."
)
ENDINGS = {"image/png": "png", "image/svg+xml": "svg"}


@dataclass(frozen=True)
class FigureInfo:
    """A picture on disk: its name, its title, what it shows, where it is, and its width in inches where known."""

    name: str
    title: str
    caption: str
    path: Path
    media_type: str = "image/png"
    width: float | None = None


Draw = Callable[[], Figure]


def write_figures(
    result: RunResult, folder: Path, extra: Sequence[ReportFigure] = (), dpi: int = DPI
) -> list[FigureInfo]:
    """Draw every picture into a folder, the plugins' after ours; what was written, in the order of the page.

    Raises OSError when the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written: list[FigureInfo] = []
    for name, title, caption, draw in own_figures(result):
        path = folder / f"{name}.png"
        figure = draw()
        save(figure, path, dpi)
        written.append(FigureInfo(name, title, caption, path, width=float(figure.get_size_inches()[0])))
    return [*written, *write_extra(extra, folder, {info.name for info in written})]


def write_extra(extra: Sequence[ReportFigure], folder: Path, taken: set[str]) -> list[FigureInfo]:
    """Write the plugins' pictures under names that are not taken yet. Raises OSError."""
    written = []
    for given in extra:
        name = _free_name(given.name, taken)
        path = folder / f"{name}.{ENDINGS.get(given.media_type, 'png')}"
        path.write_bytes(given.data)
        written.append(FigureInfo(name, given.title, given.caption, path, given.media_type))
    return written


def own_figures(result: RunResult) -> Iterator[tuple[str, str, str, Draw]]:
    """Name, title, caption of every picture of ours, and how to draw it."""
    n = f"{len(result.shots):,} {'shots' if result.sampled else 'grid shots'}"
    yield (
        "bay", "The bay",
        f"Side elevation, front elevation and plan, to scale, as computed with {n}. Check its measures with a tape: "
        "the numbers below are for this bay and no other." + _undrawn(result),
        lambda: bay_sheet(result),
    )  # fmt: skip
    yield (
        "paths", "Where balls go first",
        f"Up to {EACH} paths of each outcome out of {n}, drawn as likely as each is played, from the strike to the "
        "first contact. What comes back is not computed.",
        lambda: paths_sheet(result),
    )  # fmt: skip
    yield (
        "escapes", "Where the others go",
        f"Where balls out of {n} hit something unprotected or left the bay: at most {MOST_MARKS} marks an outcome, "
        "drawn as likely as each is played. The numbers on the surfaces count all shots, each at its weight.",
        lambda: unfolded(result),
    )  # fmt: skip
    yield (
        "launch_map", "Launch directions that do not end at a guard",
        f"For each club the share of shots that {NOT_MET_WORDS}, by up angle and left-right angle, out of {n}. "
        + (FEW_WORDS if result.sampled else ""),
        lambda: launch_map(result),
    )  # fmt: skip
    yield from _guard_figures(result, n)


def _undrawn(result: RunResult) -> str:
    """A sentence on parts whose shape gives no outline to draw; empty where all do."""
    bare = sorted({part.label for part in result.bay.parts if not part.shape.outlines()})
    return f" Not drawn, since their shape gives no outline: {', '.join(bare)}." if bare else ""


def _guard_figures(result: RunResult, n: str) -> Iterator[tuple[str, str, str, Draw]]:
    lost = [pick(result, outcome, MOST_FOLLOWED) for outcome in (Outcome.HIT_UNPROTECTED, Outcome.GOT_OUT)]
    escapes = follow(result, np.sort(np.concatenate(lost)))
    taken: set[str] = set()
    for guard in guards(result):
        yield (
            _free_name(f"hits_{guard.label}", taken), f"First contacts on the {guard.label}",
            f"How many of 1,000 balls meet the {guard.label} first, cell by cell in its own plane, out of {n}, each at "
            f"its weight. Hatched: unprotected, and near its plane. Marks: balls that met no guard and went through "
            f"this plane beside it, out of {len(escapes.shots):,} followed.",
            partial(hits_figure, result, guard, escapes),
        )  # fmt: skip


def _free_name(name: str, taken: set[str]) -> str:
    """A file name out of any text, not used yet; remembered as taken."""
    plain = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") or "figure"
    free, k = plain, 2
    while free in taken:
        free, k = f"{plain}_{k}", k + 1
    taken.add(free)
    return free
