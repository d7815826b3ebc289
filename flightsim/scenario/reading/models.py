"""The scenario: what the file says, checked and in SI units."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from flightsim.scenario.reading.asking import AskSection
from flightsim.scenario.reading.harm import BLUNT_ENERGY, HARM_ENERGY, STRUCK_ENERGY, energy_at, speed_at
from flightsim.scenario.reading.may_change import MayChange
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem, Severity, place
from flightsim.scenario.reading.quantities import (
    Altitude,
    Density,
    Distance,
    Draught,
    HarmEnergy,
    HarmSpeed,
    Mass,
    Pressure,
    Size,
    Temperature,
    refusal,
)
from flightsim.scenario.reading.targets_section import Targets


class Model(BaseModel):
    """Base of every section: unknown keys are errors, nothing is coerced, nothing changes afterwards."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


@dataclass(frozen=True)
class Starter:
    """A guard that may be added to a bay, as one would begin it.

    words: what people call it: "a net on the left"; path: where it goes, as for `--set`: `side_nets.left`, or
    `ceiling.pads.+` for a list; entry: what is written there, lengths as plain numbers, m; adds: False where it is
    had otherwise, and nothing hangs there that did not: a cloth that is drawn tighter; bought: whether anything is
    bought for it; also: what is written besides, by its path; follows: True where it is no change by itself, and is
    made where another change needs it: posts that go up to a canopy that is raised.
    """

    words: str
    path: str
    entry: Mapping[str, Any] | str | float
    adds: bool = True
    bought: bool = True
    also: Mapping[str, Any] = field(default_factory=dict)
    follows: bool = False


def _no_starters(scenario: Scenario) -> Sequence[Starter]:
    return ()


class TheRoom(Protocol):
    """What the entry of the room's section can say, whoever's plugin it is."""

    length: float  # m, from the end wall to the back
    width: float  # m, from the left wall to the right one
    turf_height: float  # m above the slab, all over the floor
    openings: Sequence[Any]  # each with a name

    def roof_shape(self) -> Any:
        """The underside of the roof, a `Roof` of the room `bay`."""
        ...

    def in_words(self, show: Callable[[float], str]) -> str:
        """Its sizes for people: `6.40 m long, 3.20 m wide, flat roof at 2.55 m`. show: writes a length, m."""
        ...


@dataclass(frozen=True)
class Section:
    """A section of the scenario file: who owns it and what one entry must look like.

    key: its name in the file; model: of one entry; several: the file may give a list of entries, each with a
    `name`; required: the file must have it; order: where it stands in a new file; ask: its questions for a new file,
    see scenario/reading/asking.py; starters: the guards of this section that may be added to a scenario, none where it
    has them; room: its one entry is the room that holds all else, see `TheRoom`; rests_on: other sections whose sizes
    its own things take, so that an answer there may be what does not fit here.
    """

    key: str
    model: type[BaseModel]
    title: str
    owner: str
    several: bool = False
    required: bool = False
    order: int = 100
    ask: AskSection | None = None
    starters: Callable[[Scenario], Sequence[Starter]] = _no_starters
    room: bool = False
    rests_on: tuple[str, ...] = ()

    @property
    def adds_guards(self) -> bool:
        """Whether any guard of this section may be added."""
        return self.starters is not _no_starters


class BallSection(Model):
    """The ball: a preset, or its numbers."""

    preset: str = Field("legal", description="legal, foam, perforated or limited_flight (practice balls from memory)")
    mass: Mass | None = Field(None, description="overrides the preset's mass")
    diameter: Size | None = Field(None, description="overrides the preset's diameter")


class AirSection(Model):
    """The air in the bay."""

    temperature: Temperature = Field(293.15, description="default 20 degC")
    pressure: Pressure | None = Field(None, description="give this or the altitude")
    altitude: Altitude | None = Field(None, description="above sea level; give this or the pressure")
    humidity: float = Field(0.5, ge=0.0, le=1.0, description="relative humidity, 0 to 1")
    density: Density | None = Field(None, description="overrides the computed density, nothing else")
    wind_toward_screen: Draught = Field(0.0, description="of a fan, an open back; - blows at the player; default none")
    wind_to_right: Draught = Field(0.0, description="across the line, as the player faces the screen; default none")


class Mat(Model):
    """The hitting mat, centred on the tee."""

    height: Distance = Field(description="slab to the mat's top")
    length: Size = Field(1.5, description="along the target line; default 1.5 m")
    width: Size = Field(1.5, description="across; default 1.5 m")


class Spot(Model):
    """A place on the tee area that balls are hit from."""

    name: Called = Field(description="what people call it")
    share: float = Field(gt=0.0, le=1.0, description="part of the shots hit from here; all add to 1")
    from_end_wall: Size = Field(description="end wall to the ball")
    from_left_wall: Size = Field(description="left wall to the ball")


class Tee(Model):
    """Where the ball is hit from. It is the origin of the axes."""

    from_end_wall: Size = Field(description="tape from the wall behind the screen to the ball")
    from_left_wall: Size = Field(description="tape from the left wall, as the player faces the screen, to the ball")
    mat: Mat | None = None
    spots: tuple[Spot, ...] = Field((), description="several places to hit from; without it, the tee itself")


class Core(Model):
    """The keys that every scenario file may have, beside the plugins' sections."""

    name: Called = Field(min_length=1, description="of the bay; it stands on every page and drawing")
    units: Literal["metric", "imperial"] = Field("metric", description="what the output is written in")
    plugins: tuple[str, ...] = Field((), description="names of installed plugins to load beside the bundled ones")
    ball: BallSection = BallSection()
    air: AirSection = AirSection()
    aero: str = Field("naruo2004", description="the published drag and lift model, by name")
    harm_energy: HarmEnergy | None = Field(
        None,
        description="a ball of this energy counts as danger to a person, or as got out; default 0.574 J (judgement)",
    )
    blunt_harm_energy: HarmEnergy | None = Field(
        None,
        description="a ball of this energy harms a body below the head; default 3.6 J, or harm_energy if more",
    )
    struck_energy: HarmEnergy = Field(
        STRUCK_ENERGY,
        description="a ball of this energy strikes what is behind cloth, or one that damages it, if that is less; "
        "default 2.3 J (judgement)",
    )
    harm_speed: HarmSpeed | None = Field(
        None,
        description="in place of the two of harm: the energy of a ball of 45.93 g at this speed, whatever ball flies",
    )
    tee: Tee
    targets: Targets = Targets()
    may_change: MayChange = MayChange()

    @model_validator(mode="after")
    def _one_limit(self) -> Self:
        for name in ("harm_energy", "blunt_harm_energy"):
            if getattr(self, name) is not None and self.harm_speed is not None:
                raise refusal(f"{name} and harm_speed are both given", "one of them", "remove harm_speed")
        if self.blunt_harm < self.harm:
            found = f"blunt_harm_energy, {self.blunt_harm:g} J, is below harm_energy, {self.harm:g} J"
            raise refusal(found, "at least harm_energy: a head is no harder than a leg", f"{self.harm:g} J")
        return self

    @property
    def harm(self) -> float:
        """The energy from which on a ball harms a head, J."""
        given = energy_at(self.harm_speed) if self.harm_speed is not None else HARM_ENERGY
        return given if self.harm_energy is None else self.harm_energy

    @property
    def blunt_harm(self) -> float:
        """The energy from which on a ball harms a body below the head, J: a speed is one limit for all."""
        if self.harm_speed is not None:
            return self.harm
        return max(BLUNT_ENERGY, self.harm) if self.blunt_harm_energy is None else self.blunt_harm_energy


@dataclass(frozen=True)
class Scenario:
    """A bay and its shots, resolved: defaults filled in, SI inside.

    sections: validated entries of every section by key, in file order; one-entry sections have one. lines: the
    1-based line of each dotted path in the file. text: the file as read. overrides: the `--set` changes;
    origins: the `--set` that wrote a dotted path.
    """

    file: str
    name: str
    units: Literal["metric", "imperial"]
    ball: BallSection
    air: AirSection
    aero: str
    tee: Tee
    sections: dict[str, tuple[Any, ...]]
    harm_energy: float = HARM_ENERGY  # J: from here on a ball harms a head or a small child, or counts as out
    blunt_harm_energy: float = BLUNT_ENERGY  # J: from here on it harms a body below the head
    struck_energy: float = STRUCK_ENERGY  # J: from here on it strikes what is behind cloth
    text: str = ""
    overrides: tuple[str, ...] = ()
    plugins: tuple[str, ...] = ()  # strangers' plugins that the file names
    lines: dict[str, int] = field(default_factory=dict)
    origins: dict[str, str] = field(default_factory=dict)
    targets: Targets = field(default_factory=Targets)
    may_change: MayChange = field(default_factory=MayChange)
    room_key: str = ""  # of the section that holds the room

    def entries(self, key: str) -> tuple[Any, ...]:
        """The validated entries of a section; empty when the file has none."""
        return self.sections.get(key, ())

    def harm_speed_of(self, ball_mass: float) -> float:
        """The speed, m/s, at which a ball of this mass, kg, has the energy that harms a head."""
        return speed_at(self.harm_energy, ball_mass)

    def blunt_speed_of(self, ball_mass: float) -> float:
        """The speed, m/s, at which a ball of this mass, kg, has the energy that harms a body below the head."""
        return speed_at(self.blunt_harm_energy, ball_mass)

    def struck_speed_of(self, ball_mass: float) -> float:
        """The speed, m/s, from which on a ball of this mass, kg, strikes what is behind cloth."""
        return speed_at(self.struck_energy, ball_mass)

    @property
    def room(self) -> TheRoom:
        """The room's one entry."""
        found: TheRoom = self.sections[self.room_key][0]
        return found

    @property
    def ground_height(self) -> float:
        """Height of what the ball stands on at the tee, above the slab, m: mat, else turf, else the slab."""
        if self.tee.mat is not None:
            return float(self.tee.mat.height)
        return float(self.room.turf_height)

    def along(self, from_end_wall: float) -> float:
        """x of a place at this distance from the end wall, m."""
        return float(self.tee.from_end_wall - from_end_wall)

    def across(self, from_left_wall: float) -> float:
        """y of a place at this distance from the left wall, m."""
        return float(self.tee.from_left_wall - from_left_wall)

    def problem(
        self, key: str, found: str, allowed: str = "", fix: str = "", severity: Severity = Severity.ERROR
    ) -> Problem:
        """A problem at a dotted path of this file, or of the `--set` that wrote it."""
        file, line = place(self.file, self.lines, self.origins, key)
        return Problem(file, line, key, found, allowed, fix, severity)
