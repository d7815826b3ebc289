"""The story of one ball in a few sentences: launch, touches with their energies, and how it ended."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flightsim.bay.parts import Opening, Part
from flightsim.bay.people import Zone
from flightsim.contact.fates import Flag, Outcome
from flightsim.report.words.common_words import FLAG_WORDS, OUTCOME_WORDS
from flightsim.scenario.reading.display import Display
from flightsim.study.run.replay import Replay
from flightsim.study.run.result import RunResult

MOST_TOUCHES = 5  # told of one ball: the rest is told as a number


def way_story(result: RunResult, flown: Replay, k: int) -> str:
    """The k-th ball of those flown again, told: `Shot 17, driver clean: leaves at 64.7 m/s, ...`."""
    return " ".join((_launch(result, int(flown.shots[k])), *_touches(result, flown, k), _end(result, flown, k)))


def way_title(result: RunResult, flown: Replay, k: int) -> str:
    """A ball in a few words, to pick it from a list."""
    shot = int(flown.shots[k])
    label = result.types[result.shots.type[shot]].label
    return f"{label}, {OUTCOME_WORDS[Outcome(flown.fates.outcomes()[k])]} (shot {shot})"


def _launch(result: RunResult, shot: int) -> str:
    show, table = Display(result.scenario.units), result.shots
    up, side = np.degrees(table.elevation[shot]), np.degrees(table.azimuth[shot])
    aim = "straight" if abs(side) < 0.5 else f"{abs(side):.0f} degrees to the {'right' if side > 0.0 else 'left'}"
    lift = f"{abs(up):.0f} degrees {'up' if up >= 0.0 else 'down'}"
    speed = float(table.ball_speed[shot])
    return (
        f"Shot {shot}, {result.types[table.type[shot]].label}: it leaves the club at {show.speed(speed)} "
        f"({_energy(speed, result)}), {lift}, {aim}."
    )


def _touches(result: RunResult, flown: Replay, k: int) -> list[str]:
    """A sentence for each of the first touches, runs of rolling told once."""
    show, last = Display(result.scenario.units), -1
    sentences: list[str] = []
    rows = [row for row in flown.contacts.of(k) if flown.contacts.part[row] >= 0]
    for number, row in enumerate(rows):
        if len(sentences) == MOST_TOUCHES:
            sentences.append(f"It touches something {len(rows) - number} times more.")
            break
        part = int(flown.contacts.part[row])
        arriving, leaving = (
            float(np.linalg.norm(speeds[:, row])) for speeds in (flown.contacts.arriving, flown.contacts.leaving)
        )
        again = " again" if part == last else ""
        met = f"At {flown.contacts.time[row]:.2f} s it meets the {result.bay.parts[part].label}{again}"
        came = f"{met} at {show.speed(arriving)}"
        left = f"leaves it at {show.speed(leaving)} ({_energy(leaving, result)})" if np.isfinite(leaving) else "goes on"
        sentences.append(f"{came} ({_energy(arriving, result)}) and {left}.")
        last = part
    return sentences or ["It touches nothing."]


def _end(result: RunResult, flown: Replay, k: int) -> str:
    """Every flag that it carries with the speed at its worst, else how it ended."""
    show, fates = Display(result.scenario.units), flown.fates
    flags = [flag for flag in Flag if fates.with_flag(flag, k)]
    if not flags:
        return f"It {OUTCOME_WORDS[Outcome(fates.outcomes()[k])]}." if not fates.kept[k] else "A protection held it."
    flagged = [f"{FLAG_WORDS[flag]}{_where(result, flag, int(fates.place[flag, k]))} at "
               f"{show.speed(float(fates.worst[flag, k]))} ({_energy(float(fates.worst[flag, k]), result)})"
               for flag in flags]  # fmt: skip
    return f"It {'; it '.join(flagged)}."


def _where(result: RunResult, flag: Flag, place: int) -> str:
    bay = result.bay
    things: Sequence[Zone | Opening | Part] = bay.parts
    if flag in (Flag.PERSON_HIT, Flag.GOT_OUT):
        things = bay.zones if flag is Flag.PERSON_HIT else bay.openings
    return f" ({things[place].name})" if 0 <= place < len(things) else ""


def _energy(speed: float, result: RunResult) -> str:
    joules = 0.5 * result.physics.ball.mass * speed * speed
    return Display(result.scenario.units).energy(joules) if joules >= 0.01 else "next to nothing"
