"""A guard, or what is had otherwise, as it would be written into a scenario."""

from __future__ import annotations

from typing import Any

from flightsim.scenario.reading.models import Starter
from flightsim.scenario.reading.overrides import APPEND
from flightsim.study.improve.plan import Added
from flightsim.study.improve.space import starter_sets
from flightsim.study.run.open_bay import OpenBay


def added(starter: Starter, opened: OpenBay) -> Added:
    """A guard to be added to a bay. path: where it will stand."""
    path = starter.path
    if path.endswith(f".{APPEND}"):
        stem = path.removesuffix(f".{APPEND}")
        path = f"{stem}.{_entries(opened, stem)}"
    return Added(starter, starter_sets(starter, opened.scenario), path)


def _entries(opened: OpenBay, path: str) -> int:
    """How many entries a list of a scenario has."""
    first, *steps = path.split(".")
    here: Any = opened.scenario.entries(first)
    if not steps:
        return len(here)
    for step in steps:
        if isinstance(here, tuple):
            if not here:
                return 0
            here = here[int(step)] if step.isdecimal() else getattr(here[0], step)
        else:
            here = getattr(here, step)
    return len(here) if isinstance(here, tuple) else 0
