"""What is told of every run beside what went wrong: balls behind the tee, and those that left the room slowly."""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import BEHIND_HIGH, BEHIND_LOW
from flightsim.report.words.common_words import bound, digits, rate_words
from flightsim.scenario.reading.display import Display
from flightsim.study.run.beside_flags import half_as_fast
from flightsim.study.run.rates import BEHIND_TEE, COMES_BACK, LEFT_SLOWLY
from flightsim.study.run.result import RunResult


def beside_words(result: RunResult) -> str:
    """What is told beside the rates, in a few sentences."""
    return " ".join(words for words in _all(result) if words)


def _all(result: RunResult) -> tuple[str, ...]:
    return comes_back_words(result), behind_words(result), slow_leavers_words(result)


def comes_back_words(result: RunResult, counts: bool = True) -> str:
    """How many balls come to somebody and harm nobody; empty where none was seen. counts: of shots too."""
    rate, show = result.rates.total[COMES_BACK], Display(result.scenario.units).speed
    if not rate.count:
        return ""
    blunt = show(result.scenario.blunt_speed_of(result.physics.ball.mass))
    speeds, bounds = f"at {show(result.harm_speed)} or faster and below {blunt}", rate_words(rate)
    if not counts and bounds:
        return f"To somebody's body {speeds}: {bounds.strip(' ()')}. Felt, and not counted as past the protection."
    return (
        f"{rate.count:,} more came to somebody's body {speeds}{bounds}: felt, and not counted as past the protection."
    )


def behind_words(result: RunResult) -> str:
    """How many balls cross the space behind the tee, and how fast, whoever is there."""
    rate, show = result.rates.total[BEHIND_TEE], Display(result.scenario.units)
    limit, speed = show.speed(result.harm_speed), result.fates.behind_tee
    low, high = show.estimate(BEHIND_LOW), show.estimate(BEHIND_HIGH)
    where = f"Behind the tee, {low} to {high} above the floor, whoever is there:"
    if not rate.count:
        none = "" if rate.upper is None else f" ({bound(rate)} balls)"
        return f"{where} none was seen after a touch at {limit} or faster{none}."
    half = half_as_fast(result, speed) or 0.0
    worst = "" if rate.upper is None else f" ({bound(rate)})"
    return (
        f"{where} {in_100(rate.rate)} in 100 balls{worst} come there after a touch at {limit} or faster, half of these "
        f"at {show.speed(half)} or faster, the fastest at {show.speed(float(np.nanmax(speed)))}."
    )


def slow_leavers_words(result: RunResult) -> str:
    """How many balls left the room slowly; empty where none was seen."""
    rate, speed = result.rates.total[LEFT_SLOWLY], Display(result.scenario.units).speed(result.harm_speed)
    if not rate.count:
        return ""
    counted = f"{rate.count:,} left the room slowly{rate_words(rate)}"
    return f"{counted}: they land outside at less than {speed}, and are not counted as past the protection."


def in_100(rate: float) -> str:
    """A rate as a number of 100 balls, with two digits."""
    return digits(100.0 * rate) if 0.0 < 100.0 * rate < 9.95 else f"{100.0 * rate:.0f}"
