"""`flightsim fly`: one ball over level ground."""

from __future__ import annotations

from math import pi
from typing import Any

import click

from flightsim.cli.options import FloatParam, json_answer, quantity, refusal

FASTEST = 120.0  # m/s: the fastest drives are some 108 m/s (from memory)
MOST_SPIN = 20_000.0 * pi / 30.0  # rad/s: the highest of wedges are some 15,000 rpm (from memory)
HALF_TURN: dict[str, float] = {"least": -pi, "most": pi}


class Humidity(FloatParam):
    """A relative humidity: 0.4 or 40%."""

    name = "humidity"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The share, 0 to 1."""
        if isinstance(value, float):
            return value
        try:
            share = float(value.removesuffix("%")) / (100.0 if value.endswith("%") else 1.0)
        except ValueError:
            raise refusal(param, f"'{value}' is not a number", "0 to 1, or 0% to 100%", "0.5") from None
        if not 0.0 <= share <= 1.0:
            raise refusal(param, f"'{value}' is out of range", "0 to 1, or 0% to 100%", "0.5")
        return share


@click.command()
@quantity("--ball-speed", "speed", "Just after the strike: 75m/s, 168mph.", least=0.0, most=FASTEST, required=True)
@quantity("--elevation", "angle", "Up angle: 11deg. Past 90deg the ball flies backwards.", **HALF_TURN, required=True)
@quantity("--spin-rate", "spin rate", "2700rpm; negative is topspin.", least=-MOST_SPIN, most=MOST_SPIN, required=True)
@quantity("--azimuth", "angle", "Left-right angle, + right; default 0deg.", **HALF_TURN, default=0.0)
@quantity("--spin-tilt", "angle", "Tilt of the spin axis, + curves right; default 0deg.", **HALF_TURN, default=0.0)
@quantity("--temperature", "temperature", "Of the air; default 20degC.", least=200.0, most=350.0, default=293.15)
@quantity("--pressure", "pressure", "Of the air: 1013hPa. This or the altitude.", least=2.0e4, most=1.2e5)
@quantity("--altitude", "length", "Above sea level: 500m. This or the pressure.", least=-500.0, most=11_000.0)
@click.option("--humidity", type=Humidity(), default=0.5, help="Relative: 0.4 or 40%; default 0.5.")
@quantity("--air-density", "density", "Overrides the computed density, nothing else: 1.2kg/m3.", least=0.0, most=10.0)
@click.option("--aero", metavar="NAME", default=None, help="Drag and lift model; default naruo2004.")
@click.option("--ball", metavar="NAME", default="legal", show_default=True, help="A ball preset.")
@click.option("--units", type=click.Choice(["metric", "imperial"]), default="metric", help="Of the text.")
@json_answer
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
    from flightsim.jobs.print_json import print_json
    from flightsim.study.single.one_ball import OneBall, fly_one_ball, landing_lines

    order = OneBall(ball_speed, elevation, azimuth, spin_rate, spin_tilt, temperature, pressure, altitude, humidity,
                    air_density, aero, ball)  # fmt: skip
    landing = fly_one_ball(order)
    if as_json:
        print_json(landing)
    else:
        click.echo("\n".join(landing_lines(landing, units)))
