"""Measured shots: units and signs, each row once, spreads around the rows, and what the bounds then cover."""

from __future__ import annotations

import csv
import hashlib
import json
from math import isclose
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from shot_tables import COLUMNS, HEAD, MPH, RADIUS, WEDGE_SPIN, bay, drawn, numbers, plan, rows, two_clubs, write_table

from flightsim.errors import BadInputError
from flightsim.jobs.run_shots import Order, run_and_report
from flightsim.plugin.manager import load_plugins
from flightsim.scenario.reading.json_schema import schema
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.quantities import KINDS
from flightsim.shots.measured_plan import MeasuredPlan
from flightsim.shots.measured_section import AngleColumn, SpeedColumn, SpinColumn
from flightsim.study.run.bounds import upper_bound
from flightsim.study.run.open_bay import all_sections, open_bay
from flightsim.study.run.require import judge_all, parse_requirements
from flightsim.study.run.run_files import write_data
from flightsim.study.run.walk import run

RPM = np.pi / 30.0
SCHEMA = schema(all_sections(load_plugins()))


def all_of(measured_plan: MeasuredPlan) -> Any:
    return drawn(measured_plan, measured_plan.grid_size)


# Units, signs, order


@pytest.mark.parametrize(("model", "kind"), [(SpeedColumn, "speed"), (AngleColumn, "angle"), (SpinColumn, "spin rate")])
def test_a_column_takes_the_units_that_a_number_in_the_scenario_takes(model: Any, kind: str) -> None:
    assert tuple(model.model_fields["unit"].annotation.__args__) == KINDS[kind].units


def test_a_row_comes_out_as_the_shot_that_was_measured(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", rows(30))
    shots, table = all_of(plan(tmp_path, tee_height="30 mm")), numbers(30)
    assert shots.ball_speed == pytest.approx(table[:, 0] * MPH, rel=1e-14)
    assert shots.elevation == pytest.approx(np.radians(table[:, 1]), rel=1e-14)
    assert shots.azimuth == pytest.approx(np.radians(table[:, 2]), rel=1e-14)
    assert shots.spin_rate == pytest.approx(table[:, 3] * RPM, rel=1e-14)
    assert shots.spin_tilt == pytest.approx(np.radians(table[:, 4]), rel=1e-12)
    assert (shots.start[:2] == 0.0).all()
    assert shots.start[2] == pytest.approx(0.04 + RADIUS + 0.03)


FACTORS = {
    "m/s": 1.0,
    "mph": MPH,
    "km/h": 1 / 3.6,
    "ft/s": 0.3048,
    "deg": np.pi / 180,
    "rad": 1.0,
    "rpm": RPM,
    "rad/s": 1.0,
}


@settings(max_examples=25, deadline=None)
@given(
    speed=st.sampled_from(("m/s", "mph", "km/h", "ft/s")),
    angles=st.tuples(*[st.sampled_from(("deg", "rad"))] * 3),
    spin=st.sampled_from(("rpm", "rad/s")),
    left=st.tuples(st.booleans(), st.booleans()),
    order=st.permutations(range(len(HEAD))),
    seed=st.integers(0, 5),
)
def test_units_signs_and_the_order_of_columns_never_change_a_shot(
    tmp_path_factory: pytest.TempPathFactory, speed: str, angles: Any, spin: str, left: Any, order: Any, seed: int
) -> None:
    folder = tmp_path_factory.mktemp("units")
    si = numbers(12, seed) * [MPH, *[np.pi / 180] * 2, RPM, np.pi / 180]
    units = (speed, angles[0], angles[1], spin, angles[2])
    signs = np.array([1, 1, -1 if left[0] else 1, 1, -1 if left[1] else 1])
    cells = si * signs / [FACTORS[unit] for unit in units]
    lines = [[str(k), *map(repr, row), "driver"] for k, row in enumerate(cells.tolist())]
    head = tuple(HEAD[k].replace(" (mph)", "") for k in order)
    write_table(folder / "shots.csv", [[line[k] for k in order] for line in lines], head)
    columns: dict[str, Any] = {
        name: {**entry, "unit": unit} for (name, entry), unit in zip(list(COLUMNS.items())[:5], units, strict=True)
    }
    columns["ball_speed"]["column"] = "Ball"
    columns["azimuth"]["left_is_positive"], columns["spin_tilt"]["left_is_positive"] = left
    shots = all_of(plan(folder, columns=columns))
    found = [shots.ball_speed, shots.elevation, shots.azimuth, shots.spin_rate, shots.spin_tilt]
    assert np.allclose(found, si.T, rtol=1e-12, atol=1e-15)


@settings(max_examples=50, deadline=None)
@given(rate=st.floats(1.0, 14_000.0), tilt=st.floats(-179.0, 179.0))
def test_spin_as_rate_and_tilt_or_as_back_and_side_is_the_same_spin(
    tmp_path_factory: pytest.TempPathFactory, rate: float, tilt: float
) -> None:
    folder = tmp_path_factory.mktemp("spin")
    back, side = rate * np.cos(np.radians(tilt)), rate * np.sin(np.radians(tilt))
    write_table(folder / "shots.csv", [["1", "150", "12", "1", repr(rate), repr(tilt), "driver"]])
    one = plan(folder, accept_units=True)
    write_table(folder / "shots.csv", [["1", "150", "12", "1", repr(float(back)), repr(float(side)), "driver"]])
    columns = {
        "spin_rate": None,
        "spin_tilt": None,
        "backspin": COLUMNS["spin_rate"],
        "sidespin": {"column": "axis", "unit": "rpm"},
    }
    two = plan(folder, columns=columns, accept_units=True)
    a, b = all_of(one).launches(), all_of(two).launches()
    assert np.allclose(a.spin, b.spin, rtol=1e-12, atol=1e-9)
    assert np.allclose(np.linalg.norm(a.spin, axis=0), rate * RPM, rtol=1e-12)


def test_topspin_comes_as_backspin_below_nought(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", [["1", "100", "-5", "1", "-2000", "0", "x"], *rows(9)])
    shots = all_of(plan(tmp_path, columns={"spin_rate": None, "spin_tilt": None, "backspin": COLUMNS["spin_rate"]}))
    spin = shots.launches().spin[:, 0]
    topspin = np.array([np.sin(np.radians(1)), np.cos(np.radians(1)), 0.0])  # about the left, as the ball rolls forward
    assert spin == pytest.approx(2000 * RPM * topspin)


# Hands, spots, clubs


def test_the_other_hand_s_rows_are_mirrored_and_one_s_own_are_not(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", rows(20))
    right = all_of(plan(tmp_path)).launches()
    own = all_of(plan(tmp_path, hand="left", measured_hand="left")).launches()
    other = all_of(plan(tmp_path, hand="left", measured_hand="right")).launches()
    back = all_of(plan(tmp_path, measured_hand="left")).launches()
    assert np.array_equal(own.velocity, right.velocity)
    mirrored = right.mirrored()
    for launches in (other, back):
        assert np.allclose(launches.velocity, mirrored.velocity, atol=1e-12)
        assert np.allclose(launches.spin, mirrored.spin, atol=1e-9)


def test_clubs_are_shot_types_with_as_many_shots_as_rows_whatever_their_capitals(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", two_clubs())
    measured = plan(tmp_path, **WEDGE_SPIN)
    assert [(kind.label, kind.share) for kind in measured.types] == [
        ("driver measured", pytest.approx(35 / 45)),
        ("Pitching wedge measured", pytest.approx(10 / 45)),
    ]
    assert np.allclose(measured.weights(measured.grid_size), 1 / 45)


def test_shares_by_club_weigh_the_rows_of_each(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", two_clubs())
    measured = plan(tmp_path, shares={"Driver": 0.2, "pitching  wedge": 0.8}, **WEDGE_SPIN)
    weight, kind = measured.weights(45), all_of(measured).type
    assert isclose(weight.sum(), 1.0, abs_tol=1e-12)
    assert weight[kind == 0] == pytest.approx(0.2 / 35)
    assert weight[kind == 1] == pytest.approx(0.8 / 10)
    with pytest.raises(ScenarioError, match="no share for driver"):
        plan(tmp_path, shares={"pitching wedge": 1.0}, **WEDGE_SPIN)


def test_every_row_is_flown_once_from_every_spot(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", two_clubs())
    spots = [{"name": "middle", "share": 0.75, "from_end_wall": "3.5 m", "from_left_wall": "1.7 m"},
             {"name": "left", "share": 0.25, "from_end_wall": "3.4 m", "from_left_wall": "1.5 m"}]  # fmt: skip
    path = bay(tmp_path, **WEDGE_SPIN)
    text = path.read_text().replace("tee:\n", f"tee:\n  spots: {json.dumps(spots)}\n", 1)
    path.write_text(text)
    result = run(open_bay(path), 7)
    assert len(result.shots) == 90
    assert [kind.spot for kind in result.types] == ["middle", "left"] * 2
    assert np.bincount(result.shots.type).tolist() == [35, 35, 10, 10]
    assert np.array_equal(result.shots.ball_speed[::2], result.shots.ball_speed[1::2])
    assert result.weight[::2].sum() == pytest.approx(0.75)
    assert len(np.unique(result.shots.start[1])) == 2


def test_a_column_that_is_not_the_club_s_is_refused_before_it_makes_a_type_a_row(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", rows(100))
    with pytest.raises(ScenarioError, match="100 different words"):
        plan(tmp_path, columns={"club": {"column": "no"}})


# Units that look wrong


def shifted(folder: Path, column: str, unit: str, factor: float, **how: Any) -> MeasuredPlan:
    """The table with one column times this, and what is said of its unit."""
    place = [entry["column"] for entry in COLUMNS.values()].index(COLUMNS[column]["column"])
    table = numbers(60)
    table[:, place] *= factor
    lines = [[str(k), *map(repr, row), how.get("club", "driver")] for k, row in enumerate(table.tolist())]
    write_table(folder / "shots.csv", lines)
    keys = {key: value for key, value in how.items() if key != "club"}
    return plan(folder, columns={column: {**COLUMNS[column], "unit": unit}}, **keys)


@pytest.mark.parametrize("club", ["driver", "mine"])
@pytest.mark.parametrize(
    ("column", "unit", "factor", "meant"),
    [
        ("ball_speed", "mph", 60.0 / 150.0, "m/s"),  # a column of 60 m/s read as mph
        ("ball_speed", "m/s", 1.0, "mph"),
        ("ball_speed", "m/s", 1.609, "km/h"),
        ("ball_speed", "mph", 1.609, "km/h"),
        ("elevation", "deg", np.pi / 180, "rad"),
        ("elevation", "rad", 1.0, "deg"),
        ("azimuth", "deg", np.pi / 180, "rad"),
        ("azimuth", "rad", 1.0, "deg"),
        ("spin_rate", "rpm", RPM, "rad/s"),
        ("spin_rate", "rad/s", 1.0, "rpm"),
        ("spin_tilt", "deg", np.pi / 180, "rad"),
        ("spin_tilt", "rad", 1.0, "deg"),
    ],
)
def test_a_column_in_another_unit_than_said_is_told_with_the_unit_it_looks_like(
    tmp_path: Path, column: str, unit: str, factor: float, meant: str, club: str
) -> None:
    with pytest.raises(ScenarioError) as raised:
        shifted(tmp_path, column, unit, factor, club=club)
    text = str(raised.value)
    assert f"measured.columns.{column}.unit: these look like" in text
    assert meant in text.partition(":")[2].partition("the middle")[0]
    assert "accept_units: true" in text
    assert len(raised.value.problems) == 1


def test_a_slow_player_in_mph_may_be_flown_by_saying_so_and_is_told_of_it(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="these look like m/s"):
        shifted(tmp_path, "ball_speed", "mph", 0.4)
    accepted = shifted(tmp_path, "ball_speed", "mph", 0.4, accept_units=True)
    assert all_of(accepted).ball_speed.mean() == pytest.approx(27, abs=1)
    assert "accepted as mph: these look like m/s" in str(accepted.warnings[0])


@pytest.mark.parametrize("speed", [70.0, 90.0, 130.0, 185.0])
def test_speeds_that_players_reach_are_not_doubted(tmp_path: Path, speed: float) -> None:
    club = {70.0: "gap wedge", 90.0: "9 iron"}.get(speed, "driver")
    lines = rows(30, club, speed=speed)
    for line in lines:
        line[HEAD.index("spin")] = {"driver": "2500"}.get(club, "7000")
    write_table(tmp_path / "shots.csv", lines)
    assert plan(tmp_path).warnings == ()


# A sample of fixed size


def test_measured_rows_are_flown_once_and_bounded_as_a_sample_of_their_number(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", rows(60))
    result = run(open_bay(bay(tmp_path)), 20_000)
    met = result.rates.by_type[0]["got_out"]
    assert (len(result.shots), met.shots, result.sampled) == (60, 60, True)
    assert met.upper == pytest.approx(float(upper_bound(met.count, 60, 0.05)))
    assert met.upper > 0.04  # 60 measured shots never show that something is rare
    assert result.rates.total["got_out"].upper == pytest.approx(met.upper)
    assert {problem.key for problem in result.warnings} <= {"swing_room"}


def test_another_number_of_shots_than_the_rows_is_refused_with_a_way_out(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", rows(60))
    order = Order(bay(tmp_path), 1000, None, tmp_path / "out", 1, (), (), False)
    with pytest.raises(BadInputError, match="each of its measured shots once from each spot, 60 in all") as raised:
        run_and_report(order)
    assert "measured.spread=kernel" in str(raised.value)
    assert not (tmp_path / "out").exists()


def test_a_requirement_on_measured_rows_is_judged_by_their_bound(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", rows(60))
    result = run(open_bay(bay(tmp_path)))
    (judged,) = judge_all(parse_requirements(["got_out < 1 in 100"]), result.rates, result.types, result.sampled)
    assert not judged.met
    assert "60 shots cannot show it even if none were seen: it takes" in judged.sentence


def test_the_files_of_a_run_hold_the_table_s_hash_and_every_measured_shot(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", [*rows(60), ["x", "150"]])
    out = tmp_path / "out"
    out.mkdir()
    write_data(run(open_bay(bay(tmp_path, bad_rows="leave_out"))), (), out)
    facts = json.loads((out / "run.json").read_text(encoding="utf-8"))
    source = facts["shots_source"]
    assert source["sha256"] == hashlib.sha256((tmp_path / "shots.csv").read_bytes()).hexdigest()
    assert (source["section"], source["file"], source["rows"], source["flown"]) == ("measured", "shots.csv", 61, 60)
    assert [cell["line"] for cell in source["left_out"]] == [62]
    with (out / "shots.csv").open(newline="", encoding="utf-8") as file:
        flown = [float(row["azimuth_deg"]) for row in csv.DictReader(file)]
    assert flown == pytest.approx(numbers(60)[:, 2].tolist(), abs=1e-12)
    again = tmp_path / "again.yaml"
    again.write_text(json.dumps(facts["scenario"]), encoding="utf-8")
    assert np.array_equal(open_bay(again).plan.rows.numbers, open_bay(tmp_path / "bay.yaml").plan.rows.numbers)
    assert [error.message for error in Draft202012Validator(SCHEMA).iter_errors(facts["scenario"])] == []


# One source of shots


@pytest.mark.parametrize("other", ["launches", "shots"])
def test_measured_shots_and_another_source_of_shots_are_refused_together(tmp_path: Path, other: str) -> None:
    write_table(tmp_path / "shots.csv", rows(12))
    path = bay(tmp_path)
    more = {"launches": "{use: [driver]}", "shots": "{players: [{player: mid}], clubs: [{club: driver, share: 1}]}"}
    path.write_text(f"{path.read_text()}\n{other}: {more[other]}\n")
    with pytest.raises(ScenarioError, match=r"(measured|shots) and (launches|measured) are given"):
        open_bay(path)
