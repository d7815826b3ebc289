"""Shares of balls as people write them: `1 in 1,000`, `0.1 %`, `0.001`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, TypeAlias

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from flightsim.scenario.reading.quantities import refusal

# A comma only between thousands, and no point in what is counted: `1 in 1.000` may mean a thousand, and is no 1 in 1.
_ONE_IN = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s+in\s+([0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)")
_NUMBER = re.compile(r"((?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(%?)")
NOT_ASKED = 1.0  # a limit that every rate keeps
NONE = "none"
_HOW = "1 in 2000, 0.05 %, 0.0005, or none: not asked"


def share_of(text: str) -> float | None:
    """A share as a number; None for what cannot be read as one."""
    if one_in := _ONE_IN.fullmatch(text):
        of = float(one_in[2].replace(",", ""))
        return float(one_in[1]) / of if of else None
    if number := _NUMBER.fullmatch(text):
        return float(number[1]) / (100.0 if number[2] else 1.0)
    return None


def _limit(value: object) -> float:
    if isinstance(value, str) and value.strip().lower() == NONE:
        return NOT_ASKED
    plain = isinstance(value, (str, int, float)) and not isinstance(value, bool)
    share = share_of(str(value).strip()) if plain else None
    if share is None:
        raise refusal(f"'{value}' is no share of balls", _HOW, "1 in 2000")
    if not 0.0 < share < 1.0:
        raise refusal(f"'{value}' cannot be shown", f"between 0 and 1: {_HOW}", "1 in 2000")
    return share


def _written(limit: float) -> str | float:
    return NONE if limit == NOT_ASKED else limit


def _confidence(value: object) -> float:
    plain = isinstance(value, (str, int, float)) and not isinstance(value, bool)
    share = share_of(str(value).strip()) if plain else None
    if share is None or not 0.5 <= share < 1.0:
        raise refusal(f"'{value}' is no confidence that can be kept", "from 50 % to below 100 %", "95 %")
    return share


if TYPE_CHECKING:
    ShareLimit: TypeAlias = float
    Confidence: TypeAlias = float
else:
    _PLAIN = {"type": ["string", "number"], "format": "share of balls"}
    _SCHEMA = {**_PLAIN, "description": f"a share of balls: {_HOW}", "examples": ["1 in 2000"]}
    ShareLimit = Annotated[float, BeforeValidator(_limit), PlainSerializer(_written), WithJsonSchema(_SCHEMA)]
    Confidence = Annotated[float, BeforeValidator(_confidence), WithJsonSchema({**_PLAIN, "examples": ["95 %"]})]
