"""Whole runs: the same answer whatever the workers, chunks and lengths."""

from dataclasses import fields

import numpy as np
import pytest
from baselines import SHOTS, baseline, demo
from shipped import AS_FOUND

import flightsim.study.run.crew as crews
from flightsim.contact.fates import Flag
from flightsim.engine.follow import first_contacts
from flightsim.errors import BadInputError, ask_to_stop
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run


@pytest.fixture(scope="module")
def garage():
    return demo("single_garage")


@pytest.fixture(scope="module")
def flown():
    """The garage's first shots."""
    return baseline("single_garage")


def same_fates(one, other, n=None):
    """Every column of what became of the first n balls, bit for bit."""
    for column in fields(one):
        first, second = (getattr(fates, column.name)[..., :n] for fates in (one, other))
        assert np.array_equal(first, second, equal_nan=first.dtype.kind == "f"), column.name


@pytest.mark.parametrize("path", AS_FOUND, ids=lambda path: path.stem)
def test_every_demo_runs_with_no_failed_flight_and_no_gap_in_its_room(path):
    result = baseline(path.stem)
    assert len(result.shots) == SHOTS
    assert not result.contacts.failed.any()
    assert not result.fates.flags[Flag.UNRESOLVED].any()
    assert not (result.contacts.opening == len(result.bay.openings)).any()
    assert not (result.fates.place[Flag.GOT_OUT] == len(result.bay.openings)).any()
    assert (result.contacts.part >= 0).sum() + (result.contacts.opening >= 0).sum() == SHOTS


def test_a_run_made_again_is_the_one_that_was_kept(garage, flown):
    again = run(garage, SHOTS)
    assert np.array_equal(again.contacts.point, flown.contacts.point, equal_nan=True)
    same_fates(again.fates, flown.fates)
    assert again.rates == flown.rates


def test_the_balls_that_a_run_follows_met_first_what_a_run_of_first_contacts_meets(garage, flown):
    result = flown
    tests = garage.plugins.touch_tests(garage.bay)
    first = first_contacts(garage.physics, result.shots.launches(), garage.bay, tests)
    assert np.array_equal(first.part, result.contacts.part)
    assert np.array_equal(first.opening, result.contacts.opening)
    np.testing.assert_allclose(first.point, result.contacts.point, rtol=0, atol=1e-12)  # arcs are joined otherwise


def test_one_worker_and_two_give_the_same_shots_and_fates_bit_for_bit(garage, flown, monkeypatch):
    monkeypatch.setattr(crews, "CHUNK", 512)  # so that both have something to do
    one, two = flown, run(garage, SHOTS, workers=2)
    assert np.array_equal(one.contacts.part, two.contacts.part)
    assert np.array_equal(one.contacts.point, two.contacts.point, equal_nan=True)
    assert np.array_equal(one.shots.spin_tilt, two.shots.spin_tilt)
    same_fates(one.fates, two.fates)
    assert one.rates == two.rates


@pytest.mark.parametrize("chunk", [257, 600])
def test_the_size_of_a_chunk_does_not_change_the_answer(garage, flown, monkeypatch, chunk):
    whole = flown
    monkeypatch.setattr(crews, "CHUNK", chunk)
    pieces = run(garage, SHOTS)
    assert np.array_equal(whole.shots.ball_speed, pieces.shots.ball_speed)
    assert np.array_equal(whole.contacts.part, pieces.contacts.part)
    assert np.array_equal(whole.contacts.point, pieces.contacts.point, equal_nan=True)
    same_fates(whole.fates, pieces.fates)


def test_the_first_shots_of_a_longer_run_are_the_shorter_run_to_their_ends(garage, flown):
    short, long = flown, run(garage, 1700)
    assert np.array_equal(short.shots.elevation, long.shots.elevation[:SHOTS])
    assert np.array_equal(short.contacts.part, long.contacts.part[:SHOTS])
    same_fates(short.fates, long.fates, SHOTS)
    assert np.array_equal(short.outcome, long.outcome[:SHOTS])


@pytest.mark.slow
@pytest.mark.parametrize("path", AS_FOUND, ids=lambda path: path.stem)
def test_the_first_1000_of_10000_shots_are_the_run_of_1000(path):
    opened = open_bay(path)
    short, long = run(opened, 1000), run(opened, 10_000)
    same_fates(short.fates, long.fates, 1000)
    assert not long.fates.flags[Flag.UNRESOLVED].any()


def test_another_seed_gives_other_shots(garage, flown):
    other = run(garage, 500, seed=2).shots.azimuth
    assert not np.isin(other, flown.shots.azimuth).all()
    assert not np.array_equal(flown.shots.azimuth[:500], other)


def test_fewer_shots_than_shot_types_are_refused_with_a_number_that_works(garage):
    with pytest.raises(BadInputError, match="at least one a type"):
        run(garage, 2)


def test_progress_ends_at_all_shots(garage):
    progress = []
    run(garage, 300, progress=progress.append)
    assert progress[-1] == 300


def test_an_interrupt_that_compiled_code_swallowed_ends_the_run_at_the_next_chunk(garage, monkeypatch):
    monkeypatch.setattr(crews, "CHUNK", 64)

    def lost(done: int) -> None:
        if done == 128:
            with pytest.raises(KeyboardInterrupt):
                ask_to_stop()

    with pytest.raises(KeyboardInterrupt):
        run(garage, 600, progress=lost)
    run(garage, 100)  # and only once
