"""The section `build`: what can be bought, what the saw takes, and the frame's openings as measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flightsim.making.settings import BuildSettings
from flightsim.plugin.hookspecs import BayView, hookimpl
from flightsim.scenario.reading.models import Section
from flightsim.scenario.reading.problems import Problem


@hookimpl
def flightsim_section() -> Section:
    """The section `build`."""
    return Section("build", BuildSettings, "What it takes to build the bay", owner="build", order=90)


@hookimpl
def flightsim_checks(context: BayView) -> Sequence[Problem]:
    """A measure taken of a screen that there is not."""
    return list(_unknown_screens(context))


def _unknown_screens(context: BayView) -> Iterator[Problem]:
    scenario = context.scenario
    known = [screen.name for screen in scenario.entries("screen")]
    for settings in context.entries:
        for k, measured in enumerate(settings.measured):
            if measured.screen not in known:
                found = f"no screen is called '{measured.screen}'"
                yield scenario.problem(f"build.measured.{k}.screen", found, ", ".join(known) or "there is none")
