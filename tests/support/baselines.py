"""One run of each demo that all tests share, flown once for all workers of a session."""

from __future__ import annotations

from kept import kept
from shipped import SHIPPED

from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.result import RunResult
from flightsim.study.run.walk import run

SHOTS = 1000
MADE_OF = ("flightsim", "plugins", "scenarios")


def demo(name: str) -> OpenBay:
    """A demo's bay, opened anew."""
    return open_bay(next(path for path in SHIPPED if path.stem == name))


def baseline(name: str) -> RunResult:
    """The demo's first 1,000 shots of seed 1, on one worker, in chunks as they come."""
    return kept("run", (name, SHOTS), MADE_OF, lambda: run(demo(name), SHOTS, seed=1))
