"""The screen: a sheet of cloth that hangs between the tee and the end wall, and the flap at its foot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from flightsim.bay.build import board, sheet
from flightsim.bay.facing_words import Facing
from flightsim.bay.parts import Part, PartKind, Role
from flightsim.contact.facings import shipped_facings
from flightsim.making.pieces import Cloth, Pieces
from flightsim.plugin.hookspecs import BayPieces, BaySetup, BayView, hookimpl
from flightsim.plugin.places import TAPE, above_roof, direction, entry_key, in_axes
from flightsim.scenario.reading.declared import GuardLength
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Model, Scenario, Section, Starter
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.scenario.reading.quantities import Distance, Size
from flightsim_plugins.build_flat_pieces import flat_pieces, foam_strip, together
from flightsim_plugins.screen_picture import spare_of_pictures
from flightsim_plugins.screen_questions import ask_screen

NARROWER = (0.01, 0.05)  # m: how far new covers reach where something stands beside the screen, or hangs above it
STRIP = 0.3  # m: how far a new cover reaches at most (judgement)
PULLED_IN = 0.2  # m: the outer part of a corded screen where a ball may pull the edge in and get past [cloth-edge]
LEAST_OVERLAP = 0.04  # m: a strip that overlaps by less lets a ball in behind it
LEAST_GAP = 0.04  # m: no ball fits through less
STEEP_FLAP = 0.5  # drop over length, 30 deg: judgement; a flatter flap lies on the floor, and counts as floor


class Cover(Model):
    """A strip of foam, board or cloth along one edge of the screen, that closes the gap beside it.

    It stands on the tee side of the cloth, overlaps it, and reaches out past its edge.
    """

    side: Literal["left", "right", "top"] = Field(description="which edge")
    overlap: Annotated[
        Distance, GuardLength(stops_more=True, words="overlap of its cover", least=LEAST_OVERLAP, most=0.3)
    ] = Field(0.06, description="over the cloth; default 60 mm: a ball or more (common practice)")
    reach: Size = Field(description="out past the cloth's edge: to the wall or the tube")
    stand_off: Distance = Field(
        0.05, description="in front of the cloth; default 50 mm, so that cloth that gives clears it"
    )
    thickness: Distance = Field(0.0, description="toward the tee, of a board or foam; default 0 m, a sheet")
    facing: Facing = Field("foam", description="what it is made of")


class Screen(Model):
    """A screen: give its width and place, or its gaps to both walls."""

    name: Called = Field("screen", min_length=1, description="what people call it; needed where there are several")
    height: Annotated[Size, GuardLength(stops_more=True, how="high")] = Field(
        description="of the cloth, foot to top, without the flap"
    )
    width: Annotated[Size | None, GuardLength(stops_more=True, how="wide")] = Field(
        None, description="of the cloth; or give left_gap and right_gap"
    )
    left_gap: Annotated[Distance | None, GuardLength(stops_more=False)] = Field(
        None, description="left wall to the cloth's left edge"
    )
    right_gap: Annotated[Distance | None, GuardLength(stops_more=False)] = Field(
        None, description="cloth's right edge to the right wall"
    )
    from_left_wall: Distance | None = Field(None, description="left wall to the left edge of a screen of this width")
    centred_on: Literal["tee", "room"] | None = Field(None, description="instead of from_left_wall; default tee")
    gap_behind: Annotated[Distance, GuardLength(stops_more=True, least=0.3, most=0.6, common=0.3, moves=True)] = Field(
        description="cloth to the end wall"
    )
    above_floor: Annotated[Distance, GuardLength(stops_more=False, moves=True)] = Field(
        0.0, description="slab to the cloth's foot; default 0 m"
    )
    bottom_flap: Annotated[Distance, GuardLength(stops_more=True, most=0.4)] = Field(
        0.0, description="cloth that folds from the foot toward the tee; default none"
    )
    facing: Facing = Field("cloth", description="what it is made of")
    picture_width: Size | None = Field(
        None, description="of the picture that is thrown on it: `improve` keeps it whole; default none is said"
    )
    picture_height: Size | None = Field(None, description="of the same picture; give both")
    covers: tuple[Cover, ...] = Field((), description="strips that close the gaps along its edges")

    @model_validator(mode="after")
    def _one_cover_a_side(self) -> Self:
        sides = [cover.side for cover in self.covers]
        if len(set(sides)) < len(sides):
            raise ValueError("one cover for each side: left, right, top")
        return self

    @model_validator(mode="after")
    def _a_whole_picture(self) -> Self:
        if (self.picture_width is None) != (self.picture_height is None):
            raise ValueError("a picture has a width and a height: give picture_width and picture_height, or neither")
        return self

    @model_validator(mode="after")
    def _one_way_to_place(self) -> Self:
        gaps = (self.left_gap, self.right_gap)
        if self.width is None and None in gaps:
            raise ValueError("a screen needs its width, or both left_gap and right_gap")
        if self.width is not None and gaps != (None, None):
            raise ValueError("give the screen's width, or its left_gap and right_gap, not both")
        if self.width is None and not (self.from_left_wall is None and self.centred_on is None):
            raise ValueError("left_gap and right_gap already place the screen: no from_left_wall or centred_on")
        if self.from_left_wall is not None and self.centred_on is not None:
            raise ValueError("give from_left_wall or centred_on, not both")
        return self

    def edges(self, scenario: Scenario) -> tuple[float, float]:
        """Distance of the left and the right edge from the left wall, m."""
        if self.width is None:
            return float(self.left_gap or 0.0), scenario.room.width - float(self.right_gap or 0.0)
        if self.from_left_wall is not None:
            return self.from_left_wall, self.from_left_wall + self.width
        middle = scenario.room.width / 2.0 if self.centred_on == "room" else scenario.tee.from_left_wall
        return middle - self.width / 2.0, middle + self.width / 2.0


def the_screen(scenario: Scenario, name: str | None, key: str) -> tuple[Screen | None, list[Problem]]:
    """The screen that something hangs from: the named one, or the only one; None, and why, where it is unclear."""
    screens: list[Screen] = list(scenario.entries("screen"))
    names = ", ".join(screen.name for screen in screens)
    if not screens:
        return None, [scenario.problem(key, "it hangs from a screen, and there is none", "a `screen:` section")]
    if name is None and len(screens) > 1:
        return None, [scenario.problem(key, "there are several screens", f"screen: one of {names}")]
    chosen = [screen for screen in screens if name in (None, screen.name)]
    if not chosen:
        return None, [scenario.problem(f"{key}.screen", f"no screen is called '{name}'", names)]
    return chosen[0], []


@hookimpl
def flightsim_section() -> Section:
    """The section `screen`."""
    return Section(
        "screen", Screen, "Screens", owner="screen", several=True, order=40, ask=ask_screen, starters=_starters
    )


def _starters(scenario: Scenario) -> list[Starter]:
    """A strip of screen cloth in front of each edge of each screen that has none, as far out as there is room.

    Cloth and not foam: balls come back from it as from the screen, not harder. It leaves a picture that is said whole.
    """
    found = []
    for k, screen in enumerate(scenario.entries("screen")):
        left, right = screen.edges(scenario)
        gaps = {"left": left, "right": scenario.room.width - right, "top": STRIP}
        spare = (right - left - (screen.picture_width or 0.0)) / 2.0
        over = dict.fromkeys(("left", "right"), spare) | {"top": screen.height - (screen.picture_height or 0.0)}
        covered = {cover.side for cover in screen.covers}
        path = f"{entry_key(scenario, 'screen', k)}.covers.+"
        found += [
            Starter(f"a strip of screen cloth in front of the {side} edge of the {screen.name}", path,
                    {"side": side, "overlap": min(PULLED_IN, over[side]), "reach": reach, "facing": "cloth"})
            for side, gap in gaps.items() if side not in covered and gap > LEAST_GAP and over[side] >= LEAST_OVERLAP
            for reach in sorted({min(gap, most) for most in (*NARROWER, STRIP)})
        ]  # fmt: skip
    return found


@hookimpl
def flightsim_measures(context: BayView) -> Mapping[str, float]:
    """By how much each picture that is said has room, m: `screen.picture_screen`."""
    return spare_of_pictures(context)


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """Each screen and its flap."""
    parts: list[Part] = []
    problems: list[Problem] = []
    for k, screen in enumerate(context.entries):
        key = entry_key(context.scenario, "screen", k)
        wrong = _does_not_fit(context.scenario, screen, key)
        problems += wrong
        if any(problem.severity is Severity.ERROR for problem in wrong):
            continue
        of_screen = [_cloth(context.scenario, screen), *_flap(context.scenario, screen)]
        of_screen += [_cover(context.scenario, screen, cover) for cover in screen.covers]
        problems += above_roof(context.scenario, key, of_screen[0])
        parts += of_screen
    return BayPieces(tuple(parts), (), tuple(problems))


@hookimpl
def flightsim_pieces(context: BaySetup) -> Pieces:
    """The cloth of each screen, and the strips along its edges."""
    return together(*(_pieces(context.scenario, screen) for screen in context.entries))


def _pieces(scenario: Scenario, screen: Screen) -> Pieces:
    left, right = screen.edges(scenario)
    cloth = Cloth(
        screen.name, "screen", f"screen {screen.facing}", right - left, screen.height, screen.name,
        screen.above_floor, screen.bottom_flap,
    )  # fmt: skip
    return together(Pieces(cloths=(cloth,)), *(_cover_pieces(screen, cover, right - left) for cover in screen.covers))


def _cover_pieces(screen: Screen, cover: Cover, width: float) -> Pieces:
    name, across = f"{screen.name} {cover.side} cover", cover.overlap + cover.reach
    length = width if cover.side == "top" else screen.height
    foam = shipped_facings()["foam"].foam
    if cover.facing == "foam" and foam is not None:
        return foam_strip(name, across, cover.thickness or foam.thickness, length, screen.name)
    return flat_pieces(name, cover.facing, cover.thickness, length, across, screen.name)


def _cloth(scenario: Scenario, screen: Screen) -> Part:
    left, right = screen.edges(scenario)
    s, foot, top = screen.gap_behind, screen.above_floor, screen.above_floor + screen.height
    places = [(s, left, foot), (s, right, foot), (s, right, top), (s, left, top)]
    return Part(
        screen.name,
        sheet(in_axes(scenario, places)),
        Role.GUARD,
        screen.facing,
        "screen",
        screen.name,
        kind=PartKind.SCREEN,
    )


def _flap(scenario: Scenario, screen: Screen) -> list[Part]:
    """From the foot down to the floor. One that lies all but flat is floor: what lands on it is not stopped by it."""
    if screen.bottom_flap == 0.0:
        return []
    floor = float(scenario.room.turf_height)
    foot = max(screen.above_floor, floor)
    drop = min(foot - floor, screen.bottom_flap)
    reach = (screen.bottom_flap**2 - drop**2) ** 0.5
    left, right = screen.edges(scenario)
    (s0, z0), (s1, z1) = (screen.gap_behind, foot), (screen.gap_behind + reach, foot - drop)
    places = [(s0, left, z0), (s0, right, z0), (s1, right, z1), (s1, left, z1)]
    role = Role.GUARD if drop >= STEEP_FLAP * screen.bottom_flap else Role.FLOOR
    shape = sheet(in_axes(scenario, places))
    group = screen.name if role is Role.GUARD else ""  # what met the floor first has not met the screen
    return [Part(f"{screen.name} flap", shape, role, screen.facing, "screen", group)]


def _cover(scenario: Scenario, screen: Screen, cover: Cover) -> Part:
    left, right = screen.edges(scenario)
    foot, top = screen.above_floor, screen.above_floor + screen.height
    (t0, t1), (z0, z1) = (left, right), (foot, top)
    if cover.side == "left":
        t0, t1 = left - cover.reach, left + cover.overlap
    elif cover.side == "right":
        t0, t1 = right - cover.overlap, right + cover.reach
    else:
        z0, z1 = top - cover.overlap, top + cover.reach
    corner = in_axes(scenario, (screen.gap_behind + cover.stand_off + cover.thickness, t0, z0))
    across, up = direction(0.0, t1 - t0, 0.0), direction(0.0, 0.0, z1 - z0)
    shape = board(corner, across, up, direction(-1.0, 0.0, 0.0), cover.thickness)
    return Part(f"{screen.name} {cover.side} cover", shape, Role.GUARD, cover.facing, "screen")


def _does_not_fit(scenario: Scenario, screen: Screen, key: str) -> list[Problem]:
    problems, show = [], Display(scenario.units).length
    left, right = screen.edges(scenario)
    if right <= left:
        allowed = f"gaps of less than {show(scenario.room.width)} in all"
        problems.append(scenario.problem(f"{key}.right_gap", "the gaps leave no width for the screen", allowed))
    floor = float(scenario.room.turf_height)
    above = screen.above_floor - floor - screen.bottom_flap
    if screen.bottom_flap and above > 0.0:
        found, fix = f"the flap ends {show(above)} above the floor", "make it longer, or lower the screen"
        problems.append(scenario.problem(f"{key}.bottom_flap", found, "a flap that reaches it", fix, Severity.WARNING))
    for way, cloth in (("width", right - left), ("height", screen.height)):
        picture = getattr(screen, f"picture_{way}")
        if picture is not None and picture > cloth + TAPE:
            found = f"the picture is larger than the cloth, {show(cloth)}"
            allowed = f"at most {show(cloth)}"
            problems.append(scenario.problem(f"{key}.picture_{way}", found, allowed, severity=Severity.WARNING))
    return problems
