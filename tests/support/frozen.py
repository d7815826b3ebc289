"""Answers of an engine kept as data: bays, balls, their touches and flags, that a later engine has to give again.

Each file holds a bay as plain numbers, so that it hangs on no scenario, plugin or shot model, and balls in whole
thousandths. Faces are three hard ones, by turns: what cloth and people do may change, how balls fly, touch and bounce
may not. The files were written once by the batch engine. To write them again, after a change of that on purpose:

    python tests/support/frozen.py --engine flightsim.engine.follow:follow
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from engine_cases import Case, demo, random_case
from engine_parity import AFTER, WITHIN, Engine, Told, _engine
from shipped import AS_FOUND

from flightsim.bay.parts import Bay, Opening, Part, Role
from flightsim.bay.shapes import Box, ConvexPolygon, RoundTube, Shape
from flightsim.contact.facings import Facing, Foam, Plate
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.surroundings import surround
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches

FOLDER = Path(__file__).parents[1] / "validation" / "frozen"
FACES = {
    "hard": Facing("hard", own=0.9, damage=8.0),
    "rough": Facing("rough", fixed=0.7, friction=0.9, tangential=0.4, rolling=0.1),
    "padded": Facing("padded", plate=Plate(8e9, 0.018, 650.0), foam=Foam(0.02, 1.2e5), friction=0.5, broken=80.0),
}
BALLS, BAYS, BAY_BALLS = 2_000, 12, 60
FLAGS = ("unresolved", "got_out", "broke_through", "hit_unprotected")  # by key: others may come, or stand elsewhere
UNIT = {"start": 1e-5, "velocity": 1e-3, "spin": 1e-1}  # m, m/s, rad/s: what launches are rounded to
STEP = np.array(WITHIN) / 8.0  # m: what touches are rounded to


def launches_of(data: dict[str, np.ndarray]) -> Launches:
    """The balls of a file."""
    return Launches(*(data[name] * unit for name, unit in UNIT.items()))


def case_of(name: str, data: dict[str, np.ndarray]) -> Case:
    """The bay and the balls of a file; nobody is there."""
    bay = bay_from(json.loads(str(data["bay"])))
    around = surround(bay, (), FACES, {})
    launches = launches_of(data)

    def draw(first: int, count: int) -> tuple[Launches, np.ndarray]:
        balls = np.arange(first, first + count)
        return launches.take(balls), np.zeros((0, count), dtype=bool)

    return Case(name, 0, Physics(), around, draw)


def told_of(data: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Parts `(5, n)`, points `(5, 3, n)`, m, and openings that balls left by before they touched anything `(n,)`."""
    point = data["point"] * STEP[:, None, None]
    return data["part"], np.where(data["part"][:, None] < 0, np.nan, point), data["opening"]


def fates_of(data: dict[str, np.ndarray], fates: Fates) -> Fates:
    """The flags of a file, in place of those in these fates."""
    worst, place = fates.worst.copy(), fates.place.copy()
    for flag in (each for each in Flag if f"{each.key}.worst" in data):
        worst[flag], place[flag] = data[f"{flag.key}.worst"], data[f"{flag.key}.place"]
    return replace(fates, worst=worst, place=place)


def frozen(case: Case, balls: int, engine: Engine) -> dict[str, np.ndarray]:
    """A bay, its balls and what the engine says of them."""
    launches, _ = case.draw(0, balls)
    whole = {name: np.rint(getattr(launches, name) / unit).astype(np.int32) for name, unit in UNIT.items()}
    whole["start"][2] += 1  # what stands on the mat stands on it when rounded, too
    data: dict[str, np.ndarray] = {**whole, "bay": np.array(json.dumps(as_data(hard(case.around.bay))))}
    ready = case_of(case.name, data)
    answer = Told.by(engine, ready, *ready.draw(0, balls))
    assert not answer.first.failed.any(), case.name
    point = np.where(np.isnan(answer.point), 0.0, answer.point) / STEP[:, None, None]
    return {
        **data, "part": answer.part.astype(np.int16), "point": np.rint(point).astype(np.int32),
        "opening": answer.first.opening.astype(np.int8),
        **flags_of(answer.fates, (flag for flag in Flag if flag.key in FLAGS)),
    }  # fmt: skip


def flags_of(fates: Fates, flags: Iterable[Flag]) -> dict[str, np.ndarray]:
    """Worst speeds, m/s, to a ten-thousandth, and places of each of some flags."""
    flags = list(flags)
    worst = {f"{flag.key}.worst": np.round(fates.worst[flag], 4).astype(np.float32) for flag in flags}
    return {**worst, **{f"{flag.key}.place": fates.place[flag].astype(np.int16) for flag in flags}}


def hard(bay: Bay) -> Bay:
    """The same bay of hard faces, without people."""
    words = sorted(FACES)
    parts = tuple(replace(part, facing=words[k % len(words)]) for k, part in enumerate(bay.parts))
    return replace(bay, parts=parts, zones=())


def as_data(bay: Bay) -> dict:
    """Plain numbers and words."""
    return {
        "lower": bay.lower.tolist(), "upper": bay.upper.tolist(),
        "openings": [[o.name, o.corners.tolist(), o.normal.tolist()] for o in bay.openings],
        "parts": [[p.name, p.role.value, p.facing, p.fragile, p.group, *_shape_data(p.shape)] for p in bay.parts],
    }  # fmt: skip


def bay_from(data: dict) -> Bay:
    """The bay of such data."""
    parts = tuple(
        Part(name, _shape(kind, numbers), Role(role), facing, "frozen", group, fragile)
        for name, role, facing, fragile, group, kind, numbers in data["parts"]
    )
    openings = (Opening(name, np.array(corners), np.array(normal), "frozen")
                for name, corners, normal in data["openings"])  # fmt: skip
    return Bay(parts, tuple(openings), np.array(data["lower"]), np.array(data["upper"]))


def _shape_data(shape: Shape) -> tuple[str, list]:
    if isinstance(shape, Box):
        return "box", [shape.centre.tolist(), shape.axes.tolist(), shape.half.tolist(), shape.corner_radius]
    if isinstance(shape, RoundTube):
        return "tube", [shape.start.tolist(), shape.end.tolist(), shape.radius]
    assert isinstance(shape, ConvexPolygon)
    return "polygon", [shape.corners.tolist()]


def _shape(kind: str, numbers: list) -> Shape:
    if kind == "box":
        return Box(np.array(numbers[0]), np.array(numbers[1]), np.array(numbers[2]), numbers[3])
    if kind == "tube":
        return RoundTube(np.array(numbers[0]), np.array(numbers[1]), numbers[2])
    return ConvexPolygon(np.array(numbers[0]))


def everything(engine: Engine) -> Iterator[tuple[str, dict[str, np.ndarray]]]:
    """What all files hold, by name; the random bays are in one, each with a number before its keys."""
    for path in AS_FOUND:
        yield path.stem, frozen(demo(path), BALLS, engine)
    bays = (frozen(random_case(seed), BAY_BALLS, engine) for seed in range(BAYS))
    yield "random_bays", {f"{k}.{name}": value for k, bay in enumerate(bays) for name, value in bay.items()}


def read(path: Path) -> Iterator[tuple[str, dict[str, np.ndarray]]]:
    """The bays of a file, by name."""
    with np.load(path) as file:
        data = dict(file)
    if "bay" in data:
        yield path.stem, data
        return
    for k in range(len({name.partition(".")[0] for name in data})):
        keys = (name for name in data if name.startswith(f"{k}."))
        yield f"{path.stem} {k}", {name.partition(".")[2]: data[name] for name in keys}


def main(words: list[str]) -> int:
    """Write the files."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--engine", type=_engine, required=True, help="module:function, as engine.follow.follow")
    given = parser.parse_args(words)
    FOLDER.mkdir(exist_ok=True)
    for name, data in everything(given.engine):
        np.savez_compressed(FOLDER / f"{name}.npz", **data)
        print(name, (FOLDER / f"{name}.npz").stat().st_size, "bytes")
    return 0


__all__ = ["AFTER", "FOLDER", "WITHIN", "case_of", "read", "told_of"]

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
