"""Bounce-back in words: how far from the screen balls first land, and how far from it they end, club by club."""

from __future__ import annotations

from collections.abc import Callable

from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display
from flightsim.study.run.result import BounceBack, Reach, RunResult

TITLE = "Bounce-back: how far from the screen"
COMMON = (0.5, 3.0)  # m: common practice, no source


def bounce_back_table(result: RunResult) -> Table:
    """One row a club; without rows where it was not looked at."""
    show = Display(result.scenario.units).estimate
    head = ("club", "first lands, half within", "9 in 10", "farthest", "ends, half within", "9 in 10", "farthest")
    rows = tuple((club.club, *_cells(club.first_landing, show), *_cells(club.end, show)) for club in result.bounce_back)
    return Table(TITLE, head, rows, frozenset(range(1, 7)), _note(result) if rows else "")


def _cells(reach: Reach | None, show: Callable[[float], str]) -> tuple[str, str, str]:
    if reach is None:
        return "none", "", ""
    return show(reach.median), show(reach.p90), show(reach.max)


def _note(result: RunResult) -> str:
    show, clubs = Display(result.scenario.units).estimate, result.bounce_back
    near, far = (show(each) for each in COMMON)
    words = (
        f"Of balls as they are played that meet the screen first, {_counted(clubs)}, followed until they lie still. "
        f"Builders see well hit balls first land {near} to {far} from a screen (common practice, no source)."
    )
    extra = sum(club.extra for club in clubs)
    return f"{words} For this {extra:,} of them were flown beside the run's shots." if extra else words


def _counted(clubs: tuple[BounceBack, ...]) -> str:
    balls = sorted({club.balls for club in clubs})
    return f"{balls[0]:,} a club" if len(balls) == 1 else f"{balls[0]:,} to {balls[-1]:,} a club"
