"""A bay in a few plain lines, for `check`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem

CAUTION = "Results guide a design; they do not certify it."


class SomePart(Protocol):
    """What is asked of a part of the bay: its thing's name, what it is for, what it is made of."""

    @property
    def label(self) -> str: ...  # noqa: D102
    @property
    def role(self) -> str: ...  # noqa: D102
    @property
    def facing(self) -> str: ...  # noqa: D102
    @property
    def fragile(self) -> bool: ...  # noqa: D102


class SomeOpening(Protocol):
    """What is asked of an opening."""

    @property
    def name(self) -> str: ...  # noqa: D102


def describe(
    scenario: Scenario,
    parts: Sequence[SomePart],
    openings: Sequence[SomeOpening],
    warnings: Sequence[Problem],
    asked: str = "",
) -> str:
    """The bay in plain lines: room, tee, what protects it, what does not, where balls can leave, which targets are
    asked, warnings.
    """
    guards = [part for part in parts if part.role == "guard"]
    others = [part for part in parts if part.role == "unprotected"]
    rows = [
        ("room", scenario.room.in_words(Display(scenario.units).length)),
        ("tee", _tee(scenario)),
        ("protection", _names(guards, with_facing=True) or "none"),
        ("unprotected", _names(others)),
        ("breaks when hit", _names([part for part in others if part.fragile])),
        ("openings", ", ".join(opening.name for opening in openings) or "none"),
        ("ball and air", f"{scenario.ball.preset}; {Display(scenario.units).temperature(scenario.air.temperature)}; "
                         f"drag and lift {scenario.aero}"),
        ("targets", asked),
    ]  # fmt: skip
    wide = max(len(title) for title, _ in rows)
    lines = [scenario.name, *(f"  {title:<{wide}}  {words}" for title, words in rows if words)]
    count = f"{len(warnings)} warning{'s' if len(warnings) > 1 else ''}:" if warnings else "No problems found."
    return "\n".join([*lines, "", count, *(str(warning) for warning in warnings), CAUTION])


def _tee(scenario: Scenario) -> str:
    show, tee = Display(scenario.units).length, scenario.tee
    words = f"{show(tee.from_end_wall)} from the end wall, {show(tee.from_left_wall)} from the left wall"
    ground = (
        f", the ball {show(scenario.ground_height)} above the slab"
        if scenario.ground_height
        else ", the ball on the slab"
    )
    spots = f"; {len(tee.spots)} spots: {', '.join(spot.name for spot in tee.spots)}" if tee.spots else ""
    return words + ground + spots


def _names(parts: Iterable[SomePart], with_facing: bool = False) -> str:
    """Each thing once."""
    return ", ".join(dict.fromkeys(f"{part.label} ({part.facing})" if with_facing else part.label for part in parts))
