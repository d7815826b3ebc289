"""All pictures of a run, drawn and written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from flightsim.plugin.hookspecs import ReportFigure
from flightsim.report.draw import paths, people_sheet, still, unfolded
from flightsim.report.draw.bay_sheet import bay_sheet
from flightsim.report.draw.bounce_back_figure import bounce_back_figure
from flightsim.report.draw.first_arcs import without_a_guard
from flightsim.report.draw.guard_hits import guards, hits_figure, met_first
from flightsim.report.draw.launch_map import FEW, launch_map
from flightsim.report.draw.resting import balls_of, resting_sheet
from flightsim.report.draw.style import DPI, save
from flightsim.report.draw.wall_sheet import wall_sheet
from flightsim.report.draw.wear import soft_guards, wear_finding, wear_sheet
from flightsim.report.words.free_names import free_name
from flightsim.scenario.reading.display import Display
from flightsim.study.run.on_disk import let_go
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.replay import replay
from flightsim.study.run.result import RunResult

FEW_WORDS = f"Cells with fewer than {FEW} shots are hatched, with a dot where any of them got past."
WALL_SHEET = "sheet"
BETWEEN = "Between two touches a way is drawn as a smooth curve that has the computed place and speed at both."
ENDINGS = {"image/png": "png", "image/svg+xml": "svg"}


@dataclass(frozen=True)
class FigureInfo:
    """A picture on disk: its name, title, caption, place, its width in inches where known, and what it is about.

    ours: drawn here, not by a plugin. finding: what it shows, where who drew it said so.
    """

    name: str
    title: str
    caption: str
    path: Path
    media_type: str = "image/png"
    width: float | None = None
    about: str = ""
    ours: bool = True
    finding: str = ""


Draw = Callable[[], Figure]


Described = tuple[str, str, str, Draw]  # name, title, caption, and how to draw it


def write_figures(
    result: RunResult,
    folder: Path,
    extra: Sequence[ReportFigure] = (),
    dpi: int = DPI,
    opened: OpenBay | None = None,
) -> list[FigureInfo]:
    """Draw every picture into a folder, the plugins' after ours; what was written, in the order of the page.

    opened: the bay that was flown, to fly some of its shots again; without it, pictures of whole ways are left out.

    Raises OSError when the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written: list[FigureInfo] = []
    for name, title, caption, draw in own_figures(result, opened):
        path = folder / f"{name}.png"
        figure = draw()
        save(figure, path, dpi)
        let_go(result.shots, result.contacts, result.fates)
        finding = wear_finding(result, opened.facings) if name == "wear" and opened is not None else ""
        wide = float(figure.get_size_inches()[0])
        written.append(FigureInfo(name, title, caption, path, width=wide, finding=finding))
    return [*written, *write_extra(extra, folder, {info.name for info in written})]


def write_extra(extra: Sequence[ReportFigure], folder: Path, taken: set[str]) -> list[FigureInfo]:
    """Write the plugins' pictures under names that are not taken yet. Raises OSError."""
    written = []
    for figure in extra:
        name = free_name(figure.name, taken, "_", "figure")
        path = folder / f"{name}.{ENDINGS.get(figure.media_type, 'png')}"
        path.write_bytes(figure.data)
        written.append(
            FigureInfo(name, figure.title, figure.caption, path, figure.media_type, about=figure.about, ours=False,
                       finding=figure.finding)
        )  # fmt: skip
    return written


def own_figures(result: RunResult, opened: OpenBay | None = None) -> Iterator[Described]:
    """Every picture of ours. opened: as for `write_figures`."""
    n = f"{len(result.shots):,} {'shots' if result.sampled else 'grid shots'}"
    yield (
        "bay", "The bay",
        f"Side elevation, front elevation and plan, to scale, as computed with {n}. Check its measures with a tape: "
        "the numbers below are for this bay and no other. Grey: where people are." + _undrawn(result),
        lambda: bay_sheet(result),
    )  # fmt: skip
    yield (
        WALL_SHEET, "Section and plan",
        f"With the main sizes, to scale, lettered to be printed on A4 or Letter; as computed with {n}.",
        lambda: wall_sheet(result),
    )  # fmt: skip
    if opened is not None:
        yield from _flown_again(result, opened, n)
    if result.bounce_back:
        yield (
            "bounce_back", "Bounce-back",
            "How far from the screen balls first land that meet it first, and how far from it they end, by club, of "
            "balls as they are played.",
            lambda: bounce_back_figure(result),
        )  # fmt: skip
    yield (
        "launch_map", "Launch directions that get past the protection",
        f"For each club, by up angle and left-right angle, the share of shots that got past the protection and what "
        f"most of those do, out of {n}. {FEW_WORDS if result.sampled else ''}",
        lambda: launch_map(result),
    )  # fmt: skip
    yield from _guard_figures(result, n)
    if opened is not None:
        yield from _wear(result, opened, n)


def _flown_again(result: RunResult, opened: OpenBay, n: str) -> Iterator[Described]:
    """Pictures of whole ways."""
    chosen = [paths.wanted(result), people_sheet.wanted(result), unfolded.wanted(result)]
    flown = replay(opened, result, np.concatenate(chosen))
    slow = Display(result.scenario.units).speed(result.harm_speed)
    yield (
        "overview", "The bay from above a corner",
        f"The bay, and up to {paths.EACH} balls of each kind out of {n}, drawn as likely as each is played.",
        lambda: still.still_sheet(result, flown),
    )  # fmt: skip
    yield (
        "paths", "What becomes of the balls",
        f"A panel for each kind: up to {paths.EACH} balls out of {n}, drawn as likely as each is played, with all that "
        "they touch. Its share is of all balls, each counted once by its worst. Mark: where it went wrong, else where "
        f"the ball was followed to. Hairline: slower than {slow}. {BETWEEN}",
        lambda: paths.paths_sheet(result, flown),
    )  # fmt: skip
    yield (
        "people", "Who could be hit",
        f"Where people are, and up to {people_sheet.EACH} ways to each of them for each band of speeds, out of {n}, "
        "drawn as likely as each is played, up to where the ball could hit them. The words for speeds stand for 50 % "
        f"risks found by others: they are no limits below which nothing happens. {BETWEEN}",
        lambda: people_sheet.people_sheet(result, flown),
    )  # fmt: skip
    yield (
        "escapes", "Where balls get past the protection",
        f"Where balls out of {n} leave the room, go through something or hit something unprotected hard, at any touch: "
        f"at most {unfolded.MOST_MARKS} marks of a kind, drawn as likely as each is played; a ball that does two of "
        "these has two marks. The numbers on the surfaces count all shots, each at its weight.",
        lambda: unfolded.unfolded(result, flown),
    )  # fmt: skip
    yield (
        "resting", "Where balls end",
        f"Of {n}, {balls_of(result).size:,} balls as they are played, followed until they lie still. Shaded: how many "
        "come to lie in each square. Marks: where the others end, and those that got past the protection on their way.",
        lambda: resting_sheet(result, replay(opened, result, balls_of(result), to_rest=True)),
    )  # fmt: skip


def _wear(result: RunResult, opened: OpenBay, n: str) -> Iterator[Described]:
    shown = soft_guards(result, opened.facings)
    if shown:
        yield (
            "wear", "Wear of cloth and nets",
            f"Where cloth and nets are met first, out of {n}, each at its weight, by squares in their own planes: "
            "hits, and the energy that the balls bring, for 1,000 balls. Later touches are slower, and not counted.",
            lambda: wear_sheet(result, shown),
        )  # fmt: skip


def _undrawn(result: RunResult) -> str:
    """A sentence on parts whose shape gives no outline to draw; empty where all do."""
    bare = sorted({part.label for part in result.bay.parts if not part.shape.outlines()})
    return f" Not drawn, since their shape gives no outline: {', '.join(bare)}." if bare else ""


def _guard_figures(result: RunResult, n: str) -> Iterator[Described]:
    escapes = without_a_guard(result)
    taken: set[str] = set()
    for guard in (candidate for candidate in guards(result) if met_first(result, candidate).any()):
        yield (
            free_name(f"hits_{guard.label}", taken, "_", "figure"), f"First contacts on the {guard.label}",
            f"How many of 1,000 balls meet the {guard.label} first, cell by cell in its own plane, out of {n}, each at "
            "its weight. Filled marks: where balls met it that got past the protection in the end. Hollow: balls that "
            f"met no guard first and went through this plane beside it, out of {len(escapes.shots):,} looked at. "
            "Hatched: unprotected, and near its plane.",
            partial(hits_figure, result, guard, escapes),
        )  # fmt: skip
