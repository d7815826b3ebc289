"""A run made by hand: a small bay with somebody in it, a few shot types, and shots flown to their ends."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from functools import cache, partial
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flightsim.bay.parts import Bay, Opening, Part, PartKind, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import RoundTube, block, rectangle, square_tube
from flightsim.contact.contacts import Contacts
from flightsim.contact.facings import shipped_facings
from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.contact.surroundings import surround
from flightsim.engine.follow import follow
from flightsim.flight.integrator import Physics
from flightsim.plugin.hookspecs import Finding
from flightsim.report.draw.figures import write_figures
from flightsim.scenario.reading.harm import BLUNT_ENERGY, speed_at
from flightsim.scenario.reading.models import AirSection, BallSection, Mat, Scenario, Tee
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.rates import make_rates, told_cases
from flightsim.study.run.result import RunResult

BLUNT = speed_at(BLUNT_ENERGY)
TYPES = (  # club, strike, share, speed m/s, up angle, left-right angle (each mean and sd, deg), spin rpm
    ("driver", "clean", 0.30, 62.0, (12, 3), (0, 4), 2700),
    ("driver", "pushed", 0.05, 60.0, (13, 3), (14, 4), 2700),
    ("driver", "skied", 0.03, 45.0, (48, 9), (0, 9), 5000),
    ("mid iron", "clean", 0.38, 47.0, (18, 3), (0, 4), 6000),
    ("mid iron", "topped", 0.04, 35.0, (-6, 5), (0, 6), -1500),
    ("mid iron", "shank", 0.02, 33.0, (12, 5), (42, 12), 3000),
    ("wedge", "clean", 0.15, 33.0, (32, 4), (0, 4), 8500),
    ("wedge", "lob", 0.02, 20.0, (58, 8), (0, 6), 7000),
    ("wedge", "backward", 0.01, 18.0, (165, 6), (0, 14), 1000),  # no golfer's shot: it finds the openings
)


def _v(*numbers: float) -> np.ndarray:
    return np.array(numbers, dtype=np.float64)


def make_bay(closed: bool = False) -> Bay:
    """A 6.6 m by 3.6 m room, 2.7 m high, with a screen, a canopy, side nets, two pads, an opener and a pipe."""
    back, end, low, high, roof = -3.0, 3.6, -1.8, 1.8, 2.7
    room = [
        ("slab", rectangle(_v(back, low, 0), _v(6.6, 0, 0), _v(0, 3.6, 0)), Role.FLOOR, "slab"),
        ("roof", rectangle(_v(back, low, roof), _v(6.6, 0, 0), _v(0, 3.6, 0)), Role.UNPROTECTED, "roof"),
        ("left wall", rectangle(_v(back, high, 0), _v(6.6, 0, 0), _v(0, 0, roof)), Role.UNPROTECTED, "left wall"),
        ("right wall.1", rectangle(_v(-1.2, low, 0), _v(4.8, 0, 0), _v(0, 0, roof)), Role.UNPROTECTED, "right wall"),
        ("right wall.2", rectangle(_v(back, low, 0), _v(0.9, 0, 0), _v(0, 0, roof)), Role.UNPROTECTED, "right wall"),
        ("right wall.3", rectangle(_v(-2.1, low, 2), _v(0.9, 0, 0), _v(0, 0, 0.7)), Role.UNPROTECTED, "right wall"),
        ("end wall", rectangle(_v(end, low, 0), _v(0, 3.6, 0), _v(0, 0, roof)), Role.UNPROTECTED, "end wall"),
    ]
    parts = [Part(name, shape, role, "brick", "room", group) for name, shape, role, group in room]
    openings = [
        Opening("side door", np.array([_v(-2.1, low, 0), _v(-1.2, low, 0), _v(-1.2, low, 2), _v(-2.1, low, 2)]),
                _v(0, -1, 0), "room"),
    ]  # fmt: skip
    wall = np.array([_v(back, low, 0), _v(back, high, 0), _v(back, high, roof), _v(back, low, roof)])
    if closed:
        back_wall = rectangle(_v(back, low, 0), _v(0, 3.6, 0), _v(0, 0, roof))
        parts.append(Part("back wall", back_wall, Role.UNPROTECTED, "brick", "room"))
    else:
        openings.append(Opening("open back", wall, _v(-1, 0, 0), "room"))
    guards = [
        ("screen", rectangle(_v(3.2, -1.5, 0.02), _v(0, 3, 0), _v(0, 0, 2.4)), "screen", "screen"),
        ("canopy.top", rectangle(_v(2.0, -1.5, 2.45), _v(1.2, 0, 0), _v(0, 3, 0)), "canopy", "canopy"),
        ("canopy.lip", rectangle(_v(2.0, -1.5, 2.3), _v(0, 3, 0), _v(0, 0, 0.15)), "canopy", "canopy"),
        ("left net", rectangle(_v(1.0, 1.5, 0), _v(2.2, 0, 0), _v(0, 0, 2.4)), "side_nets", "left net"),
        ("right net", rectangle(_v(1.6, -1.5, 0), _v(1.6, 0, 0), _v(0, 0, 2.4)), "side_nets", "right net"),
        ("pad", block(_v(0.4, -0.8, 2.62), _v(1.6, 0.8, 2.7)), "ceiling", "ceiling pad"),
    ]
    parts += [Part(name, shape, Role.GUARD, "cloth", owner, group) for name, shape, owner, group in guards]
    parts += [
        Part("mat", block(_v(-0.75, -0.75, 0), _v(0.75, 0.75, 0.035)), Role.FLOOR, "turf", "room"),
        Part(
            "opener", block(_v(-1.4, -0.2, 2.35), _v(-0.9, 0.2, 2.6)), Role.UNPROTECTED, "steel", "obstacles", "", True
        ),
        Part("lamp", block(_v(-0.4, 0.5, 2.55), _v(0.8, 0.65, 2.65)), Role.UNPROTECTED, "glass", "obstacles", "", True),
        Part("pipe", RoundTube(_v(-3, 1.65, 2.4), _v(3.6, 1.65, 2.4), 0.03), Role.UNPROTECTED, "steel", "obstacles"),
        Part("tie beam", square_tube(_v(-0.6, low, 2.6), _v(-0.6, high, 2.6), 0.1), Role.UNPROTECTED, "timber", "room"),
    ]
    zones = (
        Zone("hitter", "hitter", block(_v(-0.45, 0.35, 0), _v(0.45, 1.2, 1.3)), "people", False, "tee", "right"),
        Zone("hitter, head", "hitter", block(_v(-0.3, 0.35, 1.3), _v(0.3, 1.2, 1.8)), "people", True, "tee", "right"),
        Zone("bench", "bench", block(_v(-2.9, 0.6, 0), _v(-2.2, 1.7, 1.05)), "people"),
        Zone("bench, head", "bench", block(_v(-2.9, 0.6, 1.05), _v(-2.2, 1.7, 1.4)), "people", True),
    )
    parts = [replace(part, kind=kind_of(part)) for part in parts]
    return Bay(tuple(parts), tuple(openings), _v(back, low, 0), _v(end, high, roof), zones)


def kind_of(part: Part) -> PartKind:
    """As the bundled plugins say it of theirs."""
    if part.owner == "room":
        surface = part.label == "roof" or part.label.endswith("wall")
        return PartKind.WALL if surface else PartKind.FLOOR if part.label == "slab" else PartKind.ROOM
    kinds = {"screen": PartKind.SCREEN, "canopy": PartKind.OVERHEAD, "side_nets": PartKind.SIDE}
    return kinds.get(part.owner, PartKind.THING if part.owner == "obstacles" else PartKind.OTHER)


def make_scenario(name: str, units: str) -> Scenario:
    mat = Mat(height="35 mm")
    tee = Tee(from_end_wall="3.6 m", from_left_wall="1.8 m", mat=mat)
    sections = {"room": (SimpleNamespace(turf_height=0.0),)}
    return Scenario("bay.yaml", name, units, BallSection(), AirSection(), "naruo2004", tee, sections, room_key="room")


def draw_shots(n: int, kinds: tuple = TYPES, seed: int = 3) -> ShotTable:
    rng = np.random.default_rng(seed)
    table = ShotTable.empty(n)
    table.type[:] = np.arange(n) % len(kinds)
    table.start[:] = _v(0.0, 0.0, 0.035 + 0.0214)[:, None]
    for k, (_, _, _, speed, up, side, spin) in enumerate(kinds):
        of_kind = np.flatnonzero(table.type == k)
        table.ball_speed[of_kind] = speed * rng.normal(1.0, 0.05, of_kind.size)
        table.elevation[of_kind] = np.radians(rng.normal(*up, of_kind.size))
        table.azimuth[of_kind] = np.radians(rng.normal(*side, of_kind.size))
        table.spin_rate[of_kind] = spin * rng.normal(1.0, 0.15, of_kind.size) * 2 * np.pi / 60
        table.spin_tilt[of_kind] = np.radians(rng.normal(0.0, 8.0, of_kind.size))
    return table


@cache
def fly_shots(n: int, kinds: tuple, closed: bool) -> tuple[ShotTable, Contacts, Fates]:
    bay, shots = make_bay(closed), draw_shots(n, kinds)
    around = surround(bay, (), shipped_facings(), {}, 5.0, BLUNT)
    own = np.ones((len(bay.zones), n), dtype=bool)
    return shots, *follow(Physics(), shots.launches(), around, own)


def make_result(
    n: int = 2000,
    units: str = "metric",
    name: str = "Bay made by hand",
    sampled: bool = True,
    kinds: tuple = TYPES,
    force: Outcome | None = None,
    closed: bool = False,
) -> RunResult:
    """Fly n shots. force: keep only the shots with this outcome, as if nothing else happened."""
    bay = make_bay(closed)
    physics = Physics()
    shots, contacts, fates = fly_shots(n, kinds, closed)
    outcome = fates.outcomes()
    if force is not None:
        none_has = force in (Outcome.UNRESOLVED, Outcome.PAST_EDGE, Outcome.STRUCK_THROUGH)
        keep = np.arange(200) if none_has else np.flatnonzero(outcome == force)
        shots, contacts, fates = shots.take(keep), _only(contacts, keep), _only(fates, keep)  # copies
        if none_has:
            fates.worst[: Flag(force)] = np.nan
            fates.worst[Flag(force)], fates.place[Flag(force)] = 6.0, 0
        outcome = fates.outcomes()
        present = np.unique(shots.type)
        kinds = tuple(kinds[k] for k in present)
        shots.type[:] = np.searchsorted(present, shots.type)
    total_share = sum(kind[2] for kind in kinds)
    types = tuple(
        ShotType(f"{club} {strike}", club, strike, "tee", share / total_share) for club, strike, share, *_ in kinds
    )
    count = np.bincount(shots.type, minlength=len(types))
    weight = np.array([kind.share for kind in types])[shots.type] / count[shots.type]
    warning = Problem("bay.yaml", 12, "canopy.depth", "the canopy runs through the lamp", "", "", Severity.WARNING)
    harm = np.array([5.0 if zone.delicate else BLUNT for zone in bay.zones])
    beside = told_cases(bay, fates, harm)
    rates = make_rates(fates.flags, outcome, shots.type, types, sampled, beside=beside)
    return RunResult(
        make_scenario(name, units), physics, bay, types, shots, weight, contacts, fates, outcome,
        rates, 3, sampled, (warning,),
        (Finding("Roof above the tee", "The roof above the tee is bare.", "warning"),),
        ({"name": "screen", "version": "0.1.0"},),
    )  # fmt: skip


def _only(columns: Any, keep: np.ndarray) -> Any:
    return type(columns)(*(getattr(columns, c.name)[..., keep] for c in fields(columns)))


@pytest.fixture(scope="session")
def run_of() -> Callable[..., RunResult]:
    """Runs made by hand, each flown once a session."""
    return cache(make_result)


def with_flags(result: RunResult, flags: np.ndarray, kept: np.ndarray) -> RunResult:
    """The run as if its balls carried these flags `(flags, n)` and were kept or not `(n,)`."""
    n = len(result.shots)
    fates = replace(Fates.empty(n, len(result.bay.zones)), kept=kept)
    rng = np.random.default_rng(7)
    fates.worst[flags] = rng.uniform(13.0, 80.0, int(flags.sum()))
    for flag, many in ((Flag.PERSON_HIT, len(result.bay.zones)), (Flag.GOT_OUT, len(result.bay.openings) + 1)):
        fates.place[flag, flags[flag]] = rng.integers(0, many, int(flags[flag].sum()))
    for flag in (Flag.BROKE_THROUGH, Flag.PAST_EDGE, Flag.STRUCK_THROUGH, Flag.HIT_UNPROTECTED):
        fates.place[flag, flags[flag]] = rng.integers(0, len(result.bay.parts), int(flags[flag].sum()))
    outcome = fates.outcomes()
    zone, shot = fates.place[Flag.PERSON_HIT], np.arange(n)
    hit = fates.flags[Flag.PERSON_HIT]
    fates.at_zone[zone[hit], shot[hit]] = fates.worst[Flag.PERSON_HIT, hit]
    beside = told_cases(result.bay, fates, result.zone_harm)
    rates = make_rates(fates.flags, outcome, result.shots.type, result.types, result.sampled, beside=beside)
    return replace(result, fates=fates, outcome=outcome, rates=rates)


@pytest.fixture(scope="session")
def flagged(run_of) -> Callable[[np.ndarray, np.ndarray], RunResult]:
    """A run of 90 shots with other fates: see with_flags."""
    return partial(with_flags, run_of(n=90))


@pytest.fixture(scope="session")
def written(run_of, tmp_path_factory):
    """The pictures of the usual run, on disk."""
    return write_figures(run_of(), tmp_path_factory.mktemp("figures"), dpi=30)
