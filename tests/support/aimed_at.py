"""Shots aimed where a ball only just meets something: edges, corners, feet of cloth, seams, outlines of openings.

As a command it holds the engine against the swift referee on such shots, bay by bay, a line each and a sum:

    python tests/support/aimed_at.py --first 0 --bays 2000 --shots 1000
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from functools import partial
from pathlib import Path

import numpy as np
import referee
import swift_referee
from engine_cases import Case, random_case
from engine_parity import JUDGED, KINDS, Parity, Told, compare_engines, differences
from numba import njit
from random_bays import R
from swift_motion import SIZE, V, fly_step

from flightsim.contact.fates import Flag
from flightsim.engine.follow import follow
from flightsim.flight.launches import Launches

SEAM, NEAR = 0.06, 1.6  # m; radii of a ball beside what it is aimed at
TURNS, STEP = 4, 0.04  # corrections of an aim; m
FINE = 1e-9  # m an arc
BY_TOLERANCE = "by the engine's tolerance of an arc"
BOTH_LOST = "followed to no end by either"
AS_THE_FIRST = "as the first referee says, which is slower"
NOTHING = "not explained"
EXPLAINED = (BY_TOLERANCE, BOTH_LOST, AS_THE_FIRST)


def targets(case: Case, rng: np.random.Generator, n: int) -> np.ndarray:
    """Points `(3, n)` at edges, corners, feet, seams and openings of a bay, of each sort that it has as many."""
    bay = case.around.bay
    rims = [(k, outline) for k, part in enumerate(bay.parts) for outline in part.shape.outlines()]
    owner = rng.integers(0, len(rims), 4 * n)
    corner = np.array([rims[i][1][rng.integers(len(rims[i][1]))] for i in owner[:n]])
    along = np.array([_on_rim(rims[i][1], rng) for i in owner])
    sorts = [corner, along[:n]]
    feet = [part.shape.outlines()[0] for part, law in zip(bay.parts, case.around.laws, strict=True) if _hangs(law)]
    sorts += [np.array([_on_rim(_foot(feet[rng.integers(len(feet))]), rng) for _ in range(n)])] if feet else []
    seams = along[_beside_another(bay.parts, np.array([rims[i][0] for i in owner]), along)]
    sorts += [seams[rng.integers(0, len(seams), n)]] if len(seams) else []
    holes = [opening.corners for opening in bay.openings]
    sorts += [np.array([_on_rim(holes[rng.integers(len(holes))], rng) for _ in range(n)])] if holes else []
    which = rng.integers(0, len(sorts), n)
    return np.stack(sorts)[which, np.arange(n)].T


def _hangs(law: object) -> bool:
    return hasattr(getattr(law, "law", law), "frame")


def _on_rim(outline: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A point of a closed outline."""
    i = int(rng.integers(len(outline)))
    return outline[i] + rng.random() * (outline[(i + 1) % len(outline)] - outline[i])


def _foot(outline: np.ndarray) -> np.ndarray:
    """The lower two corners of a cloth."""
    return outline[np.argsort(outline[:, 2])[:2]]


def _beside_another(parts, own_part: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Points `(n, 3)` of a part that another part is near to."""
    near = np.zeros(len(points), dtype=bool)
    for k, part in enumerate(parts):
        near |= (own_part != k) & (np.abs(part.shape.distance(points.T)[0]) < SEAM)
    return np.flatnonzero(near)


@njit(cache=True)
def nearest_pass(world, start, velocity, spin, target):
    """Where a ball in this air, with nothing in its way, passes a point most closely `(3,)`."""
    m, new, work = np.zeros(SIZE), np.zeros(SIZE), np.zeros((4, 4))
    m[0:3], m[3:6], m[6:9] = start, velocity, spin
    best, least = start.copy(), np.inf
    for _ in range(600):
        away = m[0:3] - target
        square = np.dot(away, away)
        if square < least:
            least, best = square, m[0:3].copy()
        elif square > 4.0 * least + 1.0:
            break
        speed = np.sqrt(np.dot(m[V : V + 3], m[V : V + 3]))
        fly_step(world, spin, m, min(STEP / max(speed, 0.1), 0.02), new, work)
        back = target - m[0:3]
        way = new[0:3] - m[0:3]
        share = np.dot(back, way) / max(np.dot(way, way), 1e-300)
        if 0.0 < share < 1.0:
            away = m[0:3] + share * way - target
            if np.dot(away, away) < least:
                least, best = np.dot(away, away), m[0:3] + share * way
        m[:] = new
    return best


def aimed(case: Case, n: int, seed: int = 12) -> tuple[Launches, np.ndarray]:
    """n shots of a bay, every second of them aimed, and who counts for each."""
    rng = np.random.default_rng([case.seed, seed])
    launches, own = case.draw(0, n)
    world = swift_referee.Court(case.physics, case.around).world
    every_second = np.arange(0, n, 2)
    points = targets(case, rng, every_second.size)
    points += rng.normal(size=points.shape) * R * NEAR / 3**0.5
    velocity = launches.velocity.copy()
    for k, target in zip(every_second, points.T, strict=True):
        velocity[:, k] = _aim(world, launches.start[:, k], launches.spin[:, k], np.ascontiguousarray(target), rng)
    return Launches(launches.start, velocity, launches.spin), own


def _aim(world, start: np.ndarray, spin: np.ndarray, target: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The velocity that takes a ball there, as nearly as a few corrections bring it."""
    start, spin = np.ascontiguousarray(start), np.ascontiguousarray(spin)
    speed, wanted = rng.uniform(6.0, 85.0), target.copy()
    for _ in range(TURNS):
        way = wanted - start
        velocity = speed * way / max(float(np.linalg.norm(way)), 1e-9)
        wanted = wanted + target - nearest_pass(world, start, velocity, spin, target)
    return velocity


def hold(seed: int, shots: int) -> tuple[Parity, Counter[str]]:
    """The engine against the swift referee in one random bay; and what explains balls that no hair does, each counted.

    What nothing explains stays in `wrong`.
    """
    case = random_case(seed)
    launches, own = aimed(case, shots)

    def draw(first: int, count: int) -> tuple[Launches, np.ndarray]:
        balls = np.arange(first, first + count)
        return launches.take(balls), own[:, balls]

    case = Case(case.name, seed, case.physics, case.around, draw)
    parity = compare_engines(follow, swift_referee.follow, case, shots)
    why: Counter[str] = Counter()
    left = []
    for line in parity.wrong:
        reason = _why(case, *draw(int(line.split(", ball ")[1].split(":")[0]), 1))
        why[reason] += 1
        left += [] if reason in EXPLAINED else [line]
    parity.wrong = left
    return parity, why


def _why(case: Case, ball: Launches, own: np.ndarray) -> str:
    """What explains that engine and swift referee differ about one ball, or NOTHING."""
    swift, coarse, fine = (
        Told.by(each, case, ball, own) for each in (swift_referee.follow, follow, partial(follow, tolerance=FINE))
    )
    if not differences(fine, swift)[JUDGED].any():
        return BY_TOLERANCE
    ends = [each.fates.worst[Flag.UNRESOLVED] for each in (coarse, swift)]
    if not np.isnan(ends).any() and not _others(coarse, swift).any():
        return BOTH_LOST
    first = Told.by(referee.follow, case, ball, own)
    if any(not differences(each, first)[JUDGED].any() for each in (coarse, fine)):
        return AS_THE_FIRST
    return NOTHING


def _others(a: Told, b: Told) -> np.ndarray:
    """Differences but in how fast a ball was when it was followed no more."""
    found = differences(a, b) & JUDGED[:, None]
    return found[np.array([kind != f"{Flag.UNRESOLVED.key}: worst speed" for kind in KINDS])]


def main(words: list[str]) -> int:
    """As the module says; 1 where a ball differs that nothing explains."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--first", type=int, default=0, help="seed of the first bay")
    parser.add_argument("--bays", type=int, default=20)
    parser.add_argument("--shots", type=int, default=1000, help="a bay; half of them aimed")
    given = parser.parse_args(words)
    whole, why = Parity("all"), Counter[str]()
    for seed in range(given.first, given.first + given.bays):
        parity, explained = hold(seed, given.shots)
        whole.add(parity)
        why += explained
        for line in parity.wrong:
            print(line, flush=True)
        if (seed - given.first) % 20 == 19:
            done = seed - given.first + 1
            print(f"{done} bays from {given.first}, {whole.balls:,} balls, {whole.excused} by a hair, {dict(why)}",
                  flush=True)  # fmt: skip
    print(whole.table())
    print("\n".join(f"{count} {reason}" for reason, count in why.items()))
    return 1 if whole.wrong else 0


__all__ = ["aimed", "hold"]

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    sys.exit(main(sys.argv[1:]))
