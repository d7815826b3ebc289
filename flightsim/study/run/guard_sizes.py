"""The sizes of all guards in a scenario, as paths that --set takes: every length that its field says is one."""

from __future__ import annotations

from dataclasses import dataclass

from flightsim.scenario.reading.declared import GuardLength, declared
from flightsim.study.run.open_bay import OpenBay


@dataclass(frozen=True)
class GuardSize:
    """One size: its dotted path, what people call it, its value in m, and whether more of it stops more, as a rule.

    moves: it is only hung elsewhere, and no larger.
    """

    path: str
    words: str
    value: float
    wider: bool
    moves: bool = False


def guard_sizes(opened: OpenBay) -> list[GuardSize]:
    """Every size of every section that says it is one. What is less the better, and is nought, stays so."""
    return [
        GuardSize(
            size.path,
            f"{size.name}: {size.said.words or size.key.replace('_', ' ')}",
            size.value,
            size.said.stops_more,
            size.said.moves,
        )
        for size in declared(opened.scenario, GuardLength)
        if size.said.stops_more or size.value > 0.0
    ]
