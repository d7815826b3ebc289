"""Clubs as data: what ships in clubs.yaml, or what a scenario gives, and the rigid head that each makes."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import radians
from typing import TYPE_CHECKING, Literal, Self, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import quantity, refusal

Array = NDArray[np.float64]

SHAFT_MASS = 0.003  # kg that the shaft adds to the head: Proceedings 2020, 49(1), 47 (read)
_G_CM2 = 1.0e-7  # kg m2

# What no clubhead exceeds, so that a slip of the unit is told.
if TYPE_CHECKING:
    Loft: TypeAlias = float
    Lie: TypeAlias = float
    ClubLength: TypeAlias = float
    HeadMass: TypeAlias = float
    Depth: TypeAlias = float
    FaceRadius: TypeAlias = float
else:
    Loft = quantity("angle", above=0.0, most=radians(80.0))
    Lie = quantity("angle", least=radians(30.0), most=radians(90.0))
    ClubLength = quantity("length", least=0.3, most=1.5)
    HeadMass = quantity("mass", least=0.05, most=0.6)
    Depth = quantity("length", above=0.0, most=0.1)
    FaceRadius = quantity("length", least=0.1, most=10.0)


class Club(Model):
    """A club. Moments of inertia in g cm2 about the head's centre of mass: about the vertical axis, the heel-toe axis,
    and the face's normal.
    """

    kind: Literal["driver", "wood", "iron", "wedge"] = Field(description="where its classes of strike end")
    loft: Loft = Field(description="of the face")
    length: ClubLength = Field(description="of the club")
    lie: Lie = Field(description="of the shaft to the ground")
    head_mass: HeadMass = Field(description="of the head alone")
    cg_depth: Depth = Field(description="face to centre of mass")
    moi_vertical: float = Field(gt=0.0, le=20_000.0, description="about the vertical axis, g cm2")
    moi_heel_toe: float = Field(gt=0.0, le=20_000.0, description="about the heel-toe axis, g cm2")
    third_moment: float = Field(gt=0.0, le=20_000.0, description="about the face's normal, g cm2")
    bulge: FaceRadius | None = Field(None, description="radius of the face, heel to toe; none: flat")
    roll: FaceRadius | None = Field(None, description="radius of the face, sole to crown; none: flat")
    speed_of_driver: float = Field(gt=0.0, le=1.5, description="head speed over the same player's with a driver")

    @model_validator(mode="after")
    def _possible(self) -> Self:
        moments = sorted((self.moi_vertical, self.moi_heel_toe, self.third_moment))
        if moments[2] > moments[0] + moments[1] + 1e-9:
            raise refusal(
                f"no body has these moments of inertia: {moments[2]:g} is more than {moments[0]:g} and {moments[1]:g}",
                "the largest at most the other two together",
                "g cm2 for all three",
            )
        return self

    def head(self) -> Head:
        """The head, with what the shaft adds to its mass."""
        inertia = np.diag([self.third_moment, self.moi_heel_toe, self.moi_vertical]) * _G_CM2
        return Head(self.head_mass + SHAFT_MASS, np.array([-self.cg_depth, 0.0, 0.0]), inertia, self.bulge, self.roll)


@dataclass(frozen=True)
class Head:
    """A rigid clubhead in its own axes: out of the face, toward the heel, up; from the middle of the face.

    mass, kg; centre `(3,)`, m: its centre of mass; inertia `(3, 3)`, kg m2, about that, or None for a point head;
    bulge and roll: radii of the face, m, or None for a flat one.
    """

    mass: float
    centre: Array
    inertia: Array | None
    bulge: float | None = None
    roll: float | None = None

    @property
    def inverse_inertia(self) -> Array | None:
        """Inverse of the inertia, or None for a point head."""
        return None if self.inertia is None else np.asarray(np.linalg.inv(self.inertia))

    def face_point(self, toe: Array, up: Array) -> tuple[Array, Array]:
        """Place and outward normal `(3, n)` of the face, m, at distances toward the toe and up from its middle."""
        place, normal = np.zeros((3, len(toe))), np.zeros((3, len(toe)))
        place[1], place[2] = -toe, up
        normal[0] = 1.0
        if self.roll:
            place[0] -= up**2 / (2.0 * self.roll)
            normal[0], normal[2] = np.cos(up / self.roll), np.sin(up / self.roll)
        if self.bulge:
            place[0] -= toe**2 / (2.0 * self.bulge)
            normal[1] = normal[0] * np.sin(-toe / self.bulge)
            normal[0] *= np.cos(toe / self.bulge)
        return place, normal


def point_head(mass: float) -> Head:
    """A head that is a point: it does not turn, and no shaft adds to it."""
    return Head(mass, np.zeros(3), None)


@cache
def shipped_club(name: str) -> Club:
    """A shipped club. Raises KeyError."""
    return Club.model_validate_json(json.dumps(shipped_data("flightsim.strike", "clubs")[name]), strict=True)


def club_names() -> tuple[str, ...]:
    """Names of the shipped clubs, longest first."""
    return tuple(shipped_data("flightsim.strike", "clubs"))


@cache
def shipped_data(room: str, name: str) -> dict[str, dict[str, object]]:
    """Entries by name of `name`.yaml in a room, under the key of the same name."""
    import yaml

    text = files(room).joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    # The same reader in C where there is one: ten times as fast.
    data: dict[str, dict[str, object]] = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))[name]  # noqa: S506
    return data


# Restitution of face and ball by normal speed: limit read from the rules, slope practice; irons fitted to read values.
def driver_restitution(normal_speed: Array) -> Array:
    """e = 0.83 - 0.0015 (vn - 48.8), vn in m/s."""
    return np.clip(0.83 - 0.0015 * (normal_speed - 48.8), 0.5, 0.9)


def iron_restitution(normal_speed: Array) -> Array:
    """e = 0.83 - 0.0015 vn, vn in m/s; +-0.05."""
    return np.clip(0.83 - 0.0015 * normal_speed, 0.5, 0.9)


TANGENTIAL_RESTITUTION = {"driver": -0.2, "wood": 0.05, "iron": 0.2, "wedge": 0.2}  # fitted
FRICTION = 0.30  # dry face, 0.13-0.35: computed from a read wedge test


def face_restitution(kind: str, normal_speed: Array) -> Array:
    """Restitution of a clean strike with a club of this kind. Woods are taken as drivers (judgement)."""
    return driver_restitution(normal_speed) if kind in ("driver", "wood") else iron_restitution(normal_speed)
