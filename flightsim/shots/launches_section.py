"""The `launches` section: shot types with their distributions, or a plain grid."""

from __future__ import annotations

from difflib import get_close_matches
from math import fsum
from types import GenericAlias
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, TypeAlias, Union

import numpy as np
from pydantic import Field, WithJsonSchema, create_model, field_validator, model_validator

from flightsim.scenario.reading.asking import Asks, Draft
from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.quantities import Distance, quantity, refusal
from flightsim.shots.distributions import refused_at
from flightsim.shots.shipped_types import CLUBS, shipped_strikes
from flightsim.shots.strike_kind import VARIABLES, Share, Strike, strike_label

ShippedClub = Annotated[str, WithJsonSchema({"type": "string", "enum": list(CLUBS)})]  # editors complete it
USUAL_CLUBS = ("driver", "mid_iron", "wedge")  # of the shipped shot types that a new file offers
_MOST_GRID_SHOTS = 5_000_000
_SHARES_TOLERANCE = 1e-9


def _axis(kind: str, **limits: float) -> Any:
    """The annotation of a grid axis: one value, a list of values, or from, to and steps."""
    value = quantity(kind, **limits)
    name = f"Grid{''.join(part.capitalize() for part in kind.split())}{'Above' if limits else ''}"
    ends: dict[str, Any] = {
        "start": (Annotated[value, Field(alias="from", description="the first value")], ...),
        "end": (Annotated[value, Field(alias="to", description="the last value")], ...),
    }
    doc = "Evenly spread values, both ends included."
    steps = create_model(name, __base__=GridSteps, __module__=__name__, __doc__=doc, **ends)
    globals()[name] = steps  # so that a worker process finds it again
    several: Any = GenericAlias(tuple, (value, ...))
    return Union[value, Annotated[several, Field(min_length=1)], steps]  # noqa: UP007


class GridSteps(Model):
    """Evenly spread values from one end to the other."""

    start: Any
    end: Any
    steps: int = Field(ge=2, le=100_000, description="how many values, both ends included")

    @model_validator(mode="after")
    def _apart(self) -> Self:
        if self.start == self.end:
            fix = "one value in place of the group"
            raise refused_at(("to",), refusal("the same as from", "two different ends", fix))
        return self


if TYPE_CHECKING:
    SpeedAxis: TypeAlias = GridSteps | tuple[float, ...] | float
    AngleAxis: TypeAlias = GridSteps | tuple[float, ...] | float
    SpinAxis: TypeAlias = GridSteps | tuple[float, ...] | float
else:
    SpeedAxis = _axis("speed", above=0.0, most=200.0)
    AngleAxis = _axis("angle")
    SpinAxis = _axis("spin rate")


class Grid(Model):
    """Every combination of these values, each one shot. It covers launches; it says nothing of how often they come."""

    ball_speed: SpeedAxis = Field(description="just after the strike")
    elevation: AngleAxis = Field(description="up angle")
    azimuth: AngleAxis = Field(description="left-right angle, + right")
    spin_rate: SpinAxis = Field(description="+ backspin")
    spin_tilt: AngleAxis = Field(0.0, description="tilt of the spin axis, + curves right; default 0 deg")
    tee_height: Distance = Field(0.0, description="mat or turf to the ball's underside; default 0 m")

    @model_validator(mode="after")
    def _not_too_many(self) -> Self:
        if self.size > _MOST_GRID_SHOTS:
            most = f"at most {_MOST_GRID_SHOTS:,} shots from one tee spot"
            raise refusal(f"the grid has {self.size:,} shots", most, "fewer steps")
        return self

    @property
    def size(self) -> int:
        """Number of shots from one tee spot."""
        return int(np.prod([_length(getattr(self, name)) for name in VARIABLES[:5]], dtype=np.float64))

    def axes(self) -> list[np.ndarray]:
        """Values of the first five variables, SI."""
        return [_values(getattr(self, name)) for name in VARIABLES[:5]]


def _length(axis: GridSteps | tuple[float, ...] | float) -> int:
    return axis.steps if isinstance(axis, GridSteps) else len(axis) if isinstance(axis, tuple) else 1


def _values(axis: GridSteps | tuple[float, ...] | float) -> np.ndarray:
    if isinstance(axis, GridSteps):
        return np.linspace(axis.start, axis.end, axis.steps)
    return np.atleast_1d(np.asarray(axis, dtype=np.float64))


def _used(value: Any) -> Any:
    """Refuse a club without shipped types, or one that stands twice."""
    for k, club in enumerate(names := list(value or ())):
        if club not in CLUBS:
            near = get_close_matches(club.lower().replace(" ", "_"), CLUBS, 1)
            fix = near[0] if near else "one of these, or shot types of your own under `types`"
            raise refusal(f"no shot types are shipped for '{club}'", ", ".join(CLUBS), fix)
        if club in names[:k]:
            raise refusal(f"'{club}' stands twice", "each club once", "{driver: 0.6, wedge: 0.4}, to give one more")
    return value


class Launches(Model):
    """The shots: shipped types by club (`use`), types of your own (`types`), both, or a `grid`."""

    hand: Literal["right", "left"] = Field(
        "right", description="a left-hander's shots are the mirror of a right-hander's; a grid stays as it is written"
    )
    use: tuple[ShippedClub, ...] | dict[ShippedClub, Share] | None = Field(
        None, description="clubs whose shot types are shipped; or each with its share, all adding to 1"
    )
    types: tuple[Strike, ...] = Field((), description="shot types of your own")
    grid: Grid | None = None

    _known = field_validator("use")(_used)

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        kinds = "use, types, or both; or a grid"
        if self.grid is not None and (self.use or self.types):
            raise refusal("both a grid and shot types are given", kinds, "remove the grid, or use and types")
        if self.grid is None and not self.use and not self.types:
            raise refusal("no shots", kinds, "use: [driver, mid_iron, wedge]")
        self._check_labels()
        self._check_shares()
        return self

    def _check_labels(self) -> None:
        labels = [strike_label(strike) for club in self.use or () for strike in shipped_strikes(club)]
        for k, strike in enumerate(self.types):
            label = strike_label(strike)
            if label in labels:
                error = refusal(f"the shot type '{label}' is there twice", "names that differ", f"{strike.strike} 2")
                raise refused_at(("types", k, "strike"), error)
            labels.append(label)

    def _check_shares(self) -> None:
        if not self.types and not isinstance(self.use, dict):
            return
        if self.types and isinstance(self.use, tuple) and self.use:
            own = fsum(strike.share for strike in self.types)
            rest_share = f"{max(1.0 - own, 0.0) / len(self.use):.4g}"
            fix = f"{{{', '.join(f'{club}: {rest_share}' for club in self.use)}}}"
            raise refused_at(
                ("use",), refusal("clubs without shares, beside types of your own", "a share for each", fix)
            )
        names = {**(self.use if isinstance(self.use, dict) else {})}
        names |= {strike_label(strike): strike.share for strike in self.types}
        total = fsum(names.values())
        if abs(total - 1.0) > _SHARES_TOLERANCE:
            fix = ", ".join(f"{name}: {share / total:.12g}" for name, share in names.items())
            where = "types" if self.types else "use"
            both = "the shares of use and types" if self.types and self.use else "the shares"
            raise refused_at((where,), refusal(f"{both} add to {total:.12g}", "shares that add to 1", fix))


def ask_launches(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The questions of `launches` in a new file, where no kind of player was chosen."""
    if "shots" in draft.data:
        return None
    hands = draft.facts.get("hands") or ("right",)
    about = (
        "Each is hit as often as the others. For clubs one by one say what kinds of player hit, at the question before."
    )
    irons = dict.fromkeys(("iron", "irons", "7-iron", "7i", "6-iron", "6i", "mid"), "mid_iron")
    clubs = ask.several("Clubs", USUAL_CLUBS, USUAL_CLUBS, about, irons)
    return {"hand": hands[0], "use": list(clubs)}


LAUNCHES_SECTION = Section("launches", Launches, "Shots", owner="strike", order=900, ask=ask_launches)
