"""Bays with all that a ball can meet, and balls for them: what two engines are held against each other on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from bays import room
from random_bays import LOWER, UPPER, R, random_bay, random_facings, random_launches, random_zones
from shipped import AS_FOUND

from flightsim.bay.parts import Bay, Opening, Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.cloth.fabric import Cloth
from flightsim.contact.cloth_ends import lively_facing
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.giving import Give, hung
from flightsim.contact.rebound import ReboundLaw
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.scenario.reading.harm import BLUNT_ENERGY, HARM_SPEED, speed_at
from flightsim.study.run.fly import Flyer, own_zones
from flightsim.study.run.open_bay import open_bay

SEED = 2026
TABLED = Facing("tabled", table=((3.0, 0.75), (15.0, 0.55), (30.0, 0.40), (60.0, 0.25)), friction=0.4)
# Width, height, m, and how it is made: few sorts, so that they share their tables.
CLOTHS = {
    "screen": ((2.4, 2.0), Cloth(width=2.4, height=2.0)),
    "net": ((2.0, 2.0), Cloth(0.09, 20e3, 0.0, 10.0, width=2.0, height=2.0)),
}


@dataclass(frozen=True)
class Case:
    """One bay. draw: balls first..first+count-1, and which zones count for each `(zones, count)`; seed: of both."""

    name: str
    seed: int
    physics: Physics
    around: Surroundings
    draw: Callable[[int, int], tuple[Launches, np.ndarray]]


def demo(path: Path, seed: int = SEED) -> Case:
    """One demo with its plugins' laws, people and shots."""
    opened = open_bay(path)
    flyer = Flyer.of(opened, seed)

    def draw(first: int, count: int) -> tuple[Launches, np.ndarray]:
        table = flyer.draw(first, count)
        return table.launches(), own_zones(opened.bay, opened.plan.types, table)

    return Case(path.stem, seed, opened.physics, flyer.around, draw)


def demos() -> Iterator[Case]:
    """All of them."""
    return map(demo, AS_FOUND)


def random_case(seed: int) -> Case:
    """A room of things of any facing at any angle, cloths that give, people, openings, and in some a wind."""
    rng = np.random.default_rng([seed, 10])
    loose = random_bay(rng)
    gone = [(), (), ("back wall",), ("roof",)][rng.integers(4)]
    walls = room(tuple(LOWER), tuple(UPPER), gone)
    openings = () if not gone or rng.random() < 0.5 else (_hole(gone[0]),)
    cloths, laws = _cloths(rng)
    things = _tabled(random_facings(rng, (*loose.parts[:-1], *walls)))
    bay = Bay((*things, *cloths), openings, LOWER, UPPER, random_zones(rng))
    wind = tuple(rng.uniform(-3.0, 3.0, 3)) if rng.random() < 0.2 else (0.0, 0.0, 0.0)
    adverse = seed % 3 == 1
    laws = {part.name: replace(laws[part.name], others=bay.parts, deep=adverse) for part in cloths}

    def draw(first: int, count: int) -> tuple[Launches, np.ndarray]:
        """Each block of a thousand by a stream of its own, so that a ball is the same in any chunk."""
        blocks = range(first // 1000, (first + count - 1) // 1000 + 1)
        pieces = [_block(seed, block, bay, loose) for block in blocks]
        whole = [np.concatenate(columns, axis=1) for columns in zip(*pieces, strict=True)]
        cut = slice(first - 1000 * blocks[0], first - 1000 * blocks[0] + count)
        start, velocity, spin, own = (column[:, cut] for column in whole)
        return Launches(start, velocity, spin), own.astype(bool)

    return Case(f"random bay {seed}", seed, Physics(wind=wind), _ready(bay, laws, adverse), draw)


def _tabled(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """The same parts; what was of rubber goes by a table."""
    return tuple(replace(part, facing=TABLED.name) if part.facing == "rubber" else part for part in parts)


def random_cases(first: int, count: int) -> Iterator[Case]:
    """Those of these seeds."""
    return map(random_case, range(first, first + count))


def _ready(bay: Bay, laws: dict[str, ReboundLaw], adverse: bool) -> Surroundings:
    """The bay ready for balls; adverse: with cloth as lively and as deep as any."""
    tests = ()
    shipped = {**shipped_facings(), TABLED.name: TABLED}
    facings = {name: lively_facing(face) if adverse else face for name, face in shipped.items()}
    return surround(bay, tests, facings, laws, HARM_SPEED, speed_at(BLUNT_ENERGY))


def _hole(wall: str) -> Opening:
    """The side of the room that is open."""
    (x0, y0, z0), (x1, y1, z1) = LOWER, UPPER
    if wall == "back wall":
        corners = np.array([[x0, y0, z0], [x0, y1, z0], [x0, y1, z1], [x0, y0, z1]])
        return Opening("open back", corners, np.array([-1.0, 0.0, 0.0]), "test")
    corners = np.array([[x0, y0, z1], [x1, y0, z1], [x1, y1, z1], [x0, y1, z1]])
    return Opening("open roof", corners, np.array([0.0, 0.0, 1.0]), "test")


@cache
def _law(kind: str, loose_foot: bool, edges_open: bool) -> Give:
    """The law of such a cloth, of no part yet."""
    (width, height), cloth = CLOTHS[kind]
    part = _sheet(kind, kind, np.zeros(3), np.array([1.0, 0.0, 0.0]), width, height)
    frame = hung(part)
    assert frame is not None
    return Give(
        part, (), frame, cloth, kind == "net", R, HARM_SPEED,
        net=kind == "net", edges_open=edges_open, loose_foot=loose_foot,
    )  # fmt: skip


def _sheet(name: str, kind: str, foot: np.ndarray, side: np.ndarray, width: float, height: float) -> Part:
    sheet = rectangle(foot, width * side, np.array([0.0, 0.0, height]))
    return Part(name, sheet, Role.GUARD, "net" if kind == "net" else "cloth", "test")


def _cloths(rng: np.random.Generator) -> tuple[tuple[Part, ...], dict[str, Give]]:
    """None to three cloths that give, some near a wall."""
    parts, laws = [], {}
    for k in range(rng.integers(0, 4)):
        kind = ("screen", "net")[rng.integers(2)]
        (width, height), _ = CLOTHS[kind]
        foot = np.array([rng.uniform(0.8, 4.95), rng.uniform(-2.9, 0.5), rng.choice([-0.49, 0.0, 0.4])])
        turn = rng.choice([0.0, 0.0, rng.uniform(-0.5, 0.5)])
        part = _sheet(f"{kind} {k}", kind, foot, np.array([-np.sin(turn), np.cos(turn), 0.0]), width, height)
        parts.append(part)
        frame = hung(part)
        assert frame is not None
        law = _law(kind, bool(rng.random() < 0.3), bool(rng.random() < 0.7))
        laws[part.name] = replace(law, part=part, frame=frame)
    return tuple(parts), laws


def _block(seed: int, block: int, bay: Bay, loose: Bay) -> list[np.ndarray]:
    """A thousand balls that start where nothing is."""
    rng = np.random.default_rng([seed, 11, block])
    found: list[Launches] = []
    while sum(map(len, found)) < 1000:
        drawn = random_launches(rng, loose, 1200)
        clear = np.min([part.shape.distance(drawn.start)[0] for part in bay.parts], axis=0) > R + 1e-5
        found.append(drawn.take(np.flatnonzero(clear)))
        if sum(map(len, found)) == 0:
            raise AssertionError(f"no ball can start in random bay {seed}")
    columns = [np.concatenate([getattr(drawn, name) for drawn in found], axis=1)[:, :1000]
               for name in ("start", "velocity", "spin")]  # fmt: skip
    return [*columns, rng.random((len(bay.zones), 1000)) < 0.7]
