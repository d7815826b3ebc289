"""The columns of shots.csv: one row a shot, units in the names. docs/outputs.md describes each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import EDGES, Flag, Outcome
from flightsim.plugin.handed import AsAsked
from flightsim.study.run.on_disk import IN_MEMORY, PIECE, let_go
from flightsim.study.run.result import RunResult

Make = Callable[[], NDArray[Any]]
RPM = 60.0 / (2.0 * np.pi)  # of one rad/s


def columns(result: RunResult, chunk: slice = slice(None)) -> dict[str, NDArray[Any]]:
    """Columns by name, in file order, for these shots. Text is "" and numbers NaN where there is nothing to say."""
    return {name: make() for name, make in makers(result, chunk).items()}


def columns_as_asked(result: RunResult) -> AsAsked:
    """The columns of all shots, each worked out when it is asked for."""
    whole = makers(result, slice(None))
    if len(result.shots) <= IN_MEMORY:
        return AsAsked(whole)
    return AsAsked({name: partial(_in_pieces, result, name) for name in whole})


def _in_pieces(result: RunResult, name: str) -> NDArray[Any]:
    """One column of a long run, piece by piece: some need a few more while they are worked out."""
    found = []
    for first in range(0, len(result.shots), PIECE):
        found.append(makers(result, slice(first, first + PIECE))[name]())
        let_go(result.shots, result.contacts, result.fates)
    return np.concatenate(found)


def makers(result: RunResult, chunk: slice) -> dict[str, Make]:
    """How each column of these shots is worked out."""
    shots, fates, bay = result.shots.take(chunk), result.fates.of_balls(chunk), result.bay
    worst, place, person = fates.worst, fates.place, fates.place[Flag.PERSON_HIT]
    parts, zones = [p.name for p in bay.parts], [zone.person for zone in bay.zones]
    heads = np.array([zone.head for zone in bay.zones], dtype=bool)
    out_names = bay.ways_out
    return {
        "shot": lambda: np.arange(*chunk.indices(len(result.shots))),
        "shot_type": lambda: _names([kind.label for kind in result.types], shots.type),
        "weight": lambda: result.weight[chunk],
        **{f"start_{axis}_m": partial(_row, shots.start, k) for k, axis in enumerate("xyz")},
        "ball_speed_m_s": lambda: shots.ball_speed,
        "elevation_deg": lambda: np.degrees(shots.elevation),
        "azimuth_deg": lambda: np.degrees(shots.azimuth),
        "spin_rate_rpm": lambda: shots.spin_rate * RPM,
        "spin_tilt_deg": lambda: np.degrees(shots.spin_tilt),
        "spin_along_rpm": lambda: shots.spin_along * RPM,
        **_of_first(result, parts, chunk),
        "outcome": lambda: _names([outcome.key for outcome in Outcome], result.outcome[chunk]),
        **{f"{flag.key}_m_s": partial(_row, worst, flag) for flag in Flag},
        "person": lambda: _names(zones, person),
        "person_height_m": lambda: fates.height,
        "person_head": lambda: np.where(person >= 0, _yes(np.append(heads, False)[person]), ""),
        "person_from": lambda: _names(parts, fates.came_from),
        "got_out_through": lambda: _names(out_names, place[Flag.GOT_OUT]),
        "broke_through_part": lambda: _names(parts, place[Flag.BROKE_THROUGH]),
        "past_edge_of": lambda: _names(parts, place[Flag.PAST_EDGE]),
        "past_edge_side": lambda: _names(EDGES, fates.edge.astype(np.intp)),
        "struck_through_part": lambda: _names(parts, place[Flag.STRUCK_THROUGH]),
        "hit_unprotected_part": lambda: _names(parts, place[Flag.HIT_UNPROTECTED]),
        "contacts": lambda: fates.contacts,
        "kept": lambda: _yes(fates.kept),
        "end_t_s": lambda: fates.time,
        **{f"end_{axis}_m": partial(_row, fates.point, k) for k, axis in enumerate("xyz")},
        "at_rest": lambda: _yes(fates.rests),
        "head_hit_m_s": lambda: fates.hits(heads, result.zone_harm),
        "body_hit_m_s": lambda: fates.hits(~heads, result.zone_harm),
        "comes_back_m_s": lambda: fates.harmless_return,
        "behind_tee_m_s": lambda: fates.behind_tee,
        "left_slowly_through": lambda: _names(out_names, np.where(fates.left_slowly, fates.left, -1)),
    }


def _of_first(result: RunResult, parts: Sequence[str], chunk: slice) -> dict[str, Make]:
    """The columns of the first contact: NaN where nothing was touched."""
    contacts = result.contacts
    part = contacts.part[chunk]

    def touched(make: Make) -> NDArray[Any]:
        return np.where(part >= 0, make(), np.nan)

    numbers: dict[str, Make] = {
        "t_s": lambda: contacts.time[chunk],
        **{f"{axis}_m": partial(_row, contacts.point[:, chunk], k) for k, axis in enumerate("xyz")},
        "speed_m_s": lambda: contacts.speed_of(chunk),
        "angle_deg": lambda: np.degrees(contacts.angle_of(chunk)),
    }
    names: dict[str, Make] = {"first_part": lambda: _names(parts, part)}
    return names | {f"first_{key}": partial(touched, make) for key, make in numbers.items()}


def _row(table: NDArray[Any], k: int) -> NDArray[Any]:
    row: NDArray[Any] = table[k]
    return row


def _yes(case: NDArray[np.bool_]) -> NDArray[Any]:
    return np.where(case, "yes", "no")


def _names(names: Sequence[str], index: NDArray[Any]) -> NDArray[np.object_]:
    """Names by index, "" for -1."""
    chosen: NDArray[np.object_] = np.array([*names, ""], dtype=object)[index]
    return chosen
