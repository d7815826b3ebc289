"""The frame: the tubes that carry screen and canopy, which a ball can hit like anything else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from flightsim.bay.parts import Part
from flightsim.contact.facings import Facing, Foam, shipped_facings
from flightsim.making.frame_pieces import frame_pieces
from flightsim.making.pieces import Length, Pieces, thick
from flightsim.making.structure import Structure
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import TAPE, above_roof, entry_key
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario, Section, Starter
from flightsim.scenario.reading.problems import Problem
from flightsim_plugins.build_flat_pieces import together
from flightsim_plugins.canopy import Canopy
from flightsim_plugins.frame_bars import frame_bars
from flightsim_plugins.frame_measures import measures_that_disagree
from flightsim_plugins.frame_model import PADDED, Frame, padded_name
from flightsim_plugins.frame_structure import ROLES, structure_of
from flightsim_plugins.screen import Screen, the_screen
from flightsim_plugins.screen_questions import ask_frame

PADDED_FIRST = {
    "the front bar": ("front_bar",),
    "front bar, legs and uprights": ("front_bar", "legs", "uprights"),
    "all tubes": (),
}

_LOWER = "a screen or canopy that ends {} lower, or a thinner tube"


@hookimpl
def flightsim_section() -> Section:
    """The section `frame`."""
    return Section(
        "frame", Frame, "Tubes that carry screen and canopy", owner="frame", several=True, order=55, ask=ask_frame,
        starters=_starters, rests_on=("screen", "canopy"),
    )  # fmt: skip


def _starters(scenario: Scenario) -> list[Starter]:
    """Foam around the tubes of each frame without: around its front bar, around what stands, around all.

    And uprights up to the canopy, where a canopy that is raised needs them.
    """
    found = []
    for k, frame in enumerate(scenario.entries("frame")):
        key = entry_key(scenario, "frame", k)
        if frame.padding == "none":
            found += [
                Starter(f"foam around {words} of the {frame.name}", f"{key}.padding", "foam",
                        also={f"{key}.padded": list(bars)} if bars else {})
                for words, bars in PADDED_FIRST.items()
            ]  # fmt: skip
        if frame.post_top != "canopy":
            found.append(
                Starter(f"uprights of the {frame.name} that go up to the canopy's side bars", f"{key}.post_top",
                        "canopy", adds=False, follows=True)
            )  # fmt: skip
    return found


@hookimpl
def flightsim_facings(context: BaySetup) -> Sequence[Facing]:
    """Foam on steel, where it is not as thick as the one that comes with flightsim."""
    base = shipped_facings()[PADDED]
    found: dict[str, Facing] = {}
    for frame in context.entries:
        name = padded_name(frame.padding_thickness)
        if frame.padding == "foam" and name != PADDED and base.foam is not None:
            foam = Foam(frame.padding_thickness, base.foam.crush_stress)
            found[name] = replace(base, name=name, foam=foam, source=f"as {PADDED}, of this thickness")
    return tuple(found.values())


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """The bars of each frame."""
    scenario = context.scenario
    parts: list[Part] = []
    problems: list[Problem] = []
    for k, frame in enumerate(context.entries):
        key = entry_key(scenario, "frame", k)
        screen, unclear = the_screen(scenario, frame.screen, key)
        canopies, unknown = _canopies(scenario, frame, screen, key)
        problems += [*unclear, *unknown]
        if screen is None or unknown:
            continue
        problems += measures_that_disagree(scenario, key, frame, screen)
        for bar in frame_bars(scenario, frame, screen, canopies):
            group = bar.bars.replace("_", " ") + (f", {bar.canopy}" if bar.canopy and len(canopies) > 1 else "")
            parts.append(bar.part(scenario, frame, group))
            tube = bar.part(scenario, frame.model_copy(update={"padding": "none"}), group)  # foam gives way to a wall
            high = above_roof(scenario, key, tube, fix=_LOWER)
            problems += [*high, *_through_walls(scenario, key, tube)]
    return BayPieces(tuple(parts), (), tuple(problems))


@hookimpl
def flightsim_structures(context: BaySetup) -> Sequence[Structure]:
    """Each frame, for its checks. What is wrong with the bay was told with its parts."""
    found = []
    for k, frame in enumerate(context.entries):
        key = entry_key(context.scenario, "frame", k)
        screen, _ = the_screen(context.scenario, frame.screen, key)
        canopies, unknown = _canopies(context.scenario, frame, screen, key)
        if screen is not None and not unknown:
            found.append(structure_of(context.scenario, frame, screen, canopies))
    return found


@hookimpl
def flightsim_pieces(context: BaySetup) -> Pieces:
    """The steel of each frame, its sleeves and what joins it, and the foam around its bars."""
    frames = {frame.name: frame for frame in context.entries}
    structures = flightsim_structures(context)
    return together(
        *(frame_pieces(structure) for structure in structures),
        *(_foam(frames[structure.name], structure) for structure in structures),
    )


def _foam(frame: Frame, structure: Structure) -> Pieces:
    """A sleeve of foam as long as each bar that has one."""
    kinds = {role: bars for bars, role in ROLES.items()}
    around = f"{thick(frame.tube.size)} tube"
    return Pieces(
        lengths=tuple(
            Length("", f"foam on {bar.name}", f"pipe foam {thick(foam)} for {around}", bar.length, frame.name)
            for bar in structure.bars
            if bar.role in kinds and (foam := frame.foam_on(kinds[bar.role])) > 0.0
        )
    )


def _canopies(scenario: Scenario, frame: Frame, screen: Screen | None, key: str) -> tuple[list[Canopy], list[Problem]]:
    """The canopies that this frame carries."""
    every: list[Canopy] = list(scenario.entries("canopy"))
    of_screen = [c for c in every if screen is not None and c.screen in (None, screen.name)]
    if frame.canopies is None:
        return of_screen, []
    known = [canopy.name for canopy in of_screen]
    names = ", ".join(known) or "there is none"
    problems = [
        scenario.problem(f"{key}.canopies.{k}", f"no canopy of this screen is called '{name}'", names)
        for k, name in enumerate(frame.canopies)
        if name not in known
    ]
    return [canopy for canopy in of_screen if canopy.name in frame.canopies], problems


def _through_walls(scenario: Scenario, key: str, part: Part) -> Iterator[Problem]:
    """An error where a tube stands in a wall, or reaches past the back."""
    show, room = Display(scenario.units).length, scenario.room
    lower, upper = part.shape.bounds()
    (far_s, far_t), (near_s, near_t) = (
        (scenario.tee.from_end_wall - corner[0], scenario.tee.from_left_wall - corner[1]) for corner in (lower, upper)
    )
    for past, wall, fix in (
        (-near_s, "end wall", "a larger gap_behind of the screen, or a thinner tube"),
        (far_s - room.length, "back", "a shorter canopy, or shorter bars on the floor"),
        (-near_t, "left wall", "a narrower screen or canopy, less clearance, or a thinner tube"),
        (far_t - room.width, "right wall", "a narrower screen or canopy, less clearance, or a thinner tube"),
    ):
        if past > TAPE:
            found = f"{part.name} reaches {show(past)} into or past the {wall}"
            yield scenario.problem(key, found, "tubes inside the room", fix)
