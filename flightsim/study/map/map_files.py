"""map.json: the maps of a bay as data. docs/map.md describes every key. SI and degrees, each key with its unit."""

from __future__ import annotations

from math import degrees
from pathlib import Path
from typing import Any

from flightsim import __version__
from flightsim.scenario.reading.resolved import resolved
from flightsim.study.map.bay_map import BayMap, ClubMap
from flightsim.study.map.direction_map import RegionShare, Share
from flightsim.study.map.directions import EACH
from flightsim.study.map.envelope import WIDER
from flightsim.study.map.nearest_escapes import CLOSER, Escape, Turned
from flightsim.study.map.string_check import EdgeString, StringReading

SCHEMA_VERSION = 1
NOT_SHOWN = "a cell shown closed meets a guard first; what comes back from it is as flown at the cells' points"


def map_facts(found: BayMap) -> dict[str, Any]:
    """All that map.json holds."""
    scenario = found.opened.scenario
    return {
        "schema_version": SCHEMA_VERSION,
        "flightsim": __version__,
        "scenario": scenario.name,
        "scenario_file": Path(scenario.file).name,
        "overrides": list(scenario.overrides),
        "resolved": resolved(scenario),
        "harm_speed_m_s": scenario.harm_speed_of(found.opened.physics.ball.mass),
        "coarsest_cell_deg": found.order.step_deg,
        "finest_cell_deg": found.order.step_deg / 2**found.order.levels,
        "envelope_from": f"{EACH} launches drawn of each kind of strike, widened by {degrees(WIDER):g} deg",
        "what_is_not_shown": NOT_SHOWN,
        "warnings": [str(problem) for problem in found.opened.warnings],
        "maps": [_club(club) for club in found.clubs],
    }


def _club(club: ClubMap) -> dict[str, Any]:
    found, aim = club.map, club.aim
    everywhere = {"open": found.share_open(), "open_in_first_flight": found.share(found.first)}
    within = {"open": club.reach_open, "open_in_first_flight": club.reach_first}
    return {
        "name": aim.name,
        "club": aim.club,
        "spot": aim.spot,
        "hand": aim.hand,
        "speed_factor": found.factor,
        "ball_speed_m_s": found.shooter.ball_speed,
        "spin_rate_rpm": aim.spin_rate * 9.549296585513721,
        "start_m": aim.start.tolist(),
        "normal_shot": {
            "elevation_deg": degrees(aim.elevation),
            "azimuth_deg": degrees(aim.azimuth),
            "meets_first": club.normal.meets,
            "flags_m_s": club.normal.flags,
        },
        "cells": len(found.cells),
        "mixed_cells": int(found.cells.mixed.sum()),
        "flown": found.flown,
        "followed": found.followed,
        "share_of_all_directions": {key: _share(share) for key, share in everywhere.items()},
        "share_by_flag": found.flags,
        "regions": [_region(row) for row in found.by_region()],
        "envelope": {
            "share_of_all_directions": found.reached,
            "strikes": list(aim.strikes),
            "drawn": int(aim.drawn.shape[1]),
            "share_of_envelope": {key: _share(share) for key, share in within.items()},
            "nothing_open": club.nothing_open,
            "shown": _closure(club),
        },
        "nearest_escapes": [_escape(escape) for escape in club.escapes],
        "string_check": [_edge(edge) for edge in club.strings],
    }


def _share(share: Share) -> dict[str, float]:
    return {"found": share.found, "least": share.least, "most": share.most}


def _region(row: RegionShare) -> dict[str, Any]:
    return {
        "name": row.region.name,
        "meets": row.region.meets.key,
        "share": _share(row.share),
        "open_in_first_flight": _share(row.first),
        "open": _share(row.open),
        "within_envelope": _share(row.reach),
        "within_envelope_open": _share(row.reach_open),
    }


def _closure(club: ClubMap) -> dict[str, Any]:
    shown, whole = club.closure, club.map.reached
    return {
        "closed": shown.closed / whole,
        "guard_or_floor_first": shown.floor / whole,
        "bare": shown.bare / whole,
        "undecided": shown.undecided / whole,
        "undecided_cells": shown.left,
        "cells_looked_at": shown.cells,
        "smallest_cell_deg": degrees(shown.smallest),
        "budget_spent": shown.spent,
    }


def _turned(shot: Turned) -> dict[str, Any]:
    return {
        "turn_deg": degrees(shot.turn),
        "elevation_deg": degrees(shot.elevation),
        "azimuth_deg": degrees(shot.azimuth),
        "meets_first": shot.region.name,
        "gets_out_in_first_flight": shot.gets_out,
        "way": None if shot.way is None else shot.way.value,
    }


def _escape(escape: Escape) -> dict[str, Any]:
    return {
        "way": escape.way.value,
        "speed_factor": escape.factor,
        **_turned(escape.shot),
        "higher_deg": degrees(escape.higher),
        "righter_deg": degrees(escape.righter),
        "past": escape.past,
        "other": escape.other,
        "speed_there_m_s": escape.speed,
        "time_s": escape.time,
        "point_m": escape.point.tolist(),
        "nearer_by_deg": degrees(CLOSER),
        "nearer_shot": None if escape.closer is None else _turned(escape.closer),
    }


def _edge(edge: EdgeString) -> dict[str, Any]:
    return {
        "guard": edge.guard,
        "edge": edge.edge,
        "nearest_to_the_shot": _reading(edge.nearest),
        "ends": [_reading(end) for end in edge.ends],
    }


def _reading(reading: StringReading) -> dict[str, Any]:
    return {
        "elevation_deg": degrees(reading.elevation),
        "azimuth_deg": degrees(reading.azimuth),
        "length_m": reading.length,
        "point_m": reading.point.tolist(),
        "ball_touches_within_deg": degrees(reading.touches),
    }
