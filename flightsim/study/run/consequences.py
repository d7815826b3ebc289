"""What a run means: what goes wrong, how far it hangs on the model, what if a guard fails, and what would help."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from flightsim.study.run.adverse import with_adverse
from flightsim.study.run.bounce_back import with_bounce_back
from flightsim.study.run.built_off import with_built_off
from flightsim.study.run.find_troubles import find_troubles
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.other_air import other_air
from flightsim.study.run.reach import Tracks
from flightsim.study.run.reflown import MOST_SHOTS, Reflown
from flightsim.study.run.remedies import with_remedies
from flightsim.study.run.result import RunResult
from flightsim.study.run.targets import with_targets
from flightsim.study.run.what_if import what_if

LEAST_SHOTS = 2000  # of a run: with fewer, what a change or a failure does is lost in the luck of the draw


def tracks_for(opened: OpenBay, shots: int, quick: bool) -> Tracks | None:
    """What keeps where a run's shots go, where its consequences need it."""
    return None if quick or shots < LEAST_SHOTS else Tracks(opened, MOST_SHOTS)


def with_consequences(
    opened: OpenBay,
    result: RunResult,
    quick: bool = False,
    say: Callable[[str], None] = lambda words: None,
    adverse: bool = False,
    tracks: Tracks | None = None,
) -> RunResult:
    """The run with its troubles, worst first; unless quick, with bounce-back, adverse cloth, failures and remedies.

    Too few shots show nothing of failures and remedies. adverse: also where it is quick. say is told what is done.
    tracks: where the shots went, if that was kept.
    """
    found = replace(result, troubles=find_troubles(result))
    if not quick:
        say("bounce-back")
        found = with_bounce_back(opened, found)
    if adverse or not quick:
        found = with_targets(with_built_off(opened, with_adverse(opened, found, say), say))
    if quick or len(result.shots) < LEAST_SHOTS:
        return found
    say("another model of the air")
    found = replace(found, other_air=other_air(opened, found))
    reflown = Reflown.of(opened, found, tracks=tracks)
    say("what if one fails")
    found = replace(found, what_if=what_if(opened, found, reflown))
    say("what would help")
    return with_remedies(opened, found, reflown)
