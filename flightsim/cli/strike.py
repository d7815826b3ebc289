"""`flightsim strike`: one strike in, launch out; or the strikes of a player with a club."""

from __future__ import annotations

from math import radians
from pathlib import Path
from typing import Any

import click

from flightsim.cli.options import json_answer, number, quantity
from flightsim.errors import BadInputError

_TURN = {"least": radians(-80.0), "most": radians(80.0)}
_ON_THE_FACE = {"least": -0.15, "most": 0.15}
_OF_ONE = (
    "club_speed", "loft", "attack", "path", "face", "toe", "up", "edge_height", "head", "head_mass", "restitution",
    "tangential_restitution", "friction",
)  # fmt: skip
_OF_A_PLAYER = ("swing", "strikes", "seed", "bad_day", "tails", "figure")


@click.command()
@quantity("--club-speed", "speed", "Of the head, at impact: 45m/s, 100mph.", above=0.0, most=100.0)
@quantity("--loft", "angle", "Elevation of the face's normal at impact; a --club brings its own.",
          least=radians(-30.0), most=radians(89.0))  # fmt: skip
@quantity("--attack", "angle", "Way of the head, + up; default 0deg.", **_TURN, default=0.0)
@quantity("--path", "angle", "Way of the head, + to the right; default 0deg.", **_TURN, default=0.0)
@quantity("--face", "angle", "Where the face points, + to the right; default 0deg.", **_TURN, default=0.0)
@quantity("--toe", "length", "Strike toward the toe from the middle of the face, - toward the heel; default 0mm.",
          **_ON_THE_FACE, default=0.0)  # fmt: skip
@quantity("--up", "length", "Strike above the middle of the face; default 0mm.", **_ON_THE_FACE, default=0.0)
@quantity("--edge-height", "length", "Leading edge above the mat, in place of --up; not for a driver.",
          least=-0.05, most=0.06)  # fmt: skip
@click.option("--club", metavar="NAME", help="A shipped club: driver, 7-iron, 'lob wedge', ...")
@click.option(
    "--head", metavar="FILE", type=click.Path(path_type=Path), help="A head of your own with its inertia, as above."
)
@quantity("--head-mass", "mass", "Of a point head, default 200g; or in place of the --club's.", least=0.02, most=2.0)
@number("--restitution", 0.0, 1.0, "Of face and ball; default 0.83, a driver's law for a --head, or the --club's.")
@number("--tangential-restitution", -1.0, 1.0,
        "-1 no grip, 0 rolling off, above 0 springing back; default 0, or the --club's.")  # fmt: skip
@number("--friction", 0.0, 100.0, "Of face and ball; default 0.30, or the --club's.")
@click.option("--hand", type=click.Choice(["right", "left"]), default="right", show_default=True,
              help="left: the mirror image of all that is given as for a right-hander.")  # fmt: skip
@click.option("--player", metavar="NAME", help="tour, low, mid, high, slow or junior: many strikes, with --club.")
@click.option("--swing", type=click.Choice(["full", "half", "chip"]), default="full", help="Default full.")
@click.option("--strikes", type=click.IntRange(100, 2_000_000), default=20_000,
              help="In all, shared evenly among the strike classes; default 20000.")  # fmt: skip
@click.option("--seed", type=click.IntRange(min=0), default=1, help="Of the random streams; default 1.")
@number("--bad-day", 1.0, 100.0, "Multiplies the odds of a miss; misses cluster: 10 to 20; default 1.", default=1.0)
@click.option("--tails", type=click.Choice(["independent", "joint", "gaussian"]), default="independent",
              help="Student's t on each axis, or one for all of a swing; or normal. Default independent.")  # fmt: skip
@click.option("--figure", type=click.Path(path_type=Path), help="Draw classes and launches into this PNG file.")
@click.option("--out", type=click.Path(path_type=Path), help="Write a page, its picture and the data into this folder.")
@click.option("--units", type=click.Choice(["metric", "imperial"]), default="metric", help="Of text and figure.")
@json_answer
@click.pass_context
def strike(ctx: click.Context, /, player: str | None, units: str, as_json: bool, **options: Any) -> None:
    """One strike in, launch out: how the ball leaves the club.

    Without --club or --head the head is a point that does not turn: 200 g and nothing for the shaft, restitution 0.83,
    tangential restitution 0, friction 0.30.

    With --club: the club's head with 3 g of shaft, its full inertia and its parameters. Where the ball is met decides
    what meets it: face, crown's edge, sole's edge, toe's edge or hosel. --up is then above the sweet spot; an iron's
    leading edge is the lower, the higher up the ball is met. A ball struck down into the mat bounces.

    With --head FILE: the full inertia of a head of your own, the ball met by its face; nothing is added for a shaft;
    a driver's restitution, 0.83 - 0.0015 (v - 48.8) at v m/s along the face's normal.

    \b
      mass: 207 g
      centre: {out: -42.3 mm, heel: -1.0 mm, up: 2.9 mm}   # of mass, from the middle of the face
      inertia:   # g cm2, about the centre of mass; axes out of the face, toward the heel, up
        - [2843.0, -530.2, -733.0]
        - [-530.2, 4085.0, -0.5]
        - [-733.0, -0.5, 5679.0]
      bulge: 305 mm   # optional
      roll: 305 mm   # optional

    With --player and --club: the strike classes, how often each comes, and the launches of each.

    Azimuth + to the right; sidespin + curves right; backspin +. A full shot's ball speed is good to about 3 %, its
    launch to 1 deg, iron spin to 10 %, driver spin only to 35-40 %.
    """
    _refuse_of_the_other(ctx, player)
    if player is None:
        _one(options, units, as_json)
    else:
        _many(player, options, units, as_json)


def _refuse_of_the_other(ctx: click.Context, player: str | None) -> None:
    """An option that would do nothing is an error."""
    others = _OF_A_PLAYER if player is None else _OF_ONE
    named = [f"--{name.replace('_', '-')}" for name in others if _is_given(ctx, name)]
    if named and player is None:
        raise BadInputError(
            f"{named[0]}: is for many strikes\n  allowed: with --player and --club\n  try: --player mid"
        )
    if named:
        raise BadInputError(f"{named[0]}: is for one strike\n  allowed: without --player\n  try: remove one of the two")


def _is_given(ctx: click.Context, name: str) -> bool:
    return ctx.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE


def _one(options: dict[str, Any], units: str, as_json: bool) -> None:
    from flightsim.jobs.strike_club import strike_one_and_report
    from flightsim.study.single.one_strike import OneStrike

    if options["club_speed"] is None:
        raise BadInputError("--club-speed: missing\n  allowed: a speed with its unit\n  try: --club-speed 45m/s")
    order = OneStrike(**{name: options[name] for name in _OF_ONE}, club=options["club"], left=options["hand"] == "left")
    if options["out"] is None:
        strike_one_and_report(order, units, as_json)
        return
    from flightsim.jobs.draw_strike import write_one

    strike_one_and_report(order, units, as_json, lambda struck: write_one(struck, order, units, options["out"]))


def _many(player: str, options: dict[str, Any], units: str, as_json: bool) -> None:
    from flightsim.jobs.strike_club import strike_many_and_report
    from flightsim.study.single.strike_mix import MixOrder

    if options["club"] is None:
        raise BadInputError("--player: needs a --club\n  allowed: a shipped club\n  try: --club 7-iron")
    order = MixOrder(
        player, options["club"], options["strikes"], options["seed"], options["bad_day"], options["tails"],
        options["swing"], options["hand"] == "left",
    )  # fmt: skip
    if options["figure"] is None and options["out"] is None:
        strike_many_and_report(order, units, as_json)
        return
    from flightsim.jobs.draw_strike import write_many

    strike_many_and_report(order, units, as_json, lambda mix: write_many(mix, units, options["figure"], options["out"]))
