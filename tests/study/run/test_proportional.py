"""Samples in proportion: who is a group, how far counts reach, and what the bounds promise."""

from math import ceil
from pathlib import Path

import numpy as np
import pytest
from size_bays import HALL, hall

from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.bounds import upper_bound
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.proportional import Group, Sample, draw_sample, groups_of, reach_for, shots_for

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def kind(share, player="", spot="tee", hand="right"):
    return ShotType(f"{player} {share} {spot}", "iron", "clean", spot, share, hand, player)


def test_every_player_hand_and_spot_is_a_group_with_shares_of_its_own():
    types = [kind(0.4, "mid", "a"), kind(0.1, "mid", "a"), kind(0.3, "mid", "b"), kind(0.2, "junior", "a", "left")]
    groups = groups_of(types)
    assert [group.name for group in groups] == [
        "junior (left-handed) from a", "mid (right-handed) from a", "mid (right-handed) from b"
    ]  # fmt: skip
    assert groups[1].types.tolist() == [0, 1]
    assert groups[1].share == pytest.approx([0.8, 0.2])


def test_one_player_at_one_spot_is_all_shots():
    (group,) = groups_of([kind(0.7), kind(0.3)])
    assert group.name == "all shots"


def test_a_sample_holds_each_type_in_proportion_and_its_own_first_shots():
    opened = open_bay(SCENARIOS / "village_hall.yaml")
    flyer, groups = Flyer.of(opened, 5), groups_of(opened.plan.types)
    sample = draw_sample(flyer.draw, opened.plan.types, groups, 300.0)
    K = len(opened.plan.types)
    count = np.bincount(sample.table.type, minlength=K)
    for group, reach in zip(groups, sample.reach, strict=True):
        assert count[group.types].tolist() == [max(1, ceil(300.0 * share)) for share in group.share]
        assert reach >= 300.0 - 1e-6
    assert len(sample) == shots_for(groups, 300.0) == count.sum()
    first = flyer.draw(0, 6 * K)
    for k in np.flatnonzero(count >= 3):
        speeds = sample.table.ball_speed[sample.table.type == k][:3]
        assert np.array_equal(speeds, first.ball_speed[first.type == k][:3])


def test_none_seen_at_the_reach_shows_the_rate_and_a_tenth_less_does_not():
    opened = open_bay(SCENARIOS / "lean_to.yaml")
    flyer, groups = Flyer.of(opened, 1), groups_of(opened.plan.types)
    assert len(groups) == 2
    for factor, shows in ((1.0, True), (0.9, False)):
        sample = draw_sample(flyer.draw, opened.plan.types, groups, factor * reach_for(0.01, 0.025))
        upper = sample.upper(np.zeros(len(sample), dtype=bool), 0.025)
        assert all((bound <= 0.01 + 1e-4) is shows for bound in upper)


def test_hits_of_one_group_bound_no_other(tmp_path):
    groups = (Group("a", np.array([0]), np.array([1.0])), Group("b", np.array([1]), np.array([1.0])))
    table = ShotTable.empty(200)
    table.type[:] = np.arange(200) % 2
    sample = Sample(table, table.type, groups, (100.0, 100.0))
    hits = (table.type == 1) & (np.arange(200) < 20)
    one, two = sample.upper(hits, 0.05)
    assert one == pytest.approx(float(upper_bound(0, 100, 0.05)))
    assert two == pytest.approx(float(upper_bound(10, 100, 0.05)))
    assert sample.rates(hits) == (0.0, 0.1)


def test_the_bound_covers_a_weighted_rate_as_often_as_it_says():
    """Four types with very different chances, 2,000 samples: at most 5 % of the bounds may be too low."""
    rng = np.random.default_rng(3)
    share, chance = np.array([0.5, 0.3, 0.15, 0.05]), np.array([0.005, 0.02, 0.06, 0.5])
    group = Group("all", np.arange(4), share)
    need = np.ceil(250 * share).astype(int)
    table = ShotTable.empty(int(need.sum()))
    table.type[:] = np.repeat(np.arange(4), need)
    sample = Sample(table, np.zeros(len(table), dtype=np.intp), (group,), (float((need / share).min()),))
    low = sum(
        sample.upper(rng.random(len(table)) < chance[table.type], 0.05)[0] < share @ chance for _ in range(2000)
    )  # fmt: skip
    assert low <= 0.05 * 2000 + 3 * np.sqrt(0.05 * 0.95 * 2000)


def test_rates_weigh_each_type_by_its_share(tmp_path):
    bay = open_bay(hall(tmp_path, text=HALL))
    sample = draw_sample(Flyer.of(bay, 1).draw, bay.plan.types, groups_of(bay.plan.types), 50.0)
    assert sample.rates(np.ones(len(sample), dtype=bool)) == (1.0,)
    assert sample.rates(np.zeros(len(sample), dtype=bool)) == (0.0,)
