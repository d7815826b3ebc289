"""Shots in a changed bay: only those that the change can touch are flown, and all come out as if all had been."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from shipped import AS_FOUND

from flightsim.contact.fates import Fates
from flightsim.contact.giving import Give
from flightsim.flight.aerodynamics import AERO_MODELS, ConstantCoefficients
from flightsim.study.run.adverse import adverse_bays
from flightsim.study.run.find_troubles import find_troubles
from flightsim.study.run.fly import Flyer, follow_all
from flightsim.study.run.open_bay import OpenBay, open_bay, open_changed
from flightsim.study.run.reach import Swept, Tracks, drag_and_lift, reach_of
from flightsim.study.run.reflown import Reflown, what_changed
from flightsim.study.run.remedies import _changed, changes
from flightsim.study.run.replay import replay
from flightsim.study.run.result import RunResult
from flightsim.study.run.walk import run
from flightsim.study.run.what_if import failures

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
LEAN_TO = GARAGE.with_name("lean_to.yaml")
SHOTS = 400


def every_change(opened: OpenBay, result: RunResult) -> list[tuple[str, OpenBay]]:
    """Each failure, remedy, adverse cloth, and another model of the air."""
    found = [(f"{guard}, {how}", bay) for guard, how, bay in failures(opened)]
    remedies = ((words, _changed(opened, sets)) for words, sets in changes(opened, find_troubles(result)))
    found += [(words, bay) for words, bay in remedies if bay is not None]
    found += [(f"cloth {name}", bay) for name, bay in adverse_bays(opened)]
    aero = next(model for name, model in AERO_MODELS.items() if name != opened.scenario.aero)
    return [*found, ("air", replace(opened, physics=replace(opened.physics, aero=aero)))]


def check_same(known: Fates, flown: Fates, words: str) -> None:
    for column in fields(Fates):
        first, other = getattr(known, column.name), getattr(flown, column.name)
        assert np.array_equal(first, other, equal_nan=True), f"{words}: {column.name}"


def check_every_change(path: Path, shots: int) -> list[float]:
    opened = open_bay(path)
    result = run(opened, shots)
    reflown, shares = Reflown.of(opened, result), []
    for words, bay in every_change(opened, result):
        check_same(reflown.in_bay(bay), follow_all(bay, result.shots, result.seed)[1], words)
        change = what_changed(opened, bay)
        shares.append(1.0 if change is None else float(reflown.can_touch(change).mean()))
    return shares


def test_every_kind_of_change_is_to_the_bit_what_flying_all_gives():
    shares = check_every_change(GARAGE, SHOTS)
    assert len(shares) > 25
    assert sum(share < 0.5 for share in shares) > 10  # or nothing was spared


@pytest.mark.slow
@pytest.mark.parametrize("path", AS_FOUND, ids=lambda path: path.stem)
def test_every_kind_of_change_of_every_demo_is_to_the_bit_what_flying_all_gives(path):
    check_every_change(path, 20_000)


def test_what_stopped_a_ball_that_cloth_carried_along_counts_as_met():
    """The right side panel, which that ball does not touch: the screen carries it along to where it stands."""
    opened = open_bay(LEAN_TO)
    flyer = Flyer.of(opened, 1)
    shots = flyer.draw(4709, 1)
    _, fates = flyer.follow(shots)
    (gone,) = (bay for guard, how, bay in failures(opened) if (guard, how) == ("right side panel", "taken away"))
    anew = follow_all(gone, shots, 1)[1]
    assert not np.array_equal(fates.point, anew.point)  # else the ball shows nothing
    check_same(Reflown(opened, shots, fates, 1).in_bay(gone), anew, "right side panel, taken away")


def test_a_bay_that_was_opened_anew_has_not_changed():
    change = what_changed(open_bay(GARAGE), open_bay(GARAGE))
    assert change is not None
    assert change.old.size == change.new.size == change.all.size == 0


def test_a_guard_taken_away_touches_those_that_touched_it_and_few_others():
    opened = open_bay(GARAGE)
    result = run(opened, SHOTS)
    reflown = Reflown.of(opened, result)
    pad = next(bay for guard, how, bay in failures(opened) if (guard, how) == ("ceiling pad", "taken away"))
    change = what_changed(opened, pad)
    assert change is not None
    word = opened.bay.guard_labels().index("ceiling pad")
    touched = (result.fates.touched[0] >> np.uint64(word)) & np.uint64(1) > 0
    near = reflown.can_touch(change)
    assert not (touched & ~near).any()
    assert near.sum() <= touched.sum() + 0.1 * SHOTS


def test_every_point_of_a_way_is_in_the_boxes_that_hold_it():
    opened = open_bay(GARAGE)
    result = run(opened, 120)
    reach, flown = reach_of(opened, result.shots, 1), replay(opened, result, np.arange(120))
    for shot in range(120):
        point, boxes = flown.way(shot).point.T, reach.ways[:, reach.of == shot]
        inside = (point[:, :, None] >= boxes[:3, None]) & (point[:, :, None] <= boxes[3:, None])
        assert inside.all(axis=0).any(axis=1).all()


def test_where_shots_went_is_the_same_kept_while_they_fly_as_flown_once_more():
    opened, shots = open_bay(GARAGE), 300
    tracks = Tracks(opened, 10_000)
    begun = run(opened, 120, tracks=tracks)
    result = run(opened, shots, begun=begun, tracks=tracks)
    for count in (shots, 200):
        kept, again = tracks.of(count), reach_of(opened, result.shots.take(slice(0, count)), result.seed)
        pairs = {column.name: (getattr(kept, column.name), getattr(again, column.name)) for column in fields(Swept)}
        order = [np.lexsort((*swept, of)) for swept, of in zip(pairs["ways"], pairs["of"], strict=True)]
        assert len(order[0]) == len(order[1]) > count
        for name in ("of", "ways"):
            assert np.array_equal(*(one[..., k] for one, k in zip(pairs.pop(name), order, strict=True)))
        for while_flying, other in pairs.values():
            assert np.array_equal(while_flying, other)


def test_a_change_that_most_shots_can_touch_has_all_flown():
    opened = open_bay(GARAGE)
    result = run(opened, SHOTS)
    screen = next(bay for guard, how, bay in failures(opened) if (guard, how) == ("screen", "taken away"))
    change = what_changed(opened, screen)
    assert change is not None
    assert Reflown.of(opened, result).can_touch(change).all()


def test_the_air_pulls_at_most_as_the_model_that_is_flown_says():
    for model in (ConstantCoefficients(3.0, 0.5), *AERO_MODELS.values()):
        S, Re = np.random.default_rng(1).uniform(0.0, [[8.0], [4e5]], (2, 20_000))
        drag, lift = model(S, Re)
        assert drag_and_lift(model) >= (np.abs(drag) + np.abs(lift)).max()
        assert drag_and_lift(model) < 1.6 * (np.abs(drag) + np.abs(lift)).max()


def test_a_ball_may_have_gone_as_far_as_its_cloth_says_however_deep(monkeypatch):
    opened = open_bay(GARAGE)
    shots = run(opened, 120).shots
    before = reach_of(opened, shots, 1).into
    monkeypatch.setattr(Give, "reach", lambda self, speed, across, up, mass: np.full(speed.size, 4.0))
    after = reach_of(opened, shots, 1).into
    deepest = float((after[3] - before[3]).max())
    assert deepest > 3.0
    assert (after[3] >= before[3] - 1e-6).all()


def test_a_depth_that_nobody_knows_may_be_anywhere(monkeypatch):
    opened = open_bay(GARAGE)
    result = run(opened, 120)
    monkeypatch.setattr(Give, "reach", lambda self, speed, across, up, mass: np.full(speed.size, np.nan))
    reach = reach_of(opened, result.shots, 1)
    far = np.array([[900.0, 900.0, 900.0, 901.0, 901.0, 901.0]])
    none = np.empty(0, dtype=np.intp)
    on_cloth = [k for k, law in enumerate(opened.surroundings().laws) if isinstance(law, Give)]
    touched = np.isin(np.arange(120), reach.into_of[np.isin(reach.parts, on_cloth)])
    near = reach.near(120, np.empty((0, 6)), none, far)
    assert touched.any()
    assert (near == touched).all()


def test_a_door_that_is_shut_changes_more_than_parts():
    opened = open_bay(GARAGE)
    troubles = find_troubles(run(opened, 2000))
    sets = next(sets for words, sets in changes(opened, troubles) if words.endswith("kept shut"))
    assert what_changed(opened, open_changed(opened, sets)) is None
