"""What goes wrong, gathered by flag and place from a run's fates."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag
from flightsim.study.run.columns import UNNAMED_GAP
from flightsim.study.run.pooled import total_upper
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Trouble

Index = NDArray[np.intp]
EXAMPLES = 12  # shots named of each trouble
FROM_TEE = "the tee"  # where a ball comes from that has touched nothing


def find_troubles(result: RunResult) -> tuple[Trouble, ...]:
    """Every flag at every place, worst first: by flag, then by how many of all balls."""
    found = [_trouble(result, flag, place, shots) for flag in Flag for place, shots in by_place(result, flag).items()]
    return tuple(sorted(found, key=lambda t: (t.flag, -t.rate, t.place)))


def by_place(result: RunResult, flag: Flag) -> dict[str, Index]:
    """The shots `(k,)` that carry a flag, by the person, opening or part of their worst."""
    bay, fates = result.bay, result.fates
    names = [part.label for part in bay.parts]
    if flag is Flag.PERSON_HIT:
        names = [zone.person for zone in bay.zones]
    elif flag is Flag.GOT_OUT:
        names = [*(opening.name for opening in bay.openings), UNNAMED_GAP]
    known = np.array([*names, ""], dtype=object)
    shots = np.flatnonzero(fates.flags[flag])
    place = known[fates.place[flag, shots]]
    return {name: shots[place == name] for name in sorted(set(place.tolist()))}


def _trouble(result: RunResult, flag: Flag, place: str, shots: Index) -> Trouble:
    fates, bay = result.fates, result.bay
    worst = fates.worst[flag, shots]
    order = np.argsort(-worst, kind="stable")
    came_from, heads = "", 0
    if flag is Flag.PERSON_HIT:
        labels = [*(part.label for part in bay.parts), FROM_TEE]
        came_from = Counter(labels[k] for k in fates.came_from[shots]).most_common(1)[0][0]
        heads = int(np.array([zone.head for zone in bay.zones])[fates.place[flag, shots]].sum())
    rate, upper = rate_of(result, shots)
    return Trouble(
        flag, place, came_from, int(shots.size), rate, upper, float(worst.max()), heads,
        tuple(int(shot) for shot in shots[order[:EXAMPLES]]),
    )  # fmt: skip


def rate_of(result: RunResult, shots: Index) -> tuple[float, float | None]:
    """How many of all balls these shots stand for, and the upper bound of it; None for a grid."""
    kinds = len(result.types)
    count = np.bincount(result.shots.type[shots], minlength=kinds)
    each = np.bincount(result.shots.type, minlength=kinds)
    share = np.array([kind.share for kind in result.types])
    rate = float(share @ (count / each))
    if not result.sampled:
        return rate, None
    hits = np.zeros(len(result.shots), dtype=bool)
    hits[shots] = True
    return rate, total_upper(hits, result.shots.type, share, 1.0 - result.rates.confidence)
