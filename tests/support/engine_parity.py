"""Two engines on the same balls, one by one: what is not the same, and what a hair's breadth excuses.

A difference is excused only where a start moved by a micrometre, or an arc's tolerance of 1e-9 m, turns the old engine
as well, at the same touch or an earlier one. Excused balls are counted, and few may be such. As a command it compares
two engines, each given as module:function with the signature of flightsim.engine.follow.follow:

    python tests/support/engine_parity.py --shots 2000 --bays 10 --new flightsim.engine.follow:follow
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, fields
from functools import partial
from importlib import import_module
from itertools import product
from pathlib import Path

import numpy as np
from engine_cases import SEED, Case, demos, random_cases

from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.log import ContactList, ContactLog
from flightsim.engine.follow import follow
from flightsim.flight.launches import Launches
from flightsim.scenario.reading.harm import BLUNT_ENERGY, HARM_SPEED, speed_at

Engine = Callable[..., tuple[Contacts, Fates]]

WITHIN = (2e-5, 1e-4, 1e-3, 1e-3, 1e-3)  # m: where touches one to five may lie apart
SPEED = 1e-3  # m/s: worst speeds
# A person's worst speed is looked at eight times an arc by the batch engine, so that it hangs on where arcs end: a new
# one that looks closer may tell more by so much, never less (m/s; .18 was seen between two tolerances).
LOOKED_CLOSER = 0.25
LOOKED_CLOSER_BEHIND = 0.5  # behind the tee, a longer way: .32 was seen
# What is unresolved after 30 s is told with its speed at the end of an arc, wherever that lies.
SLACK = {Flag.UNRESOLVED: 0.05}
PLACE = 1e-3  # m: heights
MOVED, TIGHT = 1e-6, 1e-9  # m: what else must turn the old engine
MOST_EXCUSED = 0.005  # of all balls
CHUNK = 16_384
AFTER = len(WITHIN)  # rank of what comes after the touches that are looked at
KINDS = (
    *(f"touch {k + 1}: {what}" for k in range(AFTER) for what in ("part", "point")),
    *(f"{flag.key}: {what}" for flag in Flag for what in ("flag", "place", "worst speed")),
    "outcome: kept, guards touched", "each zone and behind the tee: worst speed",
    "told: a person, looked closer", "told: height, from where", "told: contacts", "told: end", "told: other",
)  # fmt: skip
JUDGED = np.array([not kind.startswith("told") for kind in KINDS])  # the others are counted, and need no excuse
RANK = np.array([k // 2 if k < 2 * AFTER else AFTER for k in range(len(KINDS))])


@dataclass(frozen=True)
class Told:
    """What an engine says of n balls: first contacts, fates, and part `(5, n)`, -1 for none, and point `(5, 3, n)`, m,
    of their first touches. quiet `(n,)`: whether touches were left out that a ball made when it could do no more harm:
    whether such a one is still followed hangs on where arcs end.
    """

    first: Contacts
    fates: Fates
    part: np.ndarray
    point: np.ndarray
    quiet: np.ndarray

    @classmethod
    def by(cls, engine: Engine, case: Case, launches: Launches, own: np.ndarray) -> Told:
        """Of these balls by this engine."""
        log = ContactLog()
        first, fates = engine(case.physics, launches, case.around, own, log=log)
        found = log.sorted()
        dead = (found.number > 0) & (_energy(case, found) < _harmless(case))
        early = np.flatnonzero((found.number < AFTER) & ~dead)
        part = np.full((AFTER, len(launches)), -1)
        point = np.full((AFTER, 3, len(launches)), np.nan)
        part[found.number[early], found.shot[early]] = found.part[early]
        point[found.number[early], :, found.shot[early]] = found.point[:, early].T
        quiet = np.zeros(len(launches), dtype=bool)
        quiet[found.shot[dead]] = True
        return cls(first, fates, part, point, quiet)

    def take(self, balls: np.ndarray) -> Told:
        """Some of the balls."""
        first, fates = (
            type(a)(*(getattr(a, column.name)[..., balls] for column in fields(a))) for a in (self.first, self.fates)
        )
        return Told(first, fates, self.part[:, balls], self.point[:, :, balls], self.quiet[balls])


def _energy(case: Case, found: ContactList) -> np.ndarray:
    """Of balls as they arrive, flight and turning and height over the lowest floor, J/kg."""
    ball, height = case.physics.ball, found.point[2] - case.around.bay.lower[2] - case.physics.ball.radius
    turning = ball.inertia_factor * ball.radius**2 * (found.spin**2).sum(axis=0)
    return 0.5 * ((found.arriving**2).sum(axis=0) + turning) + case.physics.gravity * np.maximum(height, 0.0)


def _harmless(case: Case) -> float:
    """Energy below which a ball needs no following, J/kg."""
    return 0.0 if any(case.physics.wind) else case.around.harmless_energy(case.physics.ball)


def differences(a: Told, b: Told) -> np.ndarray:
    """What is not the same of each ball, `(kinds, n)`."""
    found = [
        a.first.part != b.first.part,
        _away(a.first.point, b.first.point) > WITHIN[0],
    ]
    found[0] |= (a.first.opening != b.first.opening) | (a.first.failed != b.first.failed)
    for k in range(1, AFTER):
        found += [a.part[k] != b.part[k], _away(a.point[k], b.point[k]) > WITHIN[k]]
    for flag in Flag:
        found += _flag_differs(flag, a.fates, b.fates)
    return np.array([*found, *_ends_differ(a.fates, b.fates, a.quiet | b.quiet)])


def _flag_differs(flag: Flag, a: Fates, b: Fates) -> list[np.ndarray]:
    """Whether one has it and the other not, at another place, at another speed."""
    has = ~np.isnan(a.worst[flag]), ~np.isnan(b.worst[flag])
    both, close = has[0] & has[1], SLACK.get(flag, SPEED)
    faster = b.worst[flag] - a.worst[flag]
    place, speed = a.place[flag] != b.place[flag], (faster < -close) | (faster > close)
    found = [has[0] != has[1], both & place, both & ~place & speed]
    return [each & ~_closer(a, b) for each in found] if flag is Flag.PERSON_HIT else found


def _closer(a: Fates, b: Fates) -> np.ndarray:
    """Whether b has but looked closer at a person than a did."""
    return _more(a.worst[Flag.PERSON_HIT], b.worst[Flag.PERSON_HIT])


def _more(first: np.ndarray, second: np.ndarray, closer: float = LOOKED_CLOSER) -> np.ndarray:
    """Whether the second worst speed of a crossing is the first and the little more that a closer look tells."""
    more = (second - first > SPEED) & (second - first <= closer)
    over = np.minimum(np.abs(second - HARM_SPEED), np.abs(second - speed_at(BLUNT_ENERGY)))  # of the limit of a zone
    return np.asarray(more | (np.isnan(first) & (over <= closer)))


def _seen(first: np.ndarray, second: np.ndarray, closer: float = LOOKED_CLOSER) -> np.ndarray:
    """Whether worst speeds of crossings differ by what no closer look tells."""
    return _apart(first, second, SPEED) & ~_more(first, second, closer)


def _ends_differ(a: Fates, b: Fates, quiet: np.ndarray) -> list[np.ndarray]:
    """How their ends differ, kind by kind."""
    person = (a.came_from != b.came_from) | _apart(a.height, b.height, PLACE)
    kept = ((a.kept != b.kept) | (a.touched != b.touched).any(axis=0)) & ~quiet
    there = _seen(a.at_zone, b.at_zone).any(axis=0) | _seen(a.behind_tee, b.behind_tee, LOOKED_CLOSER_BEHIND)
    place = (a.left != b.left) | (_away(a.point, b.point) > 2e-3) | _apart(a.time, b.time, 2e-3) | (a.rests != b.rests)
    known = {"worst", "place", "came_from", "height", "contacts", "kept", "touched", "point", "time", "rests"}
    known |= {"left", "at_zone", "zone_from", "behind_tee"}
    other = np.zeros(len(a), dtype=bool)
    for column in fields(a):
        if column.name not in known:
            first, second = np.atleast_2d(getattr(a, column.name)), np.atleast_2d(getattr(b, column.name))
            apart = _apart(first, second, SPEED) if first.dtype.kind == "f" else first != second
            other |= apart.any(axis=0)
    return [kept, there, _closer(a, b), person, a.contacts != b.contacts, place, other]


def _apart(a: np.ndarray, b: np.ndarray, within: float) -> np.ndarray:
    """More than so far apart, or one of them unknown."""
    return np.asarray((np.isnan(a) != np.isnan(b)) | (np.abs(a - b) > within))


def _away(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distance of points `(3, n)`; without end where only one is there."""
    one = np.isnan(a).any(axis=0) != np.isnan(b).any(axis=0)
    return np.where(one, np.inf, np.nan_to_num(np.sqrt(((a - b) ** 2).sum(axis=0))))


def earliest(found: np.ndarray) -> np.ndarray:
    """The rank of the first difference of each ball `(n,)`; one more than any where there is none."""
    return np.where(found & JUDGED[:, None], RANK[:, None], AFTER + 1).min(axis=0)


def turned_by_a_hair(old: Engine, case: Case, launches: Launches, own: np.ndarray, as_flown: Told) -> np.ndarray:
    """From which rank on a hair's breadth turns the old engine, `(n,)`."""
    n, ways = len(launches), np.array([way for way in product((-1.0, 0.0, 1.0), repeat=3) if any(way)])
    moves = MOVED * ways / np.linalg.norm(ways, axis=1)[:, None]
    every = np.tile(np.arange(n), len(moves))
    moved = launches.take(every)
    moved = Launches(moved.start + np.repeat(moves, n, axis=0).T, moved.velocity, moved.spin)
    shaken = Told.by(old, case, moved, own[:, every])
    turned = earliest(differences(as_flown.take(every), shaken))
    turned[shaken.first.failed] = AFTER + 1  # moved into what it stands on: that says nothing
    tight = Told.by(partial(old, tolerance=TIGHT), case, launches, own)
    return np.minimum(turned.reshape(len(moves), n).min(axis=0), earliest(differences(as_flown, tight)))


@dataclass
class Parity:
    """How two engines compare in one bay: balls, how many differ in each kind, and in how many of them a hair decides.

    wrong: a line for each ball that nothing excuses.
    """

    name: str
    balls: int = 0
    differ: np.ndarray = field(default_factory=lambda: np.zeros(len(KINDS), dtype=int))
    unexcused: np.ndarray = field(default_factory=lambda: np.zeros(len(KINDS), dtype=int))
    excused: int = 0
    wrong: list[str] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        """No ball differs that nothing excuses, and few differ at all."""
        return not self.wrong and self.excused <= MOST_EXCUSED * self.balls

    def add(self, other: Parity) -> None:
        """Count these balls as well."""
        self.balls += other.balls
        self.differ += other.differ
        self.unexcused += other.unexcused
        self.excused += other.excused
        self.wrong += other.wrong

    def table(self) -> str:
        """In lines for people; a ball may differ in several kinds."""
        same = self.balls - self.excused - len(self.wrong)
        lines = [
            f"{self.name}: {self.balls:,} balls, {same:,} the same, {self.excused:,} turned by a hair "
            f"({100 * self.excused / max(self.balls, 1):.3f} %), {len(self.wrong):,} not excused"
        ]
        if self.differ.any():
            lines.append(f"    {'differ in':<32}{'balls':>10}{'no excuse':>12}")
        lines += [
            f"    {kind:<32}{self.differ[k]:>10,}{f'{self.unexcused[k]:,}' if JUDGED[k] else '-':>12}"
            for k, kind in enumerate(KINDS) if self.differ[k]
        ]  # fmt: skip
        return "\n".join(lines)


def compare_engines(old: Engine, new: Engine, case: Case, shots: int, first: int = 0) -> Parity:
    """Balls first..first+shots-1 of this bay by two engines, ball by ball."""
    parity = Parity(case.name)
    for begin in range(first, first + shots, CHUNK):
        launches, own = case.draw(begin, min(CHUNK, first + shots - begin))
        answers = [Told.by(engine, case, launches, own) for engine in (old, new)]
        found = differences(*answers)
        parity.balls += len(launches)
        parity.differ += found.sum(axis=1)
        differing = np.flatnonzero(found[JUDGED].any(axis=0))
        if differing.size:
            before = [each.take(differing) for each in answers]
            hair = turned_by_a_hair(old, case, launches.take(differing), own[:, differing], before[0])
            bare = hair > earliest(found[:, differing])
            parity.excused += int((~bare).sum())
            parity.unexcused += found[:, differing[bare]].sum(axis=1)
            parity.wrong += [_line(case, begin, int(k), found[:, k], answers) for k in differing[bare]]
    return parity


def _line(case: Case, begin: int, ball: int, found: np.ndarray, answers: list[Told]) -> str:
    """What to look for, and where."""
    names = [part.name for part in case.around.bay.parts]
    walks = [" > ".join(names[k] if k >= 0 else "-" for k in each.part[:, ball]) for each in answers]
    kinds = ", ".join(kind for kind, there in zip(KINDS, found, strict=True) if there)
    first = float(_away(answers[0].first.point[:, ball : ball + 1], answers[1].first.point[:, ball : ball + 1])[0])
    worst = [np.round(each.fates.worst[:, ball], 4).tolist() for each in answers]
    touches = [int(each.fates.contacts[ball]) for each in answers]
    return (
        f"{case.name}, seed {case.seed}, ball {begin + ball}: {kinds}; old {walks[0]}; new {walks[1]}; "
        f"first {1e3 * first:.4f} mm apart; contacts {touches}; worst {worst}"
    )


def compare_all(old: Engine, new: Engine, cases: Iterable[Case], shots: int, name: str = "") -> Parity:
    """Several bays counted together."""
    whole = Parity(name)
    for case in cases:
        whole.add(compare_engines(old, new, case, shots))
    return whole


def _engine(words: str) -> Engine:
    """module:function, and if need be @tolerance."""
    place, _, tolerance = words.partition("@")
    module, _, function = place.partition(":")
    engine: Engine = getattr(import_module(module), function)
    return partial(engine, tolerance=float(tolerance)) if tolerance else engine


def main(words: list[str]) -> int:
    """Compare two engines on the demos and on random bays; print the tables. 1 where they differ without excuse."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--old", default="flightsim.engine.follow:follow", type=_engine)
    parser.add_argument("--new", default="flightsim.engine.follow:follow", type=_engine)
    parser.add_argument("--shots", type=int, default=2_000, help="of each demo")
    parser.add_argument("--bays", type=int, default=10, help="random ones")
    parser.add_argument("--bay-shots", type=int, default=500, help="of each random bay")
    parser.add_argument("--first-bay", type=int, default=0, help="seed of the first random bay")
    parser.add_argument("--list", type=int, default=10, help="differences to list, a bay")
    given = parser.parse_args(words)
    results = [compare_engines(given.old, given.new, case, given.shots) for case in demos()]
    if given.bays:
        bays = random_cases(given.first_bay, given.bays)
        results.append(compare_all(given.old, given.new, bays, given.bay_shots, f"{given.bays} random bays"))
    for result in results:
        print(result.table(), flush=True)
        print("\n".join(f"      {line}" for line in result.wrong[: given.list]))
    return 0 if all(result.holds for result in results) else 1


__all__ = ["SEED", "Parity", "compare_all", "compare_engines", "differences", "follow"]

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    sys.exit(main(sys.argv[1:]))
