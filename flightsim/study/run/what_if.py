"""What if one guard fails: each is taken away or weakened in turn, and all shots that met it are flown again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from flightsim.bay.parts import Bay, Role
from flightsim.contact.fates import Flag
from flightsim.contact.rebound import Law, PartRebound
from flightsim.study.run.crew import side_by_side
from flightsim.study.run.find_troubles import rate_of_first, share_of_first
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.reflown import Reflown
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import WhatIf

CRUSHED = "its foam crushed"
GONE = "taken away"


def what_if(opened: OpenBay, result: RunResult, reflown: Reflown | None = None) -> tuple[WhatIf, ...]:
    """Each guard of the bay, failed, on the run's shots; what lets past most of the balls as played first.

    The shots are flown again as they were drawn: what changes is the bay alone. reflown: the shots, if at hand.
    """
    shots = reflown or Reflown.of(opened, result)
    failed = _ready(failures(opened))
    found = [what for _, what in side_by_side(failed, lambda failure: _fly(*failure, shots, result))]
    return tuple(sorted(found, key=lambda failure: (-(failure.rate), failure.guard, failure.how)))


def _ready(failed: Iterator[tuple[str, str, OpenBay]]) -> Iterator[tuple[str, str, OpenBay]]:
    """The same, each bay ready for balls: a plugin is asked by one thread alone."""
    for failure in failed:
        failure[2].surroundings()
        yield failure


def failures(opened: OpenBay) -> Iterator[tuple[str, str, OpenBay]]:
    """Every guard and the ways in which it fails: its name, what has failed, and the bay with that."""
    for guard in opened.bay.guard_labels():
        parts = {part.name for part in opened.bay.parts if part.label == guard and part.role is Role.GUARD}
        yield guard, GONE, _without(opened, parts)
        crushed = _crushed(opened, parts)
        if crushed is not None:
            yield guard, CRUSHED, crushed
        for words in sorted({words for name in parts for words, _ in _weakened(opened, name)}):
            laws = {name: dict(_weakened(opened, name)).get(words) for name in parts}
            weak = {name: PartRebound(name, law) for name, law in laws.items() if law is not None}
            yield guard, words, replace(opened, rebounds={**opened.rebounds, **weak})


def _weakened(opened: OpenBay, part: str) -> tuple[tuple[str, Law], ...]:
    return opened.rebounds[part].weakened if part in opened.rebounds else ()


def _without(opened: OpenBay, names: set[str]) -> OpenBay:
    """The bay without these parts; the laws of the others are asked for anew, since one may look for its neighbours."""
    bay = opened.bay
    left = Bay(tuple(p for p in bay.parts if p.name not in names), bay.openings, bay.lower, bay.upper, bay.zones)
    rebounds = opened.plugins.rebounds(opened.scenario, left, opened.physics.ball, opened.facings, names)
    return replace(opened, bay=left, rebounds=rebounds)


def _crushed(opened: OpenBay, names: set[str]) -> OpenBay | None:
    """The bay with the foam of these parts as good as gone; None where there is none."""
    facings, parts = dict(opened.facings), []
    for part in opened.bay.parts:
        facing = opened.facings[part.facing]
        if part.name in names and facing.foam is not None:
            bare = replace(facing, name=f"{facing.name}, crushed", foam=None)
            facings[bare.name] = bare
            part = replace(part, facing=bare.name)
        parts.append(part)
    if len(facings) == len(opened.facings):
        return None
    return replace(opened, bay=replace(opened.bay, parts=tuple(parts)), facings=facings)


def _fly(guard: str, words: str, failed: OpenBay, shots: Reflown, result: RunResult) -> WhatIf:
    fates = shots.in_bay(failed)
    before, after = shots.fates.escaped, fates.escaped
    rates = [rate_of_first(result, case) for case in (before, after)]
    by_flag = {flag.key: int(fates.with_flag(flag).sum()) for flag in Flag}
    return WhatIf(
        guard, words, len(shots.shots), int(before.sum()), int(after.sum()), *rates[1], by_flag, *rates[0],
        {flag.key: share_of_first(result, fates.with_flag(flag)) for flag in Flag},
    )  # fmt: skip
