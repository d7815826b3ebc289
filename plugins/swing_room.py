"""Swing room: whether a club that is swung clears what hangs and stands around it, and who is there.

The swing is the disc of `flightsim.bay.swing`, from every tee spot, for each player, hand and club. It is compared with
all parts but the floor, and with everybody but hitters: one hits at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from io import BytesIO
from math import inf
from typing import Any, Literal, Self, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import Shape
from flightsim.bay.swing import TOLERANCE, UNCERTAINTY, Swing, least_gap, swing_of
from flightsim.plugin.hookspecs import BayPieces, BaySetup, BayView, Finding, FinishedRun, ReportFigure, hookimpl
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.letters import NOTE, STAND_IN, as_drawn
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.names import Called, one_word
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.scenario.reading.quantities import Distance, refusal
from flightsim.shots.clubs_in_use import INCH, PLAIN_BAG, Bag, clubs_in_use, hands_in_use, known_clubs, one_a_length
from flightsim.strike.clubs import ClubLength
from flightsim_plugins.people import MAN, Stature
from flightsim_plugins.swing_room_drawing import GREY, RED, draw_bay, draw_gap, draw_height, draw_player, draw_swing
from flightsim_plugins.swing_room_ways import the as _the
from flightsim_plugins.swing_room_ways import ways_out

Array = NDArray[np.float64]
Show: TypeAlias = Callable[[float], str]

MARGIN = 0.15  # m: 0.15 to 0.20 [swing-room]
SIDES = {"right": 1.0, "left": -1.0}  # which way of the ball a hitter stands, in y
MOST_TOLD = 4
WORTH_DRAWING = 0.6  # m
COLOURS = 160  # of the picture: line work needs no more


class Player(Model):
    """Somebody who swings a club here."""

    name: Called = Field(min_length=1, description="what people call them: Ann")
    height: Stature = Field(description="stature")
    hand: Literal["right", "left", "both"] = Field("right", description="both: one for each hand; default right")
    clubs: tuple[str, ...] | None = Field(
        None, description="driver ... lob wedge, or names of `shots.own_clubs`; default those of the scenario's shots"
    )
    club_length: ClubLength | None = Field(None, description="instead of clubs: of the longest in the bag")

    @model_validator(mode="after")
    def _one_bag(self) -> Self:
        if self.clubs is not None and self.club_length is not None:
            raise refusal("both clubs and club_length are given", "one of them", "remove club_length")
        return self


class SwingRoom(Model):
    """Who swings, and how much room is to be left. Without this section: whoever the shots are hit by, 1.76 m tall."""

    players: tuple[Player, ...] | None = Field(
        None, description="who swings; default one as tall as `people.hitter`, with hands and clubs of the shots"
    )
    margin: Distance = Field(MARGIN, description="to be left around the swing; default 150 mm (practice 150 to 200)")
    required: bool = Field(False, description="true: nothing is flown in a bay that the club hits")


@dataclass(frozen=True)
class Swinger:
    """One player with one hand, and the clubs with their lengths, m. key: where the file says so."""

    name: str
    height: float
    hand: str
    clubs: Bag
    key: str


@dataclass(frozen=True, eq=False)
class Clearance:
    """How near one swing comes to one thing. gap: at least so much, m, without any margin; below nought it hits, and
    the thing is free once it is moved by so much along the room, across it or up and down. ball `(3,)`: what it stands
    on. point `(3,)`: of the disc, nearest. owner: the plugin of the thing.
    """

    player: Swinger
    club: str
    spot: str
    ball: Array
    swing: Swing
    thing: str
    owner: str
    kind: Literal["part", "person"]
    gap: float
    point: Array


@hookimpl
def flightsim_section() -> Section:
    """The section `swing_room`."""
    return Section("swing_room", SwingRoom, "Room to swing a club", owner="swing_room", order=85)


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """No parts: what is wrong with the players."""
    return BayPieces(problems=tuple(_wrong_players(context)))


@hookimpl
def flightsim_checks(context: BayView) -> Sequence[Problem]:
    """What the club hits or comes too near to: errors where the scenario requires room and the club hits."""
    room: SwingRoom = next(iter(context.entries), SwingRoom())
    near = _worst_by_thing([found for found in clearances(context, room.margin) if not found.gap >= room.margin])
    if context.entries:
        return [_told(context, found, room) for found in near]
    # Nobody said who swings: of the player that is taken then all that the club hits is told, or the nearest.
    hit = [found for found in near if found.gap <= 0.0]
    return [_told(context, found, room) for found in hit or near[:1]]


@hookimpl
def flightsim_judge(context: FinishedRun) -> Sequence[Finding]:
    """How much room there is to swing, and what is nearest."""
    room: SwingRoom = next(iter(context.entries), SwingRoom())
    nearest = _worst_by_thing(clearances(context))
    if not nearest:
        return ()
    near = [found for found in nearest if not found.gap >= room.margin]
    show = Display(context.scenario.units).estimate
    gaps = "; ".join(
        f"{_who(clearance, show)}: the club {_how_near(clearance, show)}" for clearance in (near or nearest)[:MOST_TOLD]
    )
    more = f"; and {len(near) - MOST_TOLD} more" if len(near) > MOST_TOLD else ""
    mend = _way_out(context, near[0], room.margin) if near else ""
    way = f" One way: {mend}." if near else ""
    guess = "" if context.entries else " Taken from the shots: the section swing_room says who swings."
    known = f" {show(room.margin)} is wanted, and the swing is known to +-{show(UNCERTAINTY)}."
    start = "" if near else "Nearest to the swing: "
    text, level = f"{start}{gaps}{more}.{way}{known}{guess}", "warning" if near else "note"
    return [
        Finding("Room to swing", text, level, "swing", nearest[0].gap, UNCERTAINTY, _in_short(nearest[0], show), mend)
    ]


@hookimpl
def flightsim_measures(context: BayView) -> Mapping[str, float]:
    """The least gap of all, and that of each thing, m: swing_room, swing_room.canopy."""
    measures: dict[str, float] = {}
    for found in clearances(context):
        for name in ("swing_room", f"swing_room.{one_word(found.thing)}"):
            measures[name] = min(found.gap, measures.get(name, inf))
    return measures


@hookimpl
def flightsim_figures(context: FinishedRun) -> Sequence[ReportFigure]:
    """The swing that comes nearest to something, from the side and from behind."""
    found = clearances(context)
    if not found:
        return ()
    nearest = [clearance for clearance in found if clearance.swing is found[0].swing]
    show = Display(context.scenario.units).estimate
    caption = (
        f"The disc that the club sweeps, dotted what is {show(MARGIN)} around it, and red and hatched what would lie "
        f"outside the room, for {_who(nearest[0], show)}: "
        f"the swing that comes nearest to something. It is known to +-{show(UNCERTAINTY)}."
    )
    finding = _in_short(nearest[0], show)
    drawn = _picture(context, nearest)
    return [ReportFigure("swing_room", "Room to swing", caption, drawn, about="people", finding=finding)]


def clearances(view: BayView | FinishedRun, enough: float = inf) -> list[Clearance]:
    """Every player's, hand's, spot's and club's least gap to every thing, the smallest first.

    From a gap of `enough`, m, on it is not told how large it is: that is quicker.
    """
    found = [
        Clearance(player, club, spot, ball, swing, thing, owner, kind, *min(gaps, key=lambda gap: gap[0]))
        for player, club, spot, ball, swing in _swings(view)
        for (thing, owner, kind), shapes in _things(view.bay).items()
        for gaps in [[least_gap(swing, shape, enough) for shape in shapes]]
    ]
    return sorted(found, key=lambda one: (one.gap, one.thing, one.player.name, one.player.hand, one.club, one.spot))


def smallest(view: BayView | FinishedRun) -> Clearance:
    """The nearest that any swing comes to anything. Raises ValueError in a bay with nothing but a floor."""
    found = clearances(view)
    if not found:
        raise ValueError("there is nothing in the bay that a club could hit")
    return found[0]


def swingers(context: BaySetup | BayView | FinishedRun) -> list[Swinger]:
    """Everybody who swings, once for each hand."""
    scenario = context.scenario
    room: SwingRoom = next(iter(context.entries), SwingRoom())
    if room.players is None:
        hitter = next(iter(scenario.entries("people")), None)
        height = hitter.hitter.height if hitter is not None else MAN
        return [
            Swinger("the hitter", height, hand, clubs_in_use(scenario), "swing_room") for hand in hands_in_use(scenario)
        ]
    return [
        Swinger(player.name, player.height, hand, _clubs_of(scenario, player), f"swing_room.players.{k}")
        for k, player in enumerate(room.players)
        for hand in (("right", "left") if player.hand == "both" else (player.hand,))
    ]


def _swings(view: BayView | FinishedRun) -> Iterator[tuple[Swinger, str, str, Array, Swing]]:
    """Player, club, tee spot, place of the ball and disc of each. A right-hander stands to the left of the ball."""
    scenario = view.scenario
    spots = [(spot.name, spot.from_end_wall, spot.from_left_wall) for spot in scenario.tee.spots]
    for spot, s, t in spots or [("tee", scenario.tee.from_end_wall, scenario.tee.from_left_wall)]:
        ball = np.array([scenario.along(s), scenario.across(t), scenario.ground_height])
        for player in swingers(view):
            for club, length in player.clubs:
                yield player, club, spot, ball, swing_of(player.height, length, ball, SIDES[player.hand])


def _things(bay: Bay) -> dict[tuple[str, str, Literal["part", "person"]], list[Shape]]:
    """The shapes of each thing and person that a club may hit, by name, owner and kind."""
    things: dict[tuple[str, str, Literal["part", "person"]], list[Shape]] = {}
    for part in bay.parts:
        if part.role is not Role.FLOOR:
            things.setdefault((part.label, part.owner, "part"), []).append(part.shape)
    for zone in bay.zones:
        if not zone.own_hand:
            things.setdefault((zone.person, zone.owner, "person"), []).append(zone.shape)
    return things


def _clubs_of(scenario: Scenario, player: Player) -> Bag:
    """A player's clubs. With the longest go shorter ones: their planes are steeper, and reach higher."""
    if player.club_length is not None:
        longest = (f"club of {player.club_length / INCH:.3g} in", player.club_length)
        return one_a_length([longest, *((name, size) for name, size in PLAIN_BAG if size < player.club_length)])
    known = known_clubs(scenario)
    return one_a_length((name, known[name]) for name in player.clubs) if player.clubs else clubs_in_use(scenario)


def _wrong_players(context: BaySetup) -> Iterator[Problem]:
    scenario, known, names = context.scenario, known_clubs(context.scenario), set()
    room: SwingRoom = next(iter(context.entries), SwingRoom())
    if room.players == ():
        yield scenario.problem("swing_room.players", "no players", "one or more, or none said", "[{name: Ann, ...}]")
    for k, player in enumerate(room.players or ()):
        key = f"swing_room.players.{k}"
        if player.name in names:
            found = f"'{player.name}' is already a player"
            yield scenario.problem(f"{key}.name", found, "names that differ", f"{player.name} 2")
        names.add(player.name)
        for n, club in enumerate(player.clubs or ()):
            if club not in known:
                near = get_close_matches(club.lower(), known, n=1)
                fix = near[0] if near else "club_length: 44 in"
                yield scenario.problem(f"{key}.clubs.{n}", f"there is no club '{club}'", ", ".join(known), fix)
        if player.clubs == ():
            yield scenario.problem(f"{key}.clubs", "no clubs", "one or more, or none said", "clubs: [driver]")


def _worst_by_thing(found: Sequence[Clearance]) -> list[Clearance]:
    """The nearest swing to each thing; found has the smallest first."""
    worst: dict[tuple[str, str], Clearance] = {}
    for clearance in found:
        worst.setdefault((clearance.thing, clearance.kind), clearance)
    return list(worst.values())


def _told(context: BayView, found: Clearance, room: SwingRoom) -> Problem:
    """One problem in words: who, which club, what it hits or nears, by how much, and a way out."""
    scenario, show = context.scenario, Display(context.scenario.units).estimate
    severity = Severity.ERROR if found.gap <= 0.0 and room.required else Severity.WARNING
    words = f"{_who(found, show)}: the club {_how_near(found, show)}"
    allowed = f"{show(room.margin)} or more clear of the swing, which is known to +-{show(UNCERTAINTY)}"
    problem = scenario.problem(found.player.key, words, allowed, _way_out(context, found, room.margin), severity)
    return replace(problem, urgent=max(-found.gap, TOLERANCE) if found.gap <= 0.0 else 0.0)


def _who(found: Clearance, show: Show) -> str:
    player = f"{found.player.name} ({found.player.hand}-hander, {show(found.player.height)})"
    return f"{player} with the {found.club} at {_the(found.spot)}"


def _how_near(found: Clearance, show: Show) -> str:
    if found.gap <= 0.0:
        return f"hits {_the(found.thing)}, which is {show(max(-found.gap, TOLERANCE))} too near"
    return f"passes {_the(found.thing)} at {show(found.gap)}"


def _in_short(found: Clearance, show: Show) -> str:
    """The nearest in a few words: `does not fit: driver hits left wall by 0.76 m`."""
    if found.gap <= 0.0:
        return f"does not fit: {found.club} hits {found.thing} by {show(max(-found.gap, TOLERANCE))}"
    return f"the {found.club} passes {_the(found.thing)} at {show(found.gap)}"


def _way_out(context: BayView | FinishedRun, found: Clearance, margin: float) -> str:
    shapes = _things(context.bay)[found.thing, found.owner, found.kind]
    return ways_out(context.bay, found, shapes, margin, Display(context.scenario.units).enough)


def _legible(figure: Any) -> None:
    """Boxes for letters of a name that the font cannot draw, and a note that says so."""
    from matplotlib import __version_info__
    from matplotlib.font_manager import findfont, get_font
    from matplotlib.text import Text

    known = get_font(findfont("DejaVu Sans")).get_charmap()
    for text in figure.findobj(Text):
        shown = as_drawn(text.get_text(), known, tuple(__version_info__[:2]))
        text.set_text(f"{shown}   ({NOTE})" if STAND_IN in shown else shown)


def _picture(context: FinishedRun, nearest: Sequence[Clearance]) -> bytes:
    """Side view and view from behind, PNG: line work, and a list of what is near."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from PIL import Image

    show = Display(context.scenario.units).estimate
    near = [clearance for clearance in nearest if clearance.gap < WORTH_DRAWING][:6]
    rows = -(-len(near) // 2)
    figure = Figure(figsize=(9.6, 3.9 + 0.24 * rows), facecolor="white")
    tall = float(figure.get_size_inches()[1])
    figure.text(0.03, 1.0 - 0.12 / tall, "Room to swing", fontsize=12, fontweight="bold", va="top")
    figure.text(0.03, 1.0 - 0.4 / tall, _who(nearest[0], show), fontsize=8, va="top", color=GREY)
    swing, ground, room = nearest[0].swing, context.scenario.ground_height, (context.bay.lower, context.bay.upper)
    things = _things(context.bay)
    spans = np.abs(context.bay.upper - context.bay.lower)
    panels = figure.subplots(1, 2, width_ratios=(spans[0], spans[1]))
    figure.subplots_adjust(0.03, (0.3 + 0.24 * rows) / tall, 0.97, 1.0 - 0.85 / tall, 0.08)
    sides = np.eye(3)[[0, 2]], np.eye(3)[[1, 2]] * [[-1.0], [1.0]]
    for axes, title, view in zip(panels, ("from the side, screen to the right", "from behind"), sides, strict=True):
        draw_player(axes, swing, view, ground, nearest[0].player.height)
        draw_bay(axes, context.bay, view)
        draw_swing(axes, swing, view, room, MARGIN)
        draw_height(axes, swing, view, ground, show)
        taken: list[Array] = []
        for k, clearance in enumerate(near, start=1):
            shapes = things[clearance.thing, clearance.owner, clearance.kind]
            draw_gap(axes, shapes, clearance.gap, clearance.point, view, k, taken)
        axes.set_title(title, fontsize=9)
        axes.set_aspect("equal")
        axes.set_axis_off()
    for k, clearance in enumerate(near):
        column, row = divmod(k, rows)
        words: dict[str, Any] = {"color": RED, "fontweight": "bold"} if clearance.gap <= 0.0 else {}
        place = 0.04 + 0.48 * column, (0.12 + 0.24 * (rows - 1 - row)) / tall
        figure.text(*place, f"{k + 1}  {_how_near(clearance, show)}", fontsize=9, **words)
    _legible(figure)
    canvas: Any = FigureCanvasAgg(figure)
    figure.set_dpi(150)
    canvas.draw()
    data, whole = BytesIO(), Image.fromarray(np.asarray(canvas.buffer_rgba())).convert("RGB")
    few = whole.quantize(COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    few.putpalette([255 if part == 254 else part for part in few.getpalette() or []])  # 254 is what it makes of white
    few.save(data, "PNG", compress_level=6)
    return data.getvalue()
