"""Plant a fault in the engine, uncompiled, and see whether a referee finds it.

`python tests/support/planted.py judge FILE [BALLS]` has the referee follow balls in demos and random bays, and
keeps what it says; balls on which the sound engine differs (a hair turned them) are left out.
`python tests/support/planted.py FILE NUMBER...` plants these faults, one process each, and says which ball told.
"""

from __future__ import annotations

import importlib.machinery
import pickle
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import CodeType

from planted_faults import FAULTS, Fault

CASES, DEMO_BALLS, CHUNK = 24, 24, 6
ENGINE = "flightsim.engine."
PLAIN = """
import numba

numba.config.DISABLE_JIT = 1
import flightsim.engine.by_reference
import flightsim.engine.lanes

numba.config.DISABLE_JIT = 0
import flightsim.engine.compiled as _engine

def _plain(function):
    return function if function.__module__.startswith("flightsim.engine.") else _sound(function)

_sound, _engine.compiled, _engine.entry = _engine.compiled, _plain, lambda function: function
_engine.inlined = _plain
"""


def plant(fault: Fault | None) -> None:
    """From now on the engine is plain Python, and its module of the fault is imported with it."""
    importing = importlib.machinery.SourceFileLoader.get_code

    def get_code(self: importlib.machinery.SourceFileLoader, name: str) -> CodeType | None:
        if fault is None or name != ENGINE + fault.module:
            return importing(self, name)
        source = self.get_data(self.path).decode()
        assert source.count(fault.right) == 1, f"'{fault.right}' stands {source.count(fault.right)} times in {name}"
        return compile(source.replace(fault.right, fault.wrong), self.path, "exec")

    importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[method-assign, assignment]
    exec(PLAIN, {})


def cases() -> Iterator[tuple[object, int]]:
    """Bays and how many balls in each, random ones first."""
    from engine_cases import demos, random_case

    for seed in range(5_000, 5_000 + CASES):
        yield random_case(seed), 0
    for case in demos():
        yield case, DEMO_BALLS


def judge(path: Path, balls: int) -> None:
    """Have the referee follow the balls, and keep what it says."""
    import referee
    from engine_parity import JUDGED, Told, differences

    from flightsim.engine.follow import follow

    kept = []
    for number, (case, of_demo) in enumerate(cases()):
        launches, own = case.draw(0, of_demo or balls)
        said, answer = (Told.by(engine, case, launches, own) for engine in (referee.follow, follow))
        same = ~differences(said, answer)[JUDGED].any(axis=0)
        kept.append((number, launches, own, said, same))
        print(f"{case.name}: {int(same.sum())} of {len(launches)} balls as the referee says", flush=True)
    path.write_bytes(pickle.dumps(kept))


def found(path: Path) -> str:
    """The first ball on which what is planted differs from the referee, or nothing."""
    import numpy as np
    from engine_parity import JUDGED, KINDS, Told, differences

    from flightsim.engine.follow import follow

    kept, tried = pickle.loads(path.read_bytes()), 0
    bays = [case for case, _ in cases()]
    most = max(len(launches) for _, launches, *_ in kept)
    for begin in range(0, most, CHUNK):
        for number, launches, own, said, same in kept:
            balls = np.flatnonzero(same)[begin : begin + CHUNK]
            if not balls.size:
                continue
            try:
                answer = Told.by(follow, bays[number], launches.take(balls), own[:, balls])
            except Exception as error:  # noqa: BLE001  a fault may end it in any way
                return f"ends with {type(error).__name__} after {tried} balls"
            differ = differences(said.take(balls), answer) & JUDGED[:, None]
            tried += balls.size
            if differ.any():
                kind, ball = np.argwhere(differ)[0]
                return f"{KINDS[kind]}, {bays[number].name}, ball {balls[ball]}, after {tried} balls"
    return ""


def main(words: list[str]) -> int:
    """As the module says."""
    if words[0] == "judge":
        judge(Path(words[1]), int(words[2]) if len(words) > 2 else 30)
        return 0
    if len(words) == 2:
        plant(FAULTS[int(words[1])] if int(words[1]) >= 0 else None)
        words_found = found(Path(words[0]))
        print(words_found or "NOT FOUND")
        return 0 if words_found else 1
    missed = 0
    for number in map(int, words[1:]):
        done = subprocess.run([sys.executable, __file__, words[0], str(number)], capture_output=True, text=True)
        missed += done.returncode != 0
        fault = FAULTS[number]
        words_found = done.stdout.strip().splitlines()[-1:] or done.stderr.strip().splitlines()[-1:]
        print(f"| {number + 1} | {fault.module} | {fault.words} | {''.join(words_found)} |", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
