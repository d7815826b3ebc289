"""What shots.csv says of a shot is all that its flight hangs on: flown again it goes the same way."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.result import RunResult
from flightsim.study.run.run_files import write_shots
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
WEDGE = {"players": [{"player": "mid", "share": 1.0}], "clubs": [{"club": "sand wedge", "share": 1.0}]}
COLUMNS = {
    "ball_speed": ("ball_speed_m_s", "m/s"),
    "elevation": ("elevation_deg", "deg"),
    "azimuth": ("azimuth_deg", "deg"),
    "spin_rate": ("spin_rate_rpm", "rpm"),
    "spin_tilt": ("spin_tilt_deg", "deg"),
    "spin_along": ("spin_along_rpm", "rpm"),
}


def bay(folder: Path, name: str, **shots: Any) -> Path:
    data = yaml.safe_load(GARAGE.read_text(encoding="utf-8"))
    del data["launches"]
    path = folder / name
    path.write_text(json.dumps({**data, **shots}), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def wedge(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, RunResult, list[dict[str, str]]]:
    """Sand wedge shots off the mat: a shank bounces off the ground as it is struck, and spins about its path."""
    folder = tmp_path_factory.mktemp("wedge")
    first = run(open_bay(bay(folder, "wedge.yaml", shots=WEDGE)), 300, seed=2)
    write_shots(first, folder / "shots.csv", {})
    with (folder / "shots.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return folder, first, rows


def test_the_shots_of_a_run_flown_again_as_measured_shots_meet_the_same_things_at_the_same_places(wedge) -> None:
    folder, first, _ = wedge
    assert np.abs(first.shots.spin_along).max() > 10.0  # rad/s: or this shows nothing
    columns: dict[str, dict[str, Any]] = {
        name: {"column": column, "unit": unit} for name, (column, unit) in COLUMNS.items()
    }
    columns["spin_rate"]["negative_is_topspin"] = True
    section = {"file": "shots.csv", "columns": columns, "accept_units": True}
    again = run(open_bay(bay(folder, "again.yaml", measured=section)), 1, seed=7)
    met = first.contacts.part >= 0
    assert np.array_equal(again.contacts.part, first.contacts.part)
    apart = np.linalg.norm(again.contacts.point - first.contacts.point, axis=0)[met]
    assert apart.max() < 1e-9  # m; 0.2 mm without the spin about the path


def test_one_shot_of_a_run_flown_again_as_a_shot_type_goes_the_same_way(wedge) -> None:
    folder, first, rows = wedge
    k = int(np.abs(first.shots.spin_along).argmax())
    numbers = {name: f"{rows[k][column]} {unit}" for name, (column, unit) in COLUMNS.items()}
    kind = {"club": "wedge", "strike": "shank", "share": 1.0, **numbers}
    again = run(open_bay(bay(folder, "type.yaml", launches={"types": [kind]})), 1, seed=7)
    assert again.contacts.part[0] == first.contacts.part[k]
    assert again.contacts.point[:, 0] == pytest.approx(first.contacts.point[:, k], abs=1e-9)


def test_a_left_handers_spin_about_the_path_is_the_mirror_of_a_right_handers(wedge) -> None:
    folder, first, rows = wedge
    k = int(np.abs(first.shots.spin_along).argmax())
    numbers = {name: f"{rows[k][column]} {unit}" for name, (column, unit) in COLUMNS.items()}
    kind = {"club": "wedge", "strike": "shank", "share": 1.0, **numbers}
    hands = [
        open_bay(bay(folder, "hand.yaml", launches={"hand": hand, "types": [kind]})).plan.draw(
            lambda purpose, dims: np.full((dims, 1), 0.5), 0, 1
        )
        for hand in ("right", "left")
    ]
    right, left = (shots.launches() for shots in hands)
    mirror = right.mirrored()
    assert left.velocity == pytest.approx(mirror.velocity, abs=1e-12)
    assert left.spin == pytest.approx(mirror.spin, abs=1e-12)
