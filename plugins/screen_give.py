"""How far the screen and the nets give, what they send back, where a hit opens an edge, and the gap that they need.

Physics: `flightsim.cloth`, docs/cloth.md. Without the section every screen of cloth and every net has default numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import Annotated, Any, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from flightsim.bay.parts import Bay, Part, Role
from flightsim.cloth.closed_form import FAR_FACTOR, LIVELY_RETURN, NEAR_FACTOR
from flightsim.cloth.fabric import LARGEST, SMALLEST, Cloth
from flightsim.contact.cloth_ends import CORDS_SCATTER, DEEP, LIVELY, SOFT_CORDS, SOFTEST_CORD, TOGETHER
from flightsim.contact.giving import Give, Hung, hung
from flightsim.contact.rebound import PartRebound
from flightsim.flight.ball import BALLS
from flightsim.plugin.hookspecs import BayView, Finding, FinishedRun, hookimpl
from flightsim.plugin.places import entry_key
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Model, Scenario, Section, Starter
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import ArealMass, Size, Stiffness, Tension, refusal
from flightsim_plugins.screen_give_starters import otherwise
from flightsim_plugins.screen_give_words import give_finding

Array = NDArray[np.float64]
Kind = Literal["screen", "net"]
Side = Literal["left", "right", "foot", "top"]
SAGGING = 1.0  # N/m: as good as no tension

DEFAULTS: dict[Kind, Cloth] = {
    "screen": Cloth(),  # reference
    "net": Cloth(areal_mass=0.09, stiffness=20e3, shear_ratio=0.0, pretension=10.0),  # 60-120 g/m2 read; rest judgement
}
# A default net's band: .4 to .6 m at 70 m/s [cloth-values], over the .54 m that the lattice gives for it.
NET_BAND = (0.4 / 0.54, 0.6 / 0.54)
CORD_EA = ((0.005, 0.008, 0.010), (60.0, 125.0, 250.0))  # diameter m, EA N: 50-70, 100-150, 200-300 (memory, low)


class Cord(Model):
    """The elastic cords along the edges: their stiffness, or their diameter and length."""

    stiffness: Stiffness | None = Field(None, description="of one cord, as it is tied; default 500 N/m")
    diameter: Size | None = Field(None, description="instead of stiffness: of a loop of two legs, 5 to 10 mm")
    length: Size = Field(0.15, description="of one leg, slack; default 150 mm")
    spacing: Size = Field(0.2, description="between cords; default 200 mm")
    sides: Annotated[tuple[Side, ...], Field(min_length=1)] = Field(
        ("left", "right", "foot", "top"),
        description="sides that have cords, as one faces the cloth from the tee; default all four",
    )

    @model_validator(mode="after")
    def _one_stiffness(self) -> Self:
        if self.stiffness is not None and self.diameter is not None:
            raise refusal("both stiffness and diameter are given", "one of them", "remove diameter")
        least, most = CORD_EA[0][0], CORD_EA[0][-1]
        if self.diameter is not None and not least - 1e-9 <= self.diameter <= most + 1e-9:
            raise refusal(f"a cord of {1000 * self.diameter:g} mm is not known", "5 mm to 10 mm", "its stiffness")
        return self

    def pull(self) -> float:
        """Stiffness of one cord, N/m: a loop of two legs has k = 2 EA/L."""
        if self.stiffness is not None:
            return self.stiffness
        if self.diameter is not None:
            return 2.0 * float(np.interp(self.diameter, *CORD_EA)) / self.length
        return Cloth().cord_stiffness


class ScreenGive(Model):
    """What one screen or net is made of. What is not said is as in the default cloth, or net."""

    screen: str | None = Field(None, description="name of the screen or net; needed where there are several screens")
    areal_mass: ArealMass | None = Field(None, description="of the cloth; default 350 g/m2, a net 90 g/m2")
    stiffness: Stiffness | None = Field(None, description="Et: force per width and strain; default 300 kN/m, a net 20")
    shear_ratio: float | None = Field(
        None, ge=0.0, le=0.5, description="shear stiffness over stiffness, if it was measured; loose weave 0.006"
    )
    pretension: Tension | None = Field(None, description="force per width; default 50 N/m, a net 10 N/m")
    cord: Cord = Field(Cord(), description="the cords along its edges")
    airtight: bool = Field(False, description="true: no air goes through")
    foot: Literal["held", "loose"] = Field(
        "held", description="held: by cords, weights or the floor; loose: a ball may lift it and go under; default held"
    )

    @model_validator(mode="after")
    def _can_be(self) -> Self:
        for kind in DEFAULTS:
            made_of(kind, self, 3.0, 2.0)
        return self


@hookimpl
def flightsim_section() -> Section:
    """The section `screen_give`."""
    return Section(
        "screen_give", ScreenGive, "How far screens and nets give", owner="screen_give", several=True, order=45,
        starters=_starters,
    )  # fmt: skip


def _starters(scenario: Scenario) -> list[Starter]:
    """Each screen of cloth as it may be had otherwise: of heavier cloth, drawn slacker or tighter, on softer cords."""
    entries = scenario.entries("screen_give")
    screens = [screen.name for screen in scenario.entries("screen") if screen.facing == "cloth"]
    of = {entry.screen or (screens[0] if len(screens) == 1 else ""): k for k, entry in enumerate(entries)}
    found = []
    for name in screens:
        number = of.get(name)
        cloth = made_of("screen", None if number is None else entries[number], 3.0, 2.0)
        for words, change, bought in otherwise(cloth, Display(scenario.units)):
            label = f"the {name} {words}"
            if number is None and (entries or len(screens) > 1):  # an entry more, that names its screen
                found.append(Starter(label, "screen_give.+", {"screen": name, **change}, False, bought))
                continue
            key = "screen_give" if number is None else entry_key(scenario, "screen_give", number)
            found += [
                Starter(label, f"{key}.{word}", value, False, bought)
                for word, value in change.items()
                if word != "cord"
                or number is None
                or entries[number].cord == Cord()  # what is said of cords stays said
            ]
    return found


@hookimpl
def flightsim_checks(context: BayView) -> Sequence[Problem]:
    """Entries for what is no screen or net, two for one, and cloths of a size that no model here knows."""
    return [*_wrong_names(context), *_unknown_sizes(context)]


@hookimpl
def flightsim_rebounds(context: BayView) -> Sequence[PartRebound]:
    """A law for each screen of cloth and each net."""
    laws = []
    for part, frame, entry in _hung(context.entries, context.scenario, context.bay):
        if context.facings[part.facing].soft:
            give = _give(context.scenario, context.bay, part, frame, entry, context.ball_radius)
            apart = min(2.0, 2.0 * give.cloth.cord_spacing)
            snapped = replace(give, cloth=replace(give.cloth, cord_spacing=apart))
            failed = [
                ("a cord snapped where it is hit", snapped),
                ("its foot come loose", replace(give, loose_foot=True)),
            ]
            if not give.net:
                sags = replace(give.cloth, pretension=SAGGING, shear_ratio=0.0)
                failed.append(("it sags", replace(give, cloth=sags)))
            laws.append(PartRebound(part.name, give, tuple(failed), _ends(give, entry)))
    return laws


def _ends(give: Give, entry: ScreenGive | None) -> tuple[tuple[str, Give], ...]:
    """The cloth at the ends of what is not known of it. A net's lacing matters only where something is said of it."""
    cord_given = entry is not None and (entry.cord.stiffness is not None or entry.cord.diameter is not None)
    pull = give.cloth.cord_stiffness / CORDS_SCATTER if cord_given else SOFTEST_CORD
    corded = give if give.net and not give.edges_open else replace(give, cloth=replace(give.cloth, cord_stiffness=pull))
    return (
        (LIVELY, replace(give, damping=LIVELY_RETURN)),
        (DEEP, replace(give, deep=True)),
        *(() if corded is give else ((SOFT_CORDS, corded),)),
        (TOGETHER, replace(corded, damping=LIVELY_RETURN, deep=True)),
    )


@hookimpl
def flightsim_judge(context: FinishedRun) -> Sequence[Finding]:
    """The gap that each cloth needs against the gap there is, what it sends back, and how to test its tension."""
    ball = context.scenario.ball
    mass = _ball_mass(context.scenario)
    radius = 0.5 * (ball.diameter or BALLS[ball.preset].diameter)
    findings = []
    for part, frame, entry in _hung(context.entries, context.scenario, context.bay):
        speed = _fastest(context, part)
        if speed or _kind(part) == "screen":
            give = _give(context.scenario, context.bay, part, frame, entry, radius)
            findings.append(give_finding(context.bay, Display(context.scenario.units), part, give, mass, speed))
    return findings


def _ball_mass(scenario: Scenario) -> float:
    """Mass of the scenario's ball, kg."""
    return float(scenario.ball.mass or BALLS[scenario.ball.preset].mass)


# ---- what hangs, and what it is made of


def made_of(kind: Kind, entry: ScreenGive | None, width: float, height: float) -> Cloth:
    """The cloth of an entry, or the default one. Raises ValueError for one that cannot be."""
    cloth = replace(DEFAULTS[kind], width=width, height=height)
    if entry is None:
        return cloth
    names = ("areal_mass", "stiffness", "shear_ratio", "pretension")
    own_fields = {name: getattr(entry, name) for name in names if getattr(entry, name) is not None}
    cord = entry.cord
    return replace(
        cloth, **own_fields, airtight=entry.airtight, corded=frozenset(cord.sides),
        cord_stiffness=cord.pull(), cord_spacing=cord.spacing, cord_length=cord.length,
    )  # fmt: skip


def _could_hang(scenario: Scenario, bay: Bay) -> Iterator[tuple[Part, Hung]]:
    """Flat guards that may be cloth: all but flaps and covers of screens."""
    screens = {screen.name for screen in scenario.entries("screen")}
    for part in bay.parts:
        frame = hung(part) if part.role is Role.GUARD and (part.owner != "screen" or part.name in screens) else None
        if frame is not None:
            yield part, frame


def _hung(entries: Sequence[Any], scenario: Scenario, bay: Bay) -> Iterator[tuple[Part, Hung, ScreenGive | None]]:
    """Screens of cloth, nets, and whatever else an entry names, each with its entry if it has one."""
    screens = [screen.name for screen in scenario.entries("screen")]
    by_name = {entry.screen or (screens[0] if len(screens) == 1 else ""): entry for entry in entries}
    for part, frame in _could_hang(scenario, bay):
        entry = by_name.get(part.name)
        if entry is not None or part.facing == "net" or (part.facing == "cloth" and part.owner == "screen"):
            yield part, frame, entry


def _kind(part: Part) -> Kind:
    return "net" if part.facing == "net" else "screen"


def _give(scenario: Scenario, bay: Bay, part: Part, frame: Hung, entry: ScreenGive | None, radius: float) -> Give:
    """The law of one cloth in this bay."""
    kind = _kind(part)
    own = entry is not None and any(
        number is not None for number in (entry.areal_mass, entry.stiffness, entry.shear_ratio)
    )
    near, far = NET_BAND if kind == "net" and not own else (NEAR_FACTOR, FAR_FACTOR)
    return Give(
        part, bay.parts, frame, made_of(kind, entry, frame.width, frame.height),
        kind == "net" or (entry is not None and entry.shear_ratio is not None), radius,
        scenario.harm_speed_of(_ball_mass(scenario)),
        near, far, net=kind == "net", edges_open=kind == "screen" or entry is not None,
        loose_foot=entry is not None and entry.foot == "loose",
    )  # fmt: skip


def _wrong_names(context: BayView) -> list[Problem]:
    scenario, problems, seen = context.scenario, [], set()
    screens = [screen.name for screen in scenario.entries("screen")]
    known = {part.name: context.facings[part.facing] for part, _ in _could_hang(scenario, context.bay)}
    soft = sorted(name for name, facing in known.items() if facing.soft)
    for k, entry in enumerate(context.entries):
        key = entry_key(scenario, "screen_give", k)
        name = entry.screen or (screens[0] if len(screens) == 1 else None)
        where = f"{key}.screen" if entry.screen else key
        if name is None:
            found = "there are several screens" if screens else "there is no screen"
            problems.append(scenario.problem(where, found, f"screen: one of {', '.join(soft) or 'none'}"))
        elif name not in known:
            close = get_close_matches(name, soft, n=1)
            problems.append(scenario.problem(where, f"no screen or net is called '{name}'", ", ".join(soft), *close))
        elif name not in soft:
            found = f"'{name}' is {known[name].name}, which does not give"
            problems.append(scenario.problem(where, found, f"what is soft: {', '.join(soft) or 'nothing here'}"))
        elif name in seen:
            problems.append(scenario.problem(where, f"there is an entry for '{name}' already", "one entry for each"))
        seen.add(name)
    return problems


def _unknown_sizes(context: BayView) -> list[Problem]:
    """Cloths that are larger or smaller than the model of how cloth gives is for."""
    scenario, show = context.scenario, Display(context.scenario.units).length
    problems = []
    for part, frame, _ in _hung(context.entries, scenario, context.bay):
        least, most = SMALLEST, LARGEST
        if not context.facings[part.facing].soft or all(least <= side <= most for side in (frame.width, frame.height)):
            continue
        found = f"{part.name} is {show(frame.width)} wide and {show(frame.height)} high: how it gives is not known"
        fix = "two cloths beside each other" if max(frame.width, frame.height) > most else "a larger cloth, or a board"
        key = _key_of(scenario, part)
        problems.append(scenario.problem(key, found, f"a cloth or net of {show(least)} to {show(most)} each way", fix))
    return problems


def _key_of(scenario: Scenario, part: Part) -> str:
    """The dotted path of what a part was made from; its plugin's section, where its entry cannot be told."""
    names = [getattr(entry, "name", "") for entry in scenario.entries(part.owner)]
    known = [k for k, name in enumerate(names) if name and name in (part.name, part.label)]
    return entry_key(scenario, part.owner, known[0]) if known else part.owner


def _fastest(context: FinishedRun, part: Part) -> float | None:
    """The fastest square part of a hit, m/s, that this cloth met first in the run; None without any."""
    columns = context.columns
    needed = ("first_part", "first_speed_m_s", "first_angle_deg")
    hits = columns["first_part"] == part.name if set(needed) <= set(columns) else np.zeros(0, dtype=bool)
    if not hits.any():
        return None
    speed, angle = (columns[name][hits].astype(np.float64) for name in needed[1:])
    return max(1.0, float(np.nanmax(speed * np.cos(np.radians(angle)))))
