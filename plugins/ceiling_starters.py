"""What may be added below a roof: foam on it, and nets that hang from it before openings through which nobody walks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import pi
from typing import Any

import numpy as np

from flightsim.scenario.reading.models import Scenario, Starter

EDGE = 0.05  # m: a new pad or net keeps off the walls
LEAST_PAD = 0.3  # m
PAD = 0.05  # m: its thickness
PAST = 0.3  # m: how far a net reaches past the edges of an opening (judgement)
WALKED_THROUGH = 0.3  # m: nobody walks through what begins higher above the floor
QUARTER = f"{np.degrees(pi / 2.0):g} deg"


def ceiling_starters(scenario: Scenario) -> list[Starter]:
    """Pads on the ceiling where there is none, and nets before what is open."""
    return [*_pads(scenario), *_nets(scenario)]


def _pads(scenario: Scenario) -> Iterator[Starter]:
    """Foam on the roof: before, over and behind the tee, from wall to wall."""
    pads = [pad for ceiling in scenario.entries("ceiling") for pad in ceiling.pads]
    tee, room = scenario.tee.from_end_wall, scenario.room
    zones = {"front": (EDGE, tee - 0.6), "tee": (tee - 0.6, tee + 0.6), "back": (tee + 0.6, room.length - EDGE)}
    taken = [(pad.from_end_wall, pad.from_end_wall + pad.length) for pad in pads]
    for word, zone in zones.items():
        for start, end in free_of(zone, taken):
            entry = {"name": _free(f"{word} pad", pads), "from_end_wall": start, "from_left_wall": EDGE,
                     "length": end - start, "width": room.width - 2.0 * EDGE, "thickness": PAD}  # fmt: skip
            yield Starter(f"a pad on the ceiling, {word}", "ceiling.pads.+", entry)


def free_of(zone: tuple[float, float], taken: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The pieces of a span that others leave, those too short to be worth a pad left out."""
    pieces, start = [], zone[0]
    for low, high in sorted(taken):
        pieces.append((start, min(low, zone[1])))
        start = max(start, high)
    return [(low, high) for low, high in (*pieces, (start, zone[1])) if high - low >= LEAST_PAD]


def _free(name: str, taken: Sequence[Any]) -> str:
    """The name, or with a number where somebody has it."""
    return name if all(one.name != name for one in taken) else f"{name} {len(taken) + 1}"


def _nets(scenario: Scenario) -> Iterator[Starter]:
    """A net before each opening that stands open and that nobody walks through, and across an open back."""
    names = {baffle.name for ceiling in scenario.entries("ceiling") for baffle in ceiling.baffles}
    room = scenario.room
    for opening in room.openings:
        if not opening.closed and opening.sill >= WALKED_THROUGH and f"{opening.name} net" not in names:
            entry = _before(scenario, opening)
            yield Starter(f"a net before the {opening.name}", "ceiling.baffles.+", entry)
    if getattr(room, "back", "wall") == "open" and "back net" not in names:
        foot = room.turf_height + EDGE
        entry = {"name": "back net", **_across(scenario, room.length - 2.0 * EDGE, EDGE, room.width - 2.0 * EDGE),
                 "facing": "net"}  # fmt: skip
        top = _roof(scenario, room.length - 2.0 * EDGE, (EDGE, room.width - EDGE))
        yield Starter("a net across the open back", "ceiling.baffles.+", {**entry, "top": top, "drop": top - foot})


def _before(scenario: Scenario, opening: Any) -> dict[str, Any]:
    """The net of one opening: past its edges all round, as far as walls and roof let it."""
    room, foot = scenario.room, max(opening.sill - PAST, scenario.room.turf_height + EDGE)
    along = opening.from_end_wall if opening.wall in ("left", "right") else opening.from_left_wall
    most = room.length if opening.wall in ("left", "right") else room.width
    start, end = max(along - PAST, EDGE), min(along + opening.width + PAST, most - EDGE)
    if opening.wall in ("left", "right"):
        off = EDGE if opening.wall == "left" else room.width - EDGE
        place = {"from_end_wall": start, "from_left_wall": off, "width": end - start, "turn": QUARTER}
        roof = min(_roof(scenario, s, (off, off)) for s in (start, end))
    else:
        off = EDGE if opening.wall == "end" else room.length - EDGE
        place, roof = _across(scenario, off, start, end - start), _roof(scenario, off, (start, end))
    top = min(opening.sill + opening.height + PAST, roof)
    return {"name": f"{opening.name} net", **place, "top": top, "drop": top - foot, "facing": "net"}


def _across(scenario: Scenario, off: float, start: float, width: float) -> dict[str, Any]:
    return {"from_end_wall": off, "from_left_wall": start, "width": width}


def _roof(scenario: Scenario, off: float, ends: tuple[float, float]) -> float:
    """The roof's underside over the lower end of a net, with some to spare, m."""
    height = scenario.room.roof_shape().height(np.full(2, off), np.array(ends))
    return float(np.min(height)) - EDGE
