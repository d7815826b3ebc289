"""Shots drawn from their types: which type each shot is of, weights, hands, tee spots, the grid."""

from __future__ import annotations

import pickle
from itertools import product

import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from own_shots import GRID, SPOTS, drawn, one_type, opened, plan

from flightsim.scenario.reading.resolved import resolved
from flightsim.shots.launches_section import Launches
from flightsim.shots.shipped_types import CLUBS, shipped_clubs, shipped_strikes
from flightsim.shots.shot_table import kinds_of
from flightsim.shots.strike_kind import VARIABLES
from flightsim.shots.typed_plan import plan_shots, strike_numbers
from flightsim.study.run.streams import BLOCK, uniforms

USE = "launches: {use: [driver, mid_iron, wedge]}\n"
LEFT = "launches: {hand: left, use: [driver, mid_iron, wedge]}\n"
COLUMNS = ("ball_speed", "elevation", "azimuth", "spin_rate", "spin_tilt")
SPOT = (("tee", 1.0, 0.0, 0.0),)


@pytest.fixture(scope="module")
def shipped():
    return plan_shots(Launches(use=CLUBS), SPOT, 0.02, 0.021335)


# Which shot is of which type, and what it weighs


def test_shots_come_one_of_each_type_and_then_as_many_as_they_are_played_again_and_again(shipped):
    table = drawn(shipped, 500)
    assert np.array_equal(table.type, kinds_of(shipped.types, np.arange(500)))
    for first in range(0, 500, 50):
        assert np.array_equal(table.type[first : first + 25], np.arange(25))
    assert np.array_equal(drawn(shipped, 300, first=1111).type, kinds_of(shipped.types, np.arange(1111, 1411)))


@pytest.mark.parametrize("rounds", [1, 7, 40, 400])
def test_half_of_the_shots_are_in_proportion_to_how_often_they_are_played_to_a_few_shots(shipped, rounds):
    kind = kinds_of(shipped.types, np.arange(50 * rounds))
    played = kind.reshape(rounds, 50)[:, 25:].ravel()
    share = np.array([shot_type.share for shot_type in shipped.types])
    assert np.bincount(kind.reshape(rounds, 50)[:, :25].ravel()).tolist() == [rounds] * 25
    # Van der Corput's first n numbers fill any interval from 0 to log2(n)/3 + 1 (Béjian & Faure 1977, memory).
    apart = np.abs(np.bincount(played, minlength=25) - share * played.size)
    assert apart.max() <= 2.0 * (np.log2(played.size) / 3.0 + 1.0)


@settings(deadline=None, max_examples=25)
@given(first=st.integers(0, 5 * BLOCK), count=st.integers(1, 400))
def test_shots_cut_out_of_a_run_are_those_of_the_run_bit_for_bit(first, count):
    shots = plan_shots(Launches(use=("wedge",)), SPOT, 0.0, 0.021335)
    whole, part = drawn(shots, first + count), drawn(shots, count, first=first)
    for name in (*COLUMNS, "type"):
        assert np.array_equal(getattr(whole, name)[first:], getattr(part, name))
    assert np.array_equal(whole.start[:, first:], part.start)


def test_the_first_thousand_of_a_longer_run_are_the_thousand_shot_run(shipped):
    short, long = drawn(shipped, 1000), drawn(shipped, 10_000)
    for name in COLUMNS:
        assert np.array_equal(getattr(short, name), getattr(long, name)[:1000])


def test_a_type_draws_the_same_numbers_alone_as_among_others_at_the_same_shot(shipped):
    # Shot i's uniforms are its own: the type that it falls to does not change them.
    u = uniforms(1, 0, 100, "launch", len(VARIABLES))
    table = drawn(shipped, 100)
    of_type = table.type == 7
    assert np.array_equal(table.ball_speed[of_type], strike_numbers(shipped.strikes[7], u[:, of_type])[0])


@pytest.mark.parametrize("shots", [25, 26, 1000, 12_345])
def test_weights_add_to_1_and_those_of_a_type_to_its_share(shipped, shots):
    weight = shipped.weights(shots)
    kind = kinds_of(shipped.types, np.arange(shots))
    assert weight.sum() == pytest.approx(1.0, abs=1e-12)
    assert np.bincount(kind, weight) == pytest.approx([shot_type.share for shot_type in shipped.types], abs=1e-12)
    for k in range(25):
        assert np.ptp(weight[kind == k]) == 0.0


def test_shares_that_add_to_1_only_to_rounding_are_made_to_add_to_1(tmp_path):
    third = "0.333333333"
    found = plan(tmp_path, f"launches: {{use: {{driver: {third}, mid_iron: {third}, wedge: {third}4}}}}\n")
    assert sum(shot_type.share for shot_type in found.types) == pytest.approx(1.0, abs=1e-15)


def test_clubs_without_shares_are_used_as_often_as_in_a_usual_session(tmp_path):
    found = plan(tmp_path, "launches: {use: [wedge, driver]}\n")
    by_club = {
        club: sum(shot_type.share for shot_type in found.types if shot_type.club == club)
        for club in ("wedge", "driver")
    }
    usual = shipped_clubs()
    assert by_club["wedge"] == pytest.approx(usual["wedge"] / (usual["wedge"] + usual["driver"]), abs=1e-12)
    assert sum(by_club.values()) == pytest.approx(1.0, abs=1e-12)


def test_clubs_with_shares_and_types_of_ones_own_stand_side_by_side(tmp_path):
    text = one_type(club="driver", strike="off the hosel", share="0.25")
    found = plan(tmp_path, text.replace("launches:\n", "launches:\n  use: {driver: 0.45, wedge: 0.3}\n"))
    by_club = {shot_type.club: 0.0 for shot_type in found.types}
    for shot_type in found.types:
        by_club[shot_type.club] += shot_type.share
    assert by_club == pytest.approx({"driver": 0.7, "wedge": 0.3}, abs=1e-12)
    assert [shot_type.share for shot_type in found.types if shot_type.strike == "off the hosel"] == pytest.approx(
        [0.25], abs=1e-12
    )
    clean = next(shot_type for shot_type in found.types if (shot_type.club, shot_type.strike) == ("driver", "clean"))
    assert clean.share == pytest.approx(0.45 * shipped_strikes("driver")[0].share, abs=1e-12)


def test_a_club_that_is_its_own_kind_of_strike_is_named_once(tmp_path):
    assert plan(tmp_path, one_type(club="putt", strike="putt")).types[0].label == "putt"


# Hands


def test_a_left_hander_is_the_exact_mirror_in_velocity_and_spin(tmp_path):
    right, left = (drawn(plan(tmp_path, text), 4000).launches() for text in (USE, LEFT))
    mirror = right.mirrored()
    assert np.array_equal(left.start, mirror.start)
    assert np.array_equal(left.velocity, mirror.velocity)
    assert np.array_equal(left.spin, mirror.spin)
    assert not np.array_equal(left.velocity, right.velocity)


def test_a_left_hander_mirrors_the_balls_place_about_the_tee_spots_own_line(tmp_path):
    text = one_type(right="{kind: uniform, low: 50 mm, high: 150 mm}", forward="200 mm")
    found = [plan(tmp_path, text, spots=True, sets=(f"launches.hand={hand}",)) for hand in ("right", "left")]
    right, left = (drawn(each, 400).start for each in found)
    spot = np.array([0.0, 0.4])[drawn(found[0], 400).type]
    assert np.array_equal(left[0], right[0])
    assert left[1] - spot == pytest.approx(spot - right[1], abs=1e-12)
    assert ((right[1] - spot >= -0.15) & (right[1] - spot <= -0.05)).all()
    assert right[0][spot == 0.0] == pytest.approx(0.2)


def test_shanks_and_toe_hits_of_a_left_hander_start_to_the_left(tmp_path):
    found = plan(tmp_path, LEFT)
    table = drawn(found, 5000)
    shank = np.isin(table.type, [k for k, shot_type in enumerate(found.types) if shot_type.strike == "shank"])
    assert (table.launches().velocity[1, shank] > 0.0).all()


# Tee spots


def test_every_shot_type_is_flown_from_every_tee_spot(tmp_path):
    found = plan(tmp_path, USE, spots=True)
    assert len(found.types) == 50
    assert {shot_type.label for shot_type in found.types} >= {"driver clean from middle", "wedge lob from forward"}
    assert len({shot_type.label for shot_type in found.types}) == 50
    by_spot = [
        sum(shot_type.share for shot_type in found.types if shot_type.spot == spot) for spot in ("middle", "forward")
    ]
    assert by_spot == pytest.approx([0.7, 0.3], abs=1e-12)
    assert found.weights(5000).sum() == pytest.approx(1.0, abs=1e-12)


def test_shots_start_at_their_spot_on_what_the_ball_stands_on(tmp_path):
    found = plan(tmp_path, one_type(tee_height="40 mm"), spots=True)
    table = drawn(found, 10)
    start = table.start
    assert start[0] == pytest.approx(np.array([0.0, 0.5])[table.type], abs=1e-12)  # 3.7 m - 3.2 m
    assert start[1] == pytest.approx(np.array([0.0, 0.4])[table.type], abs=1e-12)  # 1.65 m - 1.25 m
    assert start[2] == pytest.approx(0.02 + 0.04 + found.ball_radius, abs=1e-15)
    assert SPOTS.count("name") == len(found.spots)


# The grid


def numbers_of(table):
    """Every shot's numbers, rounded to what they were written as."""
    degrees = np.degrees([table.elevation, table.azimuth, table.spin_tilt])
    rows = np.stack([table.ball_speed, degrees[0], degrees[1], table.spin_rate * 30.0 / np.pi, degrees[2]])
    return [tuple(row) for row in (rows.T.round(6) + 0.0).tolist()]


@pytest.mark.parametrize("spots", [False, True])
def test_a_grid_flies_every_combination_once_from_every_spot(tmp_path, spots):
    found = plan(tmp_path, GRID, spots)
    count = len(found.spots)
    assert (found.sampled, found.grid_size) == (False, 3 * 4 * 5 * 2 * count)
    table = drawn(found, found.grid_size)
    wanted = set(
        product((20.0, 45.0, 70.0), (-5.0, 25.0, 55.0, 85.0), (-20.0, -10.0, 0.0, 10.0, 20.0), (3000.0,), (-10.0, 0.0))
    )
    for k in range(count):
        flown = numbers_of(table.take(np.flatnonzero(table.type == k)))
        assert len(flown) == len(wanted)
        assert set(flown) == wanted
    assert found.weights(found.grid_size) == pytest.approx(1.0 / found.grid_size, rel=1e-12)
    assert table.start[2] == pytest.approx(0.02 + 0.012 + found.ball_radius, abs=1e-15)


def test_a_grid_is_flown_as_it_is_written_by_a_left_hander_too(tmp_path):
    right, left = (plan(tmp_path, GRID, sets=(f"launches.hand={hand}",)) for hand in ("right", "left"))
    assert np.array_equal(drawn(right, 60).azimuth, drawn(left, 60).azimuth)


def test_a_grid_does_not_depend_on_the_seed_or_the_chunk(tmp_path):
    found = plan(tmp_path, GRID)
    assert np.array_equal(drawn(found, 120, seed=1).azimuth, drawn(found, 120, seed=2).azimuth)
    assert np.array_equal(drawn(found, 120).elevation[47:], drawn(found, 73, first=47).elevation)


# To workers, and back to a file

MIXED = one_type(
    azimuth="{kind: mixture, components: [{weight: 0.5, of: 9 deg}, "
    "{weight: 0.5, of: {kind: normal, mean: -7 deg, sd: 2 deg}}]}",
    elevation="{kind: triangular, low: 1 deg, mode: 4 deg, high: 11 deg}",
    ball_speed="{kind: truncated_normal, mean: 118 mph, sd: 2 m/s, low: 90 mph, high: 60 m/s}",
    tee_height="{kind: uniform, low: 0 mm, high: 1 in}",
    correlations="[{between: [azimuth, elevation], value: 0.5}, {between: [ball_speed, elevation], value: -0.3}]",
)


@pytest.mark.parametrize("text", [USE, LEFT, GRID, MIXED])
def test_a_plan_that_was_sent_to_another_process_draws_the_same_shots(tmp_path, text):
    first = plan(tmp_path, text)
    before = drawn(first, 100)
    again = pickle.loads(pickle.dumps(first))
    assert again.types == first.types
    assert np.array_equal(drawn(again, 100).azimuth, before.azimuth)


@pytest.mark.parametrize("text", [USE, LEFT, GRID, MIXED])
def test_a_resolved_scenario_is_a_file_that_draws_the_same_shots(tmp_path, text):
    first = opened(tmp_path, text)
    launches = yaml.safe_dump({"launches": resolved(first.scenario)["launches"]}, sort_keys=False)
    again = opened(tmp_path, launches)
    assert again.scenario.entries("launches") == first.scenario.entries("launches")
    assert np.array_equal(drawn(again.plan, 100).azimuth, drawn(first.plan, 100).azimuth)
    assert np.array_equal(drawn(again.plan, 100).ball_speed, drawn(first.plan, 100).ball_speed)
