"""What acts on a frame: its own weight and what hangs on it, and what people and balls do to it.

Limit states: EN 1990:2002, 6.10, with its usual factors 1.35 on weights and 1.5 on the rest. What may act together is
taken to act together in full (no psi factors): harder than EN 1990 asks, and simpler.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from flightsim.making.strength.model import Model
from flightsim.making.strength.skeleton import Load, LoadCase, NodeLoad, scaled

G = 9.80665  # m/s2
ON_WEIGHT, ON_REST = 1.35, 1.5  # EN 1990:2002, table A1.2(B)
BALL_MASS, BALL_SPEED = 0.04593, 80.0  # kg, m/s: the speed to design for [ball-speeds]
GIVES_BACK, IN_TOUCH = 0.1, 0.026  # of the speed, s: a square hit on cloth [cloth-oblique]


def ball_push(mass: float = BALL_MASS, speed: float = BALL_SPEED, back: float = GIVES_BACK) -> float:
    """Push on the frame of a ball that a corded cloth stops, N: a half sine of its momentum, doubled as it is sudden.

    Impulse and momentum; an undamped frame answers a sudden load twofold (textbook). mass: kg; speed: m/s.
    """
    return 2.0 * pi / 2.0 * mass * speed * (1.0 + back) / IN_TOUCH


@dataclass(frozen=True)
class Actions:
    """Loads in groups, not yet factored. weight: permanent; always: cords and what is stored; single: one at a time."""

    weight: tuple[Load, ...]
    cords: tuple[Load, ...]
    stored: tuple[Load, ...]
    people: tuple[LoadCase, ...]
    sideways: tuple[LoadCase, ...]
    ball: tuple[LoadCase, ...]

    def strength(self) -> tuple[LoadCase, ...]:
        """1.35 G + 1.5 Q: with each single action and with none."""
        rest = [LoadCase("what it carries", ()), *self.people, *self.sideways, *self.ball]
        held = _all(self.weight, ON_WEIGHT) + _all(self.cords + self.stored, ON_REST)
        return tuple(LoadCase(case.name, held + case.times(ON_REST)) for case in rest)

    def service(self) -> tuple[LoadCase, ...]:
        """At 1.0: what it carries, and a push sideways. A person hanging and a ball are no service."""
        held = self.weight + self.cords + self.stored
        return tuple(LoadCase(c.name, held + c.loads) for c in (LoadCase("what it carries", ()), *self.sideways))

    def lifting(self, factor: float) -> tuple[LoadCase, ...]:
        """Weight as it is, nothing stored, and each single action so many times: what pulls anchors and feet up."""
        single = [*self.people, *self.sideways, *self.ball]
        return tuple(LoadCase(c.name, self.weight + _all(self.cords, factor) + c.times(factor)) for c in single)


def _all(loads: tuple[Load, ...], factor: float) -> tuple[Load, ...]:
    return tuple(scaled(load, factor) for load in loads)


def actions(model: Model) -> Actions:
    """All that acts on the frame."""
    return Actions(_weight(model), _cords(model), _stored(model), _people(model), _sideways(model), _ball(model))


def _weight(model: Model) -> tuple[Load, ...]:
    structure, found = model.structure, []
    for bar in structure.bars:
        found += model.even(bar.name, (0.0, 0.0, -G * model.section(bar.name).mass))
    if structure.screen is not None:
        hung = structure.screen
        found += model.even(hung.top, (0.0, 0.0, -G * structure.loads.cloth * hung.height))
    for canopy in structure.canopies:
        found += _over(model, canopy.front, canopy.sides, canopy.mass * canopy.width * canopy.depth)
    return tuple(found)


def _over(model: Model, front: str, sides: tuple[str, ...], mass: float) -> list[Load]:
    """A canopy's mass, kg: half along its front, a quarter along each side; its back edge is taken to hang on nothing
    (judgement: the front bar carries the more for it).
    """
    shares = [(front, 0.5), *((side, 0.5 / len(sides)) for side in sides)]
    found: list[Load] = []
    for bar, share in shares:
        found += model.even(bar, (0.0, 0.0, -G * mass * share / model.structure.bar(bar).span))
    return found


def _cords(model: Model) -> tuple[Load, ...]:
    """A screen's cords pull the bar over it down, and the bars beside it inward, N/m."""
    hung, pull = model.structure.screen, model.structure.loads.cord_pull
    if hung is None or pull == 0.0:
        return ()
    middle = np.mean([np.array(model.structure.bar(name).start) for name in hung.sides], axis=0)
    found = model.even(hung.top, (0.0, 0.0, -pull))
    for side in hung.sides:
        inward = float(np.sign(middle[1] - model.structure.bar(side).start[1]))
        found += model.even(side, (0.0, inward * pull, 0.0))
    return tuple(found)


def _stored(model: Model) -> tuple[Load, ...]:
    found: list[Load] = []
    for canopy in model.structure.canopies:
        mass = model.structure.loads.stored * canopy.width * canopy.depth
        found += _over(model, canopy.front, canopy.sides, mass) if mass else []
    return tuple(found)


def _people(model: Model) -> tuple[LoadCase, ...]:
    """A person hanging: on the middle of each canopy's front and sides and at its corners, else on the top bar."""
    down = (0.0, 0.0, -model.structure.loads.person)
    edges = [name for canopy in model.structure.canopies for name in (canopy.front, *canopy.sides)]
    if not edges and model.structure.screen is not None:
        edges = [model.structure.screen.top]
    found = [LoadCase(f"a person hanging on the middle of {name}", (model.load_at(name, 0.5, down),)) for name in edges]
    for canopy in model.structure.canopies:
        for side in canopy.sides:
            found.append(LoadCase(f"a person hanging on the front end of {side}", (model.load_at(side, 1.0, down),)))
    return tuple(found)


def _tops(model: Model) -> list[tuple[str, str]]:
    """Words and nodes of the tops of the bars beside the screen, and of the canopies' front corners."""
    hung = model.structure.screen
    found = [(f"the top of {side}", model.ends[side][1]) for side in (hung.sides if hung else ())]
    sides = [side for canopy in model.structure.canopies for side in canopy.sides]
    return found + [(f"the front end of {side}", model.ends[side][1]) for side in sides]


def _sideways(model: Model) -> tuple[LoadCase, ...]:
    """A push at the top, each way."""
    push = model.structure.loads.sideways
    ways = (("to the left", (0.0, push, 0.0)), ("to the right", (0.0, -push, 0.0)),
            ("toward the wall", (push, 0.0, 0.0)), ("toward the tee", (-push, 0.0, 0.0)))  # fmt: skip
    return tuple(
        LoadCase(f"a push {way} at {top}", (NodeLoad(node, force),))
        for top, node in _tops(model)
        for way, force in ways
    )


def _ball(model: Model) -> tuple[LoadCase, ...]:
    """A ball's push toward the wall: on the middle of the bars around a screen, and of each canopy's front."""
    push, hung = (model.structure.loads.ball, 0.0, 0.0), model.structure.screen
    bars = [*((hung.top, *hung.sides) if hung else ()), *(canopy.front for canopy in model.structure.canopies)]
    return tuple(LoadCase(f"a ball's push on {name}", (model.load_at(name, 0.5, push),)) for name in bars)
