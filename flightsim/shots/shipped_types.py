"""The shot types that come with flightsim, read from shot_types.yaml."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

from flightsim.shots.strike_kind import Strike

CLUBS = ("driver", "mid_iron", "wedge")  # the clubs of shot_types.yaml


@cache
def _shipped() -> dict[str, Any]:
    import yaml

    text = files("flightsim.shots").joinpath("shot_types.yaml").read_text(encoding="utf-8")
    # The same reader in C where there is one: ten times as fast.
    data: dict[str, Any] = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))["clubs"]  # noqa: S506
    return data


def shipped_clubs() -> dict[str, float]:
    """Clubs with shipped shot types, and the share of each in a usual session."""
    return {key: float(club["share"]) for key, club in _shipped().items()}


@cache
def shipped_strikes(club: str) -> tuple[Strike, ...]:
    """The shot types of one club; their shares add to 1."""
    rows = _shipped()[club]
    return tuple(
        Strike.model_validate_json(json.dumps({"club": rows["club"], **strike}), strict=True)
        for strike in rows["strikes"]
    )
