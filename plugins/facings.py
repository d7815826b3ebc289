"""Facings of the scenario's own: what a face is made of, where what comes with flightsim does not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, TypeAlias

from pydantic import AfterValidator, Field, model_validator

from flightsim.contact.facings import Facing, Foam, Plate, shipped_facings
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import entry_key
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import Energy, Size, Speed, Stress, quantity, refusal

if TYPE_CHECKING:
    BoardDensity: TypeAlias = float
else:
    BoardDensity = quantity("density", least=10.0, most=20_000.0)


class Board(Model):
    """A wide board that carries the ball's energy away as waves."""

    stiffness: Stress = Field(description="Young's modulus: birch plywood 8 GPa")
    thickness: Size = Field(description="of the board")
    density: BoardDensity = Field(description="of what it is made of")
    poisson: float = Field(0.3, ge=0.0, lt=0.5, description="Poisson's ratio")


class FoamInFront(Model):
    """Foam in front of a face: it takes some energy, then it is solid."""

    thickness: Size = Field(description="of the foam")
    crush_stress: Stress = Field(0.12e6, description="soft 0.05, middle 0.12, firm 0.20 MPa; default 0.12 MPa")


class Point(Model):
    """One measured restitution."""

    speed: Speed = Field(description="of the ball, square to the face")
    restitution: float = Field(ge=0.0, le=1.0, description="speed after over speed before")


def _new_name(name: str) -> str:
    if name in shipped_facings():
        raise refusal(f"'{name}' comes with flightsim", "a name that is not taken", f"our {name}")
    return name


_RETURNS = ("own", "plate", "fixed", "table", "turf")


class OwnFacing(Model):
    """A facing: start from a known one with `like`, or say everything with one of own, plate, fixed, table, turf."""

    name: Annotated[Called, AfterValidator(_new_name)] = Field(min_length=1, description="what `facing:` then calls it")
    like: str | None = Field(None, description="a known facing, or one above: what is not said here is as there")
    own: float | None = Field(None, ge=0.0, le=1.0, description="share of the ball's own restitution: 1 is concrete")
    plate: Board | None = Field(None, description="a wide board")
    fixed: float | None = Field(None, ge=0.0, le=1.0, description="one restitution at all speeds")
    table: tuple[Point, ...] = Field((), description="measured restitutions, by rising speed")
    turf: bool = Field(False, description="turf on a foam mat")
    foam: FoamInFront | Literal["none"] | None = Field(None, description="foam in front; none takes away what is there")
    friction: float | None = Field(None, ge=0.0, le=2.0, description="default 0.35")
    tangential: float | None = Field(None, ge=0.0, le=1.0, description="tangential restitution; default 0.2")
    hold: Speed | None = Field(None, description="a ball that would leave slower than this stays; default 0 m/s")
    damage: Energy | Literal["never"] | None = Field(None, description="of a square hit that marks it; default never")
    broken: Energy | Literal["never"] | None = Field(
        None, description="of a square hit that goes through; default never"
    )
    rolling: float | None = Field(None, ge=0.0, le=1.0, description="friction of a ball that rolls on it; default 0.03")
    soft: bool | None = Field(None, description="it gives way, as cloth does; default false")
    source: str = Field("as the scenario says", min_length=1, description="where the numbers are from")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        ways = [name for name in _RETURNS if getattr(self, name) not in (None, (), False)]
        if len(ways) > 1 or (not ways and self.like is None):
            found = f"a facing has {' and '.join(ways) or 'nothing that says how it returns a ball'}"
            raise refusal(found, f"one of {', '.join(_RETURNS)}, or like alone", "like: plywood")
        speeds = [point.speed for point in self.table]
        if any(later <= sooner for sooner, later in pairwise(speeds)):
            raise ValueError("the speeds of a facing's table must rise")
        if isinstance(self.damage, float) and isinstance(self.broken, float) and self.broken < self.damage:
            raise ValueError("a facing's broken cannot be less than its damage: what goes through marks it")
        return self

    def facing(self, base: Facing | None) -> Facing:
        """What it makes of the facing that it is like. Raises ValueError for numbers that no face has."""
        numbers = self._said()
        if base is None:
            return Facing(self.name, **numbers)
        if any(name in numbers for name in _RETURNS):  # one way of returning a ball takes the place of the other
            base = replace(base, own=numbers.get("own"), plate=numbers.get("plate"), fixed=numbers.get("fixed"),
                           table=numbers.get("table", ()), turf=numbers.get("turf", False))  # fmt: skip
        return replace(base, name=self.name, **numbers)

    def _said(self) -> dict[str, Any]:
        """What the scenario says, as a facing has it."""
        plain = {
            name: getattr(self, name) for name in ("own", "fixed", "friction", "tangential", "hold", "rolling", "soft")
        }
        energies = {name: getattr(self, name) for name in ("damage", "broken")}
        numbers = {name: value for name, value in plain.items() if value is not None}
        numbers |= {name: inf if value == "never" else value for name, value in energies.items() if value is not None}
        if self.plate is not None:
            numbers["plate"] = Plate(**vars(self.plate))
        if self.table:
            numbers["table"] = tuple((point.speed, point.restitution) for point in self.table)
        if self.turf:
            numbers["turf"] = True
        if self.foam is not None:
            numbers["foam"] = None if self.foam == "none" else Foam(self.foam.thickness, self.foam.crush_stress)
        return numbers | {"source": f"{self.source}; like {self.like}" if self.like else self.source}


@hookimpl
def flightsim_section() -> Section:
    """The section `facings`."""
    return Section("facings", OwnFacing, "Facings of your own", owner="facings", several=True, order=90)


@hookimpl
def flightsim_facings(context: BaySetup) -> Sequence[Facing]:
    """The scenario's own facings, less those that flightsim_parts tells of."""
    return _built(context)[0]


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """No parts: what is wrong with the facings."""
    return BayPieces(problems=_built(context)[1])


def _built(context: BaySetup) -> tuple[tuple[Facing, ...], tuple[Problem, ...]]:
    scenario: Scenario = context.scenario
    known, problems = dict(shipped_facings()), []
    built: dict[str, Facing] = {}
    for k, entry in enumerate(context.entries):
        key = entry_key(scenario, "facings", k)
        if entry.like is not None and entry.like not in known:
            near = get_close_matches(entry.like, known, n=1)
            found = f"no facing above or of flightsim's is called '{entry.like}'"
            problems.append(
                scenario.problem(f"{key}.like", found, ", ".join(known), f"like: {(near or ['plywood'])[0]}")
            )
        elif entry.name in built:
            found = f"'{entry.name}' is already a facing"
            problems.append(scenario.problem(f"{key}.name", found, "names that differ", f"{entry.name} 2"))
        else:
            try:
                built[entry.name] = known[entry.name] = entry.facing(known.get(entry.like))
            except ValueError as error:
                problems.append(scenario.problem(key, str(error), "numbers that a face has"))
    return tuple(built.values()), tuple(problems)
