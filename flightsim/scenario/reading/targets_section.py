"""What is good enough: the section `targets`. Every default is a judgement of ours, to be changed by who builds.

A target is a rate of balls as they are played that the bay stays under, or a length that it keeps. Each rate may also
be asked of one part or person: `broke_through: {end wall: 1 in 20000}`, or `broke_through."end wall": 1 in 20000`.
"""

from __future__ import annotations

import re
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.quantities import Distance, refusal
from flightsim.scenario.reading.shares import Confidence, ShareLimit

ANY = "any"  # in a group of names: the target of all together
_NAMED = re.compile(r'(\w+)\s*\.\s*"([^"]+)"|(\w+)\s*\.\s*\'([^\']+)\'')
OneOrNamed = ShareLimit | dict[Called, ShareLimit]
SPARE = 0.15  # m


def _rate(one_in: int, words: str) -> Any:
    return Field(1.0 / one_in, description=f"{words}; default 1 in {one_in}", examples=[f"1 in {one_in}"])


class Targets(BaseModel):
    """Shares of balls as they are played. `none`: not asked."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    balls_a_year: int = Field(10_000, ge=1, description="that are hit here; default 10000: 100 evenings of 100")
    confidence: Confidence = Field(0.95, description="at which a target is shown; default 95 %")
    hitter_head: OneOrNamed = _rate(300, "a ball comes back at the hitter's head from the harm energy on, 5 m/s")
    hitter_head_hard: OneOrNamed = _rate(5000, "the same at 9.7 m/s or faster: half of the eyes hit are hurt")
    other_head: OneOrNamed = _rate(2000, "a ball reaches the head of anybody else, from 5 m/s on")
    other_head_hard: OneOrNamed = _rate(10_000, "the same at 9.7 m/s or faster")
    child: OneOrNamed = _rate(5000, "a ball reaches a small child anywhere, from 5 m/s on")
    child_hard: OneOrNamed = _rate(20_000, "the same at 9.7 m/s or faster")
    body: OneOrNamed = _rate(5000, "a ball of 15 J or more reaches anybody below the head")
    got_out: OneOrNamed = _rate(2000, "a ball leaves the room, and lands with harm")
    got_out_toward_people: OneOrNamed = _rate(10_000, "the same by an opening of toward_people")
    toward_people: tuple[Called, ...] = Field(
        (), description="openings that lead to a path, a drive or a neighbour: [side door]; default none"
    )
    broke_through: OneOrNamed = _rate(5000, "a ball goes through glass, board or net")
    fragile: OneOrNamed = _rate(5000, "a ball marks or breaks what is fragile")
    hit_unprotected: OneOrNamed = _rate(1000, "a ball marks something bare")
    past_edge: OneOrNamed = _rate(1000, "a ball gets past an edge that its own hit opens")
    struck_through: OneOrNamed = _rate(500, "a ball strikes what is behind cloth, with the cloth")
    comes_back: OneOrNamed = _rate(4, "a ball comes back to somebody and harms nobody: comfort")
    swing: Distance | Literal["none"] = Field(SPARE, description="to be left around the swing; default 150 mm")

    @model_validator(mode="before")
    @classmethod
    def _gather_named(cls, data: Any) -> Any:
        """`broke_through."end wall": 1 in 500` says the same as a group of names below `broke_through`."""
        if not isinstance(data, dict):
            return data
        plain = {key: _bare(value) for key, value in data.items() if not _NAMED.fullmatch(str(key))}
        for key, value in data.items():
            if not (found := _NAMED.fullmatch(str(key))):
                continue
            target, name = found[1] or found[3], found[2] or found[4]
            own = plain.get(target, {})
            group = dict(own) if isinstance(own, dict) else {ANY: own}
            if name in group:
                raise refusal(f"{key} is given twice", "each target once", "remove one")
            plain[target] = {**group, name: value}
        return plain

    def limits(self, target: str) -> dict[str, float]:
        """The limits of a rate target by name; "" for all together."""
        value = getattr(self, target)
        if not isinstance(value, dict):
            return {"": value}
        default = type(self).model_fields[target].default
        return {"": value.get(ANY, default), **{name: limit for name, limit in value.items() if name != ANY}}


def _bare(value: Any) -> Any:
    """A group of names without quotes around them, as `--set` may write them; a list as pydantic wants it here."""
    if isinstance(value, list):
        return tuple(value)
    return {str(key).strip("\"'"): item for key, item in value.items()} if isinstance(value, dict) else value


RATE_TARGETS = tuple(
    name for name in Targets.model_fields
    if name not in ("balls_a_year", "confidence", "toward_people", "swing")
)  # fmt: skip
LENGTH_TARGETS = ("swing",)  # measured by plugins, whose findings name them
