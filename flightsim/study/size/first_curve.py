"""First contacts for many sizes of a guard from one batch of flights.

A free flight does not know of the bay. So each shot is flown once, to its first contact with what no size changes, and
its arcs are kept; the parts that a size changes are then looked for on those arcs alone. What is found is, shot by
shot, what a run of its own finds at that size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.contact.arcs import TIE, ArcBatch
from flightsim.contact.ends import Ends, arc_ends, earliest
from flightsim.contact.first import LONGEST_ARC, MAX_ARCS, MAX_FLIGHT_TIME, first_contacts, time_to_leave
from flightsim.contact.touch import Touch
from flightsim.flight.arcs import Flights
from flightsim.flight.integrator import Physics, fly_arcs
from flightsim.flight.launches import Launches
from flightsim.plugin.manager import Plugins
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.same_shots import started_in

Index = NDArray[np.intp]


@dataclass(frozen=True)
class _Leg:
    """One arc of some shots: which shots, the arcs, and how they end without the parts that vary."""

    shot: Index
    flights: Flights
    ends: Ends


@dataclass(frozen=True)
class _Near:
    """The arcs of a leg that come near what varies, with what is known of them worked out once."""

    shot: Index
    arcs: ArcBatch
    ends: Ends


@dataclass(frozen=True)
class FirstCurve:
    """First contacts of n shots at each of m sizes. part, opening `(m, n)` int: name indices as in `names` and
    `openings`, -1 for none; failed `(m, n)`.
    """

    names: tuple[str, ...]
    guard: NDArray[np.bool_]  # which of the names are guards
    openings: tuple[str, ...]
    part: Index
    opening: Index
    failed: NDArray[np.bool_]

    @property
    def missed(self) -> NDArray[np.bool_]:
        """Shots `(m, n)` that met no guard first."""
        met = (self.part >= 0) & np.append(self.guard, False)[self.part]
        return np.asarray(~met)


def first_curve(
    bays: Sequence[Bay], plugins: Plugins, physics: Physics, launches: Launches, tolerance: float = 1.0e-6
) -> FirstCurve:
    """First contacts of every launch in each bay.

    Raises ValueError where the bays differ in more than parts: in openings, or in the size of the room.
    """
    if not alike(bays):
        raise ValueError("the bays differ in their openings or their size: fly each by itself")
    fixed = _common(bays)
    plain = Bay(tuple(p for p in bays[0].parts if p.name in fixed), bays[0].openings, bays[0].lower, bays[0].upper)
    legs = _fly(plain, plugins, physics, launches, tolerance)
    names = tuple(sorted({part.name for bay in bays for part in bay.parts}))
    guard = np.zeros(len(names), dtype=bool)
    place = {name: k for k, name in enumerate(names)}
    for bay in bays:
        for part in bay.parts:
            guard[place[part.name]] |= part.role is Role.GUARD
    shape = (len(bays), len(launches))
    curve = FirstCurve(
        names, guard, tuple(opening.name for opening in plain.openings),
        np.full(shape, -1, dtype=np.intp), np.full(shape, -1, dtype=np.intp), np.zeros(shape, dtype=bool),
    )  # fmt: skip
    outside = ((launches.start < plain.lower[:, None]) | (launches.start > plain.upper[:, None])).any(axis=0)
    curve.failed[:, outside] = True
    _without_varied(curve, plain, legs, place)
    near = _near(legs, bays, fixed, physics.ball.radius)
    for k, bay in enumerate(bays):
        _at_size(curve, k, bay, plain, near, plugins, place)
    return curve


def alike(bays: Sequence[Bay]) -> bool:
    """Whether the bays differ in parts alone."""
    first = bays[0]
    return all(
        np.array_equal(bay.lower, first.lower)
        and np.array_equal(bay.upper, first.upper)
        and [opening.name for opening in bay.openings] == [opening.name for opening in first.openings]
        and all(np.array_equal(a.corners, b.corners) for a, b in zip(bay.openings, first.openings, strict=True))
        for bay in bays[1:]
    )


def missed_first(opened: Sequence[OpenBay], home: OpenBay, table: ShotTable) -> NDArray[np.bool_]:
    """Shots `(m, n)`, drawn in the bay `home`, that meet no guard first in each of m bays.

    From one batch of flights where the bays differ in parts alone, else from one for each.
    """
    first = opened[0]
    tables = [started_in(table, home, bay) for bay in opened]
    if (
        alike([bay.bay for bay in opened])
        and all(bay.physics == first.physics for bay in opened)
        and all(np.array_equal(some.start, tables[0].start) for some in tables)
    ):
        return first_curve([bay.bay for bay in opened], first.plugins, first.physics, tables[0].launches()).missed
    return np.stack([_missed_in(bay, some.launches()) for bay, some in zip(opened, tables, strict=True)])


def _missed_in(opened: OpenBay, launches: Launches) -> NDArray[np.bool_]:
    tests = opened.plugins.touch_tests(opened.bay)
    part = first_contacts(opened.physics, launches, opened.bay, tests).part
    guard = np.array([*(part.role is Role.GUARD for part in opened.bay.parts), False])
    return np.asarray(~guard[part])


def _common(bays: Sequence[Bay]) -> set[str]:
    """Names of the parts that are the same in every bay."""
    first = {part.name: part for part in bays[0].parts}
    return {name for name, part in first.items() if all(_same(part, bay) for bay in bays[1:])}


def _same(part: Part, bay: Bay) -> bool:
    other = next((p for p in bay.parts if p.name == part.name), None)
    if other is None or (other.role, other.facing, other.group) != (part.role, part.facing, part.group):
        return False
    if type(other.shape) is not type(part.shape):
        return False
    mine, theirs = vars(part.shape), vars(other.shape)
    return all(np.array_equal(np.asarray(mine[key]), np.asarray(theirs[key])) for key in mine)


def _fly(plain: Bay, plugins: Plugins, physics: Physics, launches: Launches, tolerance: float) -> list[_Leg]:
    """The arcs of all shots to their first contact in the plain bay: first_contacts, with the arcs kept."""
    tests = plugins.touch_tests(plain)
    outside = ((launches.start < plain.lower[:, None]) | (launches.start > plain.upper[:, None])).any(axis=0)
    alive = np.flatnonzero(~outside)
    start, velocity, spin = (a.take(alive, axis=1) for a in (launches.start, launches.velocity, launches.spin))
    time, last = np.zeros(alive.size), np.full(alive.size, LONGEST_ARC)
    legs = []
    for _ in range(MAX_ARCS):
        duration = np.minimum(time_to_leave(start, velocity, plain, physics), last)
        flights = fly_arcs(physics, start, velocity, spin, time, duration, tolerance)
        ends = arc_ends(plain, ArcBatch(flights, physics.ball.radius), tests)
        lost = ends.goes_on & (flights.start_time >= MAX_FLIGHT_TIME)
        ends.failed[lost] = True
        legs.append(_Leg(alive, flights, ends))
        go = np.flatnonzero(ends.goes_on)
        if go.size == 0:
            break
        alive, flights = alive[go], flights.take(go)
        start, velocity, spin = flights.path.sum(axis=0), flights.end_velocity, flights.end_spin
        time, last = flights.start_time + flights.duration, np.minimum(2.0 * flights.duration, LONGEST_ARC)
    return legs


def _near(legs: Sequence[_Leg], bays: Sequence[Bay], fixed: set[str], radius: float) -> list[_Near]:
    """The legs of those shots alone that come near any part that varies, whatever the size."""
    shapes = [part.shape.bounds() for bay in bays for part in bay.parts if part.name not in fixed]
    if not shapes:
        return []
    lower, upper = np.min([low for low, _ in shapes], axis=0), np.max([high for _, high in shapes], axis=0)
    found = []
    for leg in legs:
        arcs = ArcBatch(leg.flights, radius)
        arcs.until = np.minimum(leg.ends.tau + TIE / arcs.speed, 1.0)
        some, _ = arcs.near(lower, upper)
        if some.size:
            ends = _pick(leg.ends, some)
            close = ArcBatch(leg.flights.take(some), radius)
            close.until = arcs.until[some]
            found.append(_Near(leg.shot[some], close, ends))
    return found


def _without_varied(curve: FirstCurve, plain: Bay, legs: Sequence[_Leg], place: dict[str, int]) -> None:
    """Write, for every size, how the shots end that no varied part stops."""
    name_at = np.array([*(place[part.name] for part in plain.parts), -1], dtype=np.intp)
    for leg in legs:
        curve.part[:, leg.shot] = name_at[leg.ends.part]
        curve.opening[:, leg.shot] = leg.ends.opening
        curve.failed[:, leg.shot] |= leg.ends.failed


def _at_size(
    curve: FirstCurve, k: int, bay: Bay, plain: Bay, legs: Sequence[_Near], plugins: Plugins, place: dict[str, int]
) -> None:  # fmt: skip
    """Write what the varied parts of one bay stop."""
    known = {part.name for part in plain.parts}
    varied = Bay(tuple(p for p in bay.parts if p.name not in known), (), bay.lower, bay.upper)
    tests = plugins.touch_tests(varied)
    name_at = np.array([place[part.name] for part in bay.parts], dtype=np.intp)
    stopped = np.zeros(curve.part.shape[1], dtype=bool)  # on an earlier arc
    for leg in legs:
        arcs = leg.arcs.again()
        touches = [touch for test in tests for touch in test(arcs)]
        touched = np.zeros(len(arcs), dtype=bool)
        for touch in touches:
            touched[touch.balls] = touched[touch.undecided] = True
        touched &= ~stopped[leg.shot] & ~leg.ends.failed
        who = np.flatnonzero(touched)
        if who.size == 0:
            continue
        touches += [_known(plain, i, leg.ends, who) for i in np.unique(leg.ends.part[who]) if i >= 0]
        balls, tau, _, part = earliest(bay, arcs, touches)
        mine = touched[balls]
        balls, tau, part = balls[mine], tau[mine], part[mine]
        first = ~((leg.ends.opening[balls] >= 0) & (leg.ends.tau[balls] < tau))
        balls, part = balls[first], part[first]
        shot = leg.shot[balls]
        curve.part[k, shot], curve.opening[k, shot], curve.failed[k, shot] = name_at[part], -1, False
        stopped[shot] = True
        for touch in touches:
            lost = leg.shot[touch.undecided[touched[touch.undecided]]]
            curve.part[k, lost] = curve.opening[k, lost] = -1
            curve.failed[k, lost] = stopped[lost] = True


def _known(plain: Bay, index: int, ends: Ends, who: Index) -> Touch:
    """The touch of a part that no size changes, for these balls."""
    balls = who[ends.part[who] == index]
    return Touch(plain.parts[index], balls, ends.tau[balls], ends.normal[:, balls], balls[:0])


def _pick(ends: Ends, some: Index) -> Ends:
    return Ends(ends.part[some], ends.opening[some], ends.tau[some], ends.normal[:, some], ends.failed[some])
