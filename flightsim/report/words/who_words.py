"""Who plays, and who is not in the scenario and so is not asked about."""

from __future__ import annotations

from collections.abc import Iterable

from flightsim.report.words.common_words import NOBODY
from flightsim.study.run.present import zones_present
from flightsim.study.run.result import RunResult


def who_words(result: RunResult) -> str:
    """`Who plays: right-hander at tee. Who else is there: bench. Not asked: left-handers, small children.`"""
    zones = zones_present(result)
    if not zones:
        return NOBODY
    plays = _each(zone.person for zone in zones if zone.own_spot)
    there = _each(zone.person for zone in zones if not zone.own_spot)
    hands = {zone.own_hand for zone in zones if zone.own_spot}
    absent = [
        *(f"{hand}-handers" for hand in ("left", "right") if hand not in hands),
        *([] if there else ["onlookers and whoever stands elsewhere in the room"]),
        *([] if any(zone.small for zone in zones) else ["small children"]),
    ]
    groups = (("Who plays", plays), ("Who else is there", there), ("Not asked", absent))
    return " ".join(f"{label}: {', '.join(names)}." for label, names in groups if names)


def _each(names: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(names))
