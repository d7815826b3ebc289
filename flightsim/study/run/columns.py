"""The columns of shots.csv: one row a shot, units in the names. docs/outputs.md describes each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import EDGES, Flag, Outcome
from flightsim.study.run.result import RunResult

RPM = 60.0 / (2.0 * np.pi)  # of one rad/s
UNNAMED_GAP = "gap in the room"  # what a ball left through where no opening is known


def columns(result: RunResult, chunk: slice = slice(None)) -> dict[str, NDArray[Any]]:
    """Columns by name, in file order, for these shots. Text is "" and numbers NaN where there is nothing to say."""
    shots, contacts = result.shots.take(chunk), result.contacts
    fates, bay = result.fates.some(chunk), result.bay
    part = contacts.part[chunk]
    touched = part >= 0
    worst, place = fates.worst, fates.place
    parts = [p.name for p in bay.parts]
    heads = np.array([zone.head for zone in bay.zones], dtype=bool)
    head = np.append(heads, False)[place[Flag.PERSON_HIT]]
    out_names = [*(opening.name for opening in bay.openings), UNNAMED_GAP]
    numbers = {
        "t_s": contacts.time[chunk],
        **{f"{axis}_m": contacts.point[k, chunk] for k, axis in enumerate("xyz")},
        "speed_m_s": contacts.speed_of(chunk),
        "angle_deg": np.degrees(contacts.angle_of(chunk)),
    }
    out: dict[str, NDArray[Any]] = {
        "shot": np.arange(*chunk.indices(len(result.shots))),
        "shot_type": _names([kind.label for kind in result.types], shots.type),
        "weight": result.weight[chunk],
        **{f"start_{axis}_m": shots.start[k] for k, axis in enumerate("xyz")},
        "ball_speed_m_s": shots.ball_speed,
        "elevation_deg": np.degrees(shots.elevation),
        "azimuth_deg": np.degrees(shots.azimuth),
        "spin_rate_rpm": shots.spin_rate * RPM,
        "spin_tilt_deg": np.degrees(shots.spin_tilt),
        "spin_along_rpm": shots.spin_along * RPM,
        "first_part": _names(parts, part),
        **{f"first_{key}": np.where(touched, value, np.nan) for key, value in numbers.items()},
        "outcome": _names([outcome.key for outcome in Outcome], result.outcome[chunk]),
        **{f"{flag.key}_m_s": worst[flag] for flag in Flag},
        "person": _names([zone.person for zone in bay.zones], place[Flag.PERSON_HIT]),
        "person_height_m": fates.height,
        "person_head": np.where(place[Flag.PERSON_HIT] >= 0, np.where(head, "yes", "no"), ""),
        "person_from": _names(parts, fates.came_from),
        "got_out_through": _names(out_names, place[Flag.GOT_OUT]),
        "broke_through_part": _names(parts, place[Flag.BROKE_THROUGH]),
        "past_edge_of": _names(parts, place[Flag.PAST_EDGE]),
        "past_edge_side": _names(EDGES, fates.edge.astype(np.intp)),
        "struck_through_part": _names(parts, place[Flag.STRUCK_THROUGH]),
        "hit_unprotected_part": _names(parts, place[Flag.HIT_UNPROTECTED]),
        "contacts": fates.contacts,
        "kept": np.where(fates.kept, "yes", "no"),
        "end_t_s": fates.time,
        **{f"end_{axis}_m": fates.point[k] for k, axis in enumerate("xyz")},
        "at_rest": np.where(fates.rests, "yes", "no"),
        "head_hit_m_s": fates.hits(heads, result.zone_harm),
        "body_hit_m_s": fates.hits(~heads, result.zone_harm),
        "comes_back_m_s": fates.harmless_return,
        "behind_tee_m_s": fates.behind_tee,
        "left_slowly_through": _names(out_names, np.where(fates.left_slowly, fates.left, -1)),
    }
    return out


def _names(names: Sequence[str], index: NDArray[Any]) -> NDArray[np.object_]:
    """Names by index, "" for -1."""
    chosen: NDArray[np.object_] = np.array([*names, ""], dtype=object)[index]
    return chosen
