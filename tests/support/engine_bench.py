"""Engines beside a scipy loop and a compiled Runge-Kutta loop, interleaved in one run: processor time and its ratios.

As a command it prints a table, and writes JSON with --json:

    python tests/support/engine_bench.py --json bench.json

Each turn every contestant flies its share of the same balls in the same bay, one after the other, so that whatever else
the machine does hits all alike; a ratio is taken within a turn, and the median of the turns is told.
"""

from __future__ import annotations

import argparse
import json
import platform
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import rk4_loop
from referee_flight import fly
from scipy_loop import Facts, Surfaces, first_contact
from scipy_rebounds import Follower, rigid_faces
from shipped import AS_FOUND

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import block
from flightsim.contact.facings import Facing
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.flight.integrator import DEFAULT_TOLERANCE
from flightsim.flight.launches import Launches
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay

# Name, module, and its functions to the first contact and to the end; those that are there take part.
ENGINES = (("compiled", "flightsim.engine.follow:first_contacts", "flightsim.engine.follow:follow"),)
STEPS = (1e-3, 2e-3, 5e-3, 1e-2, 1.5e-2, 2e-2, 3e-2, 5e-2)  # s, of the Runge-Kutta loop
SEED = 1


@dataclass(frozen=True)
class Contestant:
    """fly: flies balls to the first contact or to the end; share: how many a turn."""

    name: str
    fly: Callable[[Launches], object]
    share: int


def bench(contestants: list[Contestant], launches: Launches, turns: int) -> dict[str, list[float]]:
    """Balls a second by name, one number a turn; every contestant has flown once before, uncounted."""
    found: dict[str, list[float]] = {each.name: [] for each in contestants}
    for each in contestants:
        each.fly(launches.take(np.arange(min(each.share, 64))))
    for turn in range(turns):
        for each in contestants:
            batch = launches.take((turn * each.share + np.arange(each.share)) % len(launches))
            start = time.process_time()
            each.fly(batch)
            found[each.name].append(each.share / (time.process_time() - start))
    return found


def ratios(found: dict[str, list[float]], name: str, other: str) -> tuple[float, float, float]:
    """How many times as fast: median of the turns, least and most."""
    each = np.array(found[name]) / np.array(found[other])
    return float(np.median(each)), float(each.min()), float(each.max())


def measured_step(physics, bay: Bay, launches: Launches, bound: float = DEFAULT_TOLERANCE) -> tuple[float, float]:
    """The longest of STEPS at which the Runge-Kutta loop's place at the first contact is within the bound, and its
    greatest error, m, over these balls: against DOP853 at 1e-12.
    """
    start, velocity, spin = launches.start, launches.velocity, launches.spin
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    when, where = np.empty(len(launches)), np.empty((3, len(launches)))
    arrays = rk4_loop.as_arrays(bay, {part.facing: _ANY for part in bay.parts}, physics.ball)
    _, touched = rk4_loop.to_first(arrays, rk4_loop.facts_of(physics), STEPS[0], start, velocity, spin)
    for k in range(len(launches)):
        one = _Ball(start[:, k], velocity[:, k], spin[:, k])
        flight = fly(facts, physics, bay, one, 1e-12)
        times = np.linspace(0.0, flight.end, 4000)
        near = np.argmin(((flight.state(times)[:3] - touched[k][:, None]) ** 2).sum(axis=0))
        when[k] = max(times[near], 1e-6)
        where[:, k] = flight.state(when[k])[:3]
    best = STEPS[0], np.inf
    for h in STEPS:
        flown = rk4_loop.position_at(rk4_loop.facts_of(physics), h, start, velocity, spin, when)
        error = float(np.sqrt(((flown - where) ** 2).sum(axis=0)).max())
        if error <= bound or best[1] == np.inf:
            best = h, error
    return best


@dataclass
class _Ball:
    point: np.ndarray
    v: np.ndarray
    w: np.ndarray
    time: float = 0.0


@dataclass(frozen=True)
class Scene:
    """A bay and its balls for a bench."""

    name: str
    physics: object
    around: Surroundings
    facings: dict
    launches: Launches

    @property
    def bay(self) -> Bay:
        """Its parts."""
        return self.around.bay


def demo_scene(stem: str, shots: int, extra: int = 0, only: int | None = None) -> Scene:
    """A demo without its plugins' own laws and without what carries balls along, which the two loops have not; with
    small blocks added, or fewer parts.
    """
    opened = open_bay(next(path for path in AS_FOUND if path.stem == stem))
    bay = opened.bay
    parts = bay.parts if only is None else _fewer(bay.parts, only)
    bay = replace(bay, parts=(*parts, *_blocks(bay, extra, parts[0].facing)), zones=())
    faces = rigid_faces(opened.facings)
    around = surround(bay, (), faces, {})
    launches = Flyer.of(opened, SEED).draw(0, shots).launches()
    return Scene(f"{stem}, {len(bay.parts)} parts", opened.physics, around, faces, launches)


def _fewer(parts: tuple[Part, ...], most: int) -> tuple[Part, ...]:
    """The largest of them: walls, floor and screen."""
    size = [float(np.linalg.norm(np.subtract(*part.shape.bounds()))) for part in parts]
    kept = sorted(np.argsort(size)[::-1][:most])
    return tuple(parts[k] for k in kept)


def _blocks(bay: Bay, count: int, facing: str) -> list[Part]:
    """Blocks of 4 cm in rows along the top of both side walls: they are near many ways and on few."""
    found = []
    for k in range(count):
        share, side = (k // 2 + 0.5) / (count / 2), k % 2
        x = bay.lower[0] + 0.1 + share * (bay.upper[0] - bay.lower[0] - 0.2)
        y = bay.lower[1] + 0.03 if side else bay.upper[1] - 0.07
        z = bay.lower[2] + 1.9 + 0.06 * (k // 2 % 5)
        low = np.array([x, y, z])
        found.append(Part(f"block {k}", block(low, low + 0.04), Role.UNPROTECTED, facing, "bench"))
    return found


def contestants(scene: Scene, to_end: bool, step: float, shares: dict[str, int]) -> list[Contestant]:
    """The scipy loop, the Runge-Kutta loop, and each engine that is there."""
    physics, bay = scene.physics, scene.bay
    facts = Facts(physics.ball.mass, physics.ball.diameter, physics.air.density, physics.air.viscosity)
    surfaces = Surfaces(bay)
    follower = Follower(facts, bay, scene.facings, physics.ball.inertia_factor, rtol=1e-8)
    arrays, numbers = rk4_loop.as_arrays(bay, scene.facings, physics.ball), rk4_loop.facts_of(physics)
    loop = rk4_loop.to_end if to_end else rk4_loop.to_first

    def scipy(balls: Launches) -> None:
        for k in range(len(balls)):
            ball = balls.start[:, k], balls.velocity[:, k], balls.spin[:, k]
            if to_end:
                follower.follow(*ball)
            else:
                first_contact(facts, bay, surfaces, *ball, 1e-8)

    def rk4(launches: Launches) -> object:
        columns = (np.ascontiguousarray(each) for each in (launches.start, launches.velocity, launches.spin))
        return loop(arrays, numbers, step, *columns)  # of one layout: another would be compiled again

    found = [Contestant("scipy", scipy, shares["scipy"]), Contestant("rk4", rk4, shares["rk4"])]
    for name, first, end in ENGINES:
        place = end if to_end else first
        if find_spec(place.partition(":")[0].rpartition(".")[0]) is not None:
            found.append(Contestant(name, _engine(place, scene, to_end), shares[name]))
    return found


def _engine(place: str, scene: Scene, to_end: bool) -> Callable[[Launches], object]:
    module, _, name = place.partition(":")
    function = getattr(import_module(module), name)
    if to_end:
        return lambda launches: function(
            scene.physics, launches, scene.around, np.zeros((0, len(launches)), dtype=bool)
        )
    return lambda launches: function(scene.physics, launches, scene.bay)


SHARES = {"scipy": 20, "rk4": 8_192, "compiled": 16_384}


def compared(scene: Scene, to_end: bool, turns: int, step: float, shares: dict[str, int] = SHARES) -> dict:
    """Rates and ratios of one scene, as data."""
    found = bench(contestants(scene, to_end, step, shares), scene.launches, turns)
    return {
        "scene": scene.name, "to": "end" if to_end else "first contact", "rk4_step_s": step,
        "balls_per_s": {name: float(np.median(rates)) for name, rates in found.items()},
        "times_scipy": {name: ratios(found, name, "scipy") for name in found if name != "scipy"},
        "times_rk4": {name: ratios(found, name, "rk4") for name in found if name not in ("scipy", "rk4")},
    }  # fmt: skip


def growth_with_shots(to_end: bool, most: int, step: float) -> dict:
    """Balls a second by number of balls, `single_garage`; the Runge-Kutta loop, which is one, not beyond 100,000."""
    scene, rates = demo_scene("single_garage", 32_768), {}
    for each in contestants(scene, to_end, step, SHARES):
        if each.name == "scipy":
            continue
        each.fly(scene.launches.take(np.arange(64)))
        rates[each.name] = {}
        for shots in (10**k for k in range(3, 8) if 10**k <= (min(most, 100_000) if each.name == "rk4" else most)):
            left, start = shots, time.process_time()
            while left > 0:
                batch = scene.launches if left >= len(scene.launches) else scene.launches.take(np.arange(left))
                each.fly(batch)
                left -= len(batch)
            rates[each.name][shots] = shots / (time.process_time() - start)
    return {"to": "end" if to_end else "first contact", "balls_per_s": rates}


def growth_with_parts(to_end: bool, turns: int, step: float, counts=(10, 25, 100, 300, 500)) -> dict:
    """Time a ball over that with 25 parts, interleaved, by number of parts; the garage with blocks along its walls."""
    fields: dict[str, list[Contestant]] = {}
    scenes = [demo_scene("single_garage", 8_192, max(n - 25, 0), n if n < 25 else None) for n in counts]
    for scene, n in zip(scenes, counts, strict=True):
        for each in contestants(scene, to_end, step, {**SHARES, "rk4": 2_048, "compiled": 8_192}):
            if each.name != "scipy":
                fields.setdefault(each.name, []).append(replace(each, name=str(n)))
    times = {}
    for name, each in fields.items():
        found = bench(each, scenes[0].launches, turns)
        times[name] = {n: float(np.median(np.array(found["25"]) / np.array(found[str(n)]))) for n in counts}
    return {"to": "end" if to_end else "first contact", "time_over_25_parts": times}


_ANY = Facing("any", own=1.0)  # the flights to a first contact do not look at it


def machine() -> dict[str, str]:
    """What it ran on."""
    names = ("numpy", "scipy", "numba", "llvmlite")
    models = [line.partition(":")[2].strip() for line in _lines("/proc/cpuinfo") if line.startswith("model name")]
    return {
        "processor": models[0] if models else platform.processor(),
        "system": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(), **{name: version(name) for name in names},
    }  # fmt: skip


def _lines(path: str) -> list[str]:
    file = Path(path)
    return file.read_text(encoding="utf-8").splitlines() if file.exists() else []


def main(words: list[str]) -> int:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", type=Path, help="file for the numbers")
    parser.add_argument("--turns", type=int, default=7)
    parser.add_argument("--shots", type=int, default=100_000, help="most of one call, in the growth with shots")
    given = parser.parse_args(words)
    numbers: dict = {"machine": machine(), "scenes": [], "with_shots": [], "with_parts": []}
    print(", ".join(f"{k} {v}" for k, v in numbers["machine"].items()))
    for path in AS_FOUND:
        scene = demo_scene(path.stem, 16_384)
        step, error = measured_step(scene.physics, scene.bay, scene.launches.take(np.arange(200)))
        print(f"\n{scene.name}: Runge-Kutta steps of {1e3 * step:g} ms, greatest error {1e6 * error:.2f} micrometres")
        for to_end in (False, True):
            numbers["scenes"].append({**compared(scene, to_end, given.turns, step), "rk4_error_m": error})
            print(scene_lines(numbers["scenes"][-1]), flush=True)
    step = next(each["rk4_step_s"] for each in numbers["scenes"] if each["scene"].startswith("single_garage"))
    for to_end in (False, True):
        numbers["with_shots"].append(growth_with_shots(to_end, given.shots, step))
        numbers["with_parts"].append(growth_with_parts(to_end, given.turns, step))
        print(growth_lines(numbers["with_shots"][-1], numbers["with_parts"][-1]), flush=True)
    if given.json:
        given.json.write_text(json.dumps(numbers, indent=1) + "\n", encoding="utf-8")
    return 0


def scene_lines(scene: dict) -> str:
    """One scene for people."""
    lines = [f"  to the {scene['to']}:{'':<12}{'balls/s':>12}{'times scipy':>24}{'times rk4':>24}"]
    for name, rate in scene["balls_per_s"].items():
        cells = [scene[key].get(name) for key in ("times_scipy", "times_rk4")]
        words = ["" if c is None else f"{c[0]:,.{2 if c[0] < 20 else 0}f} ({c[1]:,.{1}f}-{c[2]:,.{1}f})" for c in cells]
        lines.append(f"    {name:<26}{rate:>12,.0f}{words[0]:>24}{words[1]:>24}")
    return "\n".join(lines)


def growth_lines(shots: dict, parts: dict) -> str:
    """Both growths for people."""
    lines = [f"  to the {shots['to']}, balls/s by number of shots; then time over that with 25 parts, by parts"]
    for name, rates in shots["balls_per_s"].items():
        lines.append(f"    {name:<12}" + "".join(f"{n:>12,}: {rate:>9,.0f}" for n, rate in rates.items()))
    for name, times in parts["time_over_25_parts"].items():
        lines.append(f"    {name:<12}" + "".join(f"{n:>8} parts: {t:>6.2f}" for n, t in times.items()))
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
