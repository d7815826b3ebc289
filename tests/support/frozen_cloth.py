"""Answers in bays with cloth, people and wind kept as data, as the swift referee gave them, not the engine.

The bays are random ones by their seeds (`engine_cases`); balls are in whole thousandths, as in `frozen`. To write the
file again, after a change of the physics on purpose:

    python tests/support/frozen_cloth.py
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from engine_cases import Case, random_case
from engine_parity import Told
from frozen import FOLDER, STEP, UNIT, flags_of, launches_of

from flightsim.contact.fates import Flag
from flightsim.flight.launches import Launches

FILE = FOLDER.with_name("frozen_cloth") / "with_cloth_and_people.npz"
BALLS = 100


def case_of(seed: int, data: dict[str, np.ndarray]) -> Case:
    """The bay of a seed, with the balls of the file."""
    launches, own = launches_of(data), data["own"]

    def draw(first: int, count: int) -> tuple[Launches, np.ndarray]:
        balls = np.arange(first, first + count)
        return launches.take(balls), own[:, balls]

    return replace(random_case(seed), draw=draw)


def frozen(seed: int) -> dict[str, np.ndarray]:
    """The balls of a bay and what the swift referee says of them."""
    import swift_referee  # compiles for a minute: only to write, not to read

    launches, own = random_case(seed).draw(0, BALLS)
    data = {name: np.rint(getattr(launches, name) / unit).astype(np.int32) for name, unit in UNIT.items()}
    data["own"] = own
    case = case_of(seed, data)
    answer = Told.by(swift_referee.follow, case, *case.draw(0, BALLS))
    point = np.where(np.isnan(answer.point), 0.0, answer.point) / STEP[:, None, None]
    return {
        **data, "part": answer.part.astype(np.int16), "point": np.rint(point).astype(np.int32),
        "opening": answer.first.opening.astype(np.int8), **flags_of(answer.fates, Flag),
    }  # fmt: skip


def read() -> dict[int, dict[str, np.ndarray]]:
    """The bays of the file, by seed."""
    with np.load(FILE) as file:
        data = dict(file)
    seeds = sorted({int(name.partition(".")[0]) for name in data})
    return {
        seed: {name.partition(".")[2]: value for name, value in data.items() if name.startswith(f"{seed}.")}
        for seed in seeds
    }


def main(seeds: tuple[int, ...] = (8, 11, 14, 26)) -> None:
    """Write the file."""
    FILE.parent.mkdir(exist_ok=True)
    bays = {seed: frozen(seed) for seed in seeds}
    np.savez_compressed(FILE, **{f"{seed}.{name}": value for seed, bay in bays.items() for name, value in bay.items()})
    print(FILE.name, FILE.stat().st_size, "bytes")


if __name__ == "__main__":
    main()
