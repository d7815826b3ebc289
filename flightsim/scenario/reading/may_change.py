"""What `improve` may change: the section `may_change`, which overrides what plugins declare as a builder accepts it."""

from __future__ import annotations

from typing import Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from flightsim.scenario.reading.quantities import Distance, Size, refusal

NEAREST, FARTHEST = 2.7, 4.0  # m from tee to screen (common practice, no source)
BEHIND = 2.1  # m clear behind the tee (common practice, no source)


class SizeBounds(BaseModel):
    """The bounds of one size, and what it is changed by."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    least: Distance | None = Field(None, description="default as its plugin declares it")
    most: Distance | None = Field(None, description="default as its plugin declares it")
    step: Size | None = Field(None, description="what can be bought or cut; default 50 mm, or 2 in")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.least is not None and self.most is not None and self.least > self.most:
            raise refusal("least is more than most", "the lower bound first", "swap them")
        return self


class MayChange(BaseModel):
    """Room and obstacles stay, whatever stands here."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    stays: tuple[str, ...] = Field(
        (), description="what stays as it is, by dotted path: [canopy, side_nets.left, tee]; default nothing"
    )
    sizes: dict[str, SizeBounds] = Field(
        {}, description="bounds of single sizes, by dotted path: {canopy.depth: {most: 1.2 m}}"
    )
    new_guards: bool | tuple[str, ...] = Field(
        True, description="false: nothing is added; or the sections that may have more: [side_nets, ceiling]"
    )
    tee_nearest: Size = Field(NEAREST, description="tee to screen at least; default 2.7 m")
    tee_farthest: Size = Field(FARTHEST, description="tee to screen at most; default 4.0 m")
    tee_behind: Distance = Field(BEHIND, description="clear behind the tee; default 2.1 m")

    @model_validator(mode="after")
    def _near_before_far(self) -> Self:
        if self.tee_nearest > self.tee_farthest:
            raise refusal("tee_nearest is more than tee_farthest", "the nearer first", "swap them")
        return self

    def stays_as_it_is(self, path: str) -> bool:
        """Whether a dotted path is, or lies in, what stays. Indices may be left out: `canopy` is `canopy.0`."""
        return any(covers(kept, path) for kept in self.stays)

    def bounds(self, path: str) -> SizeBounds:
        """The bounds of one size; empty where none are given."""
        return next((found for key, found in self.sizes.items() if _plain(key) == _plain(path)), SizeBounds())

    def may_add(self, section: str) -> bool:
        """Whether guards of a section may be added."""
        allowed = self.new_guards if isinstance(self.new_guards, bool) else section in self.new_guards
        return allowed and not self.stays_as_it_is(section)


def covers(kept: str, path: str) -> bool:
    """Whether a dotted path is, or lies in, another."""
    outer, inner = _plain(kept), _plain(path)
    return inner[: len(outer)] == outer


def _plain(path: str) -> list[str]:
    """The steps of a path without `0`, which an only entry may or may not have."""
    return [step for step in path.split(".") if step != "0"]
