"""Whether the room leaves place to swing wherever the tee may be: what no change can touch is not looked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

from flightsim.bay.parts import OF_THE_ROOM, Part, PartKind, Role
from flightsim.errors import PluginError
from flightsim.scenario.reading.models import Scenario, Spot
from flightsim.scenario.reading.targets_section import LENGTH_TARGETS
from flightsim.study.improve.space import TEE, TEE_ASIDE, choices
from flightsim.study.run.open_bay import OpenBay

APART = 0.1  # m: between the places of the tee that are looked at
CLOTH_MOVES = 0.3  # m: the tee is bound to the screen, which may itself be hung so much nearer or farther (judgement)
MOST_PLACES = 2000

Offset = tuple[float, float]  # of all spots, m: from the end wall, and from the left wall


@dataclass(frozen=True)
class Bound:
    """That a length cannot be had wherever the tee is. target: its name; things: of the room, that leave no place;
    most: no place gives more, m; limit: what is asked, m; places: how many were looked at.
    """

    target: str
    things: tuple[str, ...]
    most: float
    limit: float
    places: int


def lengths_beyond(opened: OpenBay) -> tuple[Bound, ...]:
    """The lengths that the room itself, and what stands in it, leaves nowhere; none where a place may be left.

    Each thing's gap is measured at places on a grid of the tee's bounds, and everywhere: a gap changes by no more than
    the tee is moved, so between two places it is no more than theirs and half of what lies between them.
    """
    found = []
    for key in LENGTH_TARGETS:
        limit = getattr(opened.scenario.targets, key)
        if not isinstance(limit, str):
            try:
                bound = _bound(opened, key, float(limit))
            except PluginError:  # one that cannot measure a part of a bay: then nothing is shown
                bound = None
            found += [bound] if bound is not None else []
    return tuple(found)


def _bound(opened: OpenBay, key: str, limit: float) -> Bound | None:
    """What leaves no place; None as soon as a place is found that everything may leave."""
    places, slack = _places(opened)
    things, left, gaps_of = _things(opened, key), places, dict[str, list[float]]()
    while left:
        bad = next((name for name, parts in things.items() if _gap(opened, key, parts, left[0]) + slack < limit), None)
        if bad is None:
            return None
        gaps = {place: _gap(opened, key, things[bad], place) + slack for place in places}
        gaps_of[bad] = list(gaps.values())
        left = [place for place in left if gaps[place] >= limit]
    alone = [name for name in gaps_of if max(gaps_of[name]) < limit]
    names = (min(alone, key=lambda name: max(gaps_of[name])),) if alone else tuple(gaps_of)
    most = max(min(at_place) for at_place in zip(*(gaps_of[name] for name in names), strict=True))
    return Bound(key, names, most, limit, len(places))


def _things(opened: OpenBay, key: str) -> dict[str, list[Part]]:
    """The room's own surfaces and what stands in it, each by its name, what is nearest now first."""
    things: dict[str, list[Part]] = {}
    for part in opened.bay.parts:
        if part.role is not Role.FLOOR and part.kind in (*OF_THE_ROOM, PartKind.THING):
            things.setdefault(part.label, []).append(part)
    return dict(sorted(things.items(), key=lambda each: (_gap(opened, key, each[1], (0.0, 0.0)), each[0])))


def _gap(opened: OpenBay, key: str, parts: Sequence[Part], offset: Offset) -> float:
    """How near the length is to these parts with the tee moved, m; infinite where nobody measures it."""
    bay = replace(opened.bay, parts=tuple(parts), zones=())
    found = opened.plugins.measures(_moved(opened.scenario, offset), bay, opened.physics.ball, opened.facings)
    return min((value for name, value in found.items() if name.startswith(key)), default=float("inf"))


def _moved(scenario: Scenario, offset: Offset) -> Scenario:
    """The scenario with all places that are hit from moved, and its axes where they are."""
    tee = scenario.tee
    alone = Spot.model_construct(
        name="tee", share=1.0, from_end_wall=tee.from_end_wall, from_left_wall=tee.from_left_wall
    )
    moved = tuple(
        spot.model_copy(update={"from_end_wall": spot.from_end_wall + offset[0],
                                "from_left_wall": spot.from_left_wall + offset[1]})
        for spot in tee.spots or (alone,)
    )  # fmt: skip
    return replace(scenario, tee=tee.model_copy(update={"spots": moved}))


def _places(opened: OpenBay) -> tuple[list[Offset], float]:
    """Offsets of the tee over all that it may be moved, and how far any of these lies from one of them, m."""
    may = {choice.path: choice for choice in choices(opened)}
    axes = []
    for path, more in ((TEE, CLOTH_MOVES), (TEE_ASIDE, 0.0)):
        if path not in may:
            axes.append([0.0])
            continue
        now = may[path].present
        off = [value - now for value in (*may[path].values, now)]
        axes.append(_grid(min(off) - more, max(off) + more))
    if len(axes[0]) * len(axes[1]) > MOST_PLACES:
        axes = [[*axis[::2], axis[-1]] for axis in axes]
    gaps = [max((b - a for a, b in pairwise(axis)), default=0.0) / 2.0 for axis in axes]
    places = [(along, aside) for along in axes[0] for aside in axes[1]]
    return sorted(places, key=lambda place: (hypot(*place), place)), hypot(*gaps)


def _grid(low: float, high: float) -> list[float]:
    steps = max(1, int((high - low) / APART + 0.999))
    return [low + k * (high - low) / steps for k in range(steps + 1)]
