"""What goes wrong, gathered by flag and place from a run's fates."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.fates import Flag
from flightsim.study.run.on_disk import let_go
from flightsim.study.run.pooled import total_upper
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Trouble

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
EXAMPLES = 12  # shots named of each trouble
FROM_TEE = "the tee"  # where a ball comes from that has touched nothing


def find_troubles(result: RunResult) -> tuple[Trouble, ...]:
    """Every flag at every place, worst first: by flag, then by how many of all balls."""
    found = []
    for flag in Flag:
        found += [_trouble(result, flag, place, shots) for place, shots in by_place(result, flag).items()]
        let_go(result.shots, result.contacts, result.fates)
    return tuple(sorted(found, key=lambda t: (t.flag, -t.rate, t.place)))


def by_place(result: RunResult, flag: Flag) -> dict[str, Index]:
    """The shots `(k,)` that carry a flag, by the opening or part of their worst, or by every person that they hit."""
    bay, fates = result.bay, result.fates
    names = [part.label for part in bay.parts]
    if flag is Flag.PERSON_HIT:
        return by_person(result)
    if flag is Flag.GOT_OUT:
        names = bay.ways_out
    known = np.array([*names, ""], dtype=object)
    shots = np.flatnonzero(result.with_flag(flag))
    place = known[fates.place[flag, shots]]
    return {name: shots[place == name] for name in sorted(set(place.tolist()))}


def by_person(result: RunResult) -> dict[str, Index]:
    """The shots `(k,)` that could hit each person that any could: one that hits two counts for both."""
    hits = {person: result.hits(zones_of(result.bay, person)) for person in persons(result.bay)}
    return {person: np.flatnonzero(~np.isnan(speed)) for person, speed in hits.items() if not np.isnan(speed).all()}


def persons(bay: Bay) -> list[str]:
    """Everybody in the bay, by name."""
    return sorted({zone.person for zone in bay.zones})


def zones_of(bay: Bay, person: str, head: bool | None = None) -> Mask:
    """Which of the bay's zones `(zones,)` are a person's; head: only those at the head, or only those below."""
    return np.array([z.person == person and (head is None or z.head is head) for z in bay.zones], dtype=bool)


def _trouble(result: RunResult, flag: Flag, place: str, shots: Index) -> Trouble:
    worst = worst_at(result, flag, place)[shots]
    order = np.argsort(-worst, kind="stable")
    rate, upper = rate_of(result, shots)
    found = Trouble(
        flag, place, "", int(shots.size), rate, upper, float(worst.max()), 0,
        tuple(int(shot) for shot in shots[order[:EXAMPLES]]),
    )  # fmt: skip
    return _of_person(result, found, shots) if flag is Flag.PERSON_HIT else found


def worst_at(result: RunResult, flag: Flag, place: str) -> Array:
    """Each shot's speed `(n,)` at its worst, m/s, of a flag; for a person, where it hit that person."""
    return result.hits(zones_of(result.bay, place)) if flag is Flag.PERSON_HIT else result.fates.worst[flag]


def _of_person(result: RunResult, trouble: Trouble, shots: Index) -> Trouble:
    """The trouble with what most of its balls came from, as played, and with what is so of the person's head."""
    shares = shares_from(result, zones_of(result.bay, trouble.place), shots)
    found = replace(trouble, came_from=max(shares, key=lambda label: (shares[label], label)))
    speed = result.hits(zones_of(result.bay, trouble.place, head=True))
    heads = np.flatnonzero(~np.isnan(speed))
    if not heads.size:
        return found
    rate, upper = rate_of(result, heads)
    fastest = float(np.nanmax(speed))
    return replace(found, heads=int(heads.size), heads_rate=rate, heads_upper=upper, heads_fastest=fastest)


def shares_from(result: RunResult, zones: Mask, shots: Index) -> dict[str, float]:
    """What these shots `(k,)` came from last as they hit these zones at their worst: label to share of all balls."""
    sources = source_of(result, zones, shots)
    return {str(label): float(result.weight[shots[sources == label]].sum()) for label in set(sources)}


def source_of(result: RunResult, zones: Mask, shots: Index) -> NDArray[np.object_]:
    """By its label, what each of these shots `(k,)` came from last as it hit these zones at its worst."""
    labels = np.array([*(part.label for part in result.bay.parts), FROM_TEE], dtype=object)
    zone_rows = np.flatnonzero(zones)
    speed = np.nan_to_num(result.fates.at_zone[zone_rows][:, shots], nan=-1.0)
    came_from: NDArray[np.object_] = labels[result.fates.zone_from[zone_rows[speed.argmax(axis=0)], shots]]
    return came_from


def rate_of(result: RunResult, shots: Index) -> tuple[float, float | None]:
    """How many of all balls these shots stand for, and the upper bound of it; None for a grid."""
    kinds = len(result.types)
    count = np.bincount(result.shots.type[shots], minlength=kinds)
    shots_of_type = np.bincount(result.shots.type, minlength=kinds)
    share = np.array([kind.share for kind in result.types])
    rate = float(share @ (count / shots_of_type))
    if not result.sampled:
        return rate, None
    hits = np.zeros(len(result.shots), dtype=bool)
    hits[shots] = True
    return rate, total_upper(hits, result.shots.type, share, 1.0 - result.rates.confidence, result.shots.rank)


def share_of_first(result: RunResult, case: Mask) -> float:
    """How many of all balls as played this is so of `(k,)`, of the run's first k shots."""
    return _first(result, case)[0]


def rate_of_first(result: RunResult, case: Mask) -> tuple[float, float | None]:
    """The rate of a case in the run's first shots, and its upper bound: None for a grid, or a type missing."""
    rate, all_there = _first(result, case)
    if not (result.sampled and all_there):
        return rate, None
    share = np.array([shot_type.share for shot_type in result.types])
    kind, rank = result.shots.type[: case.size], result.shots.rank[: case.size]
    return rate, total_upper(case, kind, share, 1.0 - result.rates.confidence, rank)


def _first(result: RunResult, case: Mask) -> tuple[float, bool]:
    """The rate, and whether every shot type is among these shots."""
    kind, share = result.shots.type[: case.size], np.array([shot_type.share for shot_type in result.types])
    count, shots_of_type = (np.bincount(k, minlength=share.size) for k in (kind[case], kind))
    there = shots_of_type > 0
    return float(share[there] @ (count[there] / shots_of_type[there]) / share[there].sum()), bool(there.all())
