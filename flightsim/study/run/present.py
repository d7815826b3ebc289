"""Who is in the bay that was flown: onlookers, and those hitters who hit at least one kind of shot there."""

from __future__ import annotations

from dataclasses import replace

from flightsim.bay.parts import Bay
from flightsim.bay.people import Zone
from flightsim.study.run.result import RunResult


def zones_present(result: RunResult) -> tuple[Zone, ...]:
    """The zones that a shot of the run could hit: no hitter's of a hand or a tee spot that nobody hits from."""
    played = {(kind.spot, kind.hand) for kind in result.types}
    return tuple(zone for zone in result.bay.zones if not zone.own_spot or (zone.own_spot, zone.own_hand) in played)


def bay_as_played(result: RunResult) -> Bay:
    """The bay with nobody in it who does not play: for drawing. Its zones are not those that `fates` counts by."""
    return replace(result.bay, zones=zones_present(result))
