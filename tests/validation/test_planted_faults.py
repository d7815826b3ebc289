"""Faults planted in the engine are found by the second referee: it is worth asking.

Outside reference: tests/support/referee.py, as in test_engine_against_referee. Each fault runs in a process of its own,
uncompiled; the first ball that differs ends it. docs/credibility.md has the table.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import planted
import pytest
from engine_cases import random_case
from planted_faults import FAULTS

from flightsim import engine
from flightsim.engine.follow import follow

FOLDER = Path(engine.__file__).parent


def test_there_are_fifty_faults_and_no_two_alike() -> None:
    assert len({(fault.module, fault.right, fault.wrong) for fault in FAULTS}) == len(FAULTS) >= 50
    assert all(fault.right != fault.wrong for fault in FAULTS)


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.module}: {fault.words}")
def test_each_fault_has_its_place_in_the_engine(fault) -> None:
    source = (FOLDER / f"{fault.module}.py").read_text(encoding="utf-8")
    assert source.count(fault.right) == 1
    compile(source.replace(fault.right, fault.wrong), fault.module, "exec")


TOUCHES = """
import planted

planted.plant(None)
from engine_cases import random_case

from flightsim.engine import ball_story
from flightsim.engine.follow import follow

assert not hasattr(ball_story.play, "py_func"), "compiled"
case = random_case(5_000)
launches, own = case.draw(0, 4)
print(follow(case.physics, launches, case.around, own)[1].contacts.tolist())
"""


def test_without_a_fault_the_engine_that_they_are_planted_in_follows_balls_as_the_compiled_one_does() -> None:
    """An end by an error counts as found: in an engine that cannot fly at all each fault would be."""
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", TOUCHES],
        cwd=Path(planted.__file__).parent,
        capture_output=True,
        text=True,
    )
    case = random_case(5_000)
    launches, own = case.draw(0, 4)
    compiled = follow(case.physics, launches, case.around, own)[1].contacts.tolist()
    assert done.stdout.strip() == str(compiled), done.stderr


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the referee says of all balls."""
    path = tmp_path_factory.mktemp("said") / "said.pkl"
    planted.judge(path, 30)
    return path


@pytest.mark.slow
@pytest.mark.timeout(1800)
@pytest.mark.parametrize("number", range(len(FAULTS)), ids=lambda k: f"{FAULTS[k].module}: {FAULTS[k].words}")
def test_the_referee_finds_each_planted_fault(number: int, said: Path) -> None:
    asked = [sys.executable, planted.__file__, str(said), str(number)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_it_finds_none_where_none_is_planted(said: Path) -> None:
    done = subprocess.run([sys.executable, planted.__file__, str(said), "-1"], capture_output=True, text=True)
    assert done.stdout.strip() == "NOT FOUND", done.stdout + done.stderr
