"""`flightsim.fly_ball` and `flightsim.strike_ball`: one ball over level ground, one strike of a club."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

from pydantic import TypeAdapter, ValidationError

from flightsim.errors import BadInputError
from flightsim.library.looks import frame
from flightsim.scenario.reading.quantities import quantity
from flightsim.study.single.one_ball import OneBall, fly_one_ball, landing_lines
from flightsim.study.single.one_strike import OneStrike, strike_lines, strike_once

Quantity = str | float


@dataclass(frozen=True)
class Numbers(Mapping[str, Any]):
    """Numbers by name, units in the names; lines: the same in words."""

    values_by_name: dict[str, float | str]
    lines: tuple[str, ...]

    def __getitem__(self, name: str) -> float | str:
        return self.values_by_name[name]

    def __iter__(self) -> Any:
        return iter(self.values_by_name)

    def __len__(self) -> int:
        return len(self.values_by_name)

    @property
    def table(self) -> Any:
        """One row: a pandas data frame where pandas is installed, else arrays by name."""
        return frame({name: [value] for name, value in self.values_by_name.items()})

    def __str__(self) -> str:
        return "\n".join(self.lines)

    def _repr_html_(self) -> str:
        return f"<pre>{escape(str(self))}</pre>"


def fly_ball(
    ball_speed: Quantity,
    elevation: Quantity,
    spin_rate: Quantity,
    *,
    azimuth: Quantity = 0.0,
    spin_tilt: Quantity = 0.0,
    temperature: Quantity = 293.15,
    pressure: Quantity | None = None,
    altitude: Quantity | None = None,
    humidity: float = 0.5,
    air_density: Quantity | None = None,
    aero: str | None = None,
    ball: str = "legal",
) -> Numbers:
    """Fly one ball over level ground, from ball centre z = 0 to z = 0, in still air: carry, apex, time, landing.

    Each is text with its unit, `'75 m/s'`, `'11 deg'`, `'2700 rpm'`, or a number in SI: m/s, rad, rad/s, K, Pa, m,
    kg/m3. Azimuth + to the right, tilt + curves right, negative spin is topspin. Raises BadInputError.
    """
    number = fly_one_ball(OneBall(
        _si("ball_speed", "speed", ball_speed), _si("elevation", "angle", elevation), _si("azimuth", "angle", azimuth),
        _si("spin_rate", "spin rate", spin_rate), _si("spin_tilt", "angle", spin_tilt),
        _si("temperature", "temperature", temperature), _or_none("pressure", "pressure", pressure),
        _or_none("altitude", "length", altitude), humidity, _or_none("air_density", "density", air_density), aero, ball,
    ))  # fmt: skip
    return Numbers(number, tuple(landing_lines(number, "metric")))


def strike_ball(
    club_speed: Quantity,
    club: str | None = None,
    *,
    loft: Quantity | None = None,
    attack: Quantity = 0.0,
    path: Quantity = 0.0,
    face: Quantity = 0.0,
    toe: Quantity = 0.0,
    up: Quantity = 0.0,
    left: bool = False,
) -> Numbers:
    """Strike one ball: how the club is delivered goes in, the launch comes out.

    club: a shipped one, `'7-iron'`; without it a point of 200 g with this loft. Each is text with its unit or a number
    in SI, as for `fly_ball`, a right-hander's; left: the mirror image. Raises BadInputError.
    """
    order = OneStrike(
        _si("club_speed", "speed", club_speed), _or_none("loft", "angle", loft), _si("attack", "angle", attack),
        _si("path", "angle", path), _si("face", "angle", face), _si("toe", "length", toe), _si("up", "length", up),
        club=club, left=left,
    )  # fmt: skip
    struck = strike_once(order)
    return Numbers(struck.numbers, tuple(strike_lines(struck, order, "metric")))


def _or_none(name: str, kind: str, value: Quantity | None) -> float | None:
    return None if value is None else _si(name, kind, value)


def _si(name: str, kind: str, value: Quantity) -> float:
    """The quantity in SI. Raises BadInputError that says what was found, what is allowed, and a way out."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    try:
        return float(TypeAdapter(quantity(kind)).validate_python(value))
    except ValidationError as error:
        problem = error.errors()[0]["ctx"]
        words = (
            f"{name}: {problem['found']}\n  allowed: {problem['allowed']}, or a number in SI\n  try: {problem['fix']}"
        )
        raise BadInputError(words) from None
