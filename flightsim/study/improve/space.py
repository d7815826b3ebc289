"""What may be changed in a bay: sizes, places and fittings of its guards, its tee, and guards that may be added.

Each in the bounds and steps that its field declares, or `may_change` of the scenario. The core knows no plugin by name.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

from flightsim.bay.parts import PartKind
from flightsim.scenario.reading.declared import Declared, GuardLength, OneOf, declared
from flightsim.scenario.reading.display import INCH, Display, as_written
from flightsim.scenario.reading.models import Scenario, Starter
from flightsim.scenario.reading.rewrite import in_one_line
from flightsim.study.run.open_bay import OpenBay

LADDER = (1, 2, 3, 4, 6, 9, 12, 18, 24)  # steps from a size as it stands to those that are tried
INCH_STEP = 2.0 * INCH  # what sizes are changed by in a scenario in feet and inches
FARTHEST = 1.5  # m: no size without a bound of its own is changed by more (judgement)
TEE, TEE_ASIDE = "tee", "tee.from_left_wall"


class Tier(IntEnum):
    """How much work a change is: what is less comes first."""

    ADJUST = 0  # hung elsewhere or drawn tighter, nothing bought
    RESIZE = 1  # made larger, or of something else
    ADD = 2


@dataclass(frozen=True)
class Choice:
    """One thing that may be otherwise.

    path: names it; tier: how much work; words: for people, "depth of the board"; how, thing: "deep", "board", where it
    is told so; a_thing: a word that says what the thing is, as "panel"; present: as it stands, m, or a word; values:
    what it may be, nearest first; better: those that should stop more, as a rule, tried first; places: dotted paths
    that take the value, each with what is added to it, m.
    """

    path: str
    tier: Tier
    words: str
    present: Any
    values: tuple[Any, ...]
    better: tuple[Any, ...]
    places: tuple[tuple[str, float], ...]
    units: str = "metric"
    how: str = ""
    thing: str = ""
    a_thing: bool = False

    def sets(self, value: Any) -> tuple[str, ...]:
        """As for --set."""
        if isinstance(value, str):
            return tuple(f"{path}={value}" for path, _ in self.places)
        return tuple(f"{path}={as_written(value + more, self._units)}" for path, more in self.places)

    def in_words(self, value: Any, present: Any = None) -> str:
        """In a builder's words, the verb first."""
        show, was = Display(self._units).length, self.present if present is None else present
        now, then = (each if isinstance(each, str) else show(each) for each in (was, value))
        if self.a_thing:
            return f"Have a {then} as the {self.thing.removesuffix('s')}, not a {now}"
        if self.how:
            return f"Make the {self.thing} {then} {self.how}, not {now}"
        return f"Set the {self.words} to {then}, not {now}"

    @property
    def _units(self) -> Any:
        return self.units


def choices(opened: OpenBay) -> list[Choice]:
    """All choices of a bay; a field with nothing to choose is left out."""
    found = [*_sizes(opened.scenario), *_words(opened.scenario), *_tee(opened), *_tee_aside(opened.scenario)]
    may = opened.scenario.may_change
    return [choice for choice in found if choice.values and not may.stays_as_it_is(choice.path)]


def starters(opened: OpenBay) -> list[Starter]:
    """The guards that may be added, by section in the order of the plugins."""
    scenario = opened.scenario
    return [
        starter
        for section in opened.plugins.sections()
        if scenario.may_change.may_add(section.key)
        for starter in section.starters(scenario)
        if not scenario.may_change.stays_as_it_is(starter.path.removesuffix(".+"))
    ]


def starter_sets(starter: Starter, scenario: Scenario) -> tuple[str, ...]:
    """As for --set."""
    written = {starter.path: starter.entry, **starter.also}
    return tuple(f"{path}={in_one_line(_in_units(entry, scenario.units))}" for path, entry in written.items())


def _in_units(value: Any, units: Any) -> Any:
    """Plain numbers as lengths in the scenario's units, to a size that a tape shows."""
    if isinstance(value, float):
        grid = INCH / 2.0 if units == "imperial" else 0.01
        return as_written(round(value / grid) * grid, units)
    if isinstance(value, dict):
        return {key: _in_units(inner, units) for key, inner in value.items()}
    return value


def _sizes(scenario: Scenario) -> Iterator[Choice]:
    for size in declared(scenario, GuardLength):
        said: GuardLength = size.said
        own = scenario.may_change.bounds(size.path)
        if not said.stops_more and size.value == 0.0:
            continue
        usual = INCH_STEP if scenario.units == "imperial" else said.step
        step = usual if own.step is None else own.step
        least = max(said.least if own.least is None else own.least, size.value - FARTHEST)
        most = min(said.most if own.most is None else own.most, size.value + FARTHEST)
        more, less = _up(size.value, step, most), _down(size.value, step, least)
        better, other = (more, less) if said.stops_more else (less, more)
        yield Choice(
            size.path, Tier.ADJUST if said.moves else Tier.RESIZE, _named(size, said.words), size.value,
            _near_first(size.value, (*better, *other)), better, ((size.path, 0.0),), scenario.units, said.how,
            size.name,
        )  # fmt: skip


def _up(value: float, step: float, most: float) -> tuple[float, ...]:
    found = [value + k * step for k in LADDER if value + k * step <= most + 1e-9]
    if found and len(found) < len(LADDER) and most - found[-1] >= step:  # the end of the range, on the step
        found.append(value + int((most - value) / step + 1e-9) * step)
    return tuple(round(x, 6) for x in found)


def _down(value: float, step: float, least: float) -> tuple[float, ...]:
    return tuple(round(-x, 6) + 0.0 for x in _up(-value, step, -least))


def _near_first(value: float, values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(sorted(values, key=lambda x: (abs(x - value), x)))


def _named(size: Declared, words: str) -> str:
    field_words = words or size.key.replace("_", " ")
    if field_words.endswith(" floor"):
        field_words = f"height {field_words.removesuffix('floor')}the floor"
    return f"{field_words}{'' if field_words.endswith(' behind') else ' of'} the {size.name.removeprefix('the ')}"


def _words(scenario: Scenario) -> Iterator[Choice]:
    """What is tied, held or drawn otherwise: the values that come after the one that stands."""
    for word in declared(scenario, OneOf):
        said: OneOf = word.said
        values = tuple(value for value in said.values if value != word.value)
        yield Choice(
            word.path, Tier.RESIZE if said.bought else Tier.ADJUST, _named(word, said.words),
            word.value if isinstance(word.value, str) else "as it stands",
            values, values, ((word.path, 0.0),), scenario.units, "", word.name, said.a_thing,
        )  # fmt: skip


def _tee(opened: OpenBay) -> Iterator[Choice]:
    """The tee with all its spots, toward the screen or back: no nearer, farther or nearer the back than may be."""
    scenario, bay, may = opened.scenario, opened.bay, opened.scenario.may_change
    screens = [float(part.shape.bounds()[0][0]) for part in bay.guards_of(PartKind.SCREEN)]
    if not screens:
        return
    spots = [("tee.from_end_wall", scenario.tee.from_end_wall)]
    spots += [(f"tee.spots.{k}.from_end_wall", spot.from_end_wall) for k, spot in enumerate(scenario.tee.spots)]
    tee, own = scenario.tee.from_end_wall, may.bounds("tee.from_end_wall")
    places = tuple((path, value - tee) for path, value in spots)
    used = places[1:] or places
    off = tee - min(screens)  # end wall to the screen's cloth
    near = max(may.tee_nearest + off - min(more for _, more in used), own.least or 0.0)
    back = tee - float(bay.lower[0]) - may.tee_behind - max(more for _, more in used)
    far = min(may.tee_farthest + off - max(more for _, more in used), back, own.most or float("inf"))
    step = own.step or (INCH_STEP if scenario.units == "imperial" else 0.05)
    values = tuple(x for x in (*_up(tee, step, far), *_down(tee, step, near)) if near - 1e-9 <= x <= far + 1e-9)
    yield Choice(
        TEE, Tier.ADJUST, "distance from the end wall to the tee", tee, _near_first(tee, values), values, places,
        scenario.units,
    )  # fmt: skip


def _tee_aside(scenario: Scenario) -> Iterator[Choice]:
    """The tee with all its spots, to the left or right: no farther than its mat stays in the room."""
    tee, room, own = scenario.tee, scenario.room, scenario.may_change.bounds(TEE_ASIDE)
    spots = [(TEE_ASIDE, tee.from_left_wall)]
    spots += [(f"tee.spots.{k}.from_left_wall", spot.from_left_wall) for k, spot in enumerate(tee.spots)]
    now = tee.from_left_wall
    places = tuple((path, value - now) for path, value in spots)
    used = [more for _, more in places[1:] or places]
    mat = (tee.mat.width if tee.mat else 0.0) / 2.0
    near = max(mat, mat - min(used), own.least or 0.0)
    far = min(room.width - mat, room.width - mat - max(used), own.most or float("inf"))
    step = own.step or (INCH_STEP if scenario.units == "imperial" else 0.05)
    values = tuple(x for x in (*_up(now, step, far), *_down(now, step, near)) if near - 1e-9 <= x <= far + 1e-9)
    words = "distance from the left wall to the tee"
    yield Choice(TEE_ASIDE, Tier.ADJUST, words, now, _near_first(now, values), values, places, scenario.units)
