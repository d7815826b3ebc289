"""The same shots in the bay as it may be built: every size of what protects off its drawing, to its worse side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from flightsim.errors import BadInputError
from flightsim.scenario.reading.display import Display
from flightsim.study.run.adverse import MOST_SHOTS, adverse_bays, fly_adverse
from flightsim.study.run.guard_sizes import GuardSize, guard_sizes
from flightsim.study.run.open_bay import OpenBay, open_changed
from flightsim.study.run.result import RunResult

TOLERANCE = 0.02  # m: what a build is off its drawing (judgement)
AS_BUILT = "built_off"


def with_built_off(
    opened: OpenBay, result: RunResult, say: Callable[[str], None] = lambda words: None, most: int = MOST_SHOTS
) -> RunResult:
    """The run with the same shots in the bay as it may be built: with likely cloth, and with all cloth adverse at once.

    A grid is no sample, and is not flown again. Where nothing that protects has a size there is nothing to be off.
    """
    if not result.sampled:
        return result
    off = built_off(opened)
    if off is None:
        return replace(result, built_off=())
    words = f"if all sizes are {Display(opened.scenario.units).length(TOLERANCE)} off"
    shots = result.shots.take(slice(0, min(len(result.shots), most)))
    say(words)
    flown = [fly_adverse(AS_BUILT, words, off, shots, result)]
    cloth = list(adverse_bays(off))
    if cloth:
        name, bay = cloth[-1]  # all ends at once where there are several
        say(f"{words}, with {name} cloth")
        flown.append(fly_adverse(f"{AS_BUILT}_{name}", f"{words} and cloth adverse", bay, shots, result))
    return replace(result, built_off=tuple(flown))


def built_off(opened: OpenBay) -> OpenBay | None:
    """The bay with every size off to its worse side; None where there is none. What cannot be built off stays."""
    sizes = [size for size in guard_sizes(opened) if size.value > 0.0]  # what is not there is not built wrong
    if not sizes:
        return None
    if (whole := _built(opened, [_off(size) for size in sizes])) is not None:
        return whole
    kept: list[str] = []
    found = None
    for size in sizes:
        bay = _built(opened, [*kept, _off(size)])
        if bay is not None:
            kept.append(_off(size))
            found = bay
    return found


def _off(size: GuardSize) -> str:
    """A size built off, as for --set: less of what stops balls, more of what lets them by, nothing below nought."""
    value = size.value - TOLERANCE if size.wider else size.value + TOLERANCE
    return f"{size.path}={max(value, 0.0):.6f}m"


def _built(opened: OpenBay, sets: list[str]) -> OpenBay | None:
    try:
        return open_changed(opened, sets)
    except BadInputError:
        return None
