"""`flightsim fly`: one ball over level ground."""

from __future__ import annotations

import json
from typing import Any

import click

from flightsim.errors import BadInputError


class Quantity(click.ParamType):
    """An option's value with its unit, read into SI."""

    def __init__(self, kind: str) -> None:
        self.name = kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Radians, m/s, ... as the scenario room reads them."""
        from pydantic_core import PydanticCustomError

        from flightsim.scenario.quantities import KINDS, parse

        if isinstance(value, float):
            return value
        try:
            return parse(KINDS[self.name], value)
        except PydanticCustomError as error:
            name = param.opts[0] if param else self.name
            told = error.context or {}
            lines = [f"{name}: {told['found']}", f"  allowed: {told['allowed']}", f"  try: {told['fix']}"]
            raise BadInputError("\n".join(lines)) from None


def quantity(name: str, kind: str, help_text: str, **more: Any) -> Any:
    """An option that takes a number with its unit."""
    return click.option(name, type=Quantity(kind), help=help_text, **more)


@click.command()
@quantity("--ball-speed", "speed", "Just after the strike: 75m/s, 168mph.", required=True)
@quantity("--elevation", "angle", "Up angle: 11deg. Past 90deg the ball flies backwards.", required=True)
@quantity("--spin-rate", "spin rate", "2700rpm; negative is topspin.", required=True)
@quantity("--azimuth", "angle", "Left-right angle, + right; default 0deg.", default=0.0)
@quantity("--spin-tilt", "angle", "Tilt of the spin axis, + curves right; default 0deg.", default=0.0)
@quantity("--temperature", "temperature", "Of the air; default 20degC.", default=293.15)
@quantity("--pressure", "pressure", "Of the air: 1013hPa. This or the altitude.")
@quantity("--altitude", "length", "Above sea level: 500m. This or the pressure.")
@click.option("--humidity", type=click.FloatRange(0.0, 1.0), default=0.5, help="Relative, 0 to 1; default 0.5.")
@quantity("--air-density", "density", "Overrides the computed density, nothing else: 1.2kg/m3.")
@click.option("--aero", metavar="NAME", default=None, help="Drag and lift model; default naruo2004.")
@click.option("--ball", metavar="NAME", default="legal", show_default=True, help="A ball preset.")
@click.option("--units", type=click.Choice(["metric", "imperial"]), default="metric", help="Of the text.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in full precision.")
def fly(
    ball_speed: float,
    elevation: float,
    spin_rate: float,
    azimuth: float,
    spin_tilt: float,
    temperature: float,
    pressure: float | None,
    altitude: float | None,
    humidity: float,
    air_density: float | None,
    aero: str | None,
    ball: str,
    units: str,
    as_json: bool,
) -> None:
    """Fly one ball over level ground, from ball centre z = 0 to z = 0, in still air.

    Angles are taken as given. Density overrides the density only; viscosity follows the temperature.
    """
    from flightsim.study.one_ball import OneBall, fly_one_ball, landing_lines

    order = OneBall(ball_speed, elevation, azimuth, spin_rate, spin_tilt, temperature, pressure, altitude, humidity,
                    air_density, aero, ball)  # fmt: skip
    landing = fly_one_ball(order)
    if as_json:
        click.echo(json.dumps(landing, indent=2, allow_nan=False))
    else:
        click.echo("\n".join(landing_lines(landing, units)))
