"""What a plan of shots asks for, knows and numbers: uniforms, labels, the points of a grid, weights."""

from __future__ import annotations

import subprocess
import sys
from math import fsum

import numpy as np
import pytest

from flightsim.shots.launches_section import Launches
from flightsim.shots.shot_table import ShotTable
from flightsim.shots.typed_plan import ShotPlan, plan_shots
from flightsim.study.run.streams import uniforms

ONE = [("tee", 1.0, 0.0, 0.0)]
TWO = [("middle", 0.7, 0.0, 0.0), ("forward", 0.3, 0.5, 0.4)]
GROUND, RADIUS = 0.045, 0.02134
OWN = {
    "club": "iron",
    "strike": "clean",
    "share": 1.0,
    "ball_speed": {"kind": "normal", "mean": "40 m/s", "sd": "2 m/s"},
    "elevation": "15 deg",
    "azimuth": "2 deg",
    "spin_rate": "5000 rpm",
}
GRID = {
    "ball_speed": ["30 m/s", "60 m/s"],
    "elevation": {"from": "0 deg", "to": "20 deg", "steps": 3},
    "azimuth": "-10 deg",
    "spin_rate": "3000 rpm",
    "tee_height": "40 mm",
}
USED = {"use": ("driver", "mid_iron", "wedge")}


def planned(launches: dict[str, object], spots: list[tuple[str, float, float, float]] = ONE) -> ShotPlan:
    return plan_shots(Launches.model_validate(launches), spots, GROUND, RADIUS)


def draw(plan: ShotPlan, first: int, count: int, seed: int = 1) -> ShotTable:
    return plan.draw(lambda purpose, dims: uniforms(seed, first, count, purpose, dims), first, count)


def same(one: ShotTable, other: ShotTable) -> bool:
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in one.__dataclass_fields__)


def test_a_label_names_the_spot_only_where_there_are_several():
    assert planned({"types": [OWN]}).types[0].label == "iron clean"
    assert [kind.label for kind in planned({"types": [OWN]}, TWO).types] == [
        "iron clean from middle", "iron clean from forward",
    ]  # fmt: skip


def test_another_type_more_changes_no_uniform_of_a_shot():
    # Every shot draws the same count of numbers, whatever its type.
    draws_asked = []

    def draws(purpose: str, dims: int) -> np.ndarray:
        draws_asked.append((purpose, dims))
        return uniforms(1, 0, 100, purpose, dims)

    planned(USED).draw(draws, 0, 100)
    planned({"types": [OWN]}).draw(draws, 0, 100)
    assert draws_asked == [("launch", 9)] * 2


def test_drawing_knows_nothing_of_seeds_and_studies_and_loads_scipy_only_to_draw():
    there = "[m for m in sys.modules if m == 'scipy' or m.startswith('flightsim.study')]"
    code = f"import sys, flightsim.shots.typed_plan; print({there})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_grid_point_is_one_shot_and_the_last_axis_turns_fastest():
    plan = planned({"grid": GRID})
    assert (plan.sampled, plan.grid_size) == (False, 6)
    shots = draw(plan, 0, 6)
    assert shots.ball_speed.tolist() == [30.0, 30.0, 30.0, 60.0, 60.0, 60.0]
    assert np.degrees(shots.elevation) == pytest.approx([0.0, 10.0, 20.0] * 2, abs=1e-12)
    assert np.degrees(shots.azimuth) == pytest.approx([-10.0] * 6)
    assert shots.spin_rate == pytest.approx([3000 * 2.0 * np.pi / 60.0] * 6)
    assert not shots.spin_tilt.any()
    assert shots.start[2] == pytest.approx([GROUND + RADIUS + 0.04] * 6)


def test_a_grid_is_flown_from_every_spot_and_each_shot_weighs_the_same():
    plan = planned({"grid": GRID}, TWO)
    assert plan.grid_size == 12
    assert plan.weights(12) == pytest.approx([1.0 / 12.0] * 12, rel=1e-14)
    shots = draw(plan, 0, 12)
    points = {(*shots.start[:, k], shots.ball_speed[k], shots.elevation[k]) for k in range(12)}
    assert len(points) == 12


def test_a_grid_draws_no_random_number():
    plan = planned({"grid": GRID})

    def refuse(purpose: str, dims: int) -> np.ndarray:
        raise AssertionError("a grid is no sample")

    whole = plan.draw(refuse, 0, 6)
    assert same(plan.draw(refuse, 2, 3), whole.take(slice(2, 5)))


def test_a_sampled_plan_has_no_size_of_its_own():
    plan = planned(USED)
    assert (plan.sampled, plan.grid_size) == (True, 0)


def test_weights_of_a_plan_follow_its_shares_at_any_number_of_shots():
    plan = planned(USED, TWO)
    for n in (50, 77, 1000):
        weight, kind = plan.weights(n), draw(plan, 0, n).type
        assert fsum(weight) == pytest.approx(1.0, abs=1e-12)
        assert np.bincount(kind, weight) == pytest.approx([shot_type.share for shot_type in plan.types], rel=1e-12)
