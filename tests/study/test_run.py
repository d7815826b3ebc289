"""Whole runs: the same answer whatever the workers, chunks and lengths."""

from pathlib import Path

import numpy as np
import pytest

import flightsim.study.fly as flying
from flightsim.errors import BadInputError
from flightsim.study.build import open_bay
from flightsim.study.run import run

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))


@pytest.fixture(scope="module")
def garage():
    return open_bay(next(path for path in SCENARIOS if path.stem == "single_garage"))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_demo_runs_with_no_failed_flight_and_no_gap_in_its_room(path):
    result = run(open_bay(path), 4000)
    assert not result.contacts.failed.any()
    assert not (result.contacts.opening == len(result.bay.openings)).any()
    assert (result.contacts.part >= 0).sum() + (result.contacts.opening >= 0).sum() == 4000


def test_one_worker_and_two_give_the_same_shots_bit_for_bit(garage, monkeypatch):
    monkeypatch.setattr(flying, "CHUNK", 1024)
    one, two = run(garage, 3000, workers=1), run(garage, 3000, workers=2)
    assert np.array_equal(one.contacts.part, two.contacts.part)
    assert np.array_equal(one.contacts.point, two.contacts.point, equal_nan=True)
    assert np.array_equal(one.shots.spin_tilt, two.shots.spin_tilt)


@pytest.mark.parametrize("chunk", [257, 1024, 5000])
def test_the_size_of_a_chunk_does_not_change_the_answer(garage, monkeypatch, chunk):
    whole = run(garage, 3000)
    monkeypatch.setattr(flying, "CHUNK", chunk)
    pieces = run(garage, 3000)
    assert np.array_equal(whole.shots.ball_speed, pieces.shots.ball_speed)
    assert np.array_equal(whole.contacts.part, pieces.contacts.part)
    assert np.nanmax(np.abs(whole.contacts.point - pieces.contacts.point)) < 1e-9


def test_the_first_thousand_of_a_longer_run_are_the_shorter_run(garage):
    short, long = run(garage, 1000), run(garage, 3000)
    assert np.array_equal(short.shots.elevation, long.shots.elevation[:1000])
    assert np.array_equal(short.contacts.part, long.contacts.part[:1000])


def test_another_seed_gives_other_shots(garage):
    assert not np.array_equal(run(garage, 500, seed=1).shots.azimuth, run(garage, 500, seed=2).shots.azimuth)


def test_fewer_shots_than_shot_types_are_refused_with_a_number_that_works(garage):
    with pytest.raises(BadInputError, match="at least one a type"):
        run(garage, 2)


def test_progress_ends_at_all_shots(garage):
    told = []
    run(garage, 1500, progress=told.append)
    assert told[-1] == 1500
