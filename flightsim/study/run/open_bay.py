"""From a scenario file to a bay, its physics and its shots."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from flightsim.bay.parts import IN_CODE, Bay, Part, PartKind
from flightsim.contact.facings import Facing
from flightsim.contact.law_table import LawTable
from flightsim.contact.rebound import PartRebound
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.errors import BadInputError
from flightsim.flight.aerodynamics import AERO_MODELS, AeroModel
from flightsim.flight.air import make_air
from flightsim.flight.ball import BALLS, Ball
from flightsim.flight.integrator import Physics
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.manager import Plugins, load_plugins
from flightsim.plugin.offered import aero_models, balls, shot_keys, shots_of, with_ball
from flightsim.plugin.others import installed_owners
from flightsim.plugin.own_shapes import OUR_SHAPES
from flightsim.scenario.reading.explain import UNKNOWN_KEY
from flightsim.scenario.reading.load import load_scenario, named_plugins
from flightsim.scenario.reading.models import Scenario, Section
from flightsim.scenario.reading.problems import Problem, ScenarioError, Severity
from flightsim.scenario.reading.tee_place import check_places
from flightsim.scenario.reading.written import Origin, Written
from flightsim.shots.launches_section import LAUNCHES_SECTION
from flightsim.shots.measured_plan import MeasuredPlan, plan_measured
from flightsim.shots.measured_section import MEASURED_SECTION
from flightsim.shots.played_plan import PlayedPlan, plan_played
from flightsim.shots.shots_check import rare_problems, shot_problems
from flightsim.shots.shots_section import SHOTS_SECTION
from flightsim.shots.typed_plan import ShotPlan, Spot, plan_shots
from flightsim.study.run.doubled_guards import guard_problems
from flightsim.study.run.known_facings import facing_problems
from flightsim.study.run.may_change_check import may_change_problems
from flightsim.study.run.sameness import same
from flightsim.study.run.starts import start_problems
from flightsim.study.run.target_names import target_problems

Plan = ShotPlan | PlayedPlan | MeasuredPlan
SHOT_SECTIONS = (SHOTS_SECTION, MEASURED_SECTION, LAUNCHES_SECTION)  # a scenario has exactly one of them


@dataclass(frozen=True)
class BayOrigin:
    """What a bay is opened from, once and again with changes: a scenario, and parts that code puts in beside it."""

    scenario: Origin
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True)
class OpenBay:
    """A scenario with all that a run needs: plugins, bay, physics and shots. warnings: what is odd but flies.

    facings: by name, all that its parts may have; rebounds: the parts with a law of their own; origin: what it was
    opened from.
    """

    scenario: Scenario
    plugins: Plugins
    bay: Bay
    physics: Physics
    plan: Plan
    warnings: tuple[Problem, ...]
    facings: dict[str, Facing]
    rebounds: dict[str, PartRebound]
    origin: BayOrigin = field(default_factory=lambda: BayOrigin(Written("")))

    def surroundings(self) -> Surroundings:
        """The bay ready for balls, made once."""
        return self._around

    @cached_property
    def _around(self) -> Surroundings:
        laws = {name: rebound.law for name, rebound in self.rebounds.items()}
        tests = self.plugins.touch_tests(self.bay)
        mass = self.physics.ball.mass
        harm, blunt = self.scenario.harm_speed_of(mass), self.scenario.blunt_speed_of(mass)
        return surround(self.bay, tests, self.facings, laws, harm, blunt, self.scenario.struck_speed_of(mass))


def all_sections(plugins: Plugins) -> tuple[Section, ...]:
    """Every section that a scenario file may have, the plugins' and the shots'."""
    return (*plugins.sections(), *SHOT_SECTIONS)


def core_choices(plugins: Plugins | None = None) -> dict[str, tuple[str, ...]]:
    """The words that keys of the core may hold, by dotted path. Raises PluginError for what plugins offer wrongly."""
    if plugins is None:
        return {"aero": tuple(AERO_MODELS), "ball.preset": tuple(BALLS)}
    return {"aero": tuple(aero_models(plugins)), "ball.preset": tuple(balls(plugins))}


def open_bay(origin: Origin | BayOrigin, sets: Sequence[str] = ()) -> OpenBay:
    """Read a scenario, a file or text, load its plugins, and build its bay.

    sets: changes without editing, `canopy.depth=1.4m`. Raises ScenarioError with every error found, and
    PluginError when a plugin is missing or fails.
    """
    origin = origin if isinstance(origin, BayOrigin) else BayOrigin(origin)
    named = named_plugins(origin.scenario, sets)
    return _opened(origin, sets, named, load_plugins(named))


def open_changed(opened: OpenBay, sets: Sequence[str]) -> OpenBay:
    """The bay of an open one with changes on top of its own, by the plugins that are loaded already.

    The same bay as `open_bay` gives, somewhat cheaper. Raises as it does.
    """
    sets = (*opened.scenario.overrides, *sets)
    named = named_plugins(opened.origin.scenario, sets)
    if named != opened.scenario.plugins:
        return open_bay(opened.origin, sets)
    return _opened(opened.origin, sets, named, opened.plugins, opened)


def _opened(
    origin: BayOrigin, sets: Sequence[str], named: Sequence[str], plugins: Plugins, before: OpenBay | None = None
) -> OpenBay:
    try:
        scenario = load_scenario(origin.scenario, all_sections(plugins), sets, core_choices(plugins))
    except ScenarioError as error:
        raise ScenarioError([_with_installed(problem, named) for problem in error.problems]) from error
    return opened_with(scenario, plugins, origin, before)


def opened_with(scenario: Scenario, plugins: Plugins, origin: BayOrigin, before: OpenBay | None = None) -> OpenBay:
    """The bay that these plugins make of a scenario from this origin. Raises as `open_bay` does.

    before: the bay that it is a change of; where its shots are planned alike, its plan is taken.
    """
    known = balls(plugins)
    scenario = with_ball(scenario, known)
    pieces = _with_parts(plugins.parts(scenario), origin.parts)
    facings = plugins.facings(scenario)
    keys = {name: section.key for name, section in plugins.section_of.items()}
    _check_facings(origin.parts, facings)
    unknown = facing_problems(scenario, pieces.parts, facings, keys)
    problems = (
        *check_places(scenario, _off_the_end_wall(scenario, pieces.parts)),
        *shot_problems(scenario),
        *may_change_problems(scenario, plugins.sections()),
        *unknown,
        *pieces.problems,
    )
    errors = [problem for problem in problems if problem.severity is Severity.ERROR]
    if errors:
        raise ScenarioError(errors)
    lower, upper = _box(scenario, pieces.bounds)
    bay = Bay(tuple(pieces.parts), tuple(pieces.openings), lower, upper, tuple(pieces.zones))
    physics = physics_of(scenario, known, aero_models(plugins))
    plan = plan_of(scenario, physics, plugins)
    if before is not None and same(plan, before.plan):
        plan = before.plan
    blocked = start_problems(
        scenario, bay, plugins, physics.ball.radius, plan, _the_shots(scenario, shot_keys(plugins))[0]
    )
    if blocked := [*blocked, *target_problems(scenario, bay)]:
        raise ScenarioError(blocked)
    rare = rare_problems(scenario, plan.left_out) if isinstance(plan, PlayedPlan) else []
    odd = plan.warnings if isinstance(plan, MeasuredPlan) else ()
    doubled = guard_problems(scenario, bay)
    found = plugins.checks(scenario, bay, physics.ball, facings)
    if refused := [problem for problem in found if problem.severity is Severity.ERROR]:
        raise ScenarioError(refused)
    rebounds = plugins.rebounds(scenario, bay, physics.ball, facings)
    warnings = tuple(sorted((*problems, *rare, *odd, *doubled, *found), key=lambda problem: -problem.urgent))
    opened = OpenBay(scenario, plugins, bay, physics, plan, warnings, facings, rebounds, origin)
    tables = _kept_as_tables(opened)
    return replace(opened, warnings=(*warnings, *tables)) if tables else opened


def _with_parts(pieces: BayPieces, parts: Sequence[Part]) -> BayPieces:
    """The plugins' pieces with parts of code. Raises BadInputError for names that are taken, and shapes not ours."""
    names = [part.name for part in (*pieces.parts, *parts)]
    for part in parts:
        words = f"the part '{part.name}' that code puts into the bay"
        if names.count(part.name) > 1:
            fix = f"try: Part('{part.name} 2', ...)"
            raise BadInputError(f"{words} has the name of another part\n  allowed: names that differ\n  {fix}")
        if not isinstance(part.shape, OUR_SHAPES):
            allowed = "rectangle, block, square_tube, RoundTube, ConvexPolygon of flightsim.bay.shapes"
            raise BadInputError(f"{words} has a shape of its own\n  allowed: {allowed}\n  try: a plugin")
    return replace(pieces, parts=(*pieces.parts, *(replace(part, owner=IN_CODE) for part in parts)))


def _check_facings(parts: Sequence[Part], facings: Mapping[str, Facing]) -> None:
    """Raise BadInputError where a part of code has a facing that nobody knows."""
    for part in parts:
        if part.facing not in facings:
            raise BadInputError(
                f"the part '{part.name}' that code puts into the bay has an unknown facing, '{part.facing}'\n"
                f"  allowed: {', '.join(facings)}\n  try: one of these, or give it in `facings:` of the scenario"
            )


def _kept_as_tables(opened: OpenBay) -> list[Problem]:
    """A warning for each law that was a function, and how near its table comes."""
    return [
        opened.scenario.problem("plugins", f"the law of '{name}' is kept as a table: {_within(law.error)}",
                                severity=Severity.WARNING)
        for name, rebound in opened.rebounds.items()
        if isinstance(law := rebound.law, LawTable) and law.error > 0.0
    ]  # fmt: skip


def _within(error: float) -> str:
    return f"within {100 * error:.1f} % of a ball's speed, where it was tried"


def _with_installed(problem: Problem, named: Sequence[str]) -> Problem:
    """An unknown key that an installed plugin owns says so: its `plugins:` line is missing."""
    if problem.found != UNKNOWN_KEY or "." in problem.key:
        return problem
    owner = next((name for name in installed_owners(problem.key) if name not in named), None)
    if owner is None:
        return problem
    found = f"the plugin '{owner}', which is installed, owns this key, but the file does not name it"
    return replace(problem, found=found, fix=f"plugins: [{', '.join((*named, owner))}]")


def _off_the_end_wall(scenario: Scenario, parts: Sequence[Part]) -> dict[str, float]:
    """How far each screen hangs off the end wall, m."""
    screens = (part for part in parts if part.kind is PartKind.SCREEN)
    return {part.label: scenario.tee.from_end_wall - float(part.shape.bounds()[1][0]) for part in screens}


def _box(scenario: Scenario, bounds: tuple[np.ndarray, np.ndarray] | None) -> tuple[np.ndarray, np.ndarray]:
    if bounds is None:
        raise ScenarioError(
            [scenario.problem(scenario.room_key, "no plugin says how large the room is", "a room section")]
        )
    return bounds


def ball_of(scenario: Scenario, known: Mapping[str, Ball] = BALLS) -> Ball:
    """The ball: its preset, of those that are known, with the numbers that the scenario gives."""
    ball = known[scenario.ball.preset]
    own_numbers = {
        k: v for k in ("mass", "diameter") if (v := getattr(scenario.ball, k)) not in (None, getattr(ball, k))
    }
    return (
        replace(ball, **own_numbers, source=f"{ball.source}; {', '.join(own_numbers)} as given")
        if own_numbers
        else ball
    )


def physics_of(
    scenario: Scenario, known: Mapping[str, Ball] = BALLS, models: Mapping[str, AeroModel] = AERO_MODELS
) -> Physics:
    """Ball, air and aerodynamics of the scenario, by the balls and models that are known."""
    air = scenario.air
    return Physics(
        ball=ball_of(scenario, known),
        air=make_air(air.temperature, air.pressure, air.altitude, air.humidity, air.density),
        aero=models[scenario.aero],
        wind=(air.wind_toward_screen, -air.wind_to_right, 0.0),
    )


def tee_spots(scenario: Scenario) -> list[Spot]:
    """Name, share, x and y, m, of each place that is hit from."""
    return [
        (spot.name, spot.share, scenario.along(spot.from_end_wall), scenario.across(spot.from_left_wall))
        for spot in scenario.tee.spots
    ] or [("tee", 1.0, 0.0, 0.0)]


def plan_of(scenario: Scenario, physics: Physics, plugins: Plugins) -> Plan:
    """The shots of the scenario, from each tee spot."""
    spots, keys = tee_spots(scenario), shot_keys(plugins)
    key, entry = _the_shots(scenario, keys)
    if key in keys:
        entry = shots_of(plugins, keys[key], scenario)
    if key == SHOTS_SECTION.key:
        return plan_played(entry, spots, scenario.ground_height, physics.ball)
    if key == MEASURED_SECTION.key:
        return plan_measured(scenario, entry, spots, scenario.ground_height, physics.ball.radius)
    return plan_shots(entry, spots, scenario.ground_height, physics.ball.radius)


def _the_shots(scenario: Scenario, more: Collection[str] = ()) -> tuple[str, Any]:
    """Key and entry of the one section that says what is flown. more: the keys of plugins' own such sections."""
    sections = [key for key in (*(section.key for section in SHOT_SECTIONS), *more) if scenario.entries(key)]
    if len(sections) != 1:
        found = f"{' and '.join(sections)} are given" if sections else "there are no shots"
        fix = "remove all but one" if sections else "launches: {use: [driver, mid_iron, wedge]}"
        allowed = "one section: shots (players and clubs), measured (a table), or launches (types, or a grid)"
        allowed = f"{allowed}; of a plugin: {', '.join(more)}" if more else allowed
        raise ScenarioError([scenario.problem(sections[-1] if sections else "launches", found, allowed, fix)])
    return sections[0], scenario.entries(sections[0])[0]


def shots_source(scenario: Scenario, plan: Plan, plugins: Plugins) -> dict[str, Any]:
    """Where the shots come from: the section, and for measured shots the table, its hash and what was made of it."""
    key, _ = _the_shots(scenario, shot_keys(plugins))
    return {"section": key, **(plan.provenance() if isinstance(plan, MeasuredPlan) else {})}
