"""Bays and launches made by hand, for tests that need no scenario file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from flightsim.bay.parts import Bay, Opening, Part, Role
from flightsim.bay.shapes import Box, RoundTube, Shape, block, rectangle, square_tube
from flightsim.contact.contacts import Contacts
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.fates import Fates, Outcome
from flightsim.contact.giving import Give
from flightsim.contact.law_table import LawTable
from flightsim.contact.log import ContactList, ContactLog
from flightsim.contact.rebound import Law, by_facing
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.contact.tabling import tabled
from flightsim.engine.follow import first_contacts
from flightsim.engine.follow import follow as follow_balls
from flightsim.flight.air import Air
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches, launch
from flightsim.scenario.reading.harm import HARM_SPEED

RPM = 2.0 * np.pi / 60.0


def vector(*numbers: float) -> np.ndarray:
    return np.array(numbers, dtype=float)


def part(name: str, shape: Shape, role: Role = Role.UNPROTECTED, facing: str = "test") -> Part:
    return Part(name, shape, role, facing, "test")


def room(lower=(-3.0, -1.8, 0.0), upper=(3.6, 1.8, 2.7), without: tuple[str, ...] = ()) -> list[Part]:
    """Six walls of a closed box, less those named."""
    (x0, y0, z0), (x1, y1, z1) = lower, upper
    x, y, z = vector(x1 - x0, 0, 0), vector(0, y1 - y0, 0), vector(0, 0, z1 - z0)
    low, high = vector(*lower), vector(*upper)
    sheets = {
        "slab": (low, x, y),
        "roof": (vector(x0, y0, z1), x, y),
        "right wall": (low, x, z),
        "left wall": (vector(x0, y1, z0), x, z),
        "back wall": (low, y, z),
        "end wall": (high - y - z, y, z),
    }
    return [
        part(name, rectangle(*sheet), Role.FLOOR if name == "slab" else Role.UNPROTECTED)
        for name, sheet in sheets.items()
        if name not in without
    ]


def garage(openings: bool = True) -> Bay:
    """A bay with an open back, guards, beams, lamps and pipes: sheets, boxes and tubes, some of them slanted."""
    parts = room(without=("back wall",) if openings else ())
    guard = Role.GUARD
    parts += [
        part("screen", rectangle(vector(3.2, -1.5, 0.02), vector(0, 3, 0), vector(0, 0, 2.4)), guard),
        part("canopy", rectangle(vector(2.2, -1.5, 2.4), vector(1, 0, 0.1), vector(0, 3, 0)), guard),
        part("left net", rectangle(vector(1, 1.5, 0), vector(2.2, 0, 0), vector(0, 0, 2.4)), guard),
        part("right net", rectangle(vector(1, -1.7, 0), vector(2.2, 0.2, 0), vector(0, 0, 2.4)), guard),
        part("mat", block(vector(-0.75, -0.75, 0), vector(0.75, 0.75, 0.02)), Role.FLOOR),
    ]
    for k in range(3):
        parts.append(part(f"pad {k}", block(vector(k, -0.5, 2.6), vector(k + 0.5, 0.5, 2.65)), guard))
        parts.append(part(f"beam {k}", square_tube(vector(1.4 * k, -1.8, 2.55), vector(1.4 * k, 1.8, 2.55), 0.1, 0.01)))
        parts.append(part(f"lamp {k}", block(vector(1.2 * k - 1, 0.6, 2.4), vector(1.2 * k, 0.7, 2.5))))
        parts.append(
            part(f"pipe {k}", RoundTube(vector(-3, 1.7 - 0.1 * k, 2.4), vector(3.6, 1.2 - 0.1 * k, 2.3), 0.03))
        )
    back = np.array([[-3, -1.8, 0], [-3, 1.8, 0], [-3, 1.8, 2.7], [-3, -1.8, 2.7]], dtype=float)
    holes = (Opening("open back", back, vector(-1, 0, 0), "test"),) if openings else ()
    return Bay(tuple(parts), holes, vector(-3, -1.8, 0), vector(3.6, 1.8, 2.7))


def one_part(shape: Shape, reach: float = 10.0) -> Bay:
    """Nothing but this shape in the middle of a large empty box without walls."""
    return Bay((part("thing", shape),), (), np.full(3, -reach), np.full(3, reach))


def fly(bay: Bay, launches: Launches, physics: Physics | None = None, tolerance: float = 1e-6) -> Contacts:
    return first_contacts(physics or Physics(), launches, bay, (), tolerance)


TEST_FACING = Facing("test", own=0.9, damage=8.0)  # a hard face of no kind in particular


def around(
    bay: Bay, laws: Mapping[str, Law] | None = None, harm_speed: float = HARM_SPEED, **facings: Facing
) -> Surroundings:
    """The bay ready for balls. facings: by name, beside the shipped ones and "test"; laws: by part."""
    known = {**shipped_facings(), "test": TEST_FACING, **facings}
    parts = {p.name: p for p in bay.parts}
    data = {name: as_table(law, parts[name], known) for name, law in (laws or {}).items()}
    return surround(bay, (), known, data, harm_speed)


def as_table(law: Law, part: Part, known: Mapping[str, Facing]) -> Law:
    """A law as data: a function is asked for a table, as a plugin's is."""
    if law is by_facing or isinstance(law, (Give, LawTable)):
        return law
    return tabled(law, part, known[part.facing], LEGAL_BALL)


@dataclass(frozen=True)
class Followed:
    """What became of some balls: first contacts, fates, and every contact."""

    first: Contacts
    fates: Fates
    contacts: ContactList

    @property
    def outcomes(self) -> list[Outcome]:
        """The label of each ball."""
        return [Outcome(code) for code in self.fates.outcomes()]


def follow(
    place: Bay | Surroundings,
    launches: Launches,
    physics: Physics | None = None,
    to_rest: bool = False,
    own: np.ndarray | None = None,
    tolerance: float = 1e-6,
) -> Followed:
    """Follow balls to their ends. own `(zones, n)`: which zones count; without it, all."""
    surroundings = around(place) if isinstance(place, Bay) else place
    if own is None:
        own = np.ones((len(surroundings.bay.zones), len(launches)), dtype=bool)
    log = ContactLog()
    first, fates = follow_balls(physics or Physics(), launches, surroundings, own, to_rest, log, tolerance)
    return Followed(first, fates, log.sorted())


EMPTY = Air(1e-30, 1.8e-5)  # no air to speak of
STRAIGHT = Physics(air=EMPTY, gravity=0.0)  # balls fly straight


def shots(*balls: tuple[Sequence[float], Sequence[float]], spin: Sequence[float] = (0.0, 0.0, 0.0)) -> Launches:
    """Launches from pairs of start, m, and velocity, m/s; spin, rad/s, of all."""
    start, velocity = (np.array([ball[k] for ball in balls], dtype=float).T for k in (0, 1))
    return Launches(start, velocity, np.repeat(vector(*spin)[:, None], len(balls), axis=1))


def wild_launches(n: int, seed: int = 5, backwards: bool = False) -> Launches:
    """Launches of every sort from the tee: slow and fast, all directions ahead (or all round), any spin axis."""
    rng = np.random.default_rng(seed)
    start = np.zeros((3, n))
    start[2] = 0.02 + 0.021335 + rng.uniform(0.0, 0.05, n)
    azimuth = np.pi if backwards else np.radians(75)
    return launch(
        start,
        rng.uniform(4.0, 85.0, n),
        np.radians(rng.uniform(-10, 110, n)),
        rng.uniform(-azimuth, azimuth, n),
        rng.uniform(-2000, 11000, n) * RPM,
        rng.uniform(-np.pi, np.pi, n),
    )


def straight(bay: Bay, start, direction, speed: float = 50.0) -> Contacts:
    """One ball without gravity or air."""
    aim = vector(*direction) / np.linalg.norm(direction)
    launches = Launches(vector(*start)[:, None], (aim * speed)[:, None], np.zeros((3, 1)))
    return fly(bay, launches, STRAIGHT)


__all__ = [
    "EMPTY", "RPM", "STRAIGHT", "TEST_FACING", "Box", "Followed", "around", "fly", "follow", "garage", "one_part",
    "part", "room", "shots", "straight", "vector", "wild_launches",
]  # fmt: skip
