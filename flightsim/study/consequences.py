"""What a run means: what goes wrong, what if a guard fails, and what would help."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from flightsim.study.build import OpenBay
from flightsim.study.find_troubles import find_troubles
from flightsim.study.remedies import with_remedies
from flightsim.study.result import RunResult
from flightsim.study.what_if import what_if


def with_consequences(
    opened: OpenBay, result: RunResult, quick: bool = False, say: Callable[[str], None] = lambda words: None
) -> RunResult:
    """The run with its troubles, worst first; unless quick, with failures and remedies, flown on the same shots.

    say is told what is being done.
    """
    found = replace(result, troubles=find_troubles(result))
    if quick:
        return found
    say("what if one fails")
    found = replace(found, what_if=what_if(opened, found))
    say("what would help")
    return with_remedies(opened, found)
